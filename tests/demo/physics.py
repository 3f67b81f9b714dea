"""The mechanics behind the numbers: the speed curve, flight times, and a jump's force trace."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, exp, pi, sin, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random

GRAVITY = 9.80665


@dataclass(frozen=True)
class SpeedCurve:
    """Speed `scale * (1 - exp(-t / constant)) - decay * t` from first movement on."""

    scale: float  # m/s
    constant: float  # s
    decay: float  # m/s^2

    def distance(self, time: float) -> float:
        """Return the way covered (m) by a time (s)."""
        risen = self.constant * (1 - exp(-time / self.constant))
        return self.scale * (time - risen) - self.decay * time**2 / 2

    def time(self, distance: float) -> float:
        """Return the time (s) at a distance (m), by halving."""
        early, late = 0.0, 40.0  # the curve still rises at 40 s, far beyond 200 m
        for _ in range(60):
            middle = (early + late) / 2
            if self.distance(middle) < distance:
                early = middle
            else:
                late = middle
        return late


def flight_time(height_cm: float) -> float:
    """Return the time in the air (s) of a jump that lands as it took off: h = g t^2 / 8."""
    return sqrt(8 * height_cm / 100 / GRAVITY)


RATE_HZ = 1000
_STEP_S = 1 / RATE_HZ
_LENGTH_S = 3.5
_QUIET_S = 1.2
_DIP_S = 0.36
_DIP_PEAK = 6.6  # m/s^2 downwards: a third of body weight is left
_RISE, _FALL = 0.30, 0.10  # shares of the push in which force builds up and lets go
_ON_TOES_M = 0.04  # the body's height above standing at take-off
_SQUAT_M = 0.30  # how deep a held squat is
_STEPPED = 0.88  # of a box's height, what somebody falls who steps off it
_EMPTY_S = 0.5
_DROP_LENGTH_S = 4.0
_PULL_RISE_S = 0.18
_LEG_FREQUENCY = 11.0  # rad/s, landing legs as a damped spring
_LEG_DAMPING = 0.8
_CONTACT_BUILD_UP_S = 0.03


def jump_trace(mass_kg: float, flight_s: float, noise: random.Random) -> list[float]:
    """Return the vertical force (N) of a countermovement jump with a given time in the air.

    The force follows from the accelerations, so integrating it gives the jump back:
    quiet standing, a dip, one push that ends at the take-off speed, flight, a damped landing.
    """
    speed = GRAVITY * flight_s / 2
    dip_samples = round(_DIP_S * RATE_HZ)
    dip = [-_DIP_PEAK * (1 - cos(2 * pi * i / dip_samples)) / 2 for i in range(dip_samples)]
    flight = [-GRAVITY] * round(flight_s * RATE_HZ)
    before = [*([0.0] * round(_QUIET_S * RATE_HZ)), *dip, *_push(dip, speed), *flight]
    landing = _landing(speed, round(_LENGTH_S * RATE_HZ) - len(before))
    return _force(mass_kg, before + landing, noise)


def squat_trace(mass_kg: float, flight_s: float, noise: random.Random) -> list[float]:
    """Return the vertical force (N) of a jump from a held squat: as above, without the dip."""
    speed = GRAVITY * flight_s / 2
    held = [0.0] * round(_QUIET_S * RATE_HZ)
    flight = [-GRAVITY] * round(flight_s * RATE_HZ)
    before = [*held, *_push([], speed, _SQUAT_M + _ON_TOES_M), *flight]
    landing = _landing(speed, round(_LENGTH_S * RATE_HZ) - len(before))
    return _force(mass_kg, before + landing, noise)


def drop_trace(
    mass_kg: float, drop_m: float, contact_s: float, flight_s: float, noise: random.Random
) -> list[float]:
    """Return the vertical force (N) of a drop jump: an empty plate, contact, flight, landing.

    The contact is a half-sine whose impulse stops the fall and gives the take-off speed. Who
    steps off a box falls about a tenth less than its height (McMahon et al. 2021).
    """
    speed = GRAVITY * flight_s / 2
    gained = speed + sqrt(2 * GRAVITY * drop_m * _STEPPED)
    samples = round(contact_s * RATE_HZ)
    top = pi / 2 * (gained / contact_s + GRAVITY)
    contact = [top * sin(pi * (i + 0.5) / samples) - GRAVITY for i in range(samples)]
    empty = [-GRAVITY] * round(_EMPTY_S * RATE_HZ)
    before = [*empty, *contact, *([-GRAVITY] * round(flight_s * RATE_HZ))]
    landing = _landing(speed, round(_DROP_LENGTH_S * RATE_HZ) - len(before))
    return _force(mass_kg, before + landing, noise)


def pull_trace(mass_kg: float, pull_mps2: float, noise: random.Random) -> list[float]:
    """Return the vertical force (N) of an isometric pull of a given strength over body weight."""
    held = round((_LENGTH_S - _QUIET_S) * RATE_HZ)
    rise = [pull_mps2 * (1 - exp(-((i * _STEP_S / _PULL_RISE_S) ** 1.5))) for i in range(held)]
    tremor = [1 + 0.01 * sin(2 * pi * 6 * i * _STEP_S) for i in range(held)]
    pulled = [a * share for a, share in zip(rise, tremor, strict=True)]
    return _force(mass_kg, [*([0.0] * round(_QUIET_S * RATE_HZ)), *pulled], noise)


def _force(mass_kg: float, accelerations: list[float], noise: random.Random) -> list[float]:
    """Return what the plate reads, with its noise."""
    return [mass_kg * (a + GRAVITY) + noise.gauss(0, 2) for a in accelerations]


def _push(dip: list[float], speed: float, way_m: float = _ON_TOES_M) -> list[float]:
    """Return the shortest push that turns the dip into the take-off speed, on the toes."""
    return next(
        push
        for push in (_push_of(samples, dip, speed) for samples in range(100, 1000))
        if _way([*dip, *push]) >= way_m
    )


def _push_of(samples: int, dip: list[float], speed: float) -> list[float]:
    """Return a push of a given length: the impulse owed sets how hard it is."""
    shares = [(i + 0.5) / samples for i in range(samples)]
    lost = [(max(share - 1 + _FALL, 0.0) / _FALL) ** 2 for share in shares]
    held = [_smooth(share / _RISE) * (1 - gone) for share, gone in zip(shares, lost, strict=True)]
    owed = speed * RATE_HZ - sum(dip) + GRAVITY * sum(lost)
    hardness = owed / sum(held)
    return [hardness * h - GRAVITY * gone for h, gone in zip(held, lost, strict=True)]


def _landing(speed: float, samples: int) -> list[float]:
    """Return a landing at the take-off height, the legs giving like a damped spring."""
    height, velocity = _ON_TOES_M, -speed
    accelerations = []
    for i in range(samples):
        contact = _smooth(i * _STEP_S / _CONTACT_BUILD_UP_S)
        spring = _LEG_FREQUENCY**2 * height + 2 * _LEG_DAMPING * _LEG_FREQUENCY * velocity
        acceleration = max(contact * (GRAVITY - spring), 0.0) - GRAVITY
        accelerations.append(acceleration)
        velocity += acceleration * _STEP_S
        height += velocity * _STEP_S
    return accelerations


def _way(accelerations: list[float]) -> float:
    """Return the displacement (m) from rest."""
    velocity = way = 0.0
    for acceleration in accelerations:
        velocity += acceleration * _STEP_S
        way += velocity * _STEP_S
    return way


def _smooth(share: float) -> float:
    """Return a step from 0 to 1 without corners."""
    share = min(max(share, 0.0), 1.0)
    return share * share * (3 - 2 * share)
