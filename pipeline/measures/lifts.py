"""Strength: one-rep max, measured or estimated, and what it is for the body it moves."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from pipeline.battery import EQUATIONS, Battery
from pipeline.measures.jumps import part_of
from pipeline.measures.registry import day_view, measure, view
from pipeline.measures.spec import (
    COUNTED,
    EACH,
    ESTIMATED,
    MEASURED,
    Array,
    Trials,
    TypicalError,
    joined,
    key_fields,
    once,
)
from pipeline.measures.surroundings import last_mass, taken

FEW_REPETITIONS = 5
MANY_REPETITIONS = "more than 5 repetitions"
"""The flag of an estimate that deserves no verdict: there the equations part."""

_FACTORS: dict[str, tuple[str, str, Callable[[Array], Array]]] = {
    "epley": ("Epley", "1 + r ÷ 30", lambda r: 1 + r / 30),
    "brzycki": ("Brzycki", "36 ÷ (37 − r)", lambda r: 36 / (37 - r)),
    "lander": ("Lander", "100 ÷ (101.3 − 2.67123 r)", lambda r: 100 / (101.3 - 2.67123 * r)),
    "lombardi": ("Lombardi", "r^0.10", lambda r: r**0.10),
    "mayhew": (
        "Mayhew",
        "100 ÷ (52.2 + 41.9 exp(−0.055 r))",
        lambda r: 100 / (52.2 + 41.9 * np.exp(-0.055 * r)),
    ),
    "oconner": ("O'Conner", "1 + 0.025 r", lambda r: 1 + 0.025 * r),
    "wathan": (
        "Wathan",
        "100 ÷ (48.8 + 53.8 exp(−0.075 r))",
        lambda r: 100 / (48.8 + 53.8 * np.exp(-0.075 * r)),
    ),
}
"""One-rep max ÷ load from repetitions r: name, formula and function of each equation."""

MASS_FIELDS = ("relative_strength", "scaled_strength")
"""Measures that body mass alone can move."""


def shares(lift: tuple[float, float], ratio: tuple[float, float]) -> tuple[float, float]:
    """A change of strength for body mass, split: what the lift gave and what the mass, in %.

    Args:
        lift: the one-rep max before and after.
        ratio: the lift for body mass before and after, same unit.

    Returns:
        100 · ln(after ÷ before) of the lift, and what is left of the ratio's: they add up to it.
    """
    whole, lifted = (100 * float(np.log(after / before)) for before, after in (ratio, lift))
    return lifted, whole - lifted


@view("lift sets", "load")
def lift_sets(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each set that may stand for the one-rep max: ``load`` kg, ``reps``, ``equation``.

    Where sets are marked maximal, only those. A single counts as measured if nothing heavier was
    lifted that day; else the sets of repetitions are used and the result is estimated, unless the
    battery says that this lift is not. Where the body counts, its mass is part of the load.
    """
    sets = with_body(_sets(trials), trials)
    together = [sets[c] for c in ("day", "athlete_id", "test", "conditions")]
    marked = sets["maximal"] == "yes"
    counts = marked | ~marked.groupby(together).transform("any")
    top = sets["load"].where(counts).groupby(together).transform("max")
    measured = counts & (sets["reps"] == 1) & (sets["load"] == top)
    estimated = counts & (sets["reps"] > 1) & ~measured.groupby(together).transform("any")
    estimated &= ~sets["test"].isin([t.name for t in battery.tests.values() if not t.estimate])
    sets = sets[measured | estimated].reset_index()
    single = sets["reps"] == 1
    how = np.where(single, "", f"{battery.one_rep_max_equation} equation")
    many = np.where(sets["reps"] > FEW_REPETITIONS, MANY_REPETITIONS, "")
    sources = sets["mass_source"], sets["source"], sets["source_reps"]
    return sets.assign(
        part=part_of(trials, sets["key"]),
        equation=float(EQUATIONS.index(battery.one_rep_max_equation)),
        basis=np.where(single, MEASURED, ESTIMATED),
        extra=np.where(sets["maximal"] == "yes", "effort=maximal", "effort=not marked maximal"),
        flags=[joined(*row) for row in zip(how, many, sets["mass_flag"], strict=True)],
        source=[joined(*row) for row in zip(*sources, strict=True)],
    )


@once
def _sets(trials: Trials) -> pd.DataFrame:
    """Every set with a load in kg and a number of repetitions, indexed by its attempt."""
    load, reps = (
        trials.used(name).set_index("key")[["value", "resolution", "source"]]
        for name in ("load", "reps")
    )
    sets = load.merge(reps, left_index=True, right_index=True, suffixes=("", "_reps")).rename(
        columns={"value": "load", "resolution": "load_resolution", "value_reps": "reps"}
    )
    return sets.join(trials.attempts[["day", "athlete_id", "test", "conditions", "maximal"]])


