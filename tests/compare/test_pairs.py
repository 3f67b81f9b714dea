"""Which earlier value stands beside a day's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pipeline.battery import Battery
from pipeline.compare.pairs import Days, pairs, winds_apart
from tests.compare.made import (
    AUTUMN,
    BATTERY,
    FORTY,
    NO_DAYS,
    SPRING,
    SUMMER,
    battery,
    compared,
    result,
    results,
)

REPEAT = "2026-05-19"
YEAR = "2025-09-16"


def _found(
    *rows: dict[str, object], day: str = AUTUMN, own: Battery = BATTERY, days: Days = NO_DAYS
) -> list[dict[str, Any]]:
    made = pairs(results(*rows), day, own, days)
    return [{str(k): v for k, v in row.items()} for row in made.to_dict("records")]


def test_the_best_and_the_judged_score_both_stand_in_a_pair() -> None:
    (pair,) = _found(
        result(SPRING, 7.80, score=7.85), result(AUTUMN, 7.70, score=7.73, n_attempts=4)
    )
    assert (pair["then"], pair["now"]) == (7.80, 7.70)
    assert (pair["before"], pair["after"]) == (7.85, 7.73)
    assert (pair["n_before"], pair["n_after"]) == (2, 4)


def test_a_change_is_of_the_judged_score_never_of_the_best() -> None:
    (row,) = compared(result(SPRING, 7.80, score=7.85), result(AUTUMN, 7.70, score=7.73))
    assert row["change"] == pytest.approx(0.12)


def test_an_athlete_s_best_ever_is_never_what_a_day_is_judged_against() -> None:
    (pair,) = _found(result(SPRING, 7.40), result(SUMMER, 7.90), result(AUTUMN, 7.70))
    assert (pair["from_day"], pair["before"]) == (SUMMER, 7.90)


def test_a_repeat_day_is_never_a_baseline() -> None:
    days = Days({REPEAT: SPRING}, frozenset())
    rows = [result(SPRING, 7.80), result(REPEAT, 7.60), result(AUTUMN, 7.70)]
    (pair,) = _found(*rows, days=days)
    assert pair["from_day"] == SPRING
    assert _found(result(REPEAT, 7.60), result(AUTUMN, 7.70), days=days) == []


def test_a_repeat_day_is_not_set_against_the_day_it_repeats() -> None:
    days = Days({REPEAT: SPRING}, frozenset())
    winter = "2026-01-20"
    rows = [result(winter, 7.90), result(SPRING, 7.80), result(REPEAT, 7.75)]
    (pair,) = _found(*rows, day=REPEAT, days=days)
    assert pair["from_day"] == winter


@pytest.mark.parametrize("test", ["60 m", ""])
def test_a_test_taken_easy_is_no_baseline(test: str) -> None:
    days = Days({}, frozenset({(SUMMER, "A01", test)}))
    rows = [result(SPRING, 7.80), result(SUMMER, 8.50), result(AUTUMN, 7.70)]
    (pair,) = _found(*rows, days=days)
    assert pair["from_day"] == SPRING


def test_taken_easy_is_one_athlete_s_and_one_test_s() -> None:
    days = Days({}, frozenset({(SUMMER, "A02", "60 m"), (SUMMER, "A01", "40 m")}))
    (pair,) = _found(result(SUMMER, 7.75), result(AUTUMN, 7.70), days=days)
    assert pair["from_day"] == SUMMER


def test_a_day_of_as_many_attempts_goes_before_a_later_one_of_a_single() -> None:
    rows = [
        result(SPRING, 6.0, **FORTY),
        result(SUMMER, 5.9, **{**FORTY, "n_attempts": 1}),
        result(AUTUMN, 5.8, **FORTY),
    ]
    (pair,) = _found(*rows)
    assert (pair["from_day"], pair["differing"]) == (SPRING, "")
    (pair,) = _found(*rows[1:])
    assert (pair["from_day"], pair["differing"]) == (SUMMER, "attempts: 1 → 2")


def test_every_differing_field_is_named() -> None:
    (pair,) = _found(
        result(SPRING, 7.8, conditions="start=blocks; timing=hand", basis="estimated"),
        result(AUTUMN, 7.7, conditions="start=standing; timing=gates"),
    )
    assert pair["differing"] == (
        "start: blocks → standing; timing: hand → gates; basis: estimated → measured"
    )


def test_last_year_means_the_day_nearest_to_a_year_before(tmp_path: Path) -> None:
    own = battery(tmp_path, 'against = "last year"\n')
    rows = [result(day, 8.0) for day in ("2025-08-01", YEAR, "2025-10-30", SPRING, SUMMER)]
    (pair,) = _found(*rows, result(AUTUMN, 7.70), own=own)
    assert pair["from_day"] == YEAR
    (row,) = compared(*rows, result(AUTUMN, 7.70), battery=own)
    assert row["against"] == "last year"


def test_last_year_finds_nothing_where_no_day_lies_near_it(tmp_path: Path) -> None:
    own = battery(tmp_path, 'against = "last year"\n')
    assert _found(result(SPRING, 7.80), result(AUTUMN, 7.70), own=own) == []


@pytest.mark.parametrize(
    ("before", "after", "apart"),
    [
        (0.0, 1.0, False), (0.0, 1.1, True), (-0.5, 0.5, False), (-0.6, 0.5, True),
        (2.0, 3.0, False), (0.3, 1.3, False), (float("nan"), 3.0, False),
    ],
)  # fmt: skip
def test_winds_more_than_one_apart(before: float, after: float, apart: bool) -> None:
    """1.0 m/s: common practice, no source."""
    assert winds_apart(before, after) is winds_apart(after, before) is apart
