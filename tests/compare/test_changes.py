"""What changed since the last comparable day, and what may not be compared."""

from __future__ import annotations

import math
from pathlib import Path

import pandas as pd
import pytest

from pipeline import battery as batteries
from pipeline import build, tables
from pipeline.compare.changes import changes, differences
from pipeline.measures.registry import MEASURES, RESULT_COLUMNS
from tests import seasons

BATTERY, _ = batteries.load(Path("no season of its own"))
SPRING, SUMMER, AUTUMN = "2026-05-12", "2026-07-01", "2026-09-15"
GATES = "start=three-point; timing=gates"


def _result(day: str, value: float, **cells: object) -> dict[str, object]:
    row = {
        "day": day, "session": "", "athlete_id": "A01", "test": "60 m", "part": "",
        "measure": "time", "value": value, "unit": "s", "low": value, "high": value,
        "resolution": 0.01, "n_attempts": 1, "attempt": 1, "basis": "measured", "source": "",
        "flags": "", "conditions": GATES, "score": value, "scored": "1", "wind": 0.0, **cells,
    }  # fmt: skip
    assert set(row) == set(RESULT_COLUMNS)
    return row


def _changes(*rows: dict[str, object], day: str = AUTUMN) -> list[dict[str, object]]:
    table = tables.shape("changes", changes(pd.DataFrame(list(rows)), day, BATTERY))
    return [{str(k): v for k, v in row.items()} for row in table.to_dict("records")]


def _missing(cell: object) -> bool:
    return isinstance(cell, float) and math.isnan(cell)


# --- comparable -----------------------------------------------------------------------------


def test_a_faster_time_is_a_positive_change_and_a_slower_one_negative() -> None:
    (faster,) = _changes(_result(SPRING, 7.80), _result(AUTUMN, 7.70))
    (slower,) = _changes(_result(SPRING, 7.70), _result(AUTUMN, 7.80))
    assert (faster["change"], slower["change"]) == (pytest.approx(0.10), pytest.approx(-0.10))


def test_a_higher_jump_is_a_positive_change_and_a_lower_one_negative() -> None:
    cells: dict[str, object] = {"test": "cmj", "measure": "jump_height", "unit": "cm"}
    (higher,) = _changes(_result(SPRING, 30.0, **cells), _result(AUTUMN, 33.0, **cells))
    (lower,) = _changes(_result(SPRING, 33.0, **cells), _result(AUTUMN, 30.0, **cells))
    assert (higher["change"], lower["change"]) == (pytest.approx(3.0), pytest.approx(-3.0))


@pytest.mark.parametrize("key", MEASURES)
def test_the_sign_of_a_change_follows_from_the_measure_s_record(key: str) -> None:
    rows = _changes(_result(SPRING, 1.0, measure=key), _result(AUTUMN, 3.0, measure=key))
    if not MEASURES[key].compared:
        assert rows == []
        return
    (row,) = rows
    assert row["change"] == (-2.0 if MEASURES[key].better == "lower" else 2.0)


def test_a_comparable_change_names_both_days_and_both_values() -> None:
    (row,) = _changes(_result(SPRING, 7.80), _result(AUTUMN, 7.70))
    assert (row["from_day"], row["to_day"], row["before"], row["after"]) == (
        SPRING, AUTUMN, 7.80, 7.70,
    )  # fmt: skip
    assert (row["against"], row["verdict"], row["reason"]) == ("previous", "", "")


def test_an_equal_value_is_a_change_of_nought() -> None:
    (row,) = _changes(_result(SPRING, 7.70), _result(AUTUMN, 7.70))
    assert row["change"] == 0


def test_a_condition_unknown_on_both_days_counts_as_agreeing() -> None:
    (row,) = _changes(_result(SPRING, 7.80, conditions=""), _result(AUTUMN, 7.70, conditions=""))
    assert row["verdict"] == ""
    assert row["change"] == pytest.approx(0.10)


def test_a_first_mark_has_no_row() -> None:
    assert _changes(_result(AUTUMN, 7.70)) == []


@pytest.mark.parametrize(
    "other",
    [
        {"athlete_id": "A02"},
        {"test": "100 m"},
        {"part": "10 m"},
        {"measure": "split_time"},
    ],
)
def test_a_value_is_never_compared_with_another_athlete_test_part_or_measure(
    other: dict[str, object],
) -> None:
    assert _changes(_result(SPRING, 7.80, **other), _result(AUTUMN, 7.70)) == []


def test_nothing_is_compared_with_the_same_day_or_a_later_one() -> None:
    rows = [_result(SUMMER, 7.75), _result(SUMMER, 7.74, session="late"), _result(AUTUMN, 7.70)]
    assert _changes(*rows, day=SUMMER) == []


def test_of_several_earlier_days_the_latest_counts_whatever_order_they_stand_in() -> None:
    rows = [_result(SUMMER, 7.75), _result(SPRING, 7.80), _result(AUTUMN, 7.70)]
    for order in (rows, rows[::-1]):
        (row,) = _changes(*order)
        assert (row["from_day"], row["change"]) == (SUMMER, pytest.approx(0.05))


def test_the_last_comparable_day_is_used_past_a_later_one_that_is_not() -> None:
    (row,) = _changes(
        _result(SPRING, 7.80),
        _result(SUMMER, 7.50, conditions="start=three-point; timing=hand"),
        _result(AUTUMN, 7.70),
    )
    assert (row["from_day"], row["verdict"]) == (SPRING, "")
    assert row["change"] == pytest.approx(0.10)


