"""Damage to whole rows."""

from __future__ import annotations

import random

from .damage import ROWS, any_row, any_sheet, damage, note_needed
from .made import Cell, Made, Sheet


def _copied(row: list[Cell]) -> list[Cell]:
    return [Cell(cell.text, cell.truth, cell.typed) for cell in row]


def _at(rng: random.Random, sheet: Sheet) -> int:
    """A place for a row, below the headings."""
    return rng.randint(1, len(sheet.rows))


@damage(ROWS)
def _row_doubled(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    row = any_row(rng, sheet)
    for _ in range(rng.choice((1, 1, 3))):
        sheet.rows.insert(_at(rng, sheet), _copied(row))
    return sheet.path


@damage(ROWS)
def _row_deleted(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    if len(sheet.rows) > 2:
        del sheet.rows[rng.randrange(1, len(sheet.rows))]
    return sheet.path


@damage(ROWS)
def _all_rows_deleted(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    del sheet.rows[1:]
    note_needed(made, sheet)
    return sheet.path


@damage(ROWS)
def _heading_deleted(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    del sheet.rows[0]
    sheet.known = False
    sheet.rows = sheet.rows or [[Cell("")]]
    note_needed(made, sheet)
    return sheet.path


@damage(ROWS)
def _totals(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    for word in rng.sample(("MEAN", "SD", "Average", "Total", "n = 4", "Mittelwert", "max"), 2):
        row = [Cell(word)]
        row += [Cell(f"{rng.uniform(0.2, 9):.3f}", typed=True) for _ in sheet.headings[1:]]
        sheet.rows.append(row)
    return sheet.path


@damage(ROWS)
def _total_with_a_label_elsewhere(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    row = [Cell("") for _ in sheet.headings]
    row[rng.randrange(len(row))] = Cell("Mean")
    row[-1] = Cell("7.5", typed=True)
    sheet.rows.append(row)
    return sheet.path


@damage(ROWS)
def _note_below(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    sheet.rows += [
        [],
        [Cell(rng.choice(("Notes: gate 2 failed", "* second try", "signed: staff")))],
    ]
    return sheet.path


@damage(ROWS)
def _rows_swapped(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    below = sheet.rows[1:]
    rng.shuffle(below)
    sheet.rows[1:] = below
    return sheet.path


@damage(ROWS)
def _spacers(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    for _ in range(rng.choice((1, 2, 60))):
        blank = rng.choice(([], [Cell("")], [Cell(" ") for _ in sheet.headings], [Cell("\u00a0")]))
        sheet.rows.insert(_at(rng, sheet), list(blank))
    return sheet.path


@damage(ROWS)
def _cells_beyond(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    row = any_row(rng, sheet)
    if row is not sheet.headings:
        row += [Cell("") for _ in range(rng.choice((0, 1, 40)))] + [Cell("late, legs heavy")]
    return sheet.path


@damage(ROWS)
def _row_cut_short(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    row = any_row(rng, sheet)
    if row is not sheet.headings:
        del row[rng.randrange(1, max(len(row), 2)) :]
    return sheet.path


@damage(ROWS)
def _cell_too_many(rng: random.Random, made: Made) -> str:
    """As an unquoted comma does: everything to its right moves one column on."""
    sheet = any_sheet(rng, made)
    row = any_row(rng, sheet)
    if row is not sheet.headings:
        at = rng.randrange(len(row) + 1)
        row.insert(at, Cell(rng.choice(("", "5"))))
        row[at:] = [Cell(cell.text, None, cell.typed) for cell in row[at:]]
    return sheet.path


@damage(ROWS)
def _headings_again(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    sheet.rows.insert(_at(rng, sheet), _copied(sheet.headings))
    return sheet.path


@damage(ROWS)
def _title_above(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    title = [Cell(rng.choice(("Autumn testing", "Squad list", "2026-09-15", "page 1")))]
    sheet.above = [title, *[[] for _ in range(rng.randrange(3))]]
    note_needed(made, sheet)
    return sheet.path


@damage(ROWS)
def _blank_rows_above(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    sheet.above = [[] for _ in range(rng.choice((1, 2, 30)))]
    return sheet.path


@damage(ROWS)
def _group_row_above(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    group = [Cell(rng.choice(("Sprint", "Jump", "–", ""))) for _ in sheet.headings]
    sheet.above = [group]
    note_needed(made, sheet)
    return sheet.path


@damage(ROWS)
def _units_below(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    units = [Cell(rng.choice(("s", "[s]", "kg", "cm", "m", "–", ""))) for _ in sheet.headings]
    sheet.rows.insert(1, units)
    sheet.known = False  # whatever the row says is a unit may now be one
    return sheet.path


@damage(ROWS)
def _planned(rng: random.Random, made: Made) -> str:
    """A template filled in beforehand: ids, and no result."""
    sheet = rng.choice(made.of_day())
    row = any_row(rng, sheet)
    if row is not sheet.headings:
        kept = [cell if cell.truth is None else Cell("") for cell in row]
        for _ in range(rng.choice((3, 40))):
            sheet.rows.append(_copied(kept))
    return sheet.path


@damage(ROWS)
def _row_from_another_sheet(rng: random.Random, made: Made) -> str:
    sheet, other = any_sheet(rng, made), any_sheet(rng, made)
    stray = [Cell(cell.text, None, cell.typed) for cell in any_row(rng, other)]
    sheet.rows.insert(_at(rng, sheet), stray)
    return f"{other.path} in {sheet.path}"
