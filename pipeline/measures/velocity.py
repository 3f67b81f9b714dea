"""Top speed from gates."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, joined
from pipeline.measures.splits import gate_table, run_rank

WINDOW_M = 20.0
"""A single 10 m is a maximum of noise: with 0.02 s split error it reads 0.27 m/s too fast,
the best 20 m 0.11 m/s."""

FEWEST_WINDOWS = 2
FADE_M = (60.0, 100.0)
STILL_RISING = "fastest at the last gates: top speed may not have been reached"


@view("windows", "cumulative_time")
def windows(trials: Trials, battery: Battery) -> pd.DataFrame:
    """The fastest 20 m of each run that has at least two such stretches past its first gate.

    Columns: ``window_from_m`` in m, ``window_m`` in m, ``from_time to_time`` in s, and
    ``best_time last_time``, the times in s over the best and the last such stretch. The last is
    absent where it is itself the fastest. ``fade_time`` is the time in s from 60 to 100 m.
    """
    gates = gate_table(trials)
    gates = gates.assign(rank=run_rank(gates, battery))
    keep = ["key", "at_m", "time", "time_resolution", "source"]
    pairs = gates[[*keep, "rank"]].merge(gates[keep], on="key", suffixes=("", "_to"))
    pairs = pairs[np.isclose(pairs["at_m_to"] - pairs["at_m"], WINDOW_M)]
    # rounded to the microsecond: equal windows must tie, whatever the binary fractions do
    pairs = pairs.assign(duration=(pairs["time_to"] - pairs["time"]).round(6))
    pairs = pairs[pairs.groupby("key")["key"].transform("size") >= FEWEST_WINDOWS]
    final = pairs.sort_values(["key", "at_m"]).groupby("key").tail(1).set_index("key")
    best = pairs.sort_values(["key", "duration", "at_m"], kind="stable")
    best = best.groupby("key", sort=False).head(1)
    rising = (best["at_m"] == best["key"].map(final["at_m"])).to_numpy()
    late = gates.pivot_table(index="key", columns="at_m", values="time")
    late = late.reindex(columns=list(FADE_M))
    distance = gates["test"].map({t.name: t.distance_m for t in battery.tests.values()})
    straight = gates.loc[distance == FADE_M[1], "key"].unique()  # of a 200 m these are the bend
    fade = best["key"].map(late[FADE_M[1]] - late[FADE_M[0]]).where(best["key"].isin(straight))
    return pd.DataFrame(
        {
            "key": best["key"],
            "part": f"{WINDOW_M:g} m",
            "rank": best["rank"],
            "window_from_m": best["at_m"],
            "window_m": best["at_m_to"] - best["at_m"],
            "from_time": best["time"],
            "from_time_resolution": best["time_resolution"],
            "to_time": best["time_to"],
            "to_time_resolution": best["time_resolution_to"],
            "source": [
                joined(a, b) for a, b in zip(best["source"], best["source_to"], strict=True)
            ],
            "fade_time": fade,
            "best_time": best["duration"],
            "best_time_resolution": best["time_resolution"] + best["time_resolution_to"],
            "last_time": best["key"].map(final["duration"]).where(~rising),
            "last_time_resolution": best["key"].map(
                final["time_resolution"] + final["time_resolution_to"]
            ),
            "flags": np.where(rising, STILL_RISING, ""),
        }
    )


@measure(
    key="top_speed",
    label="top speed",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(3, 13),
    formula="20 m ÷ the shortest time over any 20 m between gates",
    sources=("definition", "graubner2011"),
    view="windows",
    combine="best run",
    section="sprint",
)
def top_speed(window_m: Array, from_time: Array, to_time: Array) -> Array:
    """Mean speed over the fastest 20 m in m/s."""
    return window_m / (to_time - from_time)


@measure(
    key="top_speed_at",
    label="where top speed was reached",
    unit="m",
    better="neither",
    decimals=0,
    plausible=(10, 200),
    formula="middle of the fastest 20 m",
    sources=("definition",),
    view="windows",
    combine="best run",
    section="sprint",
)
def top_speed_at(window_from_m: Array, window_m: Array) -> Array:
    """Middle of the fastest 20 m in m from the start line."""
    return window_from_m + window_m / 2


@measure(
    key="speed_decrement",
    label="loss of speed at the end",
    unit="%",
    better="lower",
    decimals=1,
    plausible=(0, 40),
    formula="100 · (1 − speed over the last 20 m ÷ speed over the fastest 20 m)",
    sources=("definition",),
    view="windows",
    combine="best run",
    section="sprint",
)
def speed_decrement(best_time: Array, last_time: Array) -> Array:
    """Loss of speed over the last 20 m against the fastest 20 m in %; times in s."""
    return 100 * (1 - best_time / last_time)


@measure(
    key="fade",
    label="fade",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(-0.2, 2),
    formula="time from 60 to 100 m − 40 m at the speed of the fastest 20 m",
    sources=("definition",),
    view="windows",
    combine="best run",
    section="sprint",
)
def fade(fade_time: Array, window_m: Array, best_time: Array) -> Array:
    """Time lost from 60 to 100 m in s against running them at the fastest 20 m's speed."""
    return fade_time - (FADE_M[1] - FADE_M[0]) * best_time / window_m
