"""Times as they would have been in still air at sea level, by a published model."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures import air
from pipeline.measures.registry import VIEWS, measure, view
from pipeline.measures.spec import Array, Trials, joined
from pipeline.measures.splits import gate_table, run_rank
from pipeline.measures.surroundings import beside


@view("air", "cumulative_time")
def in_air(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each electronic 100 m or 200 m outdoors with wind and altitude known.

    Columns: ``race_time`` s, ``wind`` m/s, ``altitude`` m, ``distance`` m, ``lane``, ``female``
    (0 or 1). A 200 m needs its lane, since the bend turns the wind.
    """
    gates = gate_table(trials)
    ranks = gates.assign(order=run_rank(gates, battery)).drop_duplicates("key")
    runs = VIEWS["finish"].build(trials, battery)
    runs["rank"] = runs["key"].map(ranks.set_index("key")["order"])
    runs = runs[runs["at_m"].isin([100.0, 200.0]) & (runs["timing"] != "hand")]
    runs = runs[runs["kind"] == "sprint"].reset_index(drop=True)
    if runs.empty:
        return pd.DataFrame()
    around = beside(trials, runs["key"])
    known = around["wind"].notna() & around["altitude_m"].notna() & (around["indoor"] != "yes")
    runs, around = runs[known], around[known]
    return pd.DataFrame(
        {
            "key": runs["key"],
            "part": "",
            "source": [
                joined(*pair) for pair in zip(runs["source"], around["wind_source"], strict=True)
            ],
            "rank": runs["rank"],
            "race_time": runs["finish_time"],
            "race_time_resolution": runs["finish_time_resolution"],
            "wind": around["wind"],
            "altitude": around["altitude_m"].clip(lower=0),  # a track may lie just below the sea
            "distance": runs["at_m"],
            "lane": around["lane"],
            "female": around["sex"].map({"F": 1.0, "M": 0.0}),
        }
    )


@measure(
    key="time_still_air",
    label="time in still air at sea level",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(8, 60),
    formula="a published model of wind and altitude, over the range it was published for; altitude "
    "estimates differ 2.7 times between models",
    sources=("mureika2001", "linthorne1994"),
    view="air",
    combine="best run",
    section="sprint",
)
def time_still_air(
    race_time: Array, wind: Array, altitude: Array, distance: Array, lane: Array, female: Array
) -> Array:
    """Time in s as it would have been without wind at sea level; NaN outside the model's range."""
    straight = air.still_air_100(race_time, wind, altitude)
    bend = air.still_air_200(race_time, wind, altitude, lane, female)
    return np.where(distance == 100, straight, np.where(distance == 200, bend, np.nan))  # noqa: PLR2004  # metres
