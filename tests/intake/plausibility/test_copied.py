"""One value copied down a column is named; honest columns are not."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pipeline.intake.plausibility.copied import copied
from tests import finals

Floats = NDArray[np.float64]

COLUMNS = 3000
MOST = COLUMNS // 1000
"""Fewer than one honest column in a thousand may be named."""


def _honest(seed: int) -> tuple[Floats, NDArray[np.int64], float]:
    """A column as squads fill it: one to three attempts each, one or two sexes, fine or coarse."""
    rng = np.random.default_rng(seed)
    people, attempts = int(rng.integers(8, 45)), int(rng.integers(1, 4))
    level = rng.normal(0, 1, people) + rng.choice([0.0, 2.5]) * rng.integers(0, 2, people)
    own = np.repeat(level, attempts) + rng.normal(0, rng.uniform(0.1, 0.5), people * attempts)
    who = np.repeat(np.arange(people), attempts)
    step = float(rng.choice([0.02, 0.05, 0.1, 0.2, 0.5]))
    values = np.round(own / step) * step + 20
    if rng.random() < 0.5:  # a ranked list: equal values stand together
        order = np.argsort(values, kind="stable")
        values, who = values[order], who[order]
    stated = float(rng.choice([step, step / 10]))  # a clock coarser than its digits
    return values, who, stated


def test_honest_columns_ranked_and_coarse_are_not_named() -> None:
    named = sum(copied(*_honest(seed)) is not None for seed in range(COLUMNS))
    assert named < MOST


@pytest.mark.parametrize(("athletes", "least"), [(6, 0.7), (8, 0.97)])
def test_athletes_with_one_value_are_found_in_a_fine_column(athletes: int, least: float) -> None:
    found = []
    for seed in range(200):
        rng = np.random.default_rng(10_000 + seed)
        values = np.round(rng.normal(2.2, 0.2, 30), 2)
        at = int(rng.integers(0, 30 - athletes))
        values[at : at + athletes] = values[at]
        found.append(copied(values, np.arange(30), 0.01))
        assert found[-1] is None or found[-1][0] <= at < at + athletes <= found[-1][1]
    assert np.mean([one is not None for one in found]) >= least


@pytest.mark.parametrize(
    "values",
    [
        [2.31] * 12,  # a column of one value has nothing to be held against
        [2.31] * 6 + [2.1, 2.2, 2.3, 2.4],  # too few others
        [2.31, 2.31, 2.31, 2.05, 2.06, 2.41, 1.98, 2.22, 2.13, 2.36],  # three athletes only
    ],
)
def test_what_cannot_be_judged_is_not_named(values: list[float]) -> None:
    assert copied(np.array(values), np.arange(len(values)), 0.01) is None


def test_one_athlete_s_equal_attempts_are_no_copy() -> None:
    values = np.array([0.511] * 8 + [0.48, 0.47, 0.52, 0.55, 0.49, 0.46, 0.53, 0.5])
    assert copied(values, np.array([1] * 8 + list(range(2, 10))), 0.001) is None


def test_no_column_of_the_published_finals_is_named() -> None:
    rows = finals.hundredths(finals.finalists())
    for at in finals.GATES_M:
        values = rows[at].to_numpy(dtype=float)
        assert copied(values, np.arange(len(values)), 1.0) is None, at
        assert copied(np.sort(values), np.arange(len(values)), 1.0) is None, at