def with_body(sets: pd.DataFrame, trials: Trials) -> pd.DataFrame:
    """The sets with the body in the load where it counts; without a known mass they fall out."""
    keys = [key_fields(str(key)) for key in sets["conditions"]]
    counted = np.array([key.get("body_mass") == COUNTED for key in keys], dtype=bool)
    body = last_mass(sets, taken(trials, "body_mass"))
    mass, step = (body[c].where(counted, 0.0) for c in ("body_mass", "body_mass_resolution"))
    sets = sets.assign(
        load=sets["load"] + mass,
        load_resolution=sets["load_resolution"] + step,
        mass_flag=body["body_mass_flag"].where(counted, ""),
        mass_source=body["body_mass_source"].where(counted, ""),
    )
    return sets[mass.notna()]


@once
def without_body(trials: Trials) -> pd.DataFrame:
    """The sets that give no result since they count a body that nobody weighed in time."""
    sets = _sets(trials)
    return sets[~sets.index.isin(with_body(sets, trials).index)]


def not_estimated(trials: Trials, battery: Battery) -> pd.DataFrame:
    """Sets of repetitions of a lift that is not estimated, where no single stands for the day."""
    sets = _sets(trials)
    plans = [battery.tests.get(str(test)) for test in sets["test"]]
    never = np.array([plan is not None and not plan.estimate for plan in plans], dtype=bool)
    same = ["day", "athlete_id", "test", "conditions"]
    stand = sets.index.isin(lift_sets.build(trials, battery)["key"])
    measured = sets.assign(stand=stand).groupby(same)["stand"].transform("any").astype(bool)
    return sets[never & (sets["reps"] > 1) & ~measured]


@day_view("strength for mass")
def strength_for_mass(results: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """Each one-rep max beside the body mass of its day or the last before, both in kg.

    The load of one hand is no strength of the body, so it is left out.
    """
    strength = results[results["measure"] == "one_rep_max"]
    one_hand = [key_fields(str(key)).get("load_is") == EACH for key in strength["conditions"]]
    strength = strength[~np.array(one_hand, dtype=bool)]
    mass = last_mass(strength, results[results["measure"] == "body_mass"])
    paired = strength.join(mass).dropna(subset="body_mass")
    return paired.assign(
        one_rep_max=paired["value"],
        one_rep_max_resolution=paired["resolution"],
        exponent=battery.scaling_exponent,
        flags=[
            joined(a, b) for a, b in zip(paired["flags"], paired["body_mass_flag"], strict=True)
        ],
        source=[
            joined(a, b) for a, b in zip(paired["source"], paired["body_mass_source"], strict=True)
        ],
    )


@measure(
    key="one_rep_max",
    label="one-rep max",
    unit="kg",
    better="higher",
    decimals=1,
    plausible=(10, 350),
    formula="the load of a single, or of r repetitions times a factor by the equation that the "
    "battery chooses: "
    + ", ".join(f"{name} {formula}" for name, formula, _ in _FACTORS.values())
    + "; with the body's mass where it counts",
    sources=("definition", "equations", "comfort2015"),
    typical_errors=(
        TypicalError(3.5, "%", "A", "2.0 (n 44), <= 4.0 (n 50), median 4.2", ("back squat",)),
        TypicalError(3.5, "%", "B", "<= 4.0 (n 50), median 4.2", ("bench press",)),
        TypicalError(4.0, "%", "A", "4.1 (n 36), 1.9 (n 44)", ("power clean",)),
    ),
    view="lift sets",
    combine="best",
    section="strength",
)
def one_rep_max(load: Array, reps: Array, equation: Array) -> Array:
    """One-rep max in kg from a load in kg and repetitions; a single is itself.

    ``equation`` is the place in ``battery.EQUATIONS``; NaN gives NaN.
    """
    factors = [_FACTORS[name][2](reps) for name in EQUATIONS]
    chosen = np.select([equation == n for n in range(len(EQUATIONS))], factors, np.nan)
    return np.where(reps == 1, load, load * chosen)


@measure(
    key="relative_strength",
    label="one-rep max for body mass",
    unit="kg/kg",
    better="higher",
    decimals=2,
    plausible=(0.1, 4.5),
    formula="one-rep max ÷ body mass of that day or the last weighing before",
    sources=("definition",),
    view="strength for mass",
    combine="day",
    section="strength",
    for_adults=True,
)
def relative_strength(one_rep_max: Array, body_mass: Array) -> Array:
    """One-rep max over body mass, both in kg."""
    return one_rep_max / body_mass


@measure(
    key="scaled_strength",
    label="one-rep max scaled for body mass",
    unit="kg/kg^0.67",
    better="higher",
    decimals=2,
    plausible=(0.5, 20),
    formula="one-rep max ÷ body mass^b, b = 0.67 unless the battery says otherwise",
    sources=("jaric2002",),
    view="strength for mass",
    combine="day",
    section="strength",
    for_adults=True,
)
def scaled_strength(one_rep_max: Array, body_mass: Array, exponent: Array) -> Array:
    """Allometrically scaled strength in kg/kg^b; both masses in kg, ``exponent`` b."""
    return one_rep_max / body_mass**exponent
