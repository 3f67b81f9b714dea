"""A measure over three or more comparable days: a line with its interval."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.compare.changes import Judged
from pipeline.compare.pairs import Days, records
from pipeline.compare.verdicts import trend
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

    Args:
        results: of all days (``registry.RESULT_COLUMNS``).
        judged: the day's changes.
        battery: the directions of the staff's own tests.
        days: repeat days and tests taken easy stand aside.
    """
    if judged.judged.empty:
        return
    usable = judged.judged[judged.judged["usable"]]
    rows = results[~results["day"].isin(days.repeats)]
    same = ["athlete_id", "test", "part", "measure", "conditions", "basis"]
    history = dict(iter(rows.groupby(same, sort=False)))
    for pair in records(usable):
        own = history[tuple(pair[name] for name in same)].sort_values("day", kind="stable")
        eased = [days.easy(str(d), pair["athlete_id"], pair["test"]) for d in own["day"]]
        own = own[~np.array(eased, dtype=bool)].drop_duplicates("day")
        dates = pd.to_datetime(own["day"]).astype("datetime64[s]")
        at = (dates - dates.min()).dt.days.to_numpy().astype(float)
        better = record_of(pair["measure"], battery.tests.get(pair["test"])).better
        sign = -1.0 if better == "lower" else 1.0
        scores = own["score"].to_numpy(dtype=float)
        found = trend(at, sign * scores, pair["error"], pair["df"], per_days=PER_DAYS)
        if found is None:
            continue
        slope = sign * found.slope / PER_DAYS
        fitted = scores.mean() + slope * (at - at.mean())
        yield Line(
            athlete_id=str(pair["athlete_id"]),
            test=str(pair["test"]),
            part=str(pair["part"]),
            measure=str(pair["measure"]),
            conditions=str(pair["conditions"]),
            slope=found.slope,
            low=found.low,
            high=found.high,
            days=tuple(str(day) for day in own["day"]),
            fitted=tuple(float(f) for f in fitted),
        )
