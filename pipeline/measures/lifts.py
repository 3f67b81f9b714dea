"""Strength: one-rep max, measured or estimated, and what it is for the body it moves."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import EQUATIONS, Battery
from pipeline.measures.jumps import part_of
from pipeline.measures.registry import day_view, measure, view
from pipeline.measures.spec import ESTIMATED, MEASURED, Array, Trials, TypicalError, joined
from pipeline.measures.surroundings import last_mass

MASS_FIELDS = ("relative_strength", "scaled_strength")
"""Measures that body mass alone can move."""


@view("lift sets")
def lift_sets(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each set that may stand for the one-rep max: ``load`` kg, ``reps``, ``equation``.

    Where sets are marked maximal, only those. A single counts as measured if nothing heavier was
    lifted that day; else the sets of repetitions are used and the result is estimated.
    """
    load, reps = (
        trials.used(name).set_index("key")[["value", "resolution", "source"]]
        for name in ("load", "reps")
    )
    sets = load.merge(reps, left_index=True, right_index=True, suffixes=("", "_reps")).rename(
        columns={"value": "load", "resolution": "load_resolution", "value_reps": "reps"}
    )
    sets = sets.join(trials.attempts[["day", "athlete_id", "test", "conditions", "maximal"]])
    together = [sets[c] for c in ("day", "athlete_id", "test", "conditions")]
    marked = sets["maximal"] == "yes"
    counts = marked | ~marked.groupby(together).transform("any")
    top = sets["load"].where(counts).groupby(together).transform("max")
    measured = counts & (sets["reps"] == 1) & (sets["load"] == top)
    estimated = counts & (sets["reps"] > 1) & ~measured.groupby(together).transform("any")
    sets = sets[measured | estimated].reset_index()
    single = sets["reps"] == 1
    return sets.assign(
        part=part_of(trials, sets["key"]),
        equation=float(EQUATIONS.index(battery.one_rep_max_equation)),
        basis=np.where(single, MEASURED, ESTIMATED),
        extra=np.where(sets["maximal"] == "yes", "effort=maximal", "effort=not marked maximal"),
        flags=np.where(single, "", f"{battery.one_rep_max_equation} equation"),
        source=[joined(a, b) for a, b in zip(sets["source"], sets["source_reps"], strict=True)],
    )


@day_view("strength for mass")
def strength_for_mass(results: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """Each one-rep max beside the body mass of its day or the last before, both in kg."""
    strength = results[results["measure"] == "one_rep_max"]
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
    formula="the load of a maximal single; else load · (1 + repetitions ÷ 30) (Epley) or "
    "load · 36 ÷ (37 − repetitions) (Brzycki), as the battery chooses",
    sources=("definition", "epley", "brzycki", "comfort2015"),
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

    ``equation`` is the place in ``battery.EQUATIONS``: 0 Epley, 1 Brzycki.
    """
    epley = load * (1 + reps / 30)
    brzycki = load * 36 / (37 - reps)
    return np.where(reps == 1, load, np.where(equation == 0, epley, brzycki))


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
