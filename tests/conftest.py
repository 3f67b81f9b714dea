"""What several tests share."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests import seasons


@pytest.fixture
def tidy(tmp_path: Path) -> Path:
    """A season of one tidy day."""
    return seasons.write(tmp_path / "season", {})


@pytest.fixture(scope="session")
def in_ci() -> bool:
    """Whether a missing piece is a failure (CI) or a reason to skip (at home)."""
    return os.environ.get("CI", "").lower() in ("1", "true", "yes")
