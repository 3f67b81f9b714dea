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
from pipeline.compare.reliability import KnownError, typical_error
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


def shifts(usable: pd.DataFrame, attempts: pd.DataFrame) -> tuple[Shift, ...]:
    """Where the group moved together beyond its error.

    Args:
        usable: comparable pairs with a known error: ``change error df`` beside the pair's columns.
        attempts: rows of ``registry.attempt_values``; gates are weighed run by run.
    """
    values = [
        _Column(
            rows,
            rows["change"].to_numpy(dtype=float),
            _SQRT2 * float(rows["error"].median()),
            float(rows["df"].median()),
        )
        for _, rows in usable.groupby(_SAME, sort=True)
    ]
    found: dict[tuple[Any, ...], Shift] = {}
    for columns in (values, list(_gates(usable, attempts))):  # a faster squad moves no gate
        for column, n, shift, se in _fired(columns):
            for key, rows in column.rows.groupby(_SAME, sort=True):
                own = float(rows["change"].median()) if column.gate else shift
                found[key] = _shift(key, str(rows["unit"].iloc[0]), (n, own, se), column.gate)
    return tuple(found.values())


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


def _gates(usable: pd.DataFrame, attempts: pd.DataFrame) -> Iterator[_Column]:
    """The balance of the sections on either side of each gate, and all that hangs on the gate."""
    sections = usable[usable["measure"] == _SECTIONS]
    for key, rows in sections.groupby(["test", "conditions", "from_day"], sort=True):
        test, conditions, from_day = (str(k) for k in key)
        parts = {part: _ends(part) for part in dict.fromkeys(rows["part"])}
        for before, (_, gate) in parts.items():
            after = next((p for p, (start, _) in parts.items() if start == gate), None)
            if after is None:
                continue
            column = _balance(rows, attempts, (test, conditions), (before, after))
            if column is None:
                continue
            hanging = usable[
                (usable["test"] == test)
                & (usable["from_day"] == from_day)
                & np.array([_hangs_on(row, gate) for row in records(usable)], dtype=bool)
            ]
            yield _Column(hanging, *column, gate=f"{gate:g} m")


def _balance(
    rows: pd.DataFrame, attempts: pd.DataFrame, run: tuple[str, str], parts: tuple[str, str]
) -> tuple[Array, float, float] | None:
    """Changes of a gate's balance by athlete, the SD of one by error, its degrees of freedom."""
    test, conditions = run
    sides = [rows[rows["part"] == part].set_index("athlete_id") for part in parts]
    both = sides[0].merge(sides[1], left_index=True, right_index=True, suffixes=("", "_after"))
    if both.empty:
        return None
    lengths = both[["before", "after", "before_after", "after_after"]].mean()
    share = float(lengths[2:].sum() / lengths.sum())
    first, second, old_first, old_second = (
        both[name].to_numpy(dtype=float)
        for name in ("after", "after_after", "before", "before_after")
    )
    moved = gate_balance(first, second, share) - gate_balance(old_first, old_second, share)
    error = _balance_error(attempts, test, conditions, parts, share)
    if error is None:
        return None
    scored = math.sqrt(2)  # the score is the mean of two runs
    return moved, _SQRT2 * error.error / scored, error.df


def _balance_error(
    attempts: pd.DataFrame, test: str, conditions: str, parts: tuple[str, str], share: float
) -> KnownError | None:
    """The balance's error from one run to the next of a day."""
    runs = attempts[
        (attempts["measure"] == _SECTIONS)
        & (attempts["test"] == test)
        & (attempts["conditions"] == conditions)
        & attempts["part"].isin(parts)
    ]
    wide = runs.pivot_table(
        index=["day", "athlete_id", "attempt"], columns="part", values="value", aggfunc="first"
    ).dropna()
    if wide.shape[1] < len(parts):
        return None
    before, after = (wide[part].to_numpy(dtype=float) for part in parts)
    balance = wide.reset_index()[["day", "athlete_id"]].assign(
        balance=gate_balance(before, after, share)
    )
    balance["number"] = balance.groupby(["day", "athlete_id"]).cumcount()
    table = balance.pivot_table(
        index=["day", "athlete_id"], columns="number", values="balance", aggfunc="first"
    )
    found = typical_error(table.to_numpy(dtype=float))
    return None if found is None or not found.error > 0 else KnownError(found.error, found.df)


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
