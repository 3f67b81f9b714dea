"""A damaged season from a seed: which damages, in which order."""

from __future__ import annotations

import random

from . import books, cells, columns, files, rows, settings
from .damage import AREAS, DAMAGES, Damage, of_area
from .made import BOOKS, TEXTS, GoneError, Made, make
from .writing import write

ROOMS = (books, cells, columns, files, rows, settings)
"""Read for their registered damages."""

ANY, GENTLE = "any", "gentle"

HARMLESS = (
    "rows swapped", "totals", "note below", "spacers", "headings again", "title above",
    "blank rows above", "columns shuffled", "heading spelt otherwise", "column of notes",
    "far to the right", "other encoding", "other separator", "other line ends",
    "what a computer leaves", "folder beside",
)  # fmt: skip
"""Kinds that cost no value: whatever else is said of them, everything written is still used."""


def chosen(seed: int, area: str) -> list[Damage]:
    """The damages of a seed: of an area each kind in turn, further ones by chance."""
    rng = random.Random(f"{seed} {area}")
    if area == ANY:
        every = sorted(DAMAGES.values(), key=lambda d: d.name)
        return rng.sample(every, rng.randint(2, 5))
    kinds = of_area(area) if area != GENTLE else [DAMAGES[name] for name in HARMLESS]
    return [kinds[seed % len(kinds)], *rng.choices(kinds, k=rng.randrange(3))]


def damaged(seed: int, area: str, suffixes: tuple[str, ...] = (*TEXTS, *BOOKS)) -> Made:
    """The season of a seed with its damages done; ``told`` says which."""
    made = make(seed, suffixes)
    damages = chosen(seed, area)
    rng = random.Random(seed)
    for one in sorted(damages, key=lambda d: d.late):
        if one.late and not made.files:
            write(made)
        try:
            made.told.append(f"{one.name}: {one.apply(rng, made)}")
        except GoneError as gone:
            made.told.append(f"{one.name}: not done, {gone} is gone")
    if not made.files:
        write(made)
    return made


__all__ = ["ANY", "AREAS", "GENTLE", "chosen", "damaged"]
