"""Peak power of a jump, by an equation of height and body mass: an estimate, not measured."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.jumps import COUNTERMOVEMENT, SQUAT, jump_height, jumps
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import ESTIMATED, Array, Trials, joined
from pipeline.measures.surroundings import last_mass

_FACTORS = (
    ("Sayers equation", 51.9, 48.9, -2007.0),
    ("Sayers equation", 60.7, 45.3, -2055.0),
    ("Harman equation", 61.9, 36.0, -1822.0),
)
"""Name, W for each cm, W for each kg, W: countermovement jump, squat jump, both.

The place in this list is the input ``equation``."""
_CMJ, _SJ, _HARMAN = range(3)

ADULT, OLDEST = 18, 35
"""Both equations were made on adults of college age. The ends are ours: no source draws a line."""
OUTSIDE = "outside the equation's population (adults of college age)"
AGE_UNKNOWN = "age not known, so neither is whether the equation's population fits"


@view("power", "flight_time", "height")
def power(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each countermovement or squat jump of somebody weighed: the jump, and kg."""
    table = jumps.build(trials, battery)
    own = trials.attempts.loc[table["key"], ["day", "athlete_id", "test", "age"]]
    table = table.join(own, on="key")
    table = table[table["test"].isin([COUNTERMOVEMENT, SQUAT])].reset_index(drop=True)
    taken = trials.of_kind("body_mass", "body").merge(
        trials.attempts[["day", "athlete_id"]], left_on="key", right_index=True
    )
    table = table.join(last_mass(table, taken)).dropna(subset="body_mass")
    sayers = np.where(table["test"] == SQUAT, _SJ, _CMJ)
    equation = sayers if battery.peak_power_equation == "sayers" else np.full_like(sayers, _HARMAN)
    return table.assign(
        equation=equation.astype(float),
        basis=ESTIMATED,
        flags=[
            joined(_FACTORS[place][0], _population(age), mass)
            for place, age, mass in zip(
                equation, table["age"], table["body_mass_flag"], strict=True
            )
        ],
        source=[
            joined(a, b) for a, b in zip(table["source"], table["body_mass_source"], strict=True)
        ],
    )


def _population(age: float) -> str:
    if np.isnan(age):
        return AGE_UNKNOWN
    return "" if ADULT <= age <= OLDEST else OUTSIDE


@measure(
    key="peak_power",
    label="peak power",
    unit="W",
    better="higher",
    decimals=0,
    plausible=(0, 13500),
    formula="W from h in cm and m in kg: Sayers 51.9 · h + 48.9 · m − 2007 (countermovement jump), "
    "60.7 · h + 45.3 · m − 2055 (squat jump), or Harman 61.9 · h + 36.0 · m − 1822, as the battery "
    "chooses; an equation's answer, so days are not set side by side; made on adults of college "
    "age (18 to 35 taken here, no source)",
    sources=("sayers1999", "harman1991", "canavan2004"),
    view="power",
    combine="best",
    section="jumps",
    for_adults=True,
    compared=False,
)
def peak_power(
    flight_time: Array, device_height: Array, body_mass: Array, equation: Array
) -> Array:
    """Peak power in W from flight time in s (or height in m), body mass in kg, the equation.

    ``equation`` is the place in ``_FACTORS``: 0 Sayers countermovement jump, 1 Sayers squat jump,
    2 Harman. NaN where the line falls below 0: it was drawn through grown jumpers. The plausible
    limits are those of height and mass put in, so that they set nothing aside themselves.
    """
    place = np.where(np.isnan(equation), 0, equation).astype(int)
    factors = np.array([numbers for _, *numbers in _FACTORS])[place]
    height = jump_height(flight_time, device_height)
    watts = factors[:, 0] * height + factors[:, 1] * body_mass + factors[:, 2]
    known = ~np.isnan(equation) & (watts > 0)
    return np.where(known, watts, np.nan)


@measure(
    key="relative_peak_power",
    label="peak power for body mass",
    unit="W/kg",
    better="higher",
    decimals=1,
    plausible=(0, 250),
    formula="peak power ÷ body mass of that day or the last weighing before",
    sources=("sayers1999", "harman1991", "canavan2004"),
    view="power",
    combine="best",
    section="jumps",
    for_adults=True,
    compared=False,
)
def relative_peak_power(
    flight_time: Array, device_height: Array, body_mass: Array, equation: Array
) -> Array:
    """Peak power in W/kg; see ``peak_power``."""
    return peak_power(flight_time, device_height, body_mass, equation) / body_mass
