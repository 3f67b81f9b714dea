"""Where the error of a judged score comes from, and in which order."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pipeline.compare import reliability, typical_errors
from pipeline.compare.pairs import Days
from pipeline.compare.typical_errors import FLOOR, POOLED, PUBLISHED, REPEATS, ErrorOfScore
from tests.compare.made import (
    AUTUMN,
    CMJ,
    FORTY,
    SPRING,
    SUMMER,
    World,
    battery,
    result,
    tries,
)

REPEAT = "2026-05-19"
REPEATED = Days({REPEAT: SPRING}, frozenset())
PEOPLE = [f"B{n}" for n in range(9)]
JUMP = {"test": "countermovement jump", "part": "", "measure": "jump_height", "conditions": ""}


def _of(
    world: World, row: dict[str, Any], level: float, age: float = 20, attempts: int = 2
) -> ErrorOfScore | None:
    return world.errors.of({**row, "attempts": attempts}, level, age)


def _repeats(
    cells: dict[str, Any], level: float, spread: float, days: tuple[str, str] = (SPRING, REPEAT)
) -> list[dict[str, object]]:
    """Nine people on two days; their differences have an SD of exactly ``spread``·√2 and no mean.

    Far apart between people, so that nothing but the repeats can say so little.
    """
    steps = np.arange(9) - 4.0
    steps *= spread * math.sqrt(2) / steps.std(ddof=1)
    rows = []
    for n, (who, step) in enumerate(zip(PEOPLE, steps, strict=True)):
        first = level + n
        for day, value in zip(days, (first, first + step), strict=True):
            rows.append(result(day, value, **{**cells, "athlete_id": who}))
    return rows


ANGLE: dict[str, object] = {"test": "my angle", "measure": "value", "unit": "°", "n_attempts": 1}
BATTERY_ANGLE = '[tests."my angle"]\nkind = "other"\nunit = "°"\nbetter = "lower"\nattempts = 1\n'


# --- the order ------------------------------------------------------------------------------


def test_the_battery_s_own_goes_before_everything(tmp_path: Path) -> None:
    text = '[typical_errors."countermovement jump"]\njump_height = {value = 1.5, unit = "cm"}\n'
    world = World(_repeats(CMJ, 40, 5), days=REPEATED, battery=battery(tmp_path, text))
    assert _of(world, JUMP, 40.0) == ErrorOfScore(1.5, math.inf, "battery", "own")


def test_the_battery_s_own_may_be_a_share_and_may_be_of_a_part(tmp_path: Path) -> None:
    text = (
        '[typical_errors]\n"60 m" = {"split_time, 10 m" = {value = 2, unit = "%"}, '
        'split_time = {value = 0.05, unit = "s"}}\n'
    )
    world = World([result(SPRING, 7.8)], battery=battery(tmp_path, text))
    row = {"test": "60 m", "measure": "split_time", "conditions": ""}
    ten, thirty = (_of(world, {**row, "part": p}, 2.0) for p in ("10 m", "30 m"))
    assert ten is not None
    assert thirty is not None
    assert (ten.error, thirty.error) == (pytest.approx(0.04), 0.05)


def test_repeat_days_are_pooled_with_the_published_error() -> None:
    """s² = (8·s₁² + 30·s₀²)/38, the published 4 % counting 30 as grade A."""
    world = World(_repeats(CMJ, 40, 3.0), days=REPEATED)
    own = world.errors.own["countermovement jump", "", "jump_height"]
    assert (own.df, own.athletes, own.log) == (8, 9, True)
    found = _of(world, JUMP, 44.0)
    assert found is not None
    wanted = math.sqrt((8 * (own.error * 44) ** 2 + 30 * (0.04 * 44) ** 2) / 38)
    assert (found.error, found.df) == (pytest.approx(wanted), 38)
    assert (found.source, found.grade) == (POOLED, "own")


def test_repeat_days_stand_alone_where_nothing_good_was_published(tmp_path: Path) -> None:
    """An angle's error is no share of it: SD(difference)/√2 as it stands, Hopkins 2000."""
    own = battery(tmp_path, BATTERY_ANGLE)
    world = World(_repeats(ANGLE, 90, 3.0), days=REPEATED, battery=own)
    row = {"test": "my angle", "part": "", "measure": "value", "conditions": ""}
    found = _of(world, row, 500.0)
    assert found is not None
    assert (found.error, found.df) == (pytest.approx(3.0), 8)
    assert (found.source, found.grade) == (REPEATS, "own")


