"""The only code that knows a formula. Importing it registers every measure."""

from pipeline.measures import (
    body,
    conditions,
    drop_jumps,
    force_velocity,
    jumps,
    lifts,
    model,
    other,
    phases,
    power,
    repeats,
    sides,
    splits,
    steps,
    technique,
    velocity,
)

__all__ = [
    "body",
    "conditions",
    "drop_jumps",
    "force_velocity",
    "jumps",
    "lifts",
    "model",
    "other",
    "phases",
    "power",
    "repeats",
    "sides",
    "splits",
    "steps",
    "technique",
    "velocity",
]
