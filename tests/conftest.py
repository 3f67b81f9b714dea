"""What several tests share."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests import seasons
from tests.end_to_end import builds


@pytest.fixture
def tidy(tmp_path: Path) -> Path:
    """A season of one tidy day."""
    return seasons.write(tmp_path / "season", {})


@pytest.fixture(scope="session")
def in_ci() -> bool:
    """Whether a missing piece is a failure (CI) or a reason to skip (at home)."""
    return os.environ.get("CI", "").lower() in ("1", "true", "yes")


@pytest.fixture(scope="session")
def demo_day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's latest day, built whole once for all tests of a run; nobody may write to it."""
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent  # that of the run, not of this worker
    return builds.demo(shared)
