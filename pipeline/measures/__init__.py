"""The only code that knows a formula. Importing it registers every measure."""

from pipeline.measures import (
    body,
    conditions,
    force_velocity,
    jumps,
    lifts,
    model,
    other,
    phases,
    plates,
    repeats,
    splits,
    steps,
    technique,
    velocity,
)

__all__ = [
    "body",
    "conditions",
    "force_velocity",
    "jumps",
    "lifts",
    "model",
    "other",
    "phases",
    "plates",
    "repeats",
    "splits",
    "steps",
    "technique",
    "velocity",
]
