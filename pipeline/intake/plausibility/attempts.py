"""One attempt against the athlete's own others of the same test and day."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from pipeline.intake.plausibility.causes import Cause, likely
from pipeline.intake.plausibility.rules import Context, Rule, Suspect, measured, records
from pipeline.intake.plausibility.rules import measured_suspect as suspect
from pipeline.measures import registry
from pipeline.measures.spec import ADULT, Array, Trials

FAR = 4.0
"""How many typical errors of a difference an attempt must lie from the athlete's others. The
difference of two attempts has the error of one times the root of two."""

FITS = 1.5
"""Within how many such errors a mended value must come to be proposed."""

_MEASURES = ("time", "split_time", "jump_height", "distance", "rsi", "peak_force", "value")
"""What is held against its own kind: of a run its times, of a jump its height or distance."""

_KINDS = ("sprint", "flying", "jump", "distance jump", "drop jump", "isometric", "other")
"""Rising sets, series and repeated sprints differ by design."""

_SAME = ["athlete_id", "test", "part", "measure", "conditions", "extra"]

FEWEST_PEOPLE = 8
"""So many athletes with two attempts or more let a day say what its own attempts differ by."""

_SD_OF_MAD = 1.4826
"""SD of a normal distribution over its median absolute deviation."""


def _far_from_own(now: Context) -> Iterator[Suspect]:
    rows = measured(now, _MEASURES)
    rows = rows[rows["kind"].isin(_KINDS) & ~rows["average"].astype(bool) & (rows["value"] > 0)]
    errors = _Errors(now, rows)
    values = rows["value"].to_numpy(dtype=float)
    groups = rows.groupby(_SAME, sort=False, dropna=False).indices.values()
    for places in groups:
        if len(places) < 2:  # noqa: PLR2004  # an attempt alone has no others
            continue
        own = values[places]
        first = {str(k): v for k, v in rows.iloc[places[0]].items()}
        relative = errors.of(first, float(np.median(own)))
        if relative is None:
            continue
        for at in _strays(now, first, own, FAR * math.sqrt(2) * relative):
            row = {str(k): v for k, v in rows.iloc[places[at]].items()}
            yield suspect(row, _details(now, row, np.delete(own, at), relative))


def _strays(now: Context, first: Mapping[str, Any], values: Array, limit: float) -> list[int]:
    """Which attempts lie further than a share ``limit`` from the median of the others.

    Of three and more only the farthest. Of two either may be wrong: the one farther from what the
    athlete did before, both where nothing is known.
    """
    if values.max() <= values.min() * (1 + limit):
        return []
    medians = np.array([np.median(np.delete(values, at)) for at in range(len(values))])
    apart = np.abs(np.log(values / medians))
    if apart.max() <= math.log1p(limit):
        return []
    if len(values) > 2:  # noqa: PLR2004  # as said above
        return [int(apart.argmax())]
    usual = _usual(now, first)
    return [0, 1] if usual is None else [int(np.abs(np.log(values / usual)).argmax())]


def _usual(now: Context, first: Mapping[str, Any]) -> float | None:
    """The median attempt of the athlete's last day with the same test and conditions."""
    for day in reversed(now.before):
        rows = measured(Context(day, now.battery), (str(first["measure"]),))
        same = rows[(rows[_SAME] == pd.Series(first)[_SAME]).all(axis=1)]
        if len(same):
            return float(same["value"].median())
    return None


