"""Seasons with damaged files, workbooks and settings."""

from __future__ import annotations

from pathlib import Path

import pytest

from .damage import BOOKS, FILES, SETTINGS
from .judge import SEEDS, judge
from .season import ANY


@pytest.mark.parametrize("area", [FILES, BOOKS, SETTINGS, ANY])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_damaged_file_stops_a_run_or_costs_a_row(tmp_path: Path, area: str, seed: int) -> None:
    judge(tmp_path, seed, area)
