"""How a quality shows on one day and in one attempt: published noise around the latent value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .chance import normal

if TYPE_CHECKING:
    from .days import Day
    from .people import Athlete


@dataclass(frozen=True)
class Spread:
    """Standard deviations between days and between the attempts of one day."""

    day: float
    within: float


# As shares of the value. Together (root of the sum of squares) they give the published
# day-to-day error of a single attempt: jump height 4 %, squat jump 4.5 %, one-repetition
# maximum 3.5 %, reactive strength 6 %, long jump 3 %, 30 m about 1.5 %, races about 0.8 %.
SPEED = Spread(0.0085, 0.008)
RACE_SPEED = Spread(0.006, 0.005)
JUMP = Spread(0.030, 0.026)
SQUAT_JUMP = Spread(0.031, 0.028)
SINGLE_LEG = Spread(0.033, 0.035)
LONG_JUMP = Spread(0.022, 0.020)
REBOUND = Spread(0.029, 0.025)  # contact time and rebound height alike
LIFT = Spread(0.030, 0.0)
SHUTTLE = Spread(0.013, 0.015)
THROW = Spread(0.035, 0.035)
# In seconds: how late the first movement is felt by the clock.
START = Spread(0.020, 0.020)
RACE_START = Spread(0.010, 0.012)

# Youth rebound less alike from jump to jump than trained adults.
_YOUTH_REBOUND = 2.0
# Correlation of one test's day with the athlete's general readiness, and the rest of it.
_SHARED, _OWN = 0.6, 0.8


def deviation(athlete: Athlete, day: Day, spread: Spread, what: str, *attempt: object) -> float:
    """Return how far an attempt lies above the latent value: a share, or seconds."""
    readiness = normal(athlete, day.folder, "readiness")
    today = _SHARED * readiness + _OWN * normal(athlete, day.folder, what)
    now = normal(athlete, day.folder, what, "attempt", *attempt)
    return spread.day * today + spread.within * now


def rebound(athlete: Athlete, day: Day, what: str, *attempt: object) -> float:
    """Return the deviation of a contact time or rebound height."""
    scale = 1.0 if athlete.age(day.date) >= 18 else _YOUTH_REBOUND
    return scale * deviation(athlete, day, REBOUND, what, *attempt)
