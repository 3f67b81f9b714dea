"""What changed since the last comparable day, and what may not be compared."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from pipeline import computing, tables
from pipeline.battery import Battery
from pipeline.compare.pairs import Days, differences
from pipeline.measures.lifts import MASS_FIELDS
from pipeline.measures.registry import MEASURES
from tests import seasons
from tests.compare.made import (
    AUTUMN,
    CMJ,
    FORTY,
    SPRING,
    SQUAT,
    SUMMER,
    World,
    battery,
    compared,
    result,
    squad,
    tries,
)


def _missing(cell: object) -> bool:
    return isinstance(cell, float) and math.isnan(cell)


# --- comparable -----------------------------------------------------------------------------


def test_a_faster_time_is_a_positive_change_and_a_slower_one_negative() -> None:
    (faster,) = compared(result(SPRING, 7.80), result(AUTUMN, 7.70))
    (slower,) = compared(result(SPRING, 7.70), result(AUTUMN, 7.80))
    assert (faster["change"], slower["change"]) == (pytest.approx(0.10), pytest.approx(-0.10))


def test_a_higher_jump_is_a_positive_change_and_a_lower_one_negative() -> None:
    cells: dict[str, object] = {"test": "cmj", "measure": "jump_height", "unit": "cm"}
    (higher,) = compared(result(SPRING, 30.0, **cells), result(AUTUMN, 33.0, **cells))
    (lower,) = compared(result(SPRING, 33.0, **cells), result(AUTUMN, 30.0, **cells))
    assert (higher["change"], lower["change"]) == (pytest.approx(3.0), pytest.approx(-3.0))


@pytest.mark.parametrize("key", MEASURES)
def test_the_sign_of_a_change_follows_from_the_measure_s_record(key: str) -> None:
    cells: dict[str, object] = {"measure": key, "part": "0-10 m"}
    rows = compared(result(SPRING, 1.0, **cells), result(AUTUMN, 3.0, **cells))
    if not MEASURES[key].compared:
        assert rows == []
        return
    (row,) = rows
    assert row["change"] == (-2.0 if MEASURES[key].better == "lower" else 2.0)
    assert row["verdict"] == "" or MEASURES[key].better != "neither"


def test_a_comparable_change_names_both_days_and_both_values() -> None:
    (row,) = compared(result(SPRING, 7.80), result(AUTUMN, 7.70))
    assert (row["from_day"], row["to_day"], row["before"], row["after"]) == (
        SPRING, AUTUMN, 7.80, 7.70,
    )  # fmt: skip
    assert row["against"] == "previous"


def test_an_equal_value_is_a_change_of_nought() -> None:
    (row,) = compared(result(SPRING, 7.70), result(AUTUMN, 7.70))
    assert row["change"] == 0


def test_a_condition_unknown_on_both_days_counts_as_agreeing() -> None:
    (row,) = compared(result(SPRING, 7.80, conditions=""), result(AUTUMN, 7.70, conditions=""))
    assert row["verdict"] != "not comparable"
    assert row["change"] == pytest.approx(0.10)


def test_a_first_mark_has_no_row() -> None:
    assert compared(result(AUTUMN, 7.70)) == []


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
    assert compared(result(SPRING, 7.80, **other), result(AUTUMN, 7.70)) == []


def test_nothing_is_compared_with_the_same_day_or_a_later_one() -> None:
    rows = [result(SUMMER, 7.75), result(SUMMER, 7.74, session="late"), result(AUTUMN, 7.70)]
    assert compared(*rows, day=SUMMER) == []


def test_of_several_earlier_days_the_latest_counts_whatever_order_they_stand_in() -> None:
    rows = [result(SUMMER, 7.75), result(SPRING, 7.80), result(AUTUMN, 7.70)]
    for order in (rows, rows[::-1]):
        (row,) = compared(*order)
        assert (row["from_day"], row["change"]) == (SUMMER, pytest.approx(0.05))


def test_the_last_comparable_day_is_used_past_a_later_one_that_is_not() -> None:
    (row,) = compared(
        result(SPRING, 7.80),
        result(SUMMER, 7.50, conditions="start=three-point; timing=hand"),
        result(AUTUMN, 7.70),
    )
    assert row["from_day"] == SPRING
    assert row["verdict"] != "not comparable"
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
    (row,) = compared(result(SPRING, 7.80, conditions=then), result(AUTUMN, 7.70, conditions=now))
    assert row["verdict"] == "not comparable"
    assert reason in str(row["reason"])
    assert _missing(row["change"])
    assert (row["before"], row["after"]) == (7.80, 7.70)


def test_every_differing_field_is_named() -> None:
    then = result(SPRING, 7.8, conditions="start=blocks; timing=hand; indoor=no")
    now = result(AUTUMN, 7.7, conditions="start=standing; timing=gates; indoor=no")
    assert differences(then, now) == ["start: blocks → standing", "timing: hand → gates"]


def test_measured_and_estimated_are_not_compared() -> None:
    cells: dict[str, object] = {"test": "back squat", "measure": "one_rep_max", "unit": "kg"}
    (row,) = compared(
        result(SPRING, 150.0, basis="estimated", **cells), result(AUTUMN, 140.0, **cells)
    )
    assert row["verdict"] == "not comparable"
    assert row["reason"] == "basis: estimated → measured"
    assert _missing(row["change"])


def test_where_no_earlier_day_is_comparable_the_latest_is_named() -> None:
    (row,) = compared(
        result(SPRING, 7.80, conditions="timing=video"),
        result(SUMMER, 7.75, conditions="timing=hand"),
        result(AUTUMN, 7.70, conditions="timing=gates"),
    )
    assert (row["from_day"], row["reason"]) == (SUMMER, "timing: hand → gates")


def test_a_day_without_results_gives_an_empty_table() -> None:
    made = World([result(SPRING, 7.8)]).judged().table
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
    return computing.check(seasons.write(folder, files), None).tables["changes"]


def test_two_days_alike_are_comparable(tmp_path: Path) -> None:
    same = 'timing = "gates"\nstart = "standing"\nsurface = "wood"'
    made = _two_days(tmp_path, same, same)
    time = made[made["measure"] == "time"]
    assert "not comparable" not in set(made["verdict"])
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
    assert not made.empty
    assert "not comparable" not in set(made["verdict"])
    assert made["change"].notna().all()


# --- wind -----------------------------------------------------------------------------------


def _winds(then: float, now: float, **more: Any) -> dict[str, Any]:
    """40 m a second faster with a wind on each day: clear, but for the wind."""
    (row,) = compared(
        result(SPRING, 6.0, **FORTY, wind=then), result(AUTUMN, 5.0, **FORTY, wind=now), **more
    )
    return row


@pytest.mark.parametrize(("then", "now"), [(0.0, 1.0), (2.6, 3.6), (-0.5, 0.5), (1.9, 2.1)])
def test_winds_no_more_than_one_apart_are_judged_as_they_stand(then: float, now: float) -> None:
    """Also above +2.0 m/s, which is a rule for records."""
    row = _winds(then, now)
    assert (row["verdict"], row["reason"], row["change"]) == ("clearly better", "", 1.0)


@pytest.mark.parametrize(("then", "now"), [(0.0, 1.1), (2.5, -0.5)])
def test_winds_further_apart_are_not_judged_where_no_model_holds(then: float, now: float) -> None:
    row = _winds(then, now)
    assert (row["verdict"], row["reason"]) == ("cannot tell", "winds apart")


@pytest.mark.parametrize(("then", "now"), [(math.nan, 0.5), (0.5, math.nan), (math.nan, math.nan)])
def test_a_wind_not_known_on_either_day_is_said_beside_the_verdict(then: float, now: float) -> None:
    row = _winds(then, now)
    assert (row["verdict"], row["reason"]) == ("clearly better", "wind not known")


def test_the_wind_says_nothing_of_a_jump() -> None:
    (row,) = compared(result(SPRING, 30.0, **CMJ, wind=0.0), result(AUTUMN, 40.0, **CMJ, wind=4.0))
    assert (row["verdict"], row["reason"]) == ("clearly better", "")


def _hundred(then: float, now: float, folder: Path) -> dict[str, Any]:
    """100 m in 12.00 s and 11.80 s, in still air 12.05 s and 11.95 s; error known, 0.01 s."""
    own = battery(folder, '[typical_errors]\n"100 m".time = {value = 0.01, unit = "s"}\n')
    cells: dict[str, Any] = {"test": "100 m", "n_attempts": 1}
    rows = [
        result(SPRING, 12.00, **cells, wind=then),
        result(AUTUMN, 11.80, **cells, wind=now),
        result(SPRING, 12.05, **cells, measure="time_still_air"),
        result(AUTUMN, 11.95, **cells, measure="time_still_air"),
    ]
    (row,) = [r for r in compared(*rows, battery=own) if r["measure"] == "time"]
    return row


def test_winds_apart_over_100_m_are_judged_in_still_air_with_the_error_of_that(
    tmp_path: Path,
) -> None:
    row = _hundred(0.1, 1.5, tmp_path)
    assert (row["before"], row["after"]) == (12.05, 11.95)
    assert row["change"] == pytest.approx(0.10)
    # 1.645 · √(2 · 0.01² + 0.03²); 0.03 s is common practice, no source
    assert (row["high"] - row["low"]) / 2 == pytest.approx(1.6449 * math.sqrt(0.0011), abs=1e-5)
    assert (row["verdict"], row["reason"]) == ("clearly better", "times in still air")


def test_winds_alike_over_100_m_are_judged_on_the_clock(tmp_path: Path) -> None:
    row = _hundred(0.5, 1.5, tmp_path)
    assert (row["before"], row["after"]) == (12.00, 11.80)
    assert (row["high"] - row["low"]) / 2 == pytest.approx(1.6449 * math.sqrt(0.0002), abs=1e-5)
    assert row["reason"] == ""


# --- attempts -------------------------------------------------------------------------------


def test_one_attempt_against_one_has_no_verdict_however_large_the_change() -> None:
    one: dict[str, Any] = {**FORTY, "n_attempts": 1}
    (row,) = compared(result(SPRING, 6.0, **one), result(AUTUMN, 5.0, **one))
    assert (row["verdict"], row["reason"]) == ("cannot tell", "one attempt only")


def test_one_attempt_against_two_is_not_comparable_and_says_why() -> None:
    (row,) = compared(
        result(SPRING, 6.0, **FORTY), result(AUTUMN, 5.0, **{**FORTY, "n_attempts": 1})
    )
    assert (row["verdict"], row["reason"]) == ("not comparable", "attempts: 2 → 1")


def _five_with_within(within: float) -> list[dict[str, object]]:
    """Six athletes' three attempts on one day: each an equal step apart, turned round by turns."""
    rows: list[dict[str, object]] = []
    for n in range(6):
        steps = (-within, 0.0, within) if n % 2 else (within, 0.0, -within)
        cells: dict[str, Any] = {**CMJ, "athlete_id": f"B{n}"}
        rows += tries(SPRING, *(40 + s for s in steps), **cells)
    return rows


