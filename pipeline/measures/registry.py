"""The register of measures and views, and the one engine that computes them all."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import Battery, TestPlan
from pipeline.measures.sources import SOURCES
from pipeline.measures.spec import (
    MEASURED,
    USED,
    Array,
    DayView,
    Measure,
    Trials,
    TypicalError,
    View,
    joined,
    once,
)

MEASURES: dict[str, Measure] = {}
VIEWS: dict[str, View] = {}
DAY_VIEWS: dict[str, DayView] = {}

RESULT_COLUMNS = (
    "day", "session", "athlete_id", "test", "part", "measure", "value", "unit", "low", "high",
    "resolution", "n_attempts", "attempt", "basis", "source", "flags", "conditions", "score",
    "scored", "wind",
)  # fmt: skip

ATTEMPT_VALUES = (
    "key", "part", "source", "measure", "value", "unit", "resolution", "basis", "flags", "extra",
    "rank", "average", "low", "high",
)  # fmt: skip

_SAME_TEST = ["day", "athlete_id", "test", "own_key"]

IN_A_HALL = "indoor=yes"

OWN = "value"
"""The measure of a test of the staff's own; its unit and direction are the battery's."""

COMBINE = {
    "best": "the best attempt of the day",
    "best run": "all parts from the day's best whole run, never the best of each",
    "best RSI": "the attempt with the greatest RSI, for each drop height",
    "best trace": "one trace for all: the highest jump by impulse, the strongest pull, the drop "
    "jump with the greatest RSI",
    "mean": "the mean of the attempts",
    "first": "the first value of the day",
    "day": "computed from the day's results",
}
"""How attempts become one value; the words are printed in the methods part."""


def measure(
    *,
    key: str,
    label: str,
    unit: str,
    better: str,
    decimals: int,
    plausible: tuple[float, float],
    formula: str,
    sources: tuple[str, ...],
    view: str,
    combine: str,
    section: str,
    typical_errors: tuple[TypicalError, ...] = (),
    staff_only: bool = False,
    for_adults: bool = False,
    compared: bool = True,
) -> Callable[[Callable[..., Array]], Callable[..., Array]]:
    """Register the decorated function as a measure; see ``spec.Measure`` for the record."""

    def register(function: Callable[..., Array]) -> Callable[..., Array]:
        if key in MEASURES:
            raise ValueError(f"the measure {key!r} is registered twice")
        MEASURES[key] = Measure(
            key=key,
            label=label,
            unit=unit,
            better=better,
            decimals=decimals,
            low=plausible[0],
            high=plausible[1],
            formula=formula,
            sources=sources,
            typical_errors=typical_errors,
            view=view,
            combine=combine,
            section=section,
            staff_only=staff_only,
            for_adults=for_adults,
            compared=compared,
            function=function,
            inputs=tuple(inspect.signature(function).parameters),
        )
        return function

    return register


def record_of(key: str, plan: TestPlan | None) -> Measure:
    """The record of a measure in a test; a test of the staff's own brings its own unit."""
    record = MEASURES[key]
    if key != OWN or plan is None:
        return record
    return replace(
        record,
        label=plan.name,
        unit=plan.unit,
        better=plan.better,
        decimals=plan.decimals,
        low=plan.low,
        high=plan.high,
    )


def view(
    name: str, *quantities: str
) -> Callable[[Callable[[Trials, Battery], pd.DataFrame]], View]:
    """Register the decorated builder as a view on trials that hold any of some quantities."""

    def register(build: Callable[[Trials, Battery], pd.DataFrame]) -> View:
        VIEWS[name] = View(name, once(build), frozenset(quantities))
        return VIEWS[name]

    return register


def day_view(name: str) -> Callable[[Callable[[pd.DataFrame, Battery], pd.DataFrame]], DayView]:
    """Register the decorated builder as a view on a day's results."""

    def register(build: Callable[[pd.DataFrame, Battery], pd.DataFrame]) -> DayView:
        DAY_VIEWS[name] = DayView(name, build)
        return DAY_VIEWS[name]

    return register


# --- computing ------------------------------------------------------------------------------


