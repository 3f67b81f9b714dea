"""Factors are the published ones, and one unit is one factor."""

from __future__ import annotations

import pytest
from scipy import constants

from pipeline.units import CM_PER_M, HEADING_UNITS, SI, STANDARD_GRAVITY, in_one

EXACT = {
    # international yard and pound agreement of 1959: 1 yd = 0.9144 m, 1 lb = 0.45359237 kg (memory)
    "lb": 0.45359237,
    "in": 0.0254,
    "ft": 0.3048,
    "yd": 0.9144,
    # 14 lb a stone (British statute of 1835; memory); a pair counts in its smaller unit
    "st": 6.35029318,
    "st_lb": 0.45359237,
    "ft_in": 0.0254,
    # SI prefixes, by definition
    "ms": 0.001,
    "mm": 0.001,
    "cm": 0.01,
    # 1000 m in 3600 s, by definition
    "kmh": 1000 / 3600,
}


@pytest.mark.parametrize("ending", EXACT)
def test_a_factor_is_the_published_one(ending: str) -> None:
    assert HEADING_UNITS[ending].factor == pytest.approx(EXACT[ending], rel=1e-15)


@pytest.mark.parametrize(
    ("ending", "constant"),
    [
        ("lb", constants.pound),
        ("in", constants.inch),
        ("ft", constants.foot),
        ("yd", constants.yard),
        ("st", constants.stone),
        ("kmh", constants.kmh),
    ],
)
def test_a_factor_is_that_of_scipy(ending: str, constant: float) -> None:
    assert HEADING_UNITS[ending].factor == constant


def test_310_pounds_are_140_61_kilograms() -> None:
    assert round(310 * HEADING_UNITS["lb"].factor, 2) == 140.61


def test_12_inches_are_a_foot() -> None:
    assert 12 * HEADING_UNITS["in"].factor == pytest.approx(HEADING_UNITS["ft"].factor, rel=1e-15)


@pytest.mark.parametrize(("ending", "count"), [("ft_in", 12), ("st_lb", 14)])
def test_a_pair_knows_how_many_of_the_smaller_make_one_of_the_larger(
    ending: str, count: int
) -> None:
    assert in_one(HEADING_UNITS[ending]) == count


def test_gravity_is_the_conventional_value() -> None:
    assert STANDARD_GRAVITY == 9.80665  # 3rd CGPM, 1901 (memory)


def test_a_metre_is_a_hundred_centimetres() -> None:
    assert CM_PER_M == 100


@pytest.mark.parametrize("ending", HEADING_UNITS)
def test_every_unit_becomes_the_one_si_unit_of_its_dimension(ending: str) -> None:
    unit = HEADING_UNITS[ending]
    assert unit.si == SI[unit.dimension]
    assert unit.factor > 0 or ending == "frames"  # worth what their row's fps says


@pytest.mark.parametrize("dimension", [d for d in SI if d != "count"])
def test_every_dimension_has_an_ending_that_leaves_the_number_alone(dimension: str) -> None:
    assert any(u.factor == 1 for u in HEADING_UNITS.values() if u.dimension == dimension)