def test_more_attempts_are_allowed_for_and_it_is_said() -> None:
    """Best two of four lie 0.6630 SD above the mean, of three 0.4231 (order statistics).

    E(4,4) = 1.0294, E(3,4) = 0.2970; E(3,3) = 0.8463, E(2,3) = 0 (tables of normal scores).
    """
    world = World(
        [result(SPRING, 40.0, **CMJ), result(AUTUMN, 60.0, **{**CMJ, "n_attempts": 4})],
        attempts=_five_with_within(1.0),
    )
    (row,) = world.table()
    within = world.errors.attempt_sd(
        {"test": CMJ["test"], "part": "", "measure": "jump_height"}, math.sqrt(40 * 60)
    )
    assert within is not None
    assert within > 0
    flattered = within * ((1.0294 + 0.2970) / 2 - 0.8463 / 2)
    assert row["change"] == pytest.approx(20 - flattered, abs=1e-3 * within)
    assert (row["verdict"], row["reason"]) == ("clearly better", "unequal attempts, corrected")


@pytest.mark.parametrize(
    ("cells", "counts"),
    [(CMJ, (3, 5)), ({"test": "100 m"}, (1, 3))],
    ids=["two of more", "the best of a test that asks for one"],
)
def test_more_attempts_that_cannot_be_allowed_for_have_no_verdict(
    tmp_path: Path, cells: dict[str, Any], counts: tuple[int, int]
) -> None:
    own = battery(tmp_path, '[typical_errors]\n"100 m".time = {value = 0.1, unit = "s"}\n')
    then, now = ({**cells, "n_attempts": n} for n in counts)
    (row,) = compared(result(SPRING, 40.0, **then), result(AUTUMN, 60.0, **now), battery=own)
    assert (row["verdict"], row["reason"]) == ("cannot tell", "unequal attempts")


