"""The register of damages, by what they touch, and what every one of them needs."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from .made import Cell, Made, Sheet

CELLS, ROWS, COLUMNS, FILES, BOOKS, SETTINGS = (
    "cells", "rows", "columns", "files", "books", "settings",
)  # fmt: skip
AREAS = (CELLS, ROWS, COLUMNS, FILES, BOOKS, SETTINGS)

Change = Callable[[random.Random, Made], str]
"""Damages a season and says what it did."""


@dataclass(frozen=True)
class Damage:
    """One kind. ``late``: it works on the bytes, once the files are written."""

    name: str
    area: str
    apply: Change
    late: bool = False


DAMAGES: dict[str, Damage] = {}


def damage(area: str, *, late: bool = False) -> Callable[[Change], Change]:
    """Register a kind under its function's name."""

    def register(apply: Change) -> Change:
        name = apply.__name__.strip("_").replace("_", " ")
        assert name not in DAMAGES, name
        DAMAGES[name] = Damage(name, area, apply, late)
        return apply

    return register


def of_area(area: str) -> list[Damage]:
    """The kinds of an area in the order of their names."""
    return sorted((d for d in DAMAGES.values() if d.area == area), key=lambda d: d.name)


# --- what damages share ---------------------------------------------------------------------


def any_sheet(rng: random.Random, made: Made, *, book: bool | None = None) -> Sheet:
    """One sheet, the day's three times in four; of the kind asked for where there is one."""
    sheets = made.of_day() if rng.random() < 0.75 else made.sheets
    fitting = [s for s in sheets if book is None or s.book == book]
    return rng.choice(fitting or sheets)


def note_needed(made: Made, sheet: Sheet) -> None:
    """Without a roster nothing can start: damage to its headings or file may stop a run."""
    if sheet.stem == "roster":
        made.stops.add("roster")


def any_row(rng: random.Random, sheet: Sheet) -> list[Cell]:
    """One row below the headings, or the headings where nothing is below them."""
    return rng.choice(sheet.rows[1:] or sheet.rows)


def any_place(rng: random.Random, made: Made) -> tuple[Sheet, list[Cell], int]:
    """One cell of a row below the headings."""
    sheet = any_sheet(rng, made)
    row = any_row(rng, sheet)
    while len(row) == 0:
        row.append(Cell(""))
    if row is sheet.headings:
        note_needed(made, sheet)
    return sheet, row, rng.randrange(len(row))


def number_place(rng: random.Random, made: Made) -> tuple[Sheet, list[Cell], int]:
    """One cell that held a number, if the season has one."""
    places = [
        (sheet, row, x)
        for sheet in made.of_day()
        for row in sheet.rows[1:]
        for x, cell in enumerate(row)
        if cell.truth is not None
    ]
    return rng.choice(places) if places else any_place(rng, made)


def put(place: tuple[Sheet, list[Cell], int], text: str, *, typed: bool = False) -> str:
    """Replace a cell; nobody knows its truth any more."""
    sheet, row, x = place
    before = row[x].text
    row[x] = Cell(text, None, typed)
    shown = text if len(text) < 30 else f"{text[:12]}… ({len(text)})"
    return f"{sheet.path}: {before!r} became {shown!r}"


def cleared(season: Path, name: str) -> Path:
    """Where something is to be put, with nothing there."""
    path = season / name
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.is_dir() and not path.is_symlink():
        path.rmdir()
    path.unlink(missing_ok=True)
    return path
