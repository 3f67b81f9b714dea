"""A day against the days before it."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator

import pandas as pd

from pipeline.battery import Battery
from pipeline.errors import Place
from pipeline.intake.plausibility.causes import likely
from pipeline.intake.plausibility.rules import Context, Rule, Suspect, records, whole_row
from pipeline.measures import registry
from pipeline.measures.spec import Trials

MASS_SHARE = 0.15
"""Share of the last body mass that nobody gains or loses in a year; over more years, for each."""

_YEAR = 365.25


def _masses(trials: Trials) -> pd.DataFrame:
    """The used body masses, in kg, with whose and of which day."""
    own = trials.attempts[["day", "athlete_id"]]
    return trials.used("body_mass").merge(own, left_on="key", right_index=True)


def _another_body(now: Context) -> Iterator[Suspect]:
    """A body mass too far from the last one, pounds and exchanged digits among the causes."""
    if not now.before:
        return
    earlier = pd.concat([_masses(day) for day in now.before])
    last = earlier.groupby("athlete_id").tail(1).set_index("athlete_id")
    for row in records(_masses(now.trials)):
        if row["athlete_id"] not in last.index:
            continue
        before = last.loc[row["athlete_id"]]
        days = (dt.date.fromisoformat(row["day"]) - dt.date.fromisoformat(before["day"])).days
        limit = MASS_SHARE * max(days / _YEAR, 1.0)
        usual = float(before["value"])

        def near(value: float, usual: float = usual, limit: float = limit) -> bool:
            return abs(value / usual - 1) < limit / 3

        if abs(row["value"] / usual - 1) <= limit:
            continue
        cause = likely(row["raw"], row["value"], row["unit"], near)
        details = {
            "mass": f"{row['value']:.1f}",
            "before": f"{usual:.1f}",
            "day": before["day"],
            "share": f"{100 * abs(row['value'] / usual - 1):.0f}",
            "guess": cause.clause(f"{cause.value:.1f} kg") if cause else "",
        }
        place = Place.last_of(row["source"])
        yield Suspect(place, row["athlete_id"], details, frozenset({row["source"]}))


_FAR, _NEAR = 0.05, 0.02
"""Shares of a time: farther than any athlete moves in a term, nearer than two test days differ.
Common practice, no source; both lie well outside the typical error of a sprint, 1.3 to 2 %."""


def _runs_swapped(now: Context) -> Iterator[Suspect]:
    """Pairs of athletes whose best times of the day each look like the other's history."""
    if not now.before or now.trials.attempts.empty:
        return
    history = pd.concat([_best_times(day, now.battery) for day in now.before])
    today = _best_times(now.trials, now.battery)
    for same, times in today.groupby(["test", "conditions"], sort=False):
        earlier = history[(history["test"] == same[0]) & (history["conditions"] == same[1])]
        before = earlier.groupby("athlete_id")["value"].mean()
        own = times.set_index("athlete_id")
        own = own[own.index.isin(before.index)]
        for one, other in itertools.combinations(own.index, 2):
            if _look_swapped(own["value"], before, one, other):
                for athlete, whom in ((one, other), (other, one)):
                    details = {
                        "own": f"{own['value'][athlete]:.2f}",
                        "before": f"{before[athlete]:.2f}",
                        "test": same[0],
                        "other": whom,
                    }
                    row = {"key": own["key"][athlete], "source": str(own["source"][athlete])}
                    yield whole_row(now.trials, row, details)


def _look_swapped(now: pd.Series, before: pd.Series, one: str, other: str) -> bool:
    def apart(a: float, b: float) -> float:
        return abs(a / b - 1)

    return (
        apart(now[one], before[one]) > _FAR
        and apart(now[other], before[other]) > _FAR
        and apart(now[one], before[other]) < _NEAR
        and apart(now[other], before[one]) < _NEAR
    )


def _best_times(trials: Trials, battery: Battery) -> pd.DataFrame:
    """Each athlete's best electronic time in each sprint."""
    times = registry.VIEWS["finish"].build(trials, battery)
    own = trials.attempts[["day", "athlete_id", "conditions"]]
    times = times[times["by_hand"] == 0].merge(own, left_on="key", right_index=True)
    same = ["athlete_id", "test", "conditions"]
    best = times.sort_values("finish_time", kind="stable").groupby(same).head(1)
    return best.rename(columns={"finish_time": "value"})[["key", "day", *same, "value", "source"]]


RULES = (
    Rule("runs-swapped", _runs_swapped, "the run", across=True),
    Rule("body-mass-changed", _another_body, across=True),
)
