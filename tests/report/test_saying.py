"""What a change says in words: its error in the same sentence, and never against itself."""

from __future__ import annotations

import math
from typing import Any

import pytest

from pipeline import tables
from pipeline.measures.registry import MEASURES
from pipeline.report.saying import BASES, first_reason, needed, one_day, rests_on, said, way

TIME, JUMP = MEASURES["time"], MEASURES["jump_height"]


def _change(change: float, reach: float, worth: float = math.nan, **cells: Any) -> dict[str, Any]:
    return {
        "change": change,
        "low": change - reach,
        "high": change + reach,
        "smallest_worthwhile": worth,
        "verdict": tables.CANNOT_TELL,
        "reason": tables.WITHIN_ERROR,
        **cells,
    }


BETTER: dict[str, Any] = {"verdict": tables.BETTER, "reason": ""}
WORSE: dict[str, Any] = {"verdict": tables.WORSE, "reason": ""}


@pytest.mark.parametrize(
    ("change", "record", "sentence"),
    [
        (_change(0.21, 0.18, **BETTER), TIME, "clearly faster (by 0.21 s; needs 0.18 s)"),
        (_change(-0.21, 0.18, **WORSE), TIME, "clearly slower (by 0.21 s; needs 0.18 s)"),
        (_change(4.0, 2.7, **BETTER), JUMP, "clearly higher (by 4.0 cm; needs 2.7 cm)"),
        (_change(-4.0, 2.7, **WORSE), JUMP, "clearly lower (by 4.0 cm; needs 2.7 cm)"),
        (_change(0.11, 0.18), TIME, "cannot tell yet (by 0.11 s; needs 0.18 s)"),
        (_change(-0.11, 0.18), TIME, "cannot tell yet (by 0.11 s; needs 0.18 s)"),
        (
            _change(0.0, 0.01, 0.02, verdict=tables.STEADY, reason=""),
            TIME,
            "steady (no change of 0.02 s or more)",
        ),
        (
            _change(0.1, 0.1, verdict=tables.NOT_COMPARABLE, reason="timing: hand → gates"),
            TIME,
            "not comparable: other timing than before (hand, now gates)",
        ),
        (_change(0.1, 0.1, verdict="", reason=""), TIME, "no better or worse in it"),
        (
            _change(0.1, 0.1, verdict="", reason=tables.GRADE_C),
            TIME,
            "no verdict: wobble hardly known",
        ),
        (_change(0.1, 0.1, reason=tables.WINDS_APART), TIME,
         "cannot tell: winds too far apart"),
    ],
)  # fmt: skip
def test_what_is_said(change: dict[str, Any], record: Any, sentence: str) -> None:
    assert said(change, record) == sentence


@pytest.mark.parametrize("reason", tables.REASONS)
@pytest.mark.parametrize("verdict", ["", tables.CANNOT_TELL])
def test_every_reason_has_words(reason: str, verdict: str) -> None:
    words = said(_change(0.1, 0.2, verdict=verdict, reason=reason), TIME)
    assert words.startswith("cannot tell" if verdict else "no verdict: ")


def test_a_change_needs_what_is_worth_having_where_the_error_is_smaller() -> None:
    assert needed(_change(0.05, 0.01, 0.20), TIME) == "0.20 s"
    assert needed(_change(0.05, 0.21, 0.20), TIME) == "0.21 s"


@pytest.mark.parametrize("reach", [0.0401, 0.0444, 0.0449])
def test_a_clear_change_never_reads_as_missed(reach: float) -> None:
    """By 0.045 s, needing a little less: both are rounded alike."""
    words = said(_change(0.04495, reach, **BETTER), TIME)
    by, needs = (float(part.split()[-2]) for part in words.removesuffix(")").split(";"))
    assert by >= needs


@pytest.mark.parametrize("change", [0.0401, 0.0444, 0.0446, 0.0449])
def test_a_change_within_the_error_never_reads_as_beyond_it(change: float) -> None:
    words = said(_change(change, 0.0449), TIME)
    by, needs = (float(part.split()[-2]) for part in words.removesuffix(")").split(";"))
    assert by <= needs == 0.05


def test_one_day_carries_one_error_and_a_change_two() -> None:
    assert one_day(_change(1.0, 2.0)) == pytest.approx(math.sqrt(2))


def test_what_a_verdict_rests_on_is_told_apart_from_its_reason() -> None:
    change = _change(0.1, 0.2, reason=f"{tables.WITHIN_ERROR}; {tables.STILL_AIR}")
    assert (first_reason(change), rests_on(change)) == (tables.WITHIN_ERROR, [tables.STILL_AIR])
    only = _change(0.3, 0.2, **{**BETTER, "reason": tables.ATTEMPTS_CORRECTED})
    assert (first_reason(only), rests_on(only)) == ("", [tables.ATTEMPTS_CORRECTED])
    assert not set(BASES) & set(tables.REASONS)


@pytest.mark.parametrize("record", MEASURES.values(), ids=MEASURES)
def test_a_way_is_never_against_the_verdict(record: Any) -> None:
    good, bad = way(_change(1, 0.5, **BETTER), record), way(_change(-1, 0.5, **WORSE), record)
    assert good != bad
    assert good in {"faster", "higher", "further", "stronger", "shorter", "better"}
    assert bad in {"slower", "lower", "shorter", "weaker", "longer", "worse"}
