"""Damage to headings and columns."""

from __future__ import annotations

import random

from .damage import COLUMNS, any_sheet, damage, note_needed
from .made import Cell, Made, Sheet


def _column(rng: random.Random, made: Made) -> tuple[Sheet, int]:
    sheet = any_sheet(rng, made)
    note_needed(made, sheet)
    return sheet, rng.randrange(len(sheet.headings)) if sheet.headings else 0


def _forget(sheet: Sheet, at: int) -> None:
    """Nobody knows any more what the numbers of a column are."""
    for row in sheet.rows[1:]:
        if at < len(row):
            row[at].truth = None


def _renamed(sheet: Sheet, at: int, heading: str) -> str:
    before = sheet.headings[at].text
    sheet.headings[at] = Cell(heading)
    return f"{sheet.path}: {before!r} became {heading!r}"


@damage(COLUMNS)
def _column_dropped(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    heading = sheet.headings[at].text
    for row in sheet.rows:
        del row[at : at + 1]
    return f"{sheet.path}: {heading!r}"


@damage(COLUMNS)
def _column_doubled(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    to = rng.randint(0, len(sheet.headings))
    for row in sheet.rows:
        if at < len(row):
            row.insert(min(to, len(row)), Cell(row[at].text, row[at].truth, row[at].typed))
    return f"{sheet.path}: {sheet.headings[at].text!r}"


@damage(COLUMNS)
def _heading_misspelt(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    heading = sheet.headings[at].text
    where = rng.randrange(len(heading))
    return _renamed(sheet, at, heading[:where] + rng.choice("xq_") + heading[where + 1 :])


@damage(COLUMNS)
def _heading_blank(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    return _renamed(sheet, at, rng.choice(("", " ", "\u00a0")))


@damage(COLUMNS)
def _columns_shuffled(rng: random.Random, made: Made) -> str:
    sheet, _ = _column(rng, made)
    order = list(range(len(sheet.headings)))
    rng.shuffle(order)
    blank = Cell("")
    sheet.rows = [[row[x] if x < len(row) else blank for x in order] for row in sheet.rows]
    return sheet.path


@damage(COLUMNS)
def _heading_of_another_unit(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    base = sheet.headings[at].text.rsplit("_", 1)[0]
    _forget(sheet, at)
    return _renamed(
        sheet, at, f"{base}_{rng.choice(('s', 'ms', 'kg', 'lb', 'cm', 'ft_in', 'frames'))}"
    )


@damage(COLUMNS)
def _heading_spelt_otherwise(rng: random.Random, made: Made) -> str:
    """Blanks, brackets, capitals and no-break spaces change nothing of what a heading means."""
    sheet, at = _column(rng, made)
    heading = sheet.headings[at].text
    base, _, unit = heading.rpartition("_")
    forms = [f"{heading} ", f"\u00a0{heading}", heading.upper(), heading.replace("_", " ")]
    forms += [f"{base} [{unit}]", f"{base}({unit})"] if base and unit in ("s", "ms", "kg") else []
    return _renamed(sheet, at, rng.choice(forms))


@damage(COLUMNS)
def _column_of_notes(rng: random.Random, made: Made) -> str:
    sheet, _ = _column(rng, made)
    at = rng.randint(0, len(sheet.headings))
    heading = rng.choice(("comment", "notes", "Bemerkung", "device id", "value 2", "t99_x", "#"))
    for y, row in enumerate(sheet.rows):
        row.insert(min(at, len(row)), Cell(heading if y == 0 else rng.choice(("", "windy", "3"))))
    return f"{sheet.path}: {heading!r}"


@damage(COLUMNS)
def _times_of_both_kinds(rng: random.Random, made: Made) -> str:
    """Segment times beside cumulative ones."""
    sheet = rng.choice(made.of_day())
    sheet.headings.extend([Cell("s0_10_s"), Cell("s10_30_s")])
    for row in sheet.rows[1:]:
        row.extend([Cell("2.0"), Cell("2.2")])
    return sheet.path


@damage(COLUMNS)
def _column_of_best(rng: random.Random, made: Made) -> str:
    sheet = rng.choice(made.of_day())
    heading = rng.choice(("best", "best_kg", "best_s", "Best", "mean"))
    for y, row in enumerate(sheet.rows):
        row.append(Cell(heading if y == 0 else "1.5", typed=y > 0))
    return f"{sheet.path}: {heading!r}"


@damage(COLUMNS)
def _heading_with_marks(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    heading = sheet.headings[at].text
    marks = ("{}!", "{};x", "{}\n(2)", '"{}"', "{}%21", "<b>{}</b>", "{}\x00", "{}" * 60)
    _forget(sheet, at)
    return _renamed(sheet, at, rng.choice(marks).replace("{}", heading))


@damage(COLUMNS)
def _heading_in_another_tongue(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    texts = (
        "Name", "Sportler", "Versuch", "Zeit", "10 m", "CMJ", "Gewicht (kg)", "poids", "altura",
        "time", "height", "value", "1", "2026", "Größe in cm", "身長",
    )  # fmt: skip
    _forget(sheet, at)
    return _renamed(sheet, at, rng.choice(texts))


@damage(COLUMNS)
def _two_columns_of_one_name(rng: random.Random, made: Made) -> str:
    sheet, at = _column(rng, made)
    other = rng.randrange(len(sheet.headings))
    _forget(sheet, at)
    _forget(sheet, other)
    return _renamed(sheet, at, sheet.headings[other].text)


@damage(COLUMNS)
def _all_headings_gone_wrong(rng: random.Random, made: Made) -> str:
    sheet, _ = _column(rng, made)
    sheet.rows[0] = [Cell(f"column {x}") for x, _ in enumerate(sheet.headings, start=1)]
    sheet.known = False
    return sheet.path


@damage(COLUMNS)
def _far_to_the_right(rng: random.Random, made: Made) -> str:
    """A table that does not start in the first column."""
    sheet, _ = _column(rng, made)
    shift = rng.choice((1, 3, 22))
    sheet.rows = [[*[Cell("") for _ in range(shift)], *row] for row in sheet.rows]
    return f"{sheet.path}: {shift}"