class _Errors:
    """The typical error of one attempt as a share of it.

    The staff's own, else the published one, else what the attempts of this day differ by.
    """

    def __init__(self, now: Context, rows: pd.DataFrame) -> None:
        self._battery, self._today = now.battery, _wobble(rows)
        self._known: dict[tuple[str, str, str, bool], tuple[float, str] | None] = {}

    def of(self, row: Mapping[str, Any], level: float) -> float | None:
        """That of a row of ``measured`` at a level; ``None`` where none is known."""
        key = str(row["test"]), str(row["part"]), str(row["measure"]), bool(row["age"] >= ADULT)
        if key not in self._known:
            self._known[key] = self._look_up(*key[:3], float(row["age"]))
        found = self._known[key]
        return None if found is None else found[0] / (100 if found[1] == "%" else level)

    def _look_up(self, test: str, part: str, measure: str, age: float) -> tuple[float, str] | None:
        staff = self._battery.typical_errors
        given = staff.get((test, measure, part)) or staff.get((test, measure, ""))
        if given is not None:
            return given.value, given.unit
        record = registry.record_of(measure, self._battery.tests.get(test))
        published = record.published_error(test, {part}, age)
        if published is not None:
            return published.value, published.unit
        today = self._today.get((test, part, measure))
        return None if today is None else (today, "%")


_KEY = ["test", "part", "measure"]


def _wobble(rows: pd.DataFrame) -> dict[tuple[str, str, str], float]:
    """Twice what attempts of the day differ by, in %, by test, part and measure.

    Robust, since the slip that is looked for is among them; doubled, since attempts of one day
    differ by less than a typical error, which is between days.
    """
    rows = rows.assign(log=np.log(rows["value"].astype(float)))
    logs = rows.groupby(_SAME, sort=False, dropna=False)["log"]
    several = logs.transform("size") > 1
    rows = rows.assign(off=(rows["log"] - logs.transform("median")).abs())[several]
    groups = rows.groupby(_KEY, sort=False)
    wobble = groups["off"].median() * 2 * 100 * _SD_OF_MAD
    known = (groups["athlete_id"].nunique() >= FEWEST_PEOPLE) & (wobble > 0)
    rows = wobble[known].rename("wobble").reset_index()
    return {(r["test"], r["part"], r["measure"]): r["wobble"] for r in records(rows)}


def _details(
    now: Context, row: Mapping[str, Any], others: Array, relative: float
) -> dict[str, object]:
    record = registry.record_of(str(row["measure"]), now.battery.tests.get(str(row["test"])))
    target = float(np.median(others))
    cause = _cause(now, row, target, FITS * math.sqrt(2) * relative)
    shown = f"{cause.value:.{record.decimals}f} {record.unit}".strip() if cause else ""
    part = f", {row['part']}" if row["part"] else ""
    return {
        "test": f"{row['test']}{part}",
        "label": record.label,
        "value": f"{row['value']:.{record.decimals}f}",
        "unit": record.unit,
        "others": ", ".join(f"{v:.{record.decimals}f}" for v in others),
        "limit": f"{100 * FAR * math.sqrt(2) * relative:.0f}",
        "guess": cause.clause(shown) if cause else "",
    }


def _cause(now: Context, row: Mapping[str, Any], target: float, near: float) -> Cause | None:
    """The slip that would bring an attempt to a target; its value is the measure's."""
    source = str(row["source"]).split(";")[-1]
    values = now.trials.values
    cell = values[(values["source"] == source) & (values["key"] == row["key"])].iloc[0]

    def meant(value: float) -> float:
        return _remeasured(now, row, source, value)

    def fits(value: float) -> bool:
        again = meant(value)
        return again > 0 and abs(math.log(again / target)) <= near

    found = likely(str(cell["raw"]), float(cell["value"]), str(cell["unit"]), fits)
    return Cause(found.slip, meant(found.value)) if found else None


def _remeasured(now: Context, row: Mapping[str, Any], source: str, value: float) -> float:
    """The row's measure with another value in one cell; NaN where there is none."""
    record = registry.MEASURES[str(row["measure"])]
    values = now.trials.values[now.trials.values["key"] == row["key"]].copy()
    values.loc[values["source"] == source, "value"] = value
    only = Trials(now.trials.attempts.loc[[row["key"]]], values, now.trials.traces)
    table = registry.VIEWS[record.view].build(only, now.battery)
    if not table.empty:
        table = table[(table["part"] == row["part"]) & (table["source"] == row["source"])]
    if table.empty:
        return math.nan
    inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
    return float(record.function(**inputs)[0])


RULES = (Rule("attempt-far", _far_from_own, "the attempt", across=True),)
