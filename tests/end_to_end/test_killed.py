"""A build whose parent is killed leaves no process and no half-written day."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import time
import uuid
from pathlib import Path

import psutil
import pytest

from pipeline.publish import manifest
from tests import seasons
from tests.end_to_end.builds import COMMAND, ROOT, digests, run

pytestmark = pytest.mark.slow
DAY = "2026-09-15"
PATIENCE_S = 10.0


def _started(season: Path, out: Path, mark: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [*COMMAND, "build", str(season), "--out", str(out), "--workers", "2"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "BUILD_UNDER_TEST": mark},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def _alive(mark: str) -> list[psutil.Process]:
    """Processes of one build, known by a word in their environment."""
    found = []
    for process in psutil.process_iter():
        try:
            if (
                process.environ().get("BUILD_UNDER_TEST") == mark
                and process.status() != psutil.STATUS_ZOMBIE
            ):
                found.append(process)
        except psutil.Error:
            continue
    return found


def _gone(mark: str) -> bool:
    until = time.monotonic() + PATIENCE_S
    while _alive(mark):
        if time.monotonic() > until:
            return False
        time.sleep(0.05)
    return True


def _whole_or_absent(day: Path) -> bool:
    return not day.exists() or manifest.outputs(day) == manifest.read(day)["outputs"]


def test_ten_random_kills(tmp_path: Path) -> None:
    """Each build but the first in a folder also starts from what a killed one left there."""
    season, first = seasons.write(tmp_path / "season", {}), tmp_path / "first"
    began = time.monotonic()
    assert run("build", season, "--out", first, "--workers", 2).returncode == 0
    takes = time.monotonic() - began
    reference = digests(first / DAY)
    chance = random.Random(20260915)
    interrupted, seen_workers = 0, 0
    for number in range(10):
        out = tmp_path / f"out-{number % 3}"
        mark = uuid.uuid4().hex
        build = _started(season, out, mark)
        time.sleep(takes * chance.uniform(0.15, 1.0))
        seen_workers += len(_alive(mark)) > 1
        interrupted += build.poll() is None
        build.send_signal(signal.SIGKILL)
        build.wait()
        assert _gone(mark), f"kill {number}: {_alive(mark)}"
        assert _whole_or_absent(out / DAY), f"kill {number}"
    for out in sorted(tmp_path.glob("out-*")):
        again = run("build", season, "--out", out, "--workers", 2)
        assert again.returncode == 0, again.stderr
        assert digests(out / DAY) == reference, out.name
        assert sorted(p.name for p in out.iterdir() if p.is_dir()) == [DAY]
    assert interrupted >= 5, "the kills came too late to say anything"
    assert seen_workers >= 3, "the kills came before any worker was there"