def test_the_sets_of_a_lift_are_no_attempts() -> None:
    (row,) = compared(
        result(SPRING, 100.0, **SQUAT, n_attempts=3), result(AUTUMN, 140.0, **SQUAT, n_attempts=6)
    )
    assert (row["verdict"], row["reason"]) == ("clearly better", "")


# --- words ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("now", "verdict", "reason"),
    [
        # 40 m: 1.3 % of 6 s is 0.078 s on 20 degrees of freedom; t(0.95, 20) = 1.7247 (table),
        # so 0.19 s count; the battery's smallest worthwhile is 0.022 s.
        (5.80, "clearly better", ""),
        (6.20, "clearly worse", ""),
        (5.82, "cannot tell", "within the error"),
        (6.00, "cannot tell", "within the error"),
    ],
)
def test_a_change_is_clear_beyond_its_error(now: float, verdict: str, reason: str) -> None:
    (row,) = compared(result(SPRING, 6.0, **FORTY), result(AUTUMN, now, **FORTY))
    assert (row["verdict"], row["reason"]) == (verdict, reason)
    assert (row["error_source"], row["error_grade"]) == ("published", "B")
    assert row["typical_error"] == pytest.approx(0.013 * math.sqrt(6.0 * now), abs=1e-5)


def test_a_small_error_makes_a_steady_value_steady_and_a_tiny_change_no_news(
    tmp_path: Path,
) -> None:
    text = (
        '[typical_errors]\n"40 m".time = {value = 0.005, unit = "s"}\n'
        '[smallest_worthwhile]\n"40 m" = {time = 0.05}\n'
    )
    own = battery(tmp_path, text)
    told = [
        compared(result(SPRING, 6.0, **FORTY), result(AUTUMN, now, **FORTY), battery=own)[0]
        for now in (6.00, 5.98, 5.96)
    ]
    # reach 1.645 · √2 · 0.005 = 0.0116: 0.02 ± 0.0116 lies within ± 0.05, 0.04 ± 0.0116 does not
    assert [(row["verdict"], row["reason"]) for row in told] == [
        ("steady", ""),
        ("steady", ""),
        ("cannot tell", "beyond the error, less than worthwhile"),
    ]


