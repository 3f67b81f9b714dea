"""The only code that knows a formula. Importing it registers every measure."""

from pipeline.measures import body, jumps, lifts, other, phases, splits, velocity

__all__ = ["body", "jumps", "lifts", "other", "phases", "splits", "velocity"]
