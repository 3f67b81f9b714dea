"""How much faster the batch of curves is than ``scipy.optimize.curve_fit`` one by one."""

from __future__ import annotations

import sys
import time

import numpy as np
import pytest
from scipy import optimize

from pipeline.measures import curves
from pipeline.measures.spec import Array
from tests.finals import GATES_M, GUN, finalists

REPEATS = 10
NOISE_S = 0.002
NEWTON_STEPS = 6
START = (12.5, 0.1, 1.5, -0.15)


def clock(d: Array, k: float, m: float, tau: float, t0: float) -> Array:
    """The clock at the gates of one sprint, its gates at once, as lean as numpy writes it."""
    t = 2 * (d + k * tau) / (k + np.sqrt(np.maximum(k**2 - 2 * m * (d + k * tau), 0)))
    for _ in range(NEWTON_STEPS):
        decline = np.exp(-t / tau)
        excess = k * t - m * t**2 / 2 - k * tau * (1 - decline) - d
        t = t - excess / (k - m * t - k * decline)
    return t0 + t


@pytest.mark.slow
def test_a_batch_of_curves_is_faster_than_a_loop(capsys: pytest.CaptureFixture[str]) -> None:
    rows = finalists()
    men = rows[rows["sex"] == "M"]
    reaction = men["reaction_s"].where(men["clock"] == GUN, 0)
    splits = men[[f"t{at}" for at in GATES_M]].sub(reaction, axis="index").to_numpy(np.float64)
    splits = np.tile(splits, (REPEATS, 1))
    splits += np.random.default_rng(1).normal(0, NOISE_S, splits.shape)
    gates = np.array(GATES_M, dtype=float)
    n = len(splits)
    free = np.ones(n, np.bool_)

    start = time.perf_counter()
    batch = curves.fit(np.tile(gates, (n, 1)), splits, decay=free, offset=free)
    middle = time.perf_counter()
    loop = np.array([optimize.curve_fit(clock, gates, t, START)[0] for t in splits])
    end = time.perf_counter()

    ratio = (end - middle) / (middle - start)
    with capsys.disabled():
        sys.stdout.write(
            f"\n{n} sprints: batch {middle - start:.3f} s, loop {end - middle:.3f} s,"
            f" ratio {ratio:.1f}\n"
        )
    assert batch.converged.all()
    np.testing.assert_allclose(batch.speed, loop[:, 0], rtol=1e-4)
    assert ratio >= 15
