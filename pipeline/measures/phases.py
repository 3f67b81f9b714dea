"""The phases of a sprint: start, drive, maximum velocity, maintenance."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery, PhaseSet
from pipeline.measures.phase_sets import chosen
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, joined
from pipeline.measures.splits import SPLIT_ERRORS, gate_table, run_rank, stretch

FROM_GUN = ", from gun"
"""Ending of the first phase's name where the reaction is unknown: another quantity altogether."""


@view("phases", "cumulative_time")
def phases(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each phase of each run whose phase ends were all timed.

    Times are counted from first movement: on the gun's clock the reaction is taken off. Without
    it the first phase is named “…, from gun”. Columns: ``from_m to_m`` in m, ``from_time to_time``
    in s, ``whole_time`` in s (first movement to the last end), ``extra`` with the ends.
    """
    gates = gate_table(trials)
    gates = gates.assign(rank=run_rank(gates, battery))
    rows: list[dict[str, object]] = []
    for key, run in gates.groupby("key", sort=False):
        sets = battery.phases.get(str(run["test"].iloc[0]), ())
        timed = run.set_index("at_m")
        found = chosen(sets, set(timed.index))
        if found is None:
            continue
        _, phase_set = found
        rank = float(run["rank"].iloc[0])
        rows.extend(_phases_of_run(timed, phase_set, {"key": key, "rank": rank}))
    return pd.DataFrame(rows)


def _phases_of_run(
    timed: pd.DataFrame, phase_set: PhaseSet, common: dict[str, object]
) -> list[dict[str, object]]:
    gun = timed["clock"].iloc[0] == "gun"
    reaction = float(timed["reaction"].iloc[0])
    unknown = gun and not np.isfinite(reaction)
    start = reaction if gun and not unknown else 0.0
    start_source = timed["reaction_source"].iloc[0] if gun else ""
    ends = phase_set.ends_m
    times = {0.0: start, **{m: float(timed["time"][m]) for m in ends[1:]}}
    step = 0.0 if start == 0 else float(timed["reaction_resolution"].iloc[0])
    steps = {0.0: step, **{m: float(timed["time_resolution"][m]) for m in ends[1:]}}
    sources = {0.0: start_source, **{m: str(timed["source"][m]) for m in ends[1:]}}
    return [
        {
            **common,
            "part": name + (FROM_GUN if unknown and lower == 0 else ""),
            "from_m": lower,
            "to_m": upper,
            "from_time": times[lower],
            "from_time_resolution": steps[lower],
            "to_time": times[upper],
            "to_time_resolution": steps[upper],
            "whole_time": times[ends[-1]] - start,
            "whole_time_resolution": steps[ends[-1]] + steps[0.0],
            "source": joined(sources[lower], sources[upper]),
            "extra": f"ends={stretch(lower, upper)}",
        }
        for name, lower, upper in zip(phase_set.names, ends[:-1], ends[1:], strict=True)
    ]


@measure(
    key="phase_time",
    label="time in the phase",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(0.3, 60),
    formula="clock at the phase's end − clock at its start; the first from first movement",
    sources=("definition", "debaere2013"),
    typical_errors=SPLIT_ERRORS,
    view="phases",
    combine="best run",
    section="sprint",
)
def phase_time(from_time: Array, to_time: Array) -> Array:
    """Time in a phase in s."""
    return to_time - from_time


@measure(
    key="phase_speed",
    label="mean speed in the phase",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(1, 13),
    formula="length of the phase ÷ time in it",
    sources=("definition",),
    view="phases",
    combine="best run",
    section="sprint",
)
def phase_speed(from_m: Array, to_m: Array, from_time: Array, to_time: Array) -> Array:
    """Mean speed in a phase in m/s; distances in m, times in s."""
    return (to_m - from_m) / (to_time - from_time)


@measure(
    key="phase_share",
    label="share of the whole time",
    unit="%",
    better="neither",
    decimals=1,
    plausible=(2, 100),
    formula="100 · time in the phase ÷ time from first movement to the last end",
    sources=("definition",),
    view="phases",
    combine="best run",
    section="sprint",
)
def phase_share(from_time: Array, to_time: Array, whole_time: Array) -> Array:
    """Share of a phase in the whole time in %; times in s."""
    return 100 * (to_time - from_time) / whole_time
