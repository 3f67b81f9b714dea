"""Steps of a run: frequency, and force and stiffness from contact and flight times.

Morin et al. 2005, J Appl Biomech 21:167 (formulas memory). The mean force is exact from impulse
wherever a step leaves and meets the ground alike; peak force and stiffness rest on a half-sine of
vertical force over contact. Both hold for steady running, not for the first steps of a start.
"""

from __future__ import annotations

import numpy as np
from scipy import constants

from pipeline.measures.spec import Array
from pipeline.units import STANDARD_GRAVITY

LEG_FOR_HEIGHT = 0.53
"""Leg length for height, the usual estimate (memory), where no leg was measured."""

_N_PER_KN: float = constants.kilo


def step_frequency(contact_time: Array, step_flight_time: Array) -> Array:
    """Step frequency in 1/s, f = 1 / (tc + tf), from contact and flight in s (definition).

    NaN where a contact is not above zero or a flight below it.
    """
    return 1 / _step(contact_time, step_flight_time)


def mean_vertical_force(contact_time: Array, step_flight_time: Array) -> Array:
    """Mean vertical force over contact in body weights, (tc + tf) / tc, times in s.

    Exact from impulse where a step leaves and meets the ground at the same vertical speed
    (as Morin et al. 2005, memory). NaN as ``step_frequency``.
    """
    return _step(contact_time, step_flight_time) / contact_time


def vertical_impulse(contact_time: Array, step_flight_time: Array) -> Array:
    """Vertical impulse of a step for body mass in N·s/kg, g · (tc + tf), times in s.

    Exact under the condition of ``mean_vertical_force``; g is standard gravity. NaN as
    ``step_frequency``.
    """
    return STANDARD_GRAVITY * _step(contact_time, step_flight_time)


def leg_length(height: Array) -> Array:
    """Leg length in m, 0.53 of the height in m: the usual estimate (memory)."""
    return np.where(height > 0, LEG_FOR_HEIGHT * height, np.nan)


def peak_vertical_force(contact_time: Array, step_flight_time: Array, body_mass: Array) -> Array:
    """Peak vertical force in N of the half-sine: Fmax = m g (π/2) (tf/tc + 1).

    Times in s, body mass in kg; Morin et al. 2005 (memory). NaN as ``step_frequency``.
    """
    mass = np.where(body_mass > 0, body_mass, np.nan)
    mean = mean_vertical_force(contact_time, step_flight_time)
    return mass * STANDARD_GRAVITY * np.pi / 2 * mean


def vertical_displacement(contact_time: Array, step_flight_time: Array) -> Array:
    """How far the body sinks in contact, in m: Δz = Fmax tc² / (m π²) − g tc² / 8.

    Times in s, the body mass drops out; Morin et al. 2005 (memory): the half-sine less the
    weight, integrated twice. NaN as ``step_frequency``.
    """
    per_kg = peak_vertical_force(contact_time, step_flight_time, np.ones_like(contact_time))
    return per_kg * contact_time**2 / np.pi**2 - STANDARD_GRAVITY * contact_time**2 / 8


def vertical_stiffness(contact_time: Array, step_flight_time: Array, body_mass: Array) -> Array:
    """Vertical stiffness in kN/m, kvert = Fmax / Δz, from times in s and body mass in kg.

    Morin et al. 2005 (memory). NaN as ``step_frequency``.
    """
    peak = peak_vertical_force(contact_time, step_flight_time, body_mass)
    return peak / vertical_displacement(contact_time, step_flight_time) / _N_PER_KN


def leg_stiffness(
    contact_time: Array, step_flight_time: Array, body_mass: Array, leg: Array, speed: Array
) -> Array:
    """Leg stiffness in kN/m, kleg = Fmax / (Δz + L − √(L² − (v tc / 2)²)).

    Times in s, body mass in kg, leg length L in m (measured, or ``leg_length``), running speed v
    in m/s; Morin et al. 2005 (memory). NaN as ``step_frequency``, and where half the way covered
    in contact is longer than the leg: no leg can do that.
    """
    half_way = speed * contact_time / 2
    under = leg**2 - half_way**2
    lowered = leg - np.sqrt(np.where((under >= 0) & (leg > 0) & (speed >= 0), under, np.nan))
    peak = peak_vertical_force(contact_time, step_flight_time, body_mass)
    shortened = vertical_displacement(contact_time, step_flight_time) + lowered
    return peak / shortened / _N_PER_KN


def _step(contact_time: Array, flight_time: Array) -> Array:
    """Contact and flight together in s, NaN where either cannot be."""
    can_be = (contact_time > 0) & (flight_time >= 0)
    return np.where(can_be, contact_time + flight_time, np.nan)
