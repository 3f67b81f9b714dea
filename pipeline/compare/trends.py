"""A measure over three or more comparable days: a line with its interval."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.compare.changes import Judged
from pipeline.compare.pairs import Days, counted, is_sprint, records, winds_apart
from pipeline.compare.verdicts import TREND_FROM, trend
from pipeline.measures.registry import record_of

PER_DAYS = 365.25 / 3
"""A trend is told for a third of a year: about a term."""


@dataclass(frozen=True, slots=True)
class Line:
    """A trend; ``slope low high`` per term in the measure's unit, positive when better.

    ``fitted`` holds the line's value on each of ``days``, in the measure's own direction.
    """

    athlete_id: str
    test: str
    part: str
    measure: str
    conditions: str
    slope: float
    low: float
    high: float
    days: tuple[str, ...]
    fitted: tuple[float, ...]


def lines(results: pd.DataFrame, judged: Judged, battery: Battery, days: Days) -> Iterator[Line]:
    """The trend of every pair of the day whose error is known and that has three days or more.

    Days that may not be set beside this one do not count: tests taken easy, another number of
    attempts behind the score, winds too far apart.

    Args:
        results: of all days (``registry.RESULT_COLUMNS``).
        judged: the day's changes.
        battery: the directions of the staff's own tests.
        days: repeat days and tests taken easy stand aside.
    """
    if judged.judged.empty:
        return
    usable = records(judged.judged[judged.judged["usable"]])
    history = _history(results, {_same(pair) for pair in usable}, days)
    for pair in usable:
        own = [row for row in history.get(_same(pair), ()) if _alike(row, pair, battery)]
        if len(own) < TREND_FROM:
            continue
        dates = [dt.date.fromisoformat(row["day"]).toordinal() for row in own]
        at = np.array(dates, dtype=float) - dates[0]
        better = record_of(pair["measure"], battery.tests.get(pair["test"])).better
        sign = -1.0 if better == "lower" else 1.0
        scores = np.array([row["score"] for row in own], dtype=float)
        found = trend(at, sign * scores, pair["error"], pair["df"], per_days=PER_DAYS)
        if found is None:
            continue
        slope = sign * found.slope / PER_DAYS
        fitted = scores.mean() + slope * (at - at.mean())
        yield Line(
            **{name: str(pair[name]) for name in _NAMED},
            slope=found.slope,
            low=found.low,
            high=found.high,
            days=tuple(row["day"] for row in own),
            fitted=tuple(float(f) for f in fitted),
        )


_NAMED = ("athlete_id", "test", "part", "measure", "conditions")


def _same(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """What makes two results points of one line."""
    return tuple(row[name] for name in (*_NAMED, "basis"))


def _history(
    results: pd.DataFrame, wanted: set[tuple[Any, ...]], days: Days
) -> dict[tuple[Any, ...], list[dict[str, Any]]]:
    """One row a day of each wanted value, in order, repeat days and easy tests left out."""
    columns = [*_NAMED, "basis", "day", "score", "n_attempts", "wind"]
    rows = results[~results["day"].isin(days.repeats)].sort_values("day", kind="stable")
    found: dict[tuple[Any, ...], dict[str, dict[str, Any]]] = {}
    for row in records(rows[columns]):
        key = _same(row)
        if key in wanted and not days.easy(row["day"], row["athlete_id"], row["test"]):
            found.setdefault(key, {}).setdefault(row["day"], row)
    return {key: list(by_day.values()) for key, by_day in found.items()}


def _alike(row: Mapping[str, Any], pair: Mapping[str, Any], battery: Battery) -> bool:
    """Whether a day's score is of the same kind as this day's, in wind and number of attempts."""
    few = counted(pair, battery)
    if min(row["n_attempts"], few) != min(pair["n_after"], few):
        return False
    blown = winds_apart(row["wind"], pair["wind_after"])
    return not (blown and is_sprint(pair["test"], battery))
