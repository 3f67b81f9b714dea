"""From a file on disk to cells of text. Knows spreadsheets and commas, nothing of sport."""

from __future__ import annotations

import csv
import datetime as dt
import io
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import openpyxl
from openpyxl.workbook import Workbook
from python_calamine import CalamineError, CalamineWorkbook

TEXT_SUFFIXES = (".csv", ".tsv")
BOOK_SUFFIXES = (".xlsx",)
SUFFIXES = (*TEXT_SUFFIXES, *BOOK_SUFFIXES)
LARGEST_FILE = 32 * 1024 * 1024


class UnreadableError(Exception):
    """The file could not be read; the text completes “could not be read: …”."""


_NO_BOOK = "it is no workbook, or it is damaged"


@dataclass(frozen=True, slots=True)
class RowMark:
    """One raw row of an input file, for the account; row 0 says that the sheet was opened."""

    file: str
    sheet: str
    row: int

    @classmethod
    def of(cls, file: str, sheet: RawSheet) -> list[RowMark]:
        """The marks of a whole sheet."""
        return [cls(file, sheet.name, n) for n in (0, *(row.number for row in sheet.rows))]


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row that holds anything: its number as a spreadsheet shows it, and its cells."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RawSheet:
    """Headings and rows of one sheet; ``name`` is empty for a text file."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[RawRow, ...]


def named(folder: Path, stem: str) -> list[Path]:
    """The readable files of a folder with this name, whatever their ending."""
    found = (p for p in folder.iterdir() if p.stem.casefold() == stem and p.is_file())
    return sorted(p for p in found if p.suffix.lower() in SUFFIXES)


def read(path: Path) -> list[RawSheet]:
    """Every sheet of a file that holds anything.

    Raises:
        UnreadableError: too large, not text, or no workbook.
    """
    try:
        if not path.is_file():  # a pipe would be waited at for ever
            raise UnreadableError("it is no file")
        if path.stat().st_size > LARGEST_FILE:
            raise UnreadableError(f"it is larger than {LARGEST_FILE // 2**20} MB")
        data = path.read_bytes()
    except OSError as error:
        raise UnreadableError(error.strerror or "it cannot be opened") from error
    grids = [("", _text_grid(data))] if path.suffix.lower() in TEXT_SUFFIXES else _book_grids(data)
    sheets = [_sheet(name, grid) for name, grid in grids]
    return [sheet for sheet in sheets if sheet is not None]


def _sheet(name: str, grid: list[list[str]]) -> RawSheet | None:
    """Headings are the first row that holds anything."""
    filled = [
        RawRow(number, tuple(cells))
        for number, cells in enumerate(grid, start=1)
        if any(cell.strip() for cell in cells)
    ]
    if not filled:
        return None
    return RawSheet(name, filled[0].cells, tuple(filled[1:]))


def decode(data: bytes) -> str:
    """Text of a file: UTF-8 with or without mark, UTF-16 with mark, else Windows-1252."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def delimiter(text: str) -> str:
    """The separator of a text file: whichever of , ; tab stands most often in its first line."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=first.count)


def _text_grid(data: bytes) -> list[list[str]]:
    try:
        text = decode(data).replace("\r\n", "\n").replace("\r", "\n")
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter(text)))
    except (csv.Error, UnicodeDecodeError) as error:
        raise UnreadableError(str(error)) from error


def _book_grids(data: bytes) -> list[tuple[str, list[list[str]]]]:
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        grids = {
            name: [
                [_cell_text(cell) for cell in row]
                for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            ]
            for name in book.sheet_names
        }
    except (CalamineError, ValueError) as error:
        raise UnreadableError(_NO_BOOK) from error
    for name, number, place, text in _unseen(data):
        grid = grids.setdefault(name, [])
        grid.extend([] for _ in range(number - len(grid)))
        row = grid[number - 1]
        row.extend("" for _ in range(place - len(row)))
        row[place - 1] = row[place - 1] or text
    return list(grids.items())


def _unseen(data: bytes) -> Iterator[tuple[str, int, int, str]]:
    """What the first reader shows as blank: formulas saved without their value, error cells.

    Given as (sheet, row, column, text), so that such a cell is unreadable and not empty.
    """
    for sheet in open_book(data).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type in ("f", "e") and cell.row and cell.column:
                    yield sheet.title, cell.row, cell.column, str(cell.value)


def open_book(data: bytes, *, values: bool = False) -> Workbook:
    """A workbook by the second reader, with formulas or with their saved values.

    Raises:
        UnreadableError: it is none.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # on extensions of a spreadsheet that hold no value
            return openpyxl.load_workbook(io.BytesIO(data), data_only=values)
    except Exception as error:  # openpyxl raises a dozen kinds for a damaged file
        raise UnreadableError(_NO_BOOK) from error


def _cell_text(cell: object) -> str:
    """A workbook cell as one would type it."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        return cell.date().isoformat()
    return str(cell)
