"""Vertical jumps from flight time."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, TypicalError
from pipeline.units import CM_PER_M, STANDARD_GRAVITY


@view("jumps")
def jumps(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each jump: ``flight_time`` in s, or the device's own ``device_height`` in m."""
    rows = []
    kinds = trials.attempts["kind"]
    for quantity, name in (("flight_time", "flight_time"), ("height", "device_height")):
        used = trials.used(quantity)
        used = used[used["key"].map(kinds) == "jump"]
        rows.append(
            pd.DataFrame(
                {
                    "key": used["key"],
                    "part": used["part"],
                    "source": used["source"],
                    name: used["value"],
                    f"{name}_resolution": used["resolution"],
                }
            )
        )
    flights, heights = rows
    alone = heights[~heights["key"].isin(flights["key"])]
    columns = ["flight_time", "flight_time_resolution", "device_height", "device_height_resolution"]
    return pd.concat([flights, alone]).reindex(columns=["key", "part", "source", *columns])


@measure(
    key="jump_height",
    label="jump height",
    unit="cm",
    better="higher",
    decimals=1,
    plausible=(3, 90),
    formula="h = g · t² ÷ 8 with g = 9.80665 m/s² and t the flight time; else the device's height",
    sources=("bosco1983", "linthorne2001", "gravity"),
    typical_errors=(
        TypicalError(4.0, "%", "A", "5.8, about 2.5, open file 3.5-3.7", ("countermovement jump",)),
        TypicalError(4.5, "%", "B", "within-day only: 2.4-4.6, 3.98, 6.6", ("squat jump",)),
    ),
    view="jumps",
    combine="best",
    section="jumps",
)
def jump_height(flight_time: Array, device_height: Array) -> Array:
    """Jump height in cm from flight time in s, or the height in m that a device gave.

    Take-off and landing in the same posture are assumed: h = g t² / 8.
    """
    from_flight = STANDARD_GRAVITY * flight_time**2 / 8
    return CM_PER_M * np.where(np.isnan(flight_time), device_height, from_flight)


@measure(
    key="takeoff_speed",
    label="take-off speed",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(0.7, 4.3),
    formula="v = g · t ÷ 2 with t the flight time",
    sources=("linthorne2001", "gravity"),
    view="jumps",
    combine="best",
    section="jumps",
)
def takeoff_speed(flight_time: Array) -> Array:
    """Take-off speed in m/s from flight time in s: v = g t / 2."""
    return STANDARD_GRAVITY * flight_time / 2
