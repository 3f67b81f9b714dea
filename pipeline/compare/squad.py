"""Who is compared: what a comparison must know of the people, and nothing else of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.compare.norms import Person
from pipeline.measures.spec import ADULT

_BANDS = ((0, "under 14"), (14, "14-15"), (16, "16-17"), (ADULT, "18 and over"))

YOUTH_BANDS = tuple(name for start, name in _BANDS if start < ADULT)


def age_band(age: float | None) -> str:
    """The band an age in whole years falls in; empty where the age is not known."""
    if age is None:
        return ""
    return next(name for start, name in reversed(_BANDS) if age >= start)


@dataclass(frozen=True, slots=True)
class Member:
    """One athlete on one day; ``age`` in whole years, None where not known."""

    athlete_id: str
    sex: str
    event: str
    age: int | None
    groups: tuple[str, ...]

    @property
    def person(self) -> Person:
        """As a reference is sought for them."""
        return Person(self.athlete_id, self.sex, self.event, age_band(self.age))


Squad = Mapping[str, Member]
"""By athlete id."""
