"""From a file on disk to sheets of headings and rows. Knows spreadsheets, nothing of sport."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.errors import Finding, Place, finding, spans
from pipeline.intake import books, files, frames, phrases, texts
from pipeline.intake.books import BookGrid
from pipeline.intake.frames import Aside, RawRow
from pipeline.intake.unseen import Unseen

_MAY_BE_RESULTS = (Aside.TOTAL, Aside.REMARK)
"""Asides told by their words alone, which may be somebody's id or name."""
_LONGEST_SHOWN = 80


Remark = tuple[str, int | None, tuple[tuple[str, str], ...]]
"""What is to be said of a sheet: code of a finding, row, details."""


@dataclass(frozen=True, slots=True)
class RowMark:
    """One raw row of an input file, for the account; row 0 says that the sheet was opened."""

    file: str
    sheet: str
    row: int

    @classmethod
    def of(cls, file: str, sheet: RawSheet) -> list[RowMark]:
        """The marks of a whole sheet, its rows that are no results among them."""
        aside = (*(row.number for row, _ in sheet.asides), *sheet.excluded)
        return [cls(file, sheet.name, n) for n in (0, *(r.number for r in sheet.rows), *aside)]


@dataclass(frozen=True, slots=True)
class RawSheet:
    """One sheet: its headings, its rows, and those of its rows that are no results.

    ``name`` is empty for a text file. A *row* of the account is any row of the sheet that holds
    anything, but for the one that names the columns: titles, units, totals and notes are rows too,
    and stand in ``asides`` with the reason. ``units`` has a text for each heading, empty where no
    row of units names one. ``remarks`` holds what else was seen; ``excluded``
    numbers the rows that a signed correction took out of ``rows``.
    """

    name: str
    headings: tuple[str, ...]
    rows: tuple[RawRow, ...]
    units: tuple[str, ...] = ()
    asides: tuple[tuple[RawRow, Aside], ...] = ()
    remarks: tuple[Remark, ...] = ()
    excluded: tuple[int, ...] = ()

    def settled(self, is_result: Callable[[RawRow], bool]) -> RawSheet:
        """The sheet with those rows back among its rows that only looked like totals or notes.

        Args:
            is_result: whether such a row is one after all, as when it begins with an id of the
                roster.
        """
        back = {row.number for row, why in self.asides if why in _MAY_BE_RESULTS and is_result(row)}
        asides = tuple((row, why) for row, why in self.asides if row.number not in back)
        rows = (*self.rows, *(row for row, _ in self.asides if row.number in back))
        rows = tuple(sorted(rows, key=lambda row: row.number))
        return replace(self, rows=rows, asides=asides)

    def findings(self, place: Place) -> list[Finding]:
        """What is to be said of the sheet itself and of its rows that are no results."""
        said = [
            finding(code, place.at(row), **dict(details)) for code, row, details in self.remarks
        ]
        return said + [
            finding(why.value, place.at(row.number), text=_shown(row)) for row, why in self.asides
        ]

    def passed_over(self, place: Place) -> list[Finding]:
        """What is said of a sheet of something else: none of its rows is a result."""
        rows = (*self.rows, *(row for row, _ in self.asides))
        said = [finding("row-other", place.at(row.number), text=_shown(row)) for row in rows]
        return [finding("sheet-other", place), *said]


def has_words(row: RawRow) -> bool:
    """Whether a row that begins like a total says more than numbers, as people's rows do."""
    return not all(map(phrases.is_computed, row.texts[1:]))


def _shown(row: RawRow) -> str:
    text = " ".join(row.texts)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"


def read(path: Path) -> list[RawSheet]:
    """Every sheet of a file that holds anything.

    Raises:
        files.UnreadableError: no plain file, damaged, locked, or over a limit.
    """
    data = files.contents(path)
    if path.suffix.lower() in files.TEXT_SUFFIXES:
        text = texts.grid(data)
        said: list[Remark] = [("quote-open", row, ()) for row in text.broken]
        said += [("text-encoding", None, ())] if text.guessed else []
        sheets = [_sheet(BookGrid("", text.rows, Unseen()), said)]
    else:
        sheets = [_sheet(grid, list(_remarks(grid))) for grid in books.grids(data)]
    return [sheet for sheet in sheets if sheet is not None]


def _sheet(grid: BookGrid, remarks: list[Remark]) -> RawSheet | None:
    frame = frames.frame(grid.rows, grid.merged)
    if frame is None:
        return None
    return RawSheet(
        grid.name, frame.headings, frame.rows, frame.units, frame.asides, tuple(remarks)
    )


def _remarks(grid: BookGrid) -> Iterator[Remark]:
    """What a workbook's cells do not show."""
    unseen = grid.unseen
    if unseen.unvalued:
        first = str(min(row for row, _ in unseen.unvalued))
        count = str(len(unseen.unvalued))
        yield "formula-unvalued", None, (("count", count), ("first", first))
    rows = {n for n, row in enumerate(grid.rows, start=1) if any(map(str.strip, row))}
    width = max(map(len, grid.rows), default=0)
    hidden = {
        "rows": spans(n for n in unseen.hidden_rows if n in rows),
        "columns": spans(n for n in unseen.hidden_columns if n <= width),
    }
    for what, which in hidden.items():
        if which:
            yield "cells-hidden", None, (("what", f"{what.capitalize()} {which}"),)
    if grid.hidden:
        yield "cells-hidden", None, (("what", "All cells of this sheet"),)
