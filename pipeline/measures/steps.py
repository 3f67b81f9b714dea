"""Steps on the ground: contact, flight, length, and the spring they stand for."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures import stride
from pipeline.measures.drop_jumps import drop_jumps
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined, once
from pipeline.measures.splits import stretch
from pipeline.measures.surroundings import beside

SLOWEST_FILM = 200.0
"""Frames a second. At 60 a second one frame is 17 % of a contact of 0.10 s: no verdict."""
SLOW_FILM = "filmed below 200 frames a second: no verdict on the contact"


@once
def step_table(trials: Trials) -> pd.DataFrame:
    """One row for each recorded zone of a run: contact and flight in s, length in m.

    Columns: ``key part source contact flight length body_mass leg flags`` and their resolutions.
    """
    zones = trials.of_kind("contact_time", "sprint")
    columns = {}
    for name in ("zone_from", "zone_to", "flight_time", "step_length"):
        columns[name] = trials.of_kind(name, "sprint").set_index("key")
    around = beside(trials, zones["key"])
    flight, length = columns["flight_time"], columns["step_length"]
    keys = zones["key"]
    begins = keys.map(columns["zone_from"]["value"]).fillna(0.0).astype(float)
    ends = keys.map(columns["zone_to"]["value"]).astype(float)
    rates = trials.used("fps").drop_duplicates("key").set_index("key")["value"]
    return pd.DataFrame(
        {
            "key": keys,
            "part": [
                stretch(a, b) if np.isfinite(b) else "" for a, b in zip(begins, ends, strict=True)
            ],
            "source": [
                joined(*sources)
                for sources in zip(
                    zones["source"],
                    keys.map(flight["source"]),
                    keys.map(length["source"]),
                    strict=True,
                )
            ],
            "contact": zones["value"],
            "contact_resolution": zones["resolution"],
            "flight": keys.map(flight["value"]),
            "flight_resolution": keys.map(flight["resolution"]),
            "length": keys.map(length["value"]),
            "length_resolution": keys.map(length["resolution"]),
            "body_mass": around["body_mass"],
            "leg": stride.leg_length(around["height"].to_numpy()),
            "flags": np.where(keys.map(rates) < SLOWEST_FILM, SLOW_FILM, ""),
            "average": True,
        }
    )


@view("steps", "contact_time")
def steps(trials: Trials, _: Battery) -> pd.DataFrame:
    """The steps of each run by zone, averaged over the attempts of a day; see ``step_table``."""
    return step_table(trials)


@view("contacts", "contact_time")
def contacts(trials: Trials, battery: Battery) -> pd.DataFrame:
    """Every ground contact, of drop jumps, rebounds and steps: ``contact_time`` in s."""
    table = step_table(trials).rename(
        columns={"contact": "contact_time", "contact_resolution": "contact_time_resolution"}
    )
    keep = ["key", "part", "source", "contact_time", "contact_time_resolution", "flags", "average"]
    jumps = drop_jumps.build(trials, battery)
    return pd.concat([jumps[[*keep, "rank"]], table[keep]], ignore_index=True)


_STEP = (TypicalError(10.0, "%", "C", "of first steps: CV < 10, n 10"),)


@measure(
    key="contact_time",
    label="ground contact",
    unit="s",
    better="lower",
    decimals=3,
    plausible=(0.06, 1.0),
    formula="as recorded; of a drop jump that of the jump with the greatest reactive strength; of "
    "rebounds the mean of those that count; of steps the mean of a zone, in which the first steps "
    "have no better direction",
    sources=("definition",),
    typical_errors=(TypicalError(6.0, "%", "C", "set equal to RSI", ("drop jump",)),),
    view="contacts",
    combine="best RSI",
    section="reactive",
)
def contact_time(contact_time: Array) -> Array:
    """Ground contact in s, as recorded."""
    return contact_time * 1.0


@measure(
    key="step_flight_time",
    label="flight",
    unit="s",
    better="neither",
    decimals=3,
    plausible=(0.02, 0.3),
    formula="as recorded, the mean of a zone",
    sources=("definition",),
    typical_errors=_STEP,
    view="steps",
    combine="mean",
    section="steps",
)
def step_flight_time(flight: Array) -> Array:
    """Flight of a step in s, as recorded."""
    return flight * 1.0


@measure(
    key="step_length",
    label="step length",
    unit="m",
    better="neither",
    decimals=2,
    plausible=(0.4, 3.2),
    formula="as recorded, the mean of a zone",
    sources=("definition",),
    typical_errors=_STEP,
    view="steps",
    combine="mean",
    section="steps",
)
def step_length(length: Array) -> Array:
    """Length of a step in m, as recorded."""
    return length * 1.0


@measure(
    key="step_frequency",
    label="step frequency",
    unit="1/s",
    better="neither",
    decimals=2,
    plausible=(2, 6.5),
    formula="1 ÷ (contact + flight)",
    sources=("definition",),
    typical_errors=_STEP,
    view="steps",
    combine="mean",
    section="steps",
)
def step_frequency(contact: Array, flight: Array) -> Array:
    """Steps a second."""
    return stride.step_frequency(contact, flight)


@measure(
    key="mean_vertical_force",
    label="mean vertical force",
    unit="BW",
    better="neither",
    decimals=2,
    plausible=(1, 3.5),
    formula="(contact + flight) ÷ contact, in body weights: exact, from impulse",
    sources=("morin2005",),
    view="steps",
    combine="mean",
    section="steps",
)
def mean_vertical_force(contact: Array, flight: Array) -> Array:
    """Mean vertical force over contact in body weights."""
    return stride.mean_vertical_force(contact, flight)


@measure(
    key="vertical_stiffness",
    label="vertical stiffness",
    unit="kN/m",
    better="neither",
    decimals=1,
    plausible=(2, 200),
    formula="half-sine model: peak force ÷ how far the body sinks",
    sources=("morin2005",),
    view="steps",
    combine="mean",
    section="steps",
    staff_only=True,
)
def vertical_stiffness(contact: Array, flight: Array, body_mass: Array) -> Array:
    """Vertical stiffness in kN/m by the half-sine model."""
    return stride.vertical_stiffness(contact, flight, body_mass)


@measure(
    key="leg_stiffness",
    label="leg stiffness",
    unit="kN/m",
    better="neither",
    decimals=1,
    plausible=(1, 60),
    formula="half-sine model, the leg 0.53 of the height, the speed step length · frequency",
    sources=("morin2005",),
    view="steps",
    combine="mean",
    section="steps",
    staff_only=True,
)
def leg_stiffness(
    contact: Array, flight: Array, body_mass: Array, leg: Array, length: Array
) -> Array:
    """Leg stiffness in kN/m by the half-sine model; the speed is step length over step time."""
    speed = length / (contact + flight)
    return stride.leg_stiffness(contact, flight, body_mass, leg, speed)


@measure(
    key="step_impulse",
    label="vertical impulse of a step",
    unit="N.s/kg",
    better="neither",
    decimals=2,
    plausible=(1, 5),
    formula="g · (contact + flight), for each kg",
    sources=("morin2005", "gravity"),
    view="steps",
    combine="mean",
    section="steps",
)
def step_impulse(contact: Array, flight: Array) -> Array:
    """Vertical impulse of a step for each kg in N·s/kg."""
    return stride.vertical_impulse(contact, flight)
