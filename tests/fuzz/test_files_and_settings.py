"""Seasons with damaged files, workbooks and settings."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.intake.files import BOOK_SUFFIXES

from .damage import BOOKS, FILES, SETTINGS
from .judge import MANY, cases, judge
from .made import make
from .oracle import run
from .season import ANY
from .writing import write


@pytest.mark.parametrize(
    ("area", "seed"), [*cases(FILES, BOOKS, SETTINGS), *((ANY, seed) for seed in MANY)]
)
def test_no_damaged_file_stops_a_run_or_costs_a_row(tmp_path: Path, area: str, seed: int) -> None:
    judge(tmp_path, seed, area)


def test_numbers_stored_as_text_are_the_same_numbers(tmp_path: Path) -> None:
    """In any workbook, with a point or a comma: what is text among numbers counts as they do."""
    for suffix in BOOK_SUFFIXES:
        made = make(len(suffix), (suffix,))
        cells = [c for s in made.sheets for row in s.rows for c in row if c.truth is not None]
        for place, cell in enumerate(cells):
            cell.typed = place % 3 == 0
            cell.text = cell.text if cell.typed or place % 3 == 1 else cell.text.replace(".", ",")
        write(made)
        outcome = run(made, tmp_path / suffix / "season")
        assert not outcome.breaches
        assert not outcome.unread
        assert outcome.traced >= len(cells)
