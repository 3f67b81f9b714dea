"""How far a judged score wobbles from day to day: the battery, the squad's repeats, the literature.

In this order: the battery's own value; the squad's repeat days, pooled with the published value;
the published value alone. Terms are no repeats: true change would inflate them. What attempts of
one day differ by is the least an error can be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from pipeline import tables
from pipeline.battery import Battery
from pipeline.compare.pairs import Days, counted
from pipeline.compare.reliability import (
    Agreement,
    KnownError,
    Repeatability,
    agreement,
    best_of,
    minimal_detectable_change,
    pooled,
    score_error,
    typical_error,
)
from pipeline.measures.registry import MEASURES, record_of
from pipeline.measures.spec import Array, Measure, key_fields

BATTERY, REPEATS, POOLED, PUBLISHED = (
    "battery", "repeat days", "repeat days and published", "published",
)  # fmt: skip
FLOOR = ", raised to what attempts of one day differ by"
OWN_GRADE = "own"
FEWEST_DF = 4
"""Five people on both days: fewer repeats say nothing of their own."""

_ADDITIVE = frozenset({"%", "°", "%/(m/s)"})
"""Units whose error does not grow with the value: no logarithms."""

Key = tuple[str, str, str]
"""Test, part, measure."""


@dataclass(frozen=True, slots=True)
class ErrorOfScore:
    """The typical error of one judged score, in its unit, and where it comes from."""

    error: float
    df: float
    source: str
    grade: str


@dataclass(frozen=True)
class Errors:
    """The errors of every measure of a season up to a day.

    Attributes:
        own: from the squad's repeat days, by (test, part, measure), of the judged score.
        within: from the attempts of one day, order removed, of a single attempt.
        level: the mean the own error was found at.
    """

    battery: Battery
    own: Mapping[Key, Repeatability]
    within: Mapping[Key, Repeatability]
    repeats: Mapping[Key, Array] = field(default_factory=dict)

    def of(self, row: Mapping[str, Any], level: float, age: float) -> ErrorOfScore | None:
        """The error of a score at a level (its unit); ``None`` where none is known at all.

        Args:
            row: ``test part measure conditions`` and ``attempts``, how many were made.
            level: the value the error is wanted at.
            age: in years; NaN where not known.

        Returns:
            Of grade C where only a carried-over value is known: good enough to print, not to
            judge by.
        """
        test, part, measure = (str(row[name]) for name in ("test", "part", "measure"))
        staff = self.battery.typical_errors
        given = staff.get((test, measure, part)) or staff.get((test, measure, ""))
        if given is not None:
            error = level * given.value / 100 if given.unit == "%" else given.value
            return ErrorOfScore(error, math.inf, BATTERY, OWN_GRADE)
        record = record_of(measure, self.battery.tests.get(test))
        ends = key_fields(str(row["conditions"])).get("ends", "")
        published = record.published_error(test, {part, ends} - {""} or {""}, age)
        value = None
        if published is not None:
            value = level * published.value / 100 if published.unit == "%" else published.value
            value = self._of_score(value, row, level)
        grade = "" if published is None else published.grade
        own = self.own.get((test, part, measure))
        mine = None if own is None else KnownError(_at(own, level), own.df)
        known = pooled(mine, value, grade)
        if known is None:
            return None if value is None else ErrorOfScore(value, math.nan, PUBLISHED, grade)
        source = PUBLISHED if mine is None else REPEATS if known.df == mine.df else POOLED
        return self._floored(
            ErrorOfScore(known.error, known.df, source, grade if mine is None else OWN_GRADE),
            record, row, level,
        )  # fmt: skip

    def _of_score(self, single: float, row: Mapping[str, Any], level: float) -> float:
        """A published error, of a single attempt, as that of the judged score.

        Where attempts are not known here to differ by anything, it stays as it is.
        """
        within = self.attempt_sd(row, level)
        attempts = max(int(row["attempts"]), 1)
        if within is None:
            return single
        return score_error(single, within, attempts, min(counted(row, self.battery), attempts))

    def attempt_sd(self, row: Mapping[str, Any], level: float) -> float | None:
        """The SD of an athlete's attempts of one day at a level; ``None`` where not known."""
        found = self.within.get((str(row["test"]), str(row["part"]), str(row["measure"])))
        return None if found is None else _at(found, level)

    def _floored(
        self, known: ErrorOfScore, record: Measure, row: Mapping[str, Any], level: float
    ) -> ErrorOfScore:
        within = self.within.get((str(row["test"]), str(row["part"]), record.key))
        if within is None:
            return known
        attempts = max(int(row["attempts"]), 1)
        least = _at(within, level) * best_of(attempts, min(counted(row, self.battery), attempts)).sd
        if least <= known.error:
            return known
        return ErrorOfScore(least, float(within.df), known.source + FLOOR, known.grade)


