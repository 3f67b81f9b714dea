"""Which phases a run can be cut into, from the gates that gave a time."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from pipeline.battery import PhaseSet


def chosen(sets: Sequence[PhaseSet], timed: set[float]) -> tuple[int, PhaseSet] | None:
    """The first phase set whose ends were all timed, with its number.

    Where none is whole, the first whose last end was timed, with the phases on either side of a
    missed gate joined and named after both; it ranks behind every whole one.
    """
    for number, phase_set in enumerate(sets):
        if set(phase_set.ends_m[1:]) <= timed:
            return number, phase_set
    for number, phase_set in enumerate(sets, start=len(sets)):
        kept = [end for end in phase_set.ends_m if end == 0 or end in timed]
        if phase_set.ends_m[-1] in timed and len(kept) > 2:  # noqa: PLR2004  # one phase is the run
            return number, _joined(phase_set, kept)
    return None


def _joined(phase_set: PhaseSet, kept: list[float]) -> PhaseSet:
    names = [
        " and ".join(
            name
            for name, end in zip(phase_set.names, phase_set.ends_m[1:], strict=True)
            if lower < end <= upper
        )
        for lower, upper in itertools.pairwise(kept)
    ]
    return PhaseSet(tuple(kept), tuple(names))
