"""The air a sprinter runs through: its density, its drag, and the time without wind or altitude.

Altitude estimates of published models differ 2.7-fold (0.07 s and 0.19 s for 100 m at 2250 m,
Linthorne 1994 and 2016), so whoever prints a still-air time prints the model's name with it:
``MODEL`` for 100 m, ``MODEL_200`` for 200 m, and ``CAUTION``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import constants

from pipeline.measures.spec import Array

MODEL = "Mureika, arXiv physics/0006057, with a = 0.028"
MODEL_200 = "polynomials by lane attributed to Mureika's curve model"
CAUTION = "altitude estimates differ 2.7-fold between published models"

ATMOSPHERE_HPA: float = constants.atm / constants.hecto
"""1013.25 hPa, the standard atmosphere: 760 mmHg."""

WINDS_MPS = (-5.0, 5.0)
ALTITUDES_M = (0.0, 2500.0)
TIMES_100_S = (9.5, 14.0)
TIMES_200_S = (19.0, 24.0)
"""Where a still-air time is given, ends included; see ``still_air_100`` and ``still_air_200``."""

LANES = 8
MEN_BELOW_S = 21.5
"""A man's 200 m polynomials hold below this time; every other runner has the women's."""

_ZERO_CELSIUS_K = 273.0  # as the density formula has it, not 273.15
_DENSITY_0 = 1.293  # kg/m³ at 0 °C and 760 mmHg
_FRONTAL_SHARE = 0.266
_SURFACE = (0.2025, 0.725, 0.425)  # body surface m²: factor, power of height, power of mass
_DRAG_COEFFICIENT = 0.9

_SHARE_LOST = 0.028  # a of the 100 m formula
_PER_METRE_UP = 0.000125  # relative loss of density with altitude, 1/m
_COURSE_M = 100.0

_MEN_BELOW = (
    (6.823850739, -62.61746031, 0.676973961, -0.8533086093, 7.409523797, -95.76524416),
    (6.037981841, -61.60238093, -5.337868373, -0.7012368506, 6.901904772, -94.842548),
    (5.93795092, -65.08253968, -4.702741522, -0.7021645076, 7.283809515, -94.85541123),
    (5.849876305, -68.55952381, -5.205524601, -0.6920222619, 7.647619043, -94.91032781),
    (5.727788093, -71.92698412, -4.418058132, -0.6745825703, 8.003809515, -95.06468759),
    (5.635281356, -75.25793651, -4.965367685, -0.6675324621, 8.3752381, -95.18787886),
    (5.562976702, -78.46031747, -4.763760038, -0.6695732846, 8.730476192, -95.23141616),
    (5.497165554, -81.59285713, -5.002267739, -0.6547309794, 9.080952375, -95.29226969),
)
_EVERYONE_ELSE = (
    (8.164192923, -71.34126985, -5.253349577, -0.9581941721, 7.988571428, -101.5294992),
    (8.012420137, -75.49761905, -5.664811539, -0.9247990043, 8.438095233, -101.6949907),
    (7.904916485, -79.68492063, -5.239125688, -0.9269635173, 8.905714292, -101.6551638),
    (8.307720076, -82.14841271, -5.935065061, -1.20432901, 8.44761905, -101.6346319),
    (7.666048256, -87.69523808, -5.23397251, -0.9012368561, 9.736190467, -101.890167),
    (7.537878777, -91.57222225, -4.871572736, -0.8844155844, 10.13999999, -102.0086579),
    (7.43826016, -95.41269842, -4.91115239, -0.8664811526, 10.57238095, -102.1726653),
    (7.340342199, -99.05396825, -5.168418916, -0.8719851461, 10.96761904, -102.1486705),
)
_IN_S = (1e-3, 1e-3, 1e-3, 1e-6, 1e-6, 1e-6)
_POLYNOMIALS = np.array((_MEN_BELOW, _EVERYONE_ELSE)) * _IN_S
"""Row set × lane × factor of (w², w, 1, H·w², H·w, H), in s with w in m/s and H in m; the rows
above, lanes 1 to 8, hold them in ms and in ms/km."""


def density(pressure_hpa: Array, temperature_c: Array) -> Array:
    """Density of the air in kg/m³ from pressure in hPa and temperature in °C.

    ρ = 1.293 · (Pb / 760) · 273 / (273 + Tc) with Pb in mmHg and 760 mmHg = 1013.25 hPa;
    Arsac & Locatelli 2002, J Appl Physiol 92:1781 (formula memory). The pressure is the one at
    the track, not reduced to sea level. NaN below absolute zero and below no pressure.
    """
    kelvin = np.where(temperature_c > -_ZERO_CELSIUS_K, _ZERO_CELSIUS_K + temperature_c, np.nan)
    pressure = np.where(pressure_hpa >= 0, pressure_hpa, np.nan)
    return _DENSITY_0 * (pressure / ATMOSPHERE_HPA) * _ZERO_CELSIUS_K / kelvin


def drag_factor(body_mass: Array, height: Array, density: Array) -> Array:
    """Drag factor k in kg/m, the drag in N being k · (speed through the air in m/s)².

    k = 0.5 · ρ · Af · Cd with Af = 0.266 · 0.2025 · h^0.725 · m^0.425 in m², Cd = 0.9, body mass
    m in kg, height h in m, density ρ in kg/m³; Arsac & Locatelli 2002, J Appl Physiol 92:1781
    (formula memory). NaN where mass or height is not above zero.
    """
    mass = np.where(body_mass > 0, body_mass, np.nan)
    tall = np.where(height > 0, height, np.nan)
    factor, of_height, of_mass = _SURFACE
    frontal = _FRONTAL_SHARE * factor * tall**of_height * mass**of_mass
    return 0.5 * density * frontal * _DRAG_COEFFICIENT


def still_air_100(time: Array, wind: Array, altitude: Array) -> Array:
    """The 100 m time in s without wind at sea level; a tail wind in m/s is positive.

    t0 = t · [(1 + a) − a · e^(−0.000125 H) · (1 − w t / 100)²] with a = 0.028, time t in s (the
    official one, reaction included), altitude H in m; Mureika, arXiv physics/0006057 (seen).

    Given for winds of −5 to +5 m/s, altitudes of 0 to 2500 m and times of 9.5 to 14 s, NaN
    outside. The published table after Mureika 2008 (seen) covers a part of it, 0 to +2 m/s and 0
    to 2500 m for 10 s and 11 s; there the formula is within 0.0111 s of the printed hundredths.
    The rest is the same physics carried on: within a quarter of a direct simulation with this
    module's drag (recomputed). Altitude estimates differ 2.7-fold between models, and this one is
    at the low end (0.07 s at 2250 m), so a report must name it: ``MODEL``.
    """
    thinner = np.exp(-_PER_METRE_UP * altitude)
    through_air = 1 - wind * time / _COURSE_M
    still = time * ((1 + _SHARE_LOST) - _SHARE_LOST * thinner * through_air**2)
    return np.where(_covered(time, wind, altitude, TIMES_100_S), still, np.nan)


def still_air_200(
    time: Array, wind: Array, altitude: Array, lane: Array, sex_is_female: Array
) -> Array:
    """The 200 m time in s without wind at sea level; ``sex_is_female`` is 1, 0 or NaN.

    t0 = t − c with c = w2 w² + w1 w + c0 + H (Hw2 w² + Hw1 w + Hc), time t in s, wind w in m/s
    (positive a tail wind on the straight, taken to blow along it during the whole race), altitude
    H in m, coefficients by lane; attributed to Mureika's curve model (second-hand). c is what the
    conditions did to the time, so it is negative where they helped. Men under 21.5 s have their
    own coefficients, everyone else the women's.

    Form and sign are worked out, not read: so read, lane 4 agrees with a published table for 20 s
    and 22 s after Mureika 2008 (second-hand) within 0.011 s but for one cell that is out of line
    there. c0 is part of what was published, so still air at sea level still moves a time by
    0.001 to 0.006 s.

    Given for lanes 1 to 8, winds of −5 to +5 m/s, altitudes of 0 to 2500 m and times of 19 to
    24 s, NaN outside. The polynomials know no time: they were made for about 20 s and 22 s, and
    past 24 s they fall more than a quarter short of a direct simulation round the bend with this
    module's drag (recomputed). Altitude estimates differ 2.7-fold between models, so a report
    must name this one: ``MODEL_200``.
    """
    in_lane = (lane >= 1) & (lane <= LANES) & (lane == np.floor(lane))
    known = (sex_is_female == 0) | (sex_is_female == 1)
    given = _covered(time, wind, altitude, TIMES_200_S) & in_lane & known
    others = np.where((sex_is_female == 0) & (time < MEN_BELOW_S), 0, 1)
    row = np.where(in_lane, lane, 1).astype(int) - 1
    w2, w1, c0, high_w2, high_w1, high_c = np.moveaxis(_POLYNOMIALS[others, row], -1, 0)
    level = (w2 * wind + w1) * wind + c0
    per_metre = (high_w2 * wind + high_w1) * wind + high_c
    return np.where(given, time - (level + altitude * per_metre), np.nan)


def _covered(
    time: Array, wind: Array, altitude: Array, times_s: tuple[float, float]
) -> NDArray[np.bool_]:
    """Whether wind, altitude and time are all within their ranges, ends included."""
    inside = np.ones(np.broadcast_shapes(np.shape(time), np.shape(wind), np.shape(altitude)), bool)
    for value, (low, high) in ((time, times_s), (wind, WINDS_MPS), (altitude, ALTITUDES_M)):
        inside &= (value >= low) & (value <= high)
    return inside