def _at(found: Repeatability, level: float) -> float:
    return found.error * abs(level) if found.log else found.error


def learn(results: pd.DataFrame, attempts: pd.DataFrame, battery: Battery, days: Days) -> Errors:
    """What the squad's own repeats say.

    Args:
        results: of all days (``registry.RESULT_COLUMNS``).
        attempts: rows of ``registry.attempt_values`` of all days.
        battery: the staff's own errors.
        days: which days repeat which.
    """
    repeats = dict(_repeat_tables(results, battery, days))
    own = {
        key: found
        for key, table in repeats.items()
        if (found := typical_error(table, log=_in_logs(key, table, battery))) is not None
        and found.df >= FEWEST_DF
    }
    within = {
        key: found
        for key, table in _attempt_tables(attempts, battery)
        if (found := typical_error(table, log=_in_logs(key, table, battery))) is not None
        and found.df >= FEWEST_DF
    }
    return Errors(battery, own, within, repeats)


def _in_logs(key: Key, table: Array, battery: Battery) -> bool:
    """Whether an error grows with the value: any positive quantity but a share or an angle."""
    record = record_of(key[2], battery.tests.get(key[0]))
    return record.unit not in _ADDITIVE and bool((table[np.isfinite(table)] > 0).all())


_KEY = ["test", "part", "measure"]
_PERSON = ["athlete_id", "conditions", "basis"]


def _repeat_tables(
    results: pd.DataFrame, battery: Battery, days: Days
) -> Iterator[tuple[Key, Array]]:
    """Athletes × (day, its repeats), the column means of each day removed beforehand by its own.

    A repeat day's shift (a gate, the wind) is no athlete's error: each original day brings its
    rows with the columns centred on its own mean, so that several originals may be stacked.
    """
    original = {**{first: first for first in days.repeats.values()}, **days.repeats}
    rows = results[results["day"].isin(original) & _judged(results, battery)]
    eased = [
        days.easy(str(d), str(a), str(t))
        for d, a, t in zip(rows["day"], rows["athlete_id"], rows["test"], strict=True)
    ]
    rows = rows[~np.array(eased, dtype=bool)] if len(rows) else rows
    rows = rows.assign(
        first=rows["day"].map(original), person=rows.groupby(_PERSON, sort=True).ngroup()
    )
    for key, same in rows.groupby(_KEY, sort=True):
        if same["day"].nunique() < 2:  # noqa: PLR2004  # a repeat takes two
            continue
        tables = [
            _grid(own["person"], own["day"], own["score"])
            for _, own in same.groupby("first", sort=True)
        ]
        tables = [table for table in tables if len(table)]
        if tables:
            test, part, measure = (str(k) for k in key)
            yield (test, part, measure), _stacked(tables)


def _stacked(tables: list[Array]) -> Array:
    """Tables side by side on their own columns, so that each keeps its own column effects."""
    height, width = (sum(table.shape[i] for table in tables) for i in (0, 1))
    whole = np.full((height, width), np.nan)
    row = column = 0
    for table in tables:
        whole[row : row + table.shape[0], column : column + table.shape[1]] = table
        row, column = row + table.shape[0], column + table.shape[1]
    return whole


