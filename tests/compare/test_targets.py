"""Where an athlete stands against a target; nothing is extrapolated."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from pipeline.compare import shape_model
from pipeline.compare.pairs import Days
from pipeline.compare.phase_table import at_targets
from pipeline.compare.published_shape import MEN
from pipeline.compare.targets import targets
from tests.compare.made import AUTUMN, BATTERY, CMJ, NO_DAYS, SPRING, SUMMER, result, results
from tests.compare.test_phase_table import BLOCKS, FAST, _squad, _two

Row = dict[str, Any]


def _aim(**cells: object) -> pd.DataFrame:
    aim = {"athlete_id": "A01", "test": "60 m", "measure": "time", "target": 7.5, "by": "", **cells}
    return pd.DataFrame([aim])


def _made(aim: pd.DataFrame, *rows: Row, days: Days = NO_DAYS) -> Row:
    (row,) = targets(aim, results(*rows), AUTUMN, BATTERY, days).to_dict("records")
    return {str(k): v for k, v in row.items()}


THREE = (result(SPRING, 7.90), result(SUMMER, 7.70), result(AUTUMN, 7.62))


def test_a_time_is_still_to_be_lost_and_the_best_term_stands_beside_it() -> None:
    row = _made(_aim(by="2027-03-01"), *THREE)
    assert (row["now"], row["now_day"], row["state"]) == (7.62, AUTUMN, "open")
    assert row["gap"] == pytest.approx(0.12)
    # 12 May, 1 July, 15 September: terms of 50 and 76 days, 63 the median; 167 days are two
    assert row["terms_left"] == 2
    assert row["needed_per_term"] == pytest.approx(0.06)
    assert row["best_term"] == pytest.approx(0.20)
    assert (row["best_from"], row["best_to"]) == (SPRING, SUMMER)


def test_a_height_is_still_to_be_gained() -> None:
    aim = _aim(test="countermovement jump", measure="jump_height", target=42.0)
    row = _made(aim, result(SPRING, 38.0, **CMJ), result(AUTUMN, 40.0, **CMJ))
    assert (row["gap"], row["best_term"], row["unit"]) == (2.0, 2.0, "cm")
    assert pd.isna(row["terms_left"])
    assert np.isnan(row["needed_per_term"])  # no date, no term to divide by


@pytest.mark.parametrize(
    ("target", "by", "state"),
    [
        (7.62, "", "reached"),
        (7.70, "2026-01-01", "reached"),
        (7.61, "2026-09-14", "late"),
        (7.61, AUTUMN, "open"),
        (7.61, "", "open"),
    ],
)
def test_how_a_target_stands(target: float, by: str, state: str) -> None:
    assert _made(_aim(target=target, by=by), *THREE)["state"] == state


def test_a_target_days_away_still_has_one_testing_day() -> None:
    row = _made(_aim(by="2026-09-17"), *THREE)
    assert row["terms_left"] == 1
    assert row["needed_per_term"] == pytest.approx(row["gap"])


def test_the_best_of_the_last_day_counts_not_the_best_ever() -> None:
    row = _made(_aim(), result(SPRING, 7.40), result(AUTUMN, 7.62))
    assert row["now"] == 7.62
    assert pd.isna(row["best_term"])  # it was a loss, and a loss is no best term


def test_an_athlete_not_tested_today_stands_where_they_stood() -> None:
    row = _made(_aim(), result(SPRING, 7.90), result(SUMMER, 7.70))
    assert (row["now"], row["now_day"]) == (7.70, SUMMER)


def test_without_a_value_there_is_only_the_target() -> None:
    row = _made(_aim(athlete_id="B"), *THREE)
    assert row["state"] == "no value"
    assert row["target"] == 7.5
    assert row["unit"] == "s"
    assert pd.isna(row["now"])


@pytest.mark.parametrize(
    "other",
    [
        {"conditions": "start=blocks"},
        {"wind": 1.6},
        {"n_attempts": 1},
    ],
)
def test_a_gain_between_days_that_cannot_be_compared_is_no_term(other: dict[str, object]) -> None:
    row = _made(_aim(), result(SPRING, 7.90), result(AUTUMN, 7.62, **other))
    assert pd.isna(row["best_term"])


def test_repeat_days_and_easy_days_are_no_terms() -> None:
    repeat = Days({SUMMER: SPRING}, frozenset())
    row = _made(_aim(by="2027-03-01"), *THREE, days=repeat)
    assert row["best_term"] == pytest.approx(0.28)
    assert row["terms_left"] == 1  # one term of 126 days
    easy = Days({}, frozenset({(SPRING, "A01", "60 m")}))
    assert _made(_aim(), *THREE, days=easy)["best_term"] == pytest.approx(0.08)


def test_a_day_after_is_not_known_yet() -> None:
    later = result("2026-12-01", 7.10)
    assert _made(_aim(), *THREE, later)["now"] == 7.62


# --- phase times of a target time ----------------------------------------------------------------


def _phases_at(target: float, reactions: dict[tuple[str, str], float], **cells: Any) -> list[Any]:
    sprints = pd.DataFrame([row for part in (_two(FAST, **cells), _squad(4, 1)) for row in part])
    aims = _aim(athlete_id="A", test="100 m", target=target, by="2027-06-01")
    return list(at_targets(sprints, aims, reactions))


def test_a_target_time_has_the_phase_times_of_the_published_line() -> None:
    """The line is in logarithms: ln(phase) = level + slope·(ln T − centre), rescaled to T."""
    found = _phases_at(9.85, {("A", "100 m"): 0.15})
    raw = np.exp(MEN.level + MEN.slope * (np.log(9.70) - MEN.centre))
    assert [one.then for one in found] == pytest.approx((raw * 9.70 / raw.sum()).tolist())
    assert [one.now for one in found] == pytest.approx(FAST.tolist())
    assert sum(one.then for one in found) == pytest.approx(9.70)  # the gun's 9.85 less reaction
    assert [(one.from_m, one.to_m) for one in found] == [(0, 10), (10, 30), (30, 60), (60, 100)]


def test_where_no_line_holds_the_time_nothing_is_promised() -> None:
    assert _phases_at(9.20, {}) == []
    assert _phases_at(9.80, {}, sex="F") == []
    assert _phases_at(9.80, {}, conditions="start=three-point") == []


def test_a_squads_own_line_serves_its_own_range() -> None:
    own = np.asarray(shape_model.expected(MEN, np.array(11.4)))
    keyed = {"conditions": BLOCKS}
    rows = [row for part in (_two(own, **keyed), _squad(12, 2, **keyed)) for row in part]
    aims = pd.concat([_aim(athlete_id="A", test="100 m", target=t) for t in (11.2, 14.0)])
    found = list(at_targets(pd.DataFrame(rows), aims, {}))
    assert {one.target for one in found} == {11.2}
    assert sum(one.then for one in found) == pytest.approx(11.2)
