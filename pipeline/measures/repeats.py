"""Repeated sprints: a set is fatigue, not attempts."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined
from pipeline.measures.splits import finish_time, gate_table

_BEST_OR_MEAN = (TypicalError(1.5, "%", "A", "three studies, 1.1-2.2"),)


@view("repeats", "cumulative_time")
def repeats(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each set: ``best mean last total`` in s and ``count``, in the order run.

    A set that lacks a sprint has no ``total``: left out, one would make the decrement smaller.
    """
    gates = gate_table(trials, "repeated")
    done = gates[gates["key"].isin(finish_time(gates, battery).index)]
    last = done.groupby("key", sort=False).tail(1)
    last = last.merge(
        trials.attempts[["day", "athlete_id", "conditions", "set", "attempt"]],
        left_on="key",
        right_index=True,
    )
    last = last.sort_values(["attempt", "key"], kind="stable")
    rows = []
    for group, runs in last.groupby(["day", "athlete_id", "test", "conditions", "set"], sort=False):
        planned = battery.tests[str(group[2])].attempts
        whole = len(runs) >= planned
        step = runs["time_resolution"].max()
        rows.append(
            {
                "key": int(runs["key"].iloc[0]),
                "part": f"set {group[4]}" if group[4] else "",
                "best": runs["time"].min(),
                "best_resolution": step,
                "mean": runs["time"].mean(),
                "mean_resolution": step,
                "last": runs["time"].iloc[-1],
                "last_resolution": step,
                "total": runs["time"].sum() if whole else np.nan,
                "count": float(len(runs)),
                "source": joined(*runs["source"]),
                "flags": "" if whole else f"{len(runs)} of {planned} sprints",
            }
        )
    return pd.DataFrame(rows)


@measure(
    key="best_time",
    label="best of the set",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(1, 60),
    formula="the shortest time of the set",
    sources=("definition",),
    typical_errors=_BEST_OR_MEAN,
    view="repeats",
    combine="first",
    section="sprint",
)
def best_time(best: Array) -> Array:
    """Shortest time of a set in s."""
    return best * 1.0


@measure(
    key="mean_time",
    label="mean of the set",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(1, 60),
    formula="the mean time of the set",
    sources=("definition",),
    typical_errors=_BEST_OR_MEAN,
    view="repeats",
    combine="first",
    section="sprint",
)
def mean_time(mean: Array) -> Array:
    """Mean time of a set in s."""
    return mean * 1.0


@measure(
    key="last_time",
    label="last of the set",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(1, 60),
    formula="the last time of the set",
    sources=("definition",),
    view="repeats",
    combine="first",
    section="sprint",
)
def last_time(last: Array) -> Array:
    """Last time of a set in s."""
    return last * 1.0


@measure(
    key="repeat_decrement",
    label="decrement over the set",
    unit="%",
    better="neither",
    decimals=1,
    plausible=(0, 60),
    formula="100 · (sum of the times ÷ (number · best) − 1); its error is about 30 % of itself, "
    "so a change in it says nothing",
    sources=("definition", "glaister2007"),
    typical_errors=(TypicalError(30.0, "%", "A", "three studies agree, 23-39"),),
    view="repeats",
    combine="first",
    section="sprint",
)
def repeat_decrement(total: Array, count: Array, best: Array) -> Array:
    """Decrement of a set in %: how much longer it took than the best time each time; s."""
    return 100 * (total / (count * best) - 1)