def test_published_alone_is_what_is_left() -> None:
    found = _of(World([result(SPRING, 40.0, **CMJ)]), JUMP, 40.0)
    assert found == ErrorOfScore(pytest.approx(1.6), reliability.PRIOR_DF["A"], PUBLISHED, "A")


def test_grade_c_is_known_but_has_no_degrees_of_freedom() -> None:
    row = {"test": "60 m", "part": "", "measure": "time", "conditions": ""}
    found = _of(World([result(SPRING, 8.0)]), row, 8.0)
    assert found is not None
    assert (found.error, found.grade) == (pytest.approx(0.104), "C")
    assert math.isnan(found.df)


def test_a_squad_s_own_repeats_lift_a_grade_c_measure_to_a_verdict() -> None:
    world = World(_repeats({"test": "60 m"}, 8, 0.05), days=REPEATED)
    found = _of(world, {"test": "60 m", "part": "", "measure": "time", "conditions": ""}, 8.0)
    assert found is not None
    assert (found.df, found.source) == (8, REPEATS)


def test_of_what_nothing_is_known_there_is_no_error() -> None:
    row = {"test": "80 m", "part": "", "measure": "time", "conditions": ""}
    assert _of(World([result(SPRING, 9.0)]), row, 9.0) is None


# --- what is a repeat -----------------------------------------------------------------------


def test_terms_are_never_repeats() -> None:
    """The same rows on the same people, but no day says that it repeats another."""
    rows = _repeats(CMJ, 40, 3.0, (SPRING, SUMMER))
    assert World(rows).errors.own == {}
    assert World(rows, days=Days({REPEAT: SPRING}, frozenset())).errors.own == {}


def test_a_day_s_own_shift_is_no_athlete_s_error() -> None:
    rows = _repeats(CMJ, 40, 3.0)
    moved = [
        {**row, "score": float(str(row["score"])) * (1.1 if row["day"] == REPEAT else 1)}
        for row in rows
    ]
    plain, shifted = (World(r, days=REPEATED).errors.own for r in (rows, moved))
    key = ("countermovement jump", "", "jump_height")
    assert shifted[key].error == pytest.approx(plain[key].error)


def test_fewer_than_five_people_say_nothing() -> None:
    rows = _repeats(CMJ, 40, 3.0)
    five = {str(row["athlete_id"]) for row in rows[:10]}
    assert len(five) == 5
    assert len(World(rows[:10], days=REPEATED).errors.own) == 1
    assert World(rows[:8], days=REPEATED).errors.own == {}


def test_who_took_it_easy_is_no_repeat() -> None:
    rows = _repeats(CMJ, 40, 3.0)
    eased = frozenset({(REPEAT, "B8", ""), (REPEAT, "B0", CMJ["test"])})
    world = World(rows, days=Days({REPEAT: SPRING}, eased))  # type: ignore[arg-type]  # words
    assert world.errors.own["countermovement jump", "", "jump_height"].athletes == 7


def test_other_conditions_are_no_repeat() -> None:
    rows = [
        row | ({"conditions": "arms=free"} if row["day"] == REPEAT else {})
        for row in _repeats(CMJ, 40, 3.0)
    ]
    assert World(rows, days=REPEATED).errors.own == {}


# --- within a day ---------------------------------------------------------------------------


def _wobbling(share: float, drift: float = 0.0) -> list[dict[str, object]]:
    """Ten people, three attempts: a step of ``share`` up or down, and a drift with the order."""
    rows: list[dict[str, object]] = []
    for n in range(10):
        signs = [(1, -1, 0), (-1, 1, 0), (0, 1, -1), (0, -1, 1), (1, 0, -1)][n % 5]
        values = (
            (40 + n) * math.exp(share * sign + drift * place) for place, sign in enumerate(signs)
        )
        rows += tries(SPRING, *values, **{**CMJ, "athlete_id": f"B{n}"})
    return rows