@pytest.mark.parametrize(
    ("cells", "reason"),
    [
        ({}, "the error of this test is not known well enough"),  # 60 m: grade C
        ({"test": "80 m"}, "no typical error"),
        ({**FORTY, "flags": "x;more than 5 repetitions"}, "too uncertain to judge"),
    ],
)
def test_an_error_not_known_well_gives_the_change_and_no_verdict(
    cells: dict[str, Any], reason: str
) -> None:
    (row,) = compared(result(SPRING, 8.0, **cells), result(AUTUMN, 7.0, **cells))
    assert (row["verdict"], row["reason"], row["change"]) == ("", reason, 1.0)


def test_a_measure_without_a_better_side_is_shown_and_not_judged() -> None:
    cells: dict[str, Any] = {"test": "body", "measure": "height", "unit": "cm", "n_attempts": 1}
    (row,) = compared(result(SPRING, 160.0, **cells), result(AUTUMN, 165.0, **cells))
    assert (row["verdict"], row["reason"], row["change"]) == ("", "", 5.0)


def test_every_reason_a_table_holds_is_of_the_catalogue() -> None:
    rows = World([result(SPRING, 8.0), result(AUTUMN, 7.0)]).table()
    assert rows[0]["reason"] in tables.REASONS


# --- a whole day, and the body --------------------------------------------------------------


