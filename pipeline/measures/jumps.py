"""Jumps: height from flight time, distance, and what a countermovement adds to a jump."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures import rebounds
from pipeline.measures.registry import day_view, measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined
from pipeline.units import CM_PER_M, STANDARD_GRAVITY

_VERTICAL = ("jump", "drop jump")
COUNTERMOVEMENT, SQUAT = "countermovement jump", "squat jump"
"""The two tests whose heights make a ratio, and whose power has an equation."""
RATIO_ERROR = 7.0
"""% of a ratio from three jumps each, carried over from the errors of the two jumps."""


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


@view("jumps", "flight_time", "height")
def jumps(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each vertical jump: ``flight_time`` in s, or the ``device_height`` in m.

    A drop jump stands for its height with the attempt of the greatest RSI, so that height and
    contact are of one jump: ``rank`` is the RSI, downwards. A rebound series gives the contacts
    that count, to be averaged.
    """
    flights = trials.of_kind("flight_time", *_VERTICAL)
    heights = trials.of_kind("height", *_VERTICAL)
    heights = heights[~heights["key"].isin(flights["key"])]
    table = pd.concat([flights, heights])
    given = (table["quantity"] == "flight_time").to_numpy()
    contacts = trials.of_kind("contact_time", "drop jump").set_index("key")["value"]
    single = pd.DataFrame(
        {
            "key": table["key"],
            "part": part_of(trials, table["key"]),
            "source": table["source"],
            "flight_time": table["value"].where(given),
            "flight_time_resolution": table["resolution"].where(given),
            "device_height": table["value"].where(~given),
            "device_height_resolution": table["resolution"].where(~given),
            "rank": -(table["value"].where(given) ** 2) / table["key"].map(contacts),
            "flags": "",
            "average": False,
        }
    )
    series = rebounds.counted(trials, battery)
    if series.empty:
        return single
    series = series.assign(device_height=np.nan, device_height_resolution=np.nan)
    return pd.concat([single, series[list(single.columns)]], ignore_index=True)


@day_view("utilisation")
def utilisation(results: pd.DataFrame, _: Battery) -> pd.DataFrame:
    """Each day's countermovement jump beside its squat jump under the same conditions, in cm."""
    heights = results[results["measure"] == "jump_height"]
    same = ["day", "athlete_id", "part", "conditions"]
    counter, squat = (
        heights[heights["test"] == test].drop_duplicates(same) for test in (COUNTERMOVEMENT, SQUAT)
    )
    pair = counter.merge(squat, on=same, suffixes=("", "_squat"))
    ratio = pair["value"] / pair["value_squat"]
    return pair.assign(
        counter=pair["value"],
        counter_resolution=pair["resolution"],
        squat=pair["value_squat"],
        squat_resolution=pair["resolution_squat"],
        utilisation_ratio_low=ratio * (1 - RATIO_ERROR / 100),
        utilisation_ratio_high=ratio * (1 + RATIO_ERROR / 100),
        attempt=np.nan,
        n_attempts=pair[["n_attempts", "n_attempts_squat"]].min(axis=1),
        source=[joined(a, b) for a, b in zip(pair["source"], pair["source_squat"], strict=True)],
        flags=[joined(a, b) for a, b in zip(pair["flags"], pair["flags_squat"], strict=True)],
    )


@view("distance jumps", "distance")
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
    key="utilisation_ratio",
    label="countermovement jump ÷ squat jump",
    unit="",
    better="neither",
    decimals=2,
    plausible=(0.5, 2),
    formula="height of the countermovement jump ÷ height of the squat jump, same day and arms; "
    "100 · (it − 1) is the pre-stretch augmentation in %; its error is about 7 % from three jumps "
    "each, so it judges nobody",
    sources=("mcguigan2006",),
    typical_errors=(
        TypicalError(RATIO_ERROR, "%", "C", "carried over: from 4.0 and 4.5 % of the two jumps"),
    ),
    view="utilisation",
    combine="day",
    section="jump ratio",
    staff_only=True,
)
def utilisation_ratio(counter: Array, squat: Array) -> Array:
    """Height of the countermovement jump over that of the squat jump, both in cm."""
    return counter / squat


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