def _evaluate(record: Measure, table: pd.DataFrame) -> tuple[Array, Array]:
    """Values and their resolution: how far the value moves within one step of the instruments.

    The resolution of each input is half a step either way; their effects are added, since the
    steps of one instrument are not independent.
    """
    inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
    with np.errstate(divide="ignore", invalid="ignore"):
        values = record.function(**inputs)
        spread = np.zeros(len(table))
        known = np.zeros(len(table), dtype=bool)
        for name in record.inputs:
            column = f"{name}_resolution"
            if column not in table:
                continue
            step = table[column].to_numpy(dtype=float)
            up = record.function(**{**inputs, name: inputs[name] + step / 2})
            down = record.function(**{**inputs, name: inputs[name] - step / 2})
            effect = np.abs(up - down)
            spread += np.nan_to_num(effect)
            known |= np.isfinite(effect)
    values = np.where(np.isfinite(values), values, np.nan)
    return values, np.where(known, spread, np.nan)


@once
def per_attempt(trials: Trials, battery: Battery) -> pd.DataFrame:
    """Every measure of every attempt.

    Returns:
        One row a value: ``key part measure value unit resolution basis source flags extra rank``;
        ``extra`` is what the view adds to the comparison key, ``rank`` orders whole runs.
    """
    pieces: list[pd.DataFrame] = []
    there = set(trials.values.loc[trials.values["status"] == USED, "quantity"])
    for built in VIEWS.values():
        if there.isdisjoint(built.quantities):
            continue
        table = built.build(trials, battery)
        if table.empty:
            continue
        for record in _of_view(built.name):
            values, resolution = _evaluate(record, table)
            piece = table[["key", "part", "source"]].assign(
                measure=record.key,
                value=values,
                unit=record.unit,
                resolution=resolution,
                basis=table.get("basis", MEASURED),
                flags=table.get("flags", ""),
                extra=table.get("extra", ""),
                rank=table.get("rank", np.nan),
                low=table.get(f"{record.key}_low", np.nan),
                high=table.get(f"{record.key}_high", np.nan),
                average=table.get("average", False),  # a column's default
            )
            pieces.append(piece[np.isfinite(values)])
    if not pieces:
        return pd.DataFrame({name: [] for name in ATTEMPT_VALUES})
    return pd.concat(pieces, ignore_index=True)


def _of_view(name: str) -> Iterator[Measure]:
    return (record for record in MEASURES.values() if record.view == name)


@once
def attempt_values(trials: Trials, battery: Battery) -> pd.DataFrame:
    """Every measure of every attempt beside what is known of the attempt.

    Returns:
        The rows of ``per_attempt`` with the columns of the attempt, the whole comparison key in
        ``conditions``, and the ``wind`` in m/s (0 in a hall, NaN where not known).
    """
    attempts = trials.attempts.drop(columns=["place"])
    rows = per_attempt(trials, battery).merge(
        attempts, left_on="key", right_index=True, suffixes=("", "_attempt")
    )
    winds = trials.used("wind").drop_duplicates("key").set_index("key")["value"]
    indoors = rows["conditions"].str.contains(IN_A_HALL, regex=False)
    rows["wind"] = rows["key"].map(winds).astype(float).mask(indoors.astype(bool), 0.0)
    rows["flags"] = [
        joined(a, b) for a, b in zip(rows["flags_attempt"], rows["flags"], strict=True)
    ]
    rows["own_key"] = rows["conditions"]
    rows["conditions"] = [
        "; ".join(text for text in pair if text)
        for pair in zip(rows["conditions"], rows["extra"], strict=True)
    ]
    return rows


def compute(trials: Trials, battery: Battery) -> pd.DataFrame:
    """The results of every day in ``trials``: one row a value, columns ``RESULT_COLUMNS``."""
    return combine(attempt_values(trials, battery), battery)


