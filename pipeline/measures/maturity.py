"""How fast a young athlete grows, and how far from peak height velocity: for coaches only.

An offset is good to about a year (``OFFSET_ERROR_YEARS``): say so beside it, and never class one
child by it.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from pipeline.measures.spec import Array

FAST_GROWTH_CM_PER_MONTH = 0.6
"""Above it, "growing fast", and tests shift. Common practice, no source."""

GROWTH_FROM_DAYS = 60
"""Closer measurements say more of the tape than of growth. Common practice, no source."""

OFFSET_ERROR_YEARS = 1.0
"""Printed as ± beside an offset; the papers' own standard errors are 0.5 to 0.6."""

_DAYS_PER_MONTH = 365.25 / 12

Term = tuple[float, tuple[str, ...]]

_MIRWALD: Mapping[str, tuple[Term, ...]] = {
    "M": (
        (-9.236, ()),
        (0.0002708, ("leg", "sitting")),
        (-0.001663, ("age", "leg")),
        (0.007216, ("age", "sitting")),
        (0.02292, ("mass_for_height",)),
    ),
    "F": (
        (-9.376, ()),
        (0.0001882, ("leg", "sitting")),
        (0.0022, ("age", "leg")),
        (0.005841, ("age", "sitting")),
        (-0.002658, ("age", "mass")),
        (0.07693, ("mass_for_height",)),
    ),
}
_MOORE: Mapping[str, tuple[Term, ...]] = {
    "M": ((-8.128741, ()), (0.0070346, ("age", "sitting"))),
    "F": ((-7.709133, ()), (0.0042232, ("age", "height"))),
}


def growth(then_cm: Array, now_cm: Array, days: Array) -> Array:
    """Growth in cm/month from two heights in cm, ``days`` apart; a month is 365.25/12 days.

    NaN for days less than ``GROWTH_FROM_DAYS`` apart.
    """
    apart = np.where(np.asarray(days) >= GROWTH_FROM_DAYS, days, np.nan)
    rate: Array = (now_cm - then_cm) * _DAYS_PER_MONTH / apart
    return rate


def offset_mirwald(
    sex: str, age_years: Array, height_cm: Array, sitting_cm: Array, mass_kg: Array
) -> Array:
    """Years from peak height velocity (negative before), from age, heights in cm and mass in kg.

    Mirwald et al. 2002, Med Sci Sports Exerc 34:689 (second-hand): leg length is height less
    sitting height, and mass over height is in per cent (100·kg/cm; some copies leave the factor
    out). Standard error 0.59 y for boys, 0.57 y for girls.

    Raises:
        KeyError: sex is neither ``M`` nor ``F``.
    """
    return _offset(
        _MIRWALD[sex],
        {
            "age": age_years,
            "leg": height_cm - sitting_cm,
            "sitting": sitting_cm,
            "mass": mass_kg,
            "mass_for_height": 100 * mass_kg / height_cm,
        },
    )


def offset_moore(sex: str, age_years: Array, height_cm: Array, sitting_cm: Array) -> Array:
    """Years from peak height velocity (negative before), from age and heights in cm.

    Moore et al. 2015, Med Sci Sports Exerc 47:1755 (equations seen second-hand; one copy prints
    −8.125741): boys by sitting height, girls by height. Standard error 0.51 y and 0.52 y.

    Raises:
        KeyError: sex is neither ``M`` nor ``F``.
    """
    given = {"age": age_years, "sitting": sitting_cm, "height": height_cm}
    return _offset(_MOORE[sex], given)


def _offset(terms: tuple[Term, ...], given: Mapping[str, Array]) -> Array:
    total: Array = np.zeros_like(given["age"], dtype=float)
    for factor, names in terms:
        total = total + factor * np.prod([given[name] for name in names], axis=0)
    return total