KEY = ("countermovement jump", "", "jump_height")


def test_attempts_of_a_day_are_a_floor() -> None:
    """A squad that differs by 20 % from jump to jump is not judged by 4 %."""
    world = World([result(SPRING, 40.0, **CMJ)], attempts=_wobbling(0.20))
    within = world.errors.within[KEY].error * 40
    found = _of(world, JUMP, 40.0, attempts=3)
    assert found is not None
    assert found.error >= within * reliability.best_of(3, 2).sd
    assert found.error > 0.04 * 40


def test_the_floor_says_that_it_is_one(tmp_path: Path) -> None:
    """Repeat days that hardly differ cannot make an error smaller than that of the attempts."""
    rows = _repeats(ANGLE | {"n_attempts": 3}, 90, 0.001)
    own = battery(tmp_path, BATTERY_ANGLE.replace("attempts = 1", "attempts = 3"))
    attempts = [
        row
        for n in range(10)
        for row in tries(SPRING, *[(90, 94, 98), (98, 90, 94), (94, 98, 90)][n % 3],
                         **{**ANGLE, "athlete_id": f"B{n}"})
    ]  # fmt: skip
    world = World(rows, attempts=attempts, days=REPEATED, battery=own)
    row = {"test": "my angle", "part": "", "measure": "value", "conditions": ""}
    found = _of(world, row, 90.0, attempts=3)
    assert found is not None
    assert found.source == REPEATS + FLOOR
    within = world.errors.within["my angle", "", "value"]
    assert found.error == pytest.approx(within.error * reliability.best_of(3, 2).sd)
    assert found.df == within.df


def test_the_order_of_attempts_is_taken_out_first() -> None:
    still, tiring = (World([], attempts=_wobbling(0.02, d)).errors.within for d in (0.0, -0.05))
    assert tiring[KEY].error == pytest.approx(still[KEY].error)


def test_the_error_is_that_of_the_score_and_not_of_a_single_attempt() -> None:
    """Of 4 % between days with 3 % within one, the mean of the best two of three keeps less."""
    world = World([result(SPRING, 40.0, **CMJ)], attempts=_wobbling(0.03))
    within = world.errors.within[KEY].error * 40
    found = _of(world, JUMP, 40.0, attempts=3)
    assert found is not None
    assert found.error == pytest.approx(reliability.score_error(1.6, within, 3, 2))
    assert found.error < 1.6


# --- the table ------------------------------------------------------------------------------


def test_the_table_of_reliability_gives_limits_n_and_what_must_change() -> None:
    """Limits TE·√(ν/χ²), Hopkins 2000; 1.96·√2·TE, Weir 2005; CVs named raw and log."""
    world = World(_repeats(FORTY, 6, 0.1), days=REPEATED)
    (row,) = typical_errors.table(world.errors).to_dict("records")
    assert (row["test"], row["measure"], row["athletes"], row["df"]) == ("40 m", "time", 9, 8)
    assert row["scale"] == "log"
    # χ²(0.95, 8) = 15.507 and χ²(0.05, 8) = 2.733 (table)
    assert row["low"] / row["typical_error"] == pytest.approx(math.sqrt(8 / 15.507), abs=1e-4)
    assert row["high"] / row["typical_error"] == pytest.approx(math.sqrt(8 / 2.733), abs=2e-4)
    assert row["minimal_detectable"] == pytest.approx(1.96 * math.sqrt(2) * row["typical_error"])
    assert row["icc_low"] < row["icc31"] <= row["icc_high"] <= 1
    assert row["cv_raw"] == pytest.approx(100 * 0.1 / 10, rel=1e-6)  # mean of 6 to 14 is 10
    assert row["cv_log"] > 0


def test_a_season_without_any_repeat_or_attempt_has_an_empty_table() -> None:
    assert typical_errors.table(World([]).errors).empty
    assert World([result(AUTUMN, 7.7)]).table() == []
