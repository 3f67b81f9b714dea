"""A line takes three comparable days, and its interval comes from the error of the test."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import numpy as np
import pytest

from pipeline.compare.pairs import Days
from pipeline.compare.trends import PER_DAYS, Line, lines
from tests.compare.made import AUTUMN, BATTERY, FORTY, NO_DAYS, World, result

DAYS = ["2025-09-16", "2026-01-20", "2026-05-12", AUTUMN]


def _lines(world: World) -> list[Line]:
    return list(lines(world.data.results, world.judged(), world.battery, world.days))


def _runs(*scores: float, days: list[str] | None = None, **cells: Any) -> list[dict[str, object]]:
    own = (days or DAYS)[-len(scores) :]
    return [result(day, s, **{**FORTY, **cells}) for day, s in zip(own, scores, strict=True)]


def test_a_trend_is_least_squares_in_units_a_term_and_faster_is_positive() -> None:
    scores = [5.60, 5.52, 5.50, 5.41]
    (line,) = _lines(World(_runs(*scores)))
    at = [(dt.date.fromisoformat(d) - dt.date.fromisoformat(DAYS[0])).days for d in DAYS]
    slope, start = np.polyfit(at, scores, 1)
    assert line.slope == pytest.approx(-slope * PER_DAYS)
    assert line.slope > 0
    assert line.fitted == pytest.approx([start + slope * t for t in at])
    assert line.days == tuple(DAYS)
    # Its error is that of the test: t(0.95, 20) = 1.7247 (table) · TE / √Σ(t − t̄)²
    error = 0.013 * math.sqrt(5.50 * 5.41)
    spread = math.sqrt(sum((t - sum(at) / 4) ** 2 for t in at))
    assert (line.high - line.low) / 2 == pytest.approx(1.7247 * error / spread * PER_DAYS, rel=1e-4)


def test_two_days_make_no_trend() -> None:
    assert _lines(World(_runs(5.5, 5.4))) == []


def test_no_trend_without_an_error_known_well_enough() -> None:
    assert _lines(World(_runs(8.0, 7.9, 7.8, test="60 m"))) == []


@pytest.mark.parametrize(
    "odd",
    [
        {"conditions": "timing=hand"},
        {"basis": "estimated"},
        {"n_attempts": 1},
        {"wind": 1.4},
    ],
)
def test_a_day_that_is_not_comparable_is_no_point_of_the_line(odd: dict[str, Any]) -> None:
    rows = _runs(5.6, 5.5, 5.45, 5.4)
    whole = World([*rows[:1], rows[1] | odd, *rows[2:]])
    (line,) = _lines(whole)
    assert DAYS[1] not in line.days
    assert _lines(World([rows[1] | odd, *rows[2:]])) == []


def test_repeat_days_and_tests_taken_easy_are_no_points_of_the_line() -> None:
    rows = _runs(5.6, 5.5, 5.45, 5.4)
    for days in (
        Days({DAYS[1]: DAYS[0]}, frozenset()),
        Days({}, frozenset({(DAYS[1], "A01", "40 m")})),
    ):
        (line,) = _lines(World(rows, days=days))
        assert line.days == (DAYS[0], *DAYS[2:])


def test_a_day_without_pairs_has_no_lines() -> None:
    world = World([result(AUTUMN, 5.5, **FORTY)])
    assert list(lines(world.data.results, world.judged(), BATTERY, NO_DAYS)) == []
