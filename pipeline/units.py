"""Unit factors: what a heading's ending means, and how display units relate to SI.

The exact factors come from ``scipy.constants``; nothing else in the project holds one.
"""

from __future__ import annotations

from dataclasses import dataclass

from scipy import constants

STANDARD_GRAVITY: float = constants.g
"""9.80665 m/s², the conventional value (3rd CGPM, 1901)."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit a sheet may use: what it measures, the SI unit it becomes, the factor.

    A pair (feet and inches) is counted in its smaller unit; ``larger`` is the ending of the other.
    """

    dimension: str
    si: str
    factor: float
    larger: str = ""


HEADING_UNITS: dict[str, Unit] = {
    "s": Unit("time", "s", 1.0),
    "ms": Unit("time", "s", constants.milli),
    "frames": Unit("time", "s", float("nan")),  # worth 1 / fps of its row
    "m": Unit("length", "m", 1.0),
    "cm": Unit("length", "m", constants.centi),
    "mm": Unit("length", "m", constants.milli),
    "in": Unit("length", "m", constants.inch),
    "ft": Unit("length", "m", constants.foot),
    "yd": Unit("length", "m", constants.yard),
    "ft_in": Unit("length", "m", constants.inch, larger="ft"),
    "kg": Unit("mass", "kg", 1.0),
    "lb": Unit("mass", "kg", constants.pound),
    "st": Unit("mass", "kg", constants.stone),
    "st_lb": Unit("mass", "kg", constants.pound, larger="st"),
    "mps": Unit("speed", "m/s", 1.0),
    "kmh": Unit("speed", "m/s", constants.kmh),
    "hpa": Unit("pressure", "hPa", 1.0),
    "c": Unit("temperature", "°C", 1.0),
}
"""By the ending of a heading, e.g. ``flight_time_ms``."""

SI: dict[str, str] = {
    "time": "s",
    "length": "m",
    "mass": "kg",
    "speed": "m/s",
    "pressure": "hPa",
    "temperature": "°C",
    "count": "1",
}
"""The unit in which each dimension travels inside the project."""


def in_one(unit: Unit) -> int:
    """How many of a pair's smaller unit make one of its larger: 12 inches, 14 pounds."""
    return round(HEADING_UNITS[unit.larger].factor / unit.factor)


CM_PER_M: float = 1 / constants.centi
