"""One season, judged: what every test of this folder asks."""

from __future__ import annotations

from pathlib import Path

from pipeline.intake.files import SUFFIXES

from .damage import CELLS, ROWS, of_area
from .made import make
from .oracle import Outcome, run
from .season import GENTLE, damaged
from .writing import write

CLEAN, HARMLESS, MANY = range(20), range(26), range(32)
"""Seeds of undamaged seasons, of harmlessly damaged ones, and of those with several damages."""
_EVERY = 13
"""One season in so many is read twice, and checked by the command."""


def cases(*areas: str) -> list[tuple[str, int]]:
    """Area and seed of as many seasons as there are kinds of damage, each kind once or more."""
    return [(area, seed) for area in areas for seed in range(len(of_area(area)))]


def judge(place: Path, seed: int, area: str) -> None:
    """Damage a season and hold it against everything that must be so.

    Only a roster or settings that cannot be used may stop a run, and slips in cells and rows
    leave both alone unless they hit them.
    """
    made = damaged(seed, area, SUFFIXES)
    again = seed % _EVERY == 0
    outcome = run(made, place / "season", twice=again, by_command=again)
    assert not outcome.breaches, _told(outcome, made.told)
    if area in (CELLS, ROWS) and not made.stops:
        assert outcome.code in (0, 1)


def judge_gentle(place: Path, seed: int) -> None:
    """Do harmless things to a season: every number written is still used."""
    made = damaged(seed, GENTLE, SUFFIXES)
    outcome = run(made, place / "season")
    assert not outcome.breaches, _told(outcome, made.told)
    assert not outcome.unread, [*made.told, *outcome.unread[:5], outcome.findings]


def judge_clean(place: Path, seed: int) -> None:
    """A season as drawn gives no error, and every value is traced to its cell."""
    made = make(seed, SUFFIXES)
    write(made)
    outcome = run(made, place / "season", twice=seed % _EVERY == 0)
    assert not outcome.breaches, _told(outcome, made.told)
    assert outcome.code == 0, outcome.findings
    assert outcome.traced == sum(
        cell.truth is not None for sheet in made.sheets for row in sheet.rows for cell in row
    )


def _told(outcome: Outcome, damages: list[str]) -> str:
    return "\n".join([*damages, *outcome.breaches])