def _attempt_tables(attempts: pd.DataFrame, battery: Battery) -> Iterator[tuple[Key, Array]]:
    """Athlete and day × attempt, in the order they were made; rising sets of a lift are none."""
    rows = attempts[_judged(attempts, battery)]
    chosen = _each(rows, lambda row: counted(row, battery) > 1)
    person = ["day", *_PERSON]
    order = rows[chosen].sort_values([*person, "attempt", "key"], kind="stable")
    order = order.assign(person=order.groupby(person, sort=True).ngroup())
    for key, same in order.groupby(_KEY, sort=True):
        number = same.groupby("person", sort=False).cumcount()
        values = _grid(same["person"], number, same["value"])
        if len(values):
            test, part, measure = (str(k) for k in key)
            yield (test, part, measure), values


def _grid(people: pd.Series, columns: pd.Series, values: pd.Series) -> Array:
    """Values by person and column, the first of several; people with one value are left out."""
    row, column = (np.unique(part, return_inverse=True)[1] for part in (people, columns))
    table: Array = np.full((row.max() + 1, column.max() + 1), np.nan)
    table[row[::-1], column[::-1]] = values.to_numpy(dtype=float)[::-1]
    repeated = np.isfinite(table).sum(axis=1) > 1
    return np.asarray(table[repeated], dtype=float)


def _judged(rows: pd.DataFrame, battery: Battery) -> pd.Series:
    """Rows of measures that a change is judged by."""
    return _each(
        rows, lambda row: is_judged(record_of(row["measure"], battery.tests.get(row["test"])))
    )


def _each(rows: pd.DataFrame, holds: Callable[[dict[str, Any]], bool]) -> pd.Series:
    """What holds for each row, asked once for each test and measure."""
    pairs = list(zip(rows["test"].astype(str), rows["measure"].astype(str), strict=True))
    known = {pair: holds({"test": pair[0], "measure": pair[1]}) for pair in dict.fromkeys(pairs)}
    return pd.Series([known[pair] for pair in pairs], index=rows.index, dtype=bool)


def is_judged(record: Measure) -> bool:
    """Whether a measure has a better side and days are set side by side in it."""
    return record.compared and record.better != "neither" and record.key in MEASURES


def table(errors: Errors) -> pd.DataFrame:
    """The table ``reliability``: what the squad's repeat days say, measure by measure.

    ``typical_error`` with its 90 % limits is in the measure's unit at the mean; ``cv_raw`` is 100
    times error over mean, ``cv_log`` comes from logarithms; the ICC is (3,1).
    """
    rows = []
    for key, found in errors.own.items():
        test, part, measure = key
        repeats = errors.repeats[key]
        factor = found.mean if found.log else 1.0
        icc = _agreement(repeats)
        within = errors.within.get(key)
        raw = typical_error(repeats)
        rows.append(
            {
                "test": test,
                "part": part,
                "measure": measure,
                "unit": record_of(measure, errors.battery.tests.get(test)).unit,
                "athletes": found.athletes,
                "days": repeats.shape[1],
                "df": found.df,
                "typical_error": found.error * factor,
                "low": found.low * factor,
                "high": found.high * factor,
                "scale": "log" if found.log else "raw",
                "cv_raw": math.nan if raw is None or not found.log else raw.cv_raw,
                "cv_log": found.cv_log,
                "icc31": math.nan if icc is None else icc.icc31,
                "icc_low": math.nan if icc is None else icc.low31,
                "icc_high": math.nan if icc is None else icc.high31,
                "minimal_detectable": minimal_detectable_change(found.error * factor),
                "within_day": math.nan if within is None else _at(within, found.mean),
            }
        )
    return pd.DataFrame(rows, columns=list(tables.SCHEMAS["reliability"].columns))


def _agreement(repeats: Array) -> Agreement | None:
    """Intraclass correlations of one original day and its repeats; none of several originals."""
    if np.isnan(repeats).any() or len(repeats) < _FEWEST_FOR_ICC:
        return None
    return agreement(repeats)


_FEWEST_FOR_ICC = 5