def _mass(
    known: Battery, lift: tuple[float, float], mass: tuple[float, float], key: str
) -> dict[str, Any]:
    """Verdict on a lift for body mass, both days, with an error of 1 % known."""
    folder_rows = []
    for day, kg, body in zip((SPRING, AUTUMN), lift, mass, strict=True):
        exponent = 1.0 if key == "relative_strength" else 0.67
        folder_rows += [
            result(day, kg, **SQUAT),
            result(day, kg / body**exponent, **{**SQUAT, "measure": key, "unit": "kg/kg"}),
        ]
    by_measure = {row["measure"]: row for row in World(folder_rows, battery=known).table()}
    return by_measure[key]


@pytest.fixture(scope="module", name="known")
def _known(tmp_path_factory: pytest.TempPathFactory) -> Battery:
    text = '[typical_errors."back squat"]\n' + "".join(
        f'{key} = {{value = 1.0, unit = "%"}}\n' for key in ("one_rep_max", *MASS_FIELDS)
    )
    return battery(tmp_path_factory.mktemp("known"), text)


@pytest.mark.parametrize("key", MASS_FIELDS)
@pytest.mark.parametrize(
    ("lift", "mass"),
    [
        ((120.0, 120.0), (80.0, 70.0)),  # mass alone
        ((120.0, 117.0), (80.0, 68.0)),  # weaker and lighter
        ((120.0, 123.0), (80.0, 72.0)),  # 2.5 % of lift, 10 % of mass
    ],
)
def test_strength_for_mass_gained_by_losing_mass_is_never_called_better(
    known: Battery, key: str, lift: tuple[float, float], mass: tuple[float, float]
) -> None:
    row = _mass(known, lift, mass, key)
    assert row["change"] > 0
    assert row["low"] > 0  # it would be clear
    assert (row["verdict"], row["reason"]) == ("cannot tell", "more than half of it is body mass")


@pytest.mark.parametrize("key", MASS_FIELDS)
def test_strength_for_mass_gained_by_the_lift_is_called_better(known: Battery, key: str) -> None:
    assert _mass(known, (120.0, 135.0), (80.0, 79.0), key)["verdict"] == "clearly better"


# --- tests taken easy, and the year before ----------------------------------------------------


@pytest.mark.parametrize("test", ["40 m", ""])
def test_a_test_taken_easy_has_its_change_and_no_verdict(test: str) -> None:
    days = Days({}, frozenset({(AUTUMN, "A01", test)}))
    (row,) = compared(result(SPRING, 6.0, **FORTY), result(AUTUMN, 5.0, **FORTY), days=days)
    assert (row["verdict"], row["reason"], row["change"]) == ("", "taken easy", 1.0)


def test_a_test_taken_easy_gets_no_word_either_where_it_is_not_comparable() -> None:
    days = Days({}, frozenset({(AUTUMN, "A01", "40 m")}))
    (row,) = compared(
        result(SPRING, 6.0, **FORTY, conditions="timing=hand"),
        result(AUTUMN, 5.0, **FORTY),
        days=days,
    )
    assert (row["verdict"], row["reason"]) == ("", "taken easy")


def test_twelve_of_one_sex_set_the_smallest_worthwhile_themselves() -> None:
    """0.2 · √(SD² − TE²), Hopkins 2004; fewer take the battery's value."""
    scores = [5.4 + 0.1 * n for n in range(12)]
    rows = [
        row
        for n, score in enumerate(scores)
        for row in (
            result(SPRING, score, **FORTY, athlete_id=f"A{n:02}"),
            result(AUTUMN, score, **FORTY, athlete_id=f"A{n:02}"),
        )
    ]
    many = World(rows)
    sd = float(pd.Series(scores).std())
    error = float(pd.Series(0.013 * s for s in scores).median())
    for row in many.table():
        assert row["smallest_worthwhile"] == pytest.approx(
            0.2 * math.sqrt(sd**2 - error**2), abs=1e-6
        )
    eleven = World(rows[2:])
    assert {row["smallest_worthwhile"] for row in eleven.table()} == {0.022}
    mixed = World(rows, members=squad({"A00"}, sex="M") | squad({f"A{n:02}" for n in range(1, 12)}))
    assert {row["smallest_worthwhile"] for row in mixed.table()} == {0.022}
    easy = World(rows, days=Days({}, frozenset({(AUTUMN, "A00", "")})))
    assert {row["smallest_worthwhile"] for row in easy.table()} == {0.022}
