"""The calibration of the rule for phases in small; in full in ``tests/benchmarks``."""

from __future__ import annotations

import pandas as pd
import pytest

from pipeline.compare import phase_gaps
from tests import phase_calibration as calibration
from tests.phase_calibration import COVERS, LOWER, NAMED, STANDS_OUT, UPPER

ATHLETES = 1000
NOISE = 2.5
"""Three standard errors of a share near a tenth among ``ATHLETES``, in points, and a little."""


@pytest.fixture(scope="module", params=["published", "finals", "squad"])
def made(request: pytest.FixtureRequest) -> pd.DataFrame:
    return calibration.table(ATHLETES, request.param)


def test_without_a_weakness_few_are_told_of_one(made: pd.DataFrame) -> None:
    assert made[STANDS_OUT][0] <= 10 + NOISE


def test_a_great_loss_is_named(made: pd.DataFrame) -> None:
    assert made[NAMED].iloc[-1] >= 80
    assert made[STANDS_OUT].iloc[-1] >= 50


def test_limits_hold_as_often_as_they_say(made: pd.DataFrame) -> None:
    assert made[[LOWER, UPPER]].sub(100 * phase_gaps.SIDE).abs().max(axis=None) <= 2 + NOISE
    assert made[list(COVERS)].sub(100 * calibration.nominal()).abs().max(axis=None) <= 2 + NOISE


def test_the_same_seed_gives_the_same_table() -> None:
    pd.testing.assert_frame_equal(calibration.table(50), calibration.table(50))