def combine(rows: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """The results of every day from the rows of ``attempt_values``: columns ``RESULT_COLUMNS``."""
    chosen = []
    for (key, test), group in rows.groupby(["measure", "test"], sort=False):
        plan = battery.tests.get(str(test))
        record = record_of(str(key), plan)
        planned = 1 if plan is None else plan.attempts
        chosen.append(_combine(record, planned, group.assign(unit=record.unit)))
    nothing = rows.assign(n_attempts=0, score=np.nan, scored="")
    results = pd.concat(chosen, ignore_index=True) if chosen else nothing
    return _with_day_measures(_with_limits(results), battery)


def _combine(record: Measure, planned: int, rows: pd.DataFrame) -> pd.DataFrame:
    """One row for each day, athlete, test, part and set of conditions.

    Where the view ranked its attempts, the first of them stands for all its parts.
    """
    same = [*_SAME_TEST, "part", "extra"]
    counts = rows.groupby(same, sort=False)["key"].transform("nunique")
    rows = rows.assign(n_attempts=counts)
    if rows["average"].all():
        averaged = _averaged(rows, same)
        return averaged.assign(score=averaged["value"], scored="")
    ranked = bool(rows["rank"].notna().all())
    if ranked:
        order = rows.sort_values(["rank", "key"], kind="stable")
    elif record.combine == "best":
        upward = record.better == "higher"
        order = rows.sort_values(["value", "key"], ascending=[not upward, True], kind="stable")
    else:
        order = rows.sort_values("key", kind="stable")
    order = _scored(order, same, scored_attempts(record, planned))
    if ranked:
        best = order.groupby(_SAME_TEST, sort=False)["key"].transform("first")
        return order[order["key"] == best]
    return order.groupby(same, sort=False).head(1)


SCORED = 2
"""The judged score is the mean of this many of an athlete's best attempts: one lucky attempt is
half noise. Where the battery asks for a single attempt, or a measure says so, that one counts."""


def scored_attempts(record: Measure, planned: int) -> int:
    """How many of the best attempts make the judged score of a measure in a test."""
    return SCORED if planned >= SCORED and record.combine in BEST_OF else 1


BEST_OF = ("best", "best run", "best RSI")
"""Ways of combining that choose among attempts."""


def _scored(order: pd.DataFrame, same: list[str], count: int) -> pd.DataFrame:
    """``score``, the mean of the first attempts of each group; ``scored`` names them.

    The wind becomes the mean of those attempts' winds.
    """
    used = order.groupby(same, sort=False).head(count).sort_values("attempt", kind="stable")
    used = used.assign(scored=used["attempt"].astype(int).astype(str))
    groups = used.groupby(same, sort=False)
    means = groups[["value", "wind"]].mean().rename(columns={"value": "score"})
    means["wind"] = means["wind"].where(groups["wind"].count() == groups.size())
    means["scored"] = groups["scored"].agg(";".join)
    return order.drop(columns=["wind"]).merge(
        means, left_on=same, right_index=True, how="left", sort=False
    )


def _averaged(rows: pd.DataFrame, same: list[str]) -> pd.DataFrame:
    """One row for each group: the mean, every source, no attempt of its own."""
    order = rows.sort_values("key", kind="stable")
    groups = order.groupby(same, sort=False)
    first = groups.head(1).copy()
    for column in ("value", "resolution"):
        first[column] = groups[column].transform("mean").loc[first.index]
    for column in ("source", "flags"):
        first[column] = [joined(*rows[column]) for _, rows in groups]
    first["attempt"] = np.nan
    return first


def _with_limits(results: pd.DataFrame) -> pd.DataFrame:
    """The interval a view gave (of a fit), else what the instrument's step alone leaves open."""
    half = results["resolution"] / 2
    low = results["low"].astype(float).fillna(results["value"] - half)
    high = results["high"].astype(float).fillna(results["value"] + half)
    results = results.assign(low=low, high=high)
    return results.loc[:, list(RESULT_COLUMNS)]


def _with_day_measures(results: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    pieces = [results]
    for built in DAY_VIEWS.values():
        table = built.build(results, battery)
        if table.empty:
            continue
        for record in _of_view(built.name):
            values, resolution = _evaluate(record, table)
            piece = table.assign(
                measure=record.key,
                value=values,
                unit=record.unit,
                resolution=resolution,
                low=table.get(f"{record.key}_low", np.nan),
                high=table.get(f"{record.key}_high", np.nan),
                score=values,
                scored="",
                wind=np.nan,
            )
            pieces.append(_with_limits(piece[np.isfinite(values)]))
    return pd.concat(pieces, ignore_index=True)


def decimals(results: pd.DataFrame) -> list[int]:
    """Page decimals of each row of a results table."""
    return [MEASURES[str(key)].decimals for key in results["measure"]]


def describe() -> list[dict[str, Any]]:
    """Every measure as plain values, for the command ``measures`` and the data guide."""
    return [
        {
            "key": m.key,
            "label": m.label,
            "unit": m.unit,
            "better": m.better,
            "formula": m.formula,
            "source_texts": [SOURCES[key].text for key in m.sources],
            "combine": COMBINE[m.combine],
            "plausible": (m.low, m.high),
            "typical_errors": m.typical_errors,
        }
        for m in MEASURES.values()
    ]
