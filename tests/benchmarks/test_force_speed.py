"""How long a thousand force traces take beside merely reading them from disk."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import pytest

from pipeline.intake.force import Asked, Plates
from pipeline.measures.force_traces import JUMP, analyse
from tests.measures.synthetic import Jump

TRACES, RATE = 1000, 1000.0
FILES = 100
"""Different files; each is read and analysed as often as makes a thousand."""


def _samples(seed: int) -> str:
    body = Jump(mass=70.0, speed=2.2 + seed / 200, after_s=2.0)
    force = body.force(RATE)
    force = np.concatenate((force, np.full(max(5000 - len(force), 0), force[-1])))[:5000]
    force = force + np.random.default_rng(seed).normal(0, 2, len(force))
    return "force_N\n" + "\n".join(f"{v:.1f}" for v in force) + "\n"


@pytest.mark.slow
def test_analysing_a_trace_costs_about_as_much_as_reading_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(FILES):
        (tmp_path / f"{number}.csv").write_text(_samples(number))
    names = [f"{number % FILES}.csv" for number in range(TRACES)]
    plates = Plates(tmp_path)

    def asked(name: str) -> Asked:
        return Asked(name, "", "N", RATE, "1000", JUMP, "countermovement jump")

    start = time.perf_counter()
    forces = [np.loadtxt(tmp_path / name, skiprows=1) for name in names]
    plain = time.perf_counter()
    ours = [plates.samples(asked(name))[0] for name in names]
    read = time.perf_counter()
    found = [analyse(force, RATE, JUMP, 70.0) for force in forces]
    end = time.perf_counter()

    assert len(forces[0]) == 5000
    np.testing.assert_allclose(ours[0], forces[0])
    speeds = np.array([one.impulse / one.mass_kg for one in found])
    expected = np.array([2.2 + (number % FILES) / 200 for number in range(TRACES)])
    np.testing.assert_allclose(speeds, expected, atol=0.03)
    by_numpy, by_us, analysis = plain - start, read - plain, end - read
    with capsys.disabled():
        sys.stdout.write(
            f"\n{TRACES} traces of 5 s at 1000 Hz: numpy reads them in {by_numpy:.2f} s, we in"
            f" {by_us:.2f} s; analysis {analysis:.2f} s, {analysis / by_us:.2f} of our reading,"
            f" {analysis / by_numpy:.2f} of numpy's\n"
        )
    assert analysis < 3 * by_us
    assert by_us < 3 * by_numpy
