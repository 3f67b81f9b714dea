"""Growth and maturity against figures worked out from the published equations."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.measures import maturity


def one(value: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([value])


# A boy of 14.0 y, 165 cm, sitting 85 cm, 54 kg and a girl of 12.0 y, 154, 80, 44: recomputed from
# the equations of Mirwald et al. 2002 and Moore et al. 2015 (second-hand).
@pytest.mark.parametrize(
    ("sex", "age", "height", "sitting", "mass", "mirwald", "moore"),
    [
        ("M", 14.0, 165.0, 85.0, 54.0, 0.0800, 0.2424),
        ("F", 12.0, 154.0, 80.0, 44.0, 0.0937, 0.0953),
    ],
)
def test_maturity_offsets(
    sex: str, age: float, height: float, sitting: float, mass: float, mirwald: float, moore: float
) -> None:
    body = one(age), one(height), one(sitting)
    assert maturity.offset_mirwald(sex, *body, one(mass))[0] == pytest.approx(mirwald, abs=5e-5)
    assert maturity.offset_moore(sex, *body)[0] == pytest.approx(moore, abs=5e-5)


def test_what_was_not_measured_has_no_offset() -> None:
    body = np.array([14.0, 14.0]), np.array([165.0, 165.0]), np.array([85.0, np.nan])
    assert np.isnan(maturity.offset_mirwald("M", *body, np.array([54.0, 54.0]))).tolist() == [
        False,
        True,
    ]
    assert np.isnan(maturity.offset_moore("M", *body)).tolist() == [False, True]


def test_growth_by_month() -> None:
    # 3 cm in a quarter of a year of 365.25 days is 1 cm a month.
    rate = maturity.growth(
        np.array([160.0, 160.0]), np.array([163.0, 161.0]), np.array([91.3125, 30])
    )
    assert rate[0] == pytest.approx(1.0)
    assert np.isnan(rate[1])
    assert rate[0] > maturity.FAST_GROWTH_CM_PER_MONTH
