"""Horizontal force, speed and power of a sprint, from its fitted speed curve.

Samozino et al. 2016, Scand J Med Sci Sports 26:648; Morin et al. 2019, J Biomech 94:82; air drag
from Arsac & Locatelli 2002, J Appl Physiol 92:1781 (formulas memory; the figures they give agree
with a published group, Wang et al. 2026, J Sports Sci Med 25:536, seen).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.measures import air
from pipeline.measures.spec import Array

RATIO_FROM_S = 0.3
"""The ratio of forces is read from here on: before, the curve is no picture of the first step."""

STEP_S = 0.01
SPAN = 5.0
"""The curve is sampled every ``STEP_S`` from 0 to ``SPAN`` time constants, ends included. The
window belongs to the numbers: half of it moves the slope of the ratio by 0.25 points."""

GRAVITY = 9.81
"""m/s², the rounded value: the published figures this is held against were worked out with it.
Only the ratio of forces uses it; standard gravity would raise that by 0.01 points."""

TIME_CONSTANTS_S = (0.1, 5.0)
"""Time constants outside are no sprint (published ones are near 1.1 to 1.3 s) and give NaN."""

_PERCENT = 100.0
_SHARE_OF_CORNER = 4.0  # a straight line's greatest force × speed is a quarter of F0 · V0


@dataclass(frozen=True, slots=True)
class Profile:
    """The force–velocity profile of n runs, each field an array (n,).

    Attributes:
        relative_force: F0 in N/kg, the line of horizontal force on speed at speed zero.
        theoretical_speed: V0 in m/s, the speed at which that line reaches zero.
        relative_power: F0 · V0 / 4 in W/kg.
        slope: of the line, −F0 / V0 in N·s/(m·kg), negative.
        force_ratio_max: horizontal over resultant force in %, at ``RATIO_FROM_S``.
        force_ratio_slope: its slope on speed from there on in %/(m/s), negative.
    """

    relative_force: Array
    theoretical_speed: Array
    relative_power: Array
    slope: Array
    force_ratio_max: Array
    force_ratio_slope: Array


def profile(
    top_speed: Array,
    time_constant: Array,
    body_mass: Array,
    height: Array,
    pressure_hpa: Array,
    temperature_c: Array,
    wind: Array,
) -> Profile:
    """The force–velocity profile of runs with fitted top speed Vm in m/s and time constant T in s.

    v = Vm (1 − e^(−t/T)), a = (Vm/T) e^(−t/T), FH = m a + k (v − w)², with body mass m in kg,
    height in m, pressure at the track in hPa, temperature in °C, w the wind in m/s (a tail wind
    positive) and k of ``air.drag_factor``. F0 and V0 from the least-squares line of FH/m on v,
    Pmax = F0 · V0 / 4; RF = FH / √(FH² + (m g)²) at 0.3 s, its slope by least squares from 0.3 s.
    Sampled every 0.01 s from 0 to 5 T. Sources and status as the module; exact without drag:
    F0 = Vm/T, V0 = Vm, Pmax = Vm²/(4T).

    While a tail wind is faster than the runner it pushes, so the square there counts negative;
    the published form leaves the sign out (F0 with +2 m/s differs by 0.06 %).

    NaN where anything is missing, Vm is not above zero or T is outside ``TIME_CONSTANTS_S``.
    """
    shortest, longest = TIME_CONSTANTS_S
    runs = (time_constant >= shortest) & (time_constant <= longest) & (top_speed > 0)
    top = np.where(runs, top_speed, np.nan)[:, None]
    constant = np.where(runs, time_constant, shortest)[:, None]
    factor = air.drag_factor(body_mass, height, air.density(pressure_hpa, temperature_c))
    per_kg = (factor / body_mass)[:, None]
    blowing = wind[:, None]

    # 5 · 1.1 s ÷ 0.01 s must be 550 steps, whatever the binary fractions do
    steps = np.floor(SPAN * constant / STEP_S + 1e-6)
    time = np.arange(steps.max(initial=0) + 1) * STEP_S
    within = np.arange(len(time)) <= steps
    speed, force = _force(time, top, constant, per_kg, blowing)
    intercept, slope = _line(speed, force, within)
    late = within & (time >= RATIO_FROM_S - STEP_S / 2)
    _, ratio_slope = _line(speed, _ratio(force), late)
    _, first = _force(np.array([RATIO_FROM_S]), top, constant, per_kg, blowing)
    zero = -intercept / slope
    return Profile(
        relative_force=intercept,
        theoretical_speed=zero,
        relative_power=intercept * zero / _SHARE_OF_CORNER,
        slope=slope,
        force_ratio_max=_ratio(first)[:, 0],
        force_ratio_slope=ratio_slope,
    )


def phase_drag_impulse(
    times: Array, speeds: Array, body_mass: Array, drag_factor: Array, wind: Array
) -> Array:
    """What the air took from each phase, as impulse for body mass in N·s/kg (that is, in m/s).

    ∫ k (v − w)² / m dt by the trapezoid rule over the samples given: ``times`` in s and ``speeds``
    in m/s are (n, steps), one row a phase; body mass in kg, k in kg/m (``air.drag_factor``) and
    wind in m/s are (n,). Negative where the wind pushed: as in ``profile`` the square keeps the
    sign of v − w. From the definition of impulse; drag as Arsac & Locatelli 2002 (memory). NaN
    where any sample of the phase is missing.
    """
    through_air = speeds - np.asarray(wind)[..., None]
    impulse = np.trapezoid(through_air * np.abs(through_air), times, axis=-1)
    mass = np.where(body_mass > 0, body_mass, np.nan)
    return np.asarray(drag_factor / mass * impulse)


def _force(
    time: Array, top: Array, constant: Array, per_kg: Array, wind: Array
) -> tuple[Array, Array]:
    """Speed in m/s and horizontal force in N/kg, (n, steps), of runs (n, 1) at times (steps,)."""
    decay = np.exp(-time / constant)
    speed = top * (1 - decay)
    through_air = speed - wind
    return speed, top / constant * decay + per_kg * through_air * np.abs(through_air)


def _ratio(force: Array) -> Array:
    """Horizontal over resultant force in %, from horizontal force in N/kg."""
    return np.asarray(_PERCENT * force / np.hypot(force, GRAVITY))


def _line(x: Array, y: Array, within: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Intercept and slope, (n,), of the least-squares line of y on x in each row's samples."""
    count = within.sum(axis=1)
    mean_x = np.where(within, x, 0).sum(axis=1) / count
    mean_y = np.where(within, y, 0).sum(axis=1) / count
    from_x = np.where(within, x - mean_x[:, None], 0)
    from_y = np.where(within, y - mean_y[:, None], 0)
    slope = (from_x * from_y).sum(axis=1) / (from_x**2).sum(axis=1)
    return mean_y - slope * mean_x, slope
