"""Seasons with slips of the hand: the run goes on, and what was not hit is read as it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from .damage import CELLS, COLUMNS, ROWS
from .judge import CLEAN, HARMLESS, cases, judge, judge_clean, judge_gentle


@pytest.mark.parametrize("seed", CLEAN)
def test_a_season_without_damage_is_read_as_written(tmp_path: Path, seed: int) -> None:
    judge_clean(tmp_path, seed)


@pytest.mark.parametrize("seed", HARMLESS)
def test_what_is_harmless_costs_no_value(tmp_path: Path, seed: int) -> None:
    judge_gentle(tmp_path, seed)


@pytest.mark.parametrize(("area", "seed"), cases(CELLS, ROWS, COLUMNS))
def test_no_slip_of_the_hand_stops_a_run_or_costs_a_row(
    tmp_path: Path, area: str, seed: int
) -> None:
    judge(tmp_path, seed, area)
