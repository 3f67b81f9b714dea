"""From the bytes of a workbook to cells of text, one grid a sheet.

python-calamine reads the cells of XLSX, XLS and ODS alike. What it shows as blank or not at all is
looked up beside it: formulas saved without their value, error cells, what is hidden.
"""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable
from dataclasses import dataclass, field

from python_calamine import (
    CalamineError,
    CalamineSheet,
    CalamineWorkbook,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from pipeline.intake import limits, opendocument, xls, xlsx
from pipeline.intake.archives import COMPOUND, NO_BOOK, SEALED, ZIP, Archive, check_sectors
from pipeline.intake.files import UnreadableError
from pipeline.intake.unseen import Unseen

_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")


@dataclass(frozen=True, slots=True)
class BookGrid:
    """One sheet: its rows of cells, what is merged, and what the cells do not show.

    ``merged`` holds (first row, first column, last row, last column), all counted from 1.
    """

    name: str
    rows: list[list[str]]
    unseen: Unseen
    hidden: bool = False
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)


def grids(data: bytes) -> list[BookGrid]:
    """The sheets of a workbook in order, charts and macros left out.

    Raises:
        UnreadableError: no workbook, damaged, locked by a password, or over a limit.
    """
    found = unseen(data)
    if len(found) > limits.MOST_SHEETS:
        raise UnreadableError(f"it has more than {limits.MOST_SHEETS} sheets")
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = [
            (sheet, book.get_sheet_by_index(index))
            for index, sheet in enumerate(book.sheets_metadata)
            if sheet.typ is SheetTypeEnum.WorkSheet
        ]
    except (CalamineError, ValueError, IndexError) as error:
        raise UnreadableError(NO_BOOK) from error
    except BaseException as error:
        if type(error).__name__ != "PanicException":  # no class to name: Rust gives up so
            raise
        raise UnreadableError(NO_BOOK) from error
    names = [sheet.name for sheet, _ in sheets]
    if len(set(names)) < len(names):
        raise UnreadableError("two of its sheets have one name")
    return [
        _grid(grid, found.get(sheet.name, Unseen()), hidden=sheet.visible is not _SHOWN)
        for sheet, grid in sheets
    ]


_SHOWN = SheetVisibleEnum.Visible


def unseen(data: bytes) -> dict[str, Unseen]:
    """By sheet, what calamine does not tell; raises what ``grids`` raises."""
    if data.startswith(ZIP):
        archive = Archive(data)
        if b"encryption-data" in archive.part("META-INF/manifest.xml"):
            raise UnreadableError(SEALED)
        look: Callable[[Archive], dict[str, Unseen]] = (
            opendocument.unseen if opendocument.CONTENT in archive.names else xlsx.unseen
        )
        return look(archive)
    if not data.startswith(COMPOUND):
        raise UnreadableError(NO_BOOK)
    if _ENCRYPTED in data:
        raise UnreadableError(SEALED)
    check_sectors(data)
    return xls.unseen(data)


def _grid(sheet: CalamineSheet, found: Unseen, *, hidden: bool) -> BookGrid:
    why = limits.why_too_large(sheet.total_height + 1, sheet.total_width + 1)
    if why:
        raise UnreadableError(why)
    rows = [[cell_text(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)]
    for (number, column), text in found.texts.items():
        rows.extend([] for _ in range(number - len(rows)))
        row = rows[number - 1]
        row.extend("" for _ in range(column - len(row)))
        row[column - 1] = row[column - 1] or text
    if any(len(cell) > limits.LONGEST_CELL for row in rows for cell in row):
        raise UnreadableError(f"a cell holds over {limits.LONGEST_CELL:,} characters")
    merged = [
        (top + 1, left + 1, bottom + 1, right + 1)
        for (top, left), (bottom, right) in sheet.merged_cell_ranges or ()
    ]
    return BookGrid(sheet.name, rows, found, hidden, merged)


def cell_text(cell: object) -> str:
    """A workbook's cell as one would type it; a time of day or a span as ``m:ss.fff``.

    From an hour up it is ``h:mm:ss``: who types 2:05 for two minutes and five seconds has
    written two hours and five minutes, and nothing here takes one for the other.
    """
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        return cell.date().isoformat()
    if isinstance(cell, dt.timedelta):
        return f"{'-' if cell < dt.timedelta() else ''}{_clock(abs(cell))}"
    if isinstance(cell, dt.time):
        seconds = 3600 * cell.hour + 60 * cell.minute + cell.second
        return _clock(dt.timedelta(seconds=seconds, microseconds=cell.microsecond))
    return str(cell)


def _clock(span: dt.timedelta) -> str:
    minutes, rest = divmod(span, dt.timedelta(minutes=1))
    seconds = f"{rest.seconds:02d}" + f".{rest.microseconds:06d}".rstrip("0").removesuffix(".")
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{seconds}" if hours else f"{minutes}:{seconds}"