# --- not comparable -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("then", "now", "reason"),
    [
        ("timing=hand", "timing=gates", "timing: hand → gates"),
        ("timing=hand; indoor=no", "timing=gates; indoor=yes", "timing: hand → gates"),
        ("timing=gates; indoor=no", "timing=gates; indoor=yes", "indoor: no → yes"),
        ("timing=gates", "timing=gates; beams=double", "beams: not recorded → double"),
        ("timing=gates; beams=double", "timing=gates", "beams: double → not recorded"),
        ("ends=0-30 m", "ends=0-10 m", "ends: 0-30 m → 0-10 m"),
        ("surface=a=b", "surface=a=c", "surface: a=b → a=c"),
    ],
)
def test_a_value_under_other_conditions_is_not_comparable_and_names_the_field(
    then: str, now: str, reason: str
) -> None:
    (row,) = _changes(_result(SPRING, 7.80, conditions=then), _result(AUTUMN, 7.70, conditions=now))
    assert row["verdict"] == "not comparable"
    assert reason in str(row["reason"])
    assert _missing(row["change"])
    assert (row["before"], row["after"]) == (7.80, 7.70)


def test_every_differing_field_is_named() -> None:
    then = _result(SPRING, 7.8, conditions="start=blocks; timing=hand; indoor=no")
    now = _result(AUTUMN, 7.7, conditions="start=standing; timing=gates; indoor=no")
    assert differences(then, now) == ["start: blocks → standing", "timing: hand → gates"]


def test_measured_and_estimated_are_not_compared() -> None:
    cells: dict[str, object] = {"test": "back squat", "measure": "one_rep_max", "unit": "kg"}
    (row,) = _changes(
        _result(SPRING, 150.0, basis="estimated", **cells), _result(AUTUMN, 140.0, **cells)
    )
    assert row["verdict"] == "not comparable"
    assert row["reason"] == "basis: estimated → measured"
    assert _missing(row["change"])


def test_where_no_earlier_day_is_comparable_the_latest_is_named() -> None:
    (row,) = _changes(
        _result(SPRING, 7.80, conditions="timing=video"),
        _result(SUMMER, 7.75, conditions="timing=hand"),
        _result(AUTUMN, 7.70, conditions="timing=gates"),
    )
    assert (row["from_day"], row["reason"]) == (SUMMER, "timing: hand → gates")


def test_a_day_without_results_gives_an_empty_table() -> None:
    made = changes(pd.DataFrame([_result(SPRING, 7.8)]), AUTUMN, BATTERY)
    assert list(made.columns) == list(tables.SCHEMAS["changes"].columns)
    assert made.empty


# --- from files -----------------------------------------------------------------------------


def _two_days(folder: Path, spring: str, autumn: str) -> pd.DataFrame:
    """Changes of a season whose two days hold the same sheets under other day files."""
    files: dict[str, str | bytes | None] = {
        "2026-05-spring/day.toml": f"date = {SPRING}\n{spring}\n",
        "2026-05-spring/sprints.csv": "athlete_id,test,t10_s,t60_s\nA01,60 m,2.06,7.80\n",
        f"{seasons.DAY_FOLDER}/day.toml": f"date = {AUTUMN}\n{autumn}\n",
        f"{seasons.DAY_FOLDER}/sprints.csv": "athlete_id,test,t10_s,t60_s\nA01,60 m,2.04,7.70\n",
    }
    files |= {f"{seasons.DAY_FOLDER}/{name}.csv": None for name in ("jumps", "lifts", "body")}
    return build.check(seasons.write(folder, files), None).tables["changes"]


def test_two_days_alike_are_comparable(tmp_path: Path) -> None:
    same = 'timing = "gates"\nstart = "standing"\nsurface = "wood"'
    made = _two_days(tmp_path, same, same)
    time = made[made["measure"] == "time"]
    assert set(made["verdict"].fillna("")) == {""}
    assert time["change"].tolist() == [pytest.approx(0.10)]


@pytest.mark.parametrize(
    ("field", "spring", "autumn"),
    [
        ("start", 'start = "standing"', 'start = "blocks"'),
        ("start_distance_m", "start_distance_m = 0.3", "start_distance_m = 0.5"),
        ("clock", 'clock = "gun"', 'clock = "movement"'),
        ("timing", 'timing = "hand"', 'timing = "gates"'),
        ("beams", 'beams = "single"', 'beams = "double"'),
        ("indoor", "indoor = true", "indoor = false"),
        ("surface", 'surface = "wood"', 'surface = "grass"'),
        ("footwear", 'footwear = "spikes"', 'footwear = "flats"'),
        ("surface", 'surface = "track; dry"', 'surface = "track; wet"'),
        ("surface", 'surface = "track"', 'surface = "track; wet"'),
    ],
)
def test_each_field_of_the_comparison_key_breaks_the_comparison(
    tmp_path: Path, field: str, spring: str, autumn: str
) -> None:
    made = _two_days(tmp_path, spring, autumn)
    assert not made.empty
    assert set(made["verdict"]) == {"not comparable"}
    assert all(f"{field}:" in reason for reason in made["reason"])


@pytest.mark.parametrize(
    ("spring", "autumn"),
    [
        ('venue = "Hall 1"', 'venue = "Hall 2"'),
        ('term = "spring"', 'term = "autumn"'),
        ("temperature_c = 12", "temperature_c = 24"),
        ('surface = "Synthetic Track"', 'surface = "synthetic  track "'),
    ],
    ids=["venue", "term", "weather", "spelling"],
)
def test_what_is_no_field_of_the_key_does_not_break_it(
    tmp_path: Path, spring: str, autumn: str
) -> None:
    made = _two_days(tmp_path, spring, autumn)
    assert set(made["verdict"].fillna("")) == {""}
