"""Jumps: height from flight time, distance, and what a drop jump adds to them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined
from pipeline.units import CM_PER_M, STANDARD_GRAVITY

_VERTICAL = ("jump", "drop jump")


def _drop(height_m: float) -> str:
    """The part of a drop jump, ``"40 cm"``."""
    return f"{height_m * CM_PER_M:g} cm"


def part_of(trials: Trials, keys: pd.Series) -> list[str]:
    """The part of each attempt: its drop height, else its side, else nothing."""
    attempts = trials.attempts.loc[keys]
    return [
        side if np.isnan(drop) else _drop(drop)
        for side, drop in zip(attempts["side"], attempts["drop_height_m"], strict=True)
    ]


@view("jumps")
def jumps(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each vertical jump: ``flight_time`` in s, or the ``device_height`` in m.

    A drop jump stands for its height with the attempt of the greatest RSI, so that height and
    contact are of one jump: ``rank`` is the RSI, downwards.
    """
    flights = trials.of_kind("flight_time", *_VERTICAL)
    heights = trials.of_kind("height", *_VERTICAL)
    heights = heights[~heights["key"].isin(flights["key"])]
    table = pd.concat([flights, heights])
    given = (table["quantity"] == "flight_time").to_numpy()
    contacts = trials.of_kind("contact_time", "drop jump").set_index("key")["value"]
    return pd.DataFrame(
        {
            "key": table["key"],
            "part": part_of(trials, table["key"]),
            "source": table["source"],
            "flight_time": table["value"].where(given),
            "flight_time_resolution": table["resolution"].where(given),
            "device_height": table["value"].where(~given),
            "device_height_resolution": table["resolution"].where(~given),
            "rank": -(table["value"].where(given) ** 2) / table["key"].map(contacts),
        }
    )


@view("drop jumps")
def drop_jumps(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each drop jump with contact and flight: ``contact_time flight_time`` in s."""
    contact = trials.of_kind("contact_time", "drop jump")
    flight = trials.of_kind("flight_time", "drop jump")
    both = contact.merge(flight, on="key", suffixes=("", "_flight"))
    return pd.DataFrame(
        {
            "key": both["key"],
            "part": part_of(trials, both["key"]),
            "source": [
                joined(a, b) for a, b in zip(both["source"], both["source_flight"], strict=True)
            ],
            "contact_time": both["value"],
            "contact_time_resolution": both["resolution"],
            "flight_time": both["value_flight"],
            "flight_time_resolution": both["resolution_flight"],
            "rank": -(both["value_flight"] ** 2) / both["value"],
        }
    )


@view("distance jumps")
def distance_jumps(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each jump for distance: ``distance`` in m."""
    used = trials.of_kind("distance", "distance jump")
    return used.assign(
        part=part_of(trials, used["key"]),
        distance=used["value"],
        distance_resolution=used["resolution"],
    )


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


@measure(
    key="distance",
    label="distance",
    unit="m",
    better="higher",
    decimals=2,
    plausible=(0.5, 25),
    formula="as measured",
    sources=("definition",),
    typical_errors=(
        TypicalError(3.0, "%", "B", "about 2.4, open file 3.3", ("standing long jump",)),
    ),
    view="distance jumps",
    combine="best",
    section="jumps",
)
def distance(distance: Array) -> Array:
    """Distance of a jump in m, as measured."""
    return distance * 1.0


@measure(
    key="rsi",
    label="reactive strength",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(0.1, 5),
    formula="RSI = jump height ÷ contact = (g ÷ 8) · flight² ÷ contact",
    sources=("young1995", "healy2018", "gravity"),
    typical_errors=(
        TypicalError(6.0, "%", "B", "trained: Byrne 4.2 (48 h), Markwick 2.1-3.1; widened"),
    ),
    view="drop jumps",
    combine="best RSI",
    section="reactive",
)
def rsi(contact_time: Array, flight_time: Array) -> Array:
    """Reactive strength index in m/s: height in m over contact in s."""
    return STANDARD_GRAVITY * flight_time**2 / 8 / contact_time


@measure(
    key="flight_contact_ratio",
    label="flight ÷ contact",
    unit="",
    better="higher",
    decimals=2,
    plausible=(0.3, 8),
    formula="flight time ÷ contact",
    sources=("young1995",),
    view="drop jumps",
    combine="best RSI",
    section="reactive",
)
def flight_contact_ratio(contact_time: Array, flight_time: Array) -> Array:
    """Flight time over contact, both in s."""
    return flight_time / contact_time
