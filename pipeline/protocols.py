"""How a kind of test is taken, and what of it is written down: the battery's ``protocols``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

RECORDED: dict[str, tuple[str, ...]] = {
    "body": (
        "body_mass_kg", "body_mass_lb", "body_mass_st_lb", "height_cm", "height_m", "height_ft_in",
        "sitting_height_cm",
    ),
    "sprint": (
        "lane", "wind_mps", "reaction_s", "start", "start_distance_m", "timing", "clock",
        "surface", "footwear",
    ),
    "flying": ("lane", "wind_mps", "run_in_m", "start", "timing", "surface", "footwear"),
    "repeated": ("lane", "wind_mps", "start", "start_distance_m", "timing", "surface", "footwear"),
    "jump": ("arms", "flight_time_s", "flight_time_ms", "height_cm", "height_in", "footwear"),
    "distance jump": ("arms", "distance_m", "distance_cm", "distance_ft_in", "surface", "footwear"),
    "drop jump": (
        "arms", "contact_time_s", "contact_time_ms", "flight_time_s", "flight_time_ms", "footwear",
    ),
    "rebound": (
        "arms", "contact_time_s", "contact_time_ms", "flight_time_s", "flight_time_ms", "footwear",
    ),
    "isometric": ("file", "rate_hz", "column", "unit"),
    "lift": (
        "leg", "depth", "load_is", "body_mass", "load_kg", "load_lb", "reps", "result", "maximal",
        "best_kg",
    ),
    "other": ("value",),
}  # fmt: skip
"""What a recording sheet may ask for beside the gates, by kind of test: headings of the sheets."""

STATIONS = range(1, 100)


@dataclass(frozen=True, slots=True)
class Protocol:
    """How a kind of test is taken, and what of it is written down.

    Attributes:
        station: its place in a day, one of ``STATIONS``, the lowest first.
        order: who goes when.
        rest: how long between attempts.
        no_mark: what does not count.
        record: headings of the recording sheet, of ``RECORDED``.
    """

    station: int
    order: str
    rest: str
    no_mark: str
    record: tuple[str, ...]

    @classmethod
    def of(cls, table: Mapping[str, Any]) -> Protocol:
        """A checked table of the battery as a protocol."""
        return cls(**{**table, "record": tuple(table["record"])})


FIELDS = tuple(field.name for field in fields(Protocol))
_TEXTS = ("order", "rest", "no_mark")


def check(value: object) -> dict[str, Any]:
    """A table of the battery, once it may stand; what nothing reads is left out.

    Raises:
        ValueError: with the reason why it may not.
    """
    if not isinstance(value, dict) or not set(value) >= set(FIELDS):
        raise ValueError(f"it needs {', '.join(FIELDS)}")
    if not all(isinstance(value[name], str) for name in _TEXTS):
        raise ValueError(f"{', '.join(_TEXTS)} must be texts in quotes")
    if isinstance(value["station"], bool) or value["station"] not in STATIONS:
        raise ValueError(f"station must be a whole number up to {STATIONS[-1]}")
    record = value["record"]
    if not isinstance(record, list) or not all(isinstance(heading, str) for heading in record):
        raise ValueError("record must be a list of headings")
    return {name: value[name] for name in FIELDS}
