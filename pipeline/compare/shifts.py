"""Whether a whole day was off: a gate moved, wind, surface, new kit, or everybody improved.

Nobody's change is praised or worried about in a measure in which all moved together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.compare.pairs import records
from pipeline.compare.reliability import typical_error
from pipeline.compare.verdicts import day_shift, gate_balance
from pipeline.measures.spec import Array, key_fields

_SECTIONS = "segment_time"


@dataclass(frozen=True, slots=True)
class Shift:
    """One measure in which a group moved together; ``shift`` is positive when better.

    ``gate`` names a gate that seems to have stood elsewhere, else it is empty.
    """

    test: str
    part: str
    measure: str
    conditions: str
    from_day: str
    unit: str
    n: int
    shift: float
    se: float
    gate: str = ""


@dataclass(frozen=True, slots=True)
class _Column:
    """One value tested: its changes by athlete, the SD of a change by error alone."""

    rows: pd.DataFrame
    changes: Array
    error: float
    df: float
    gate: str = ""


_SAME = ["test", "part", "measure", "conditions", "from_day"]


def shifts(comparable: pd.DataFrame, attempts: pd.DataFrame) -> tuple[Shift, ...]:
    """Where the group moved together beyond its error.

    Args:
        comparable: pairs that may be set side by side, ``change error df usable`` beside the
            pair's columns; a value is tested where its error is known (``usable``), a gate also
            where that of its sections is not, since it brings its own.
        attempts: rows of ``registry.attempt_values``; gates are weighed run by run.
    """
    values = [
        _Column(
            rows,
            rows["change"].to_numpy(dtype=float),
            _SQRT2 * float(rows["error"].median()),
            float(rows["df"].median()),
        )
        for _, rows in comparable[comparable["usable"]].groupby(_SAME, sort=True)
    ]
    found: dict[tuple[Any, ...], Shift] = {}
    for columns in (values, list(_gates(comparable, attempts))):  # a faster squad moves no gate
        fired = list(_fired(columns))
        named = _named(fired)
        for column, n, shift, se in fired:
            for key, rows in column.rows.groupby(_SAME, sort=True):
                own = float(rows["change"].median()) if column.gate else shift
                gate = named[_run(column)] if column.gate else ""
                found[key] = _shift(key, str(rows["unit"].iloc[0]), (n, own, se), gate)
    return tuple(found.values())


def _run(column: _Column) -> tuple[str, str]:
    first = column.rows.iloc[0]
    return str(first["test"]), str(first["from_day"])


def _named(fired: list[tuple[_Column, int, float, float]]) -> dict[tuple[str, str], str]:
    """The gate to look at in each test: a moved one drags its neighbours' balance along."""
    weakest_first = sorted(fired, key=lambda one: abs(one[2]) / one[3])
    return {_run(column): column.gate for column, *_ in weakest_first}


def _shift(key: tuple[Any, ...], unit: str, moved: tuple[int, float, float], gate: str) -> Shift:
    test, part, measure, conditions, from_day = (str(k) for k in key)
    return Shift(test, part, measure, conditions, from_day, unit, *moved, gate)


def _fired(columns: list[_Column]) -> Iterator[tuple[_Column, int, float, float]]:
    """The columns that moved as one, with the number of people, the shift and its error."""
    if not columns:
        return
    table = np.full((max(len(c.changes) for c in columns), len(columns)), np.nan)
    for place, column in enumerate(columns):
        table[: len(column.changes), place] = column.changes
    tested = day_shift(table, [c.error for c in columns], [c.df for c in columns])
    for column, row in zip(columns, records(tested), strict=True):
        if row["fired"]:
            yield column, int(row["n"]), float(row["shift"]), float(row["se"])


_SQRT2 = math.sqrt(2)


def _gates(comparable: pd.DataFrame, attempts: pd.DataFrame) -> Iterator[_Column]:
    """The balance of the sections on either side of each gate, and all that hangs on the gate."""
    sections = comparable[comparable["measure"] == _SECTIONS]
    for key, rows in sections.groupby(["test", "conditions", "from_day"], sort=True):
        test, conditions, from_day = (str(k) for k in key)
        parts = {part: _ends(part) for part in dict.fromkeys(rows["part"])}
        runs = attempts[
            (attempts["measure"] == _SECTIONS)
            & (attempts["test"] == test)
            & (attempts["conditions"] == conditions)
        ]
        for before, (_, gate) in parts.items():
            after = next((p for p, (start, _) in parts.items() if start == gate), None)
            if after is None:
                continue
            column = _balance(rows, runs, (before, after))
            if column is None:
                continue
            hanging = comparable[
                (comparable["test"] == test)
                & (comparable["from_day"] == from_day)
                & np.array([_hangs_on(row, gate) for row in records(comparable)], dtype=bool)
            ]
            yield _Column(hanging, *column, gate=f"{gate:g} m")


def _balance(
    rows: pd.DataFrame, runs: pd.DataFrame, parts: tuple[str, str]
) -> tuple[Array, float, float] | None:
    """Changes of a gate's balance by athlete, the SD of one by error, its degrees of freedom.

    The mean of all of a day's runs, not of the best: a gate stands where it stands in each.
    """
    wide = (
        runs[runs["part"].isin(parts)]
        .pivot_table(
            index=["day", "athlete_id", "attempt"], columns="part", values="value", aggfunc="first"
        )
        .dropna()
    )
    if wide.empty or wide.shape[1] < len(parts):
        return None
    before, after = (wide[part].to_numpy(dtype=float) for part in parts)
    share = float(after.mean() / (before.mean() + after.mean()))
    made = wide.reset_index()[["day", "athlete_id"]].assign(
        balance=gate_balance(before, after, share)
    )
    by_run = {
        (str(day), str(who)): own.to_numpy(dtype=float)
        for (day, who), own in made.groupby(["day", "athlete_id"], sort=True)["balance"]
    }
    table = np.full((len(by_run), max(map(len, by_run.values()))), np.nan)
    for row, own in enumerate(by_run.values()):
        table[row, : len(own)] = own
    within = typical_error(table)
    days = str(rows["from_day"].iloc[0]), str(rows["to_day"].iloc[0])
    both = [
        (by_run[days[0], who], by_run[days[1], who])
        for who in sorted(set(rows["athlete_id"]))
        if (days[0], who) in by_run and (days[1], who) in by_run
    ]
    if not both or within is None or not within.error > 0:
        return None
    moved = np.array([now.mean() - then.mean() for then, now in both])
    shares = float(np.median([1 / len(then) + 1 / len(now) for then, now in both]))
    return moved, within.error * math.sqrt(shares), within.df


def _ends(part: str) -> tuple[float, float]:
    start, end = part.removesuffix(" m").split("-")
    return float(start), float(end)


def _hangs_on(row: dict[Any, Any], gate: float) -> bool:
    """Whether a value is timed at the gate: a split there, a section or a phase that ends there."""
    ends = key_fields(str(row["conditions"])).get("ends", "") or str(row["part"])
    if row["measure"] == "split_time":
        return bool(str(row["part"]) == f"{gate:g} m")
    if "-" not in ends or not ends.endswith(" m"):
        return False
    return gate in _ends(ends)
