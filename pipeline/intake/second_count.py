"""The rows of a file counted a second time, by other means than the reader's.

Text is gone through character by character; XLSX and OpenDocument sheets are counted from their
XML, XLS sheets with xlrd. Only what guards the machine (limits, the unpacking) and the choice of
a separator are the reader's.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import xlrd

from pipeline.intake import files, opendocument, texts, xls, xlsx
from pipeline.intake.archives import ZIP, Archive, walk


def count_rows(path: Path) -> dict[str, int]:
    """Rows of each sheet that holds anything, but for the one that names its columns.

    A *row* is any row of a sheet that holds anything: a title over the table, units, a total or a
    note is one too. Where the headings stand need not be known for that. A cell holds something
    if its text is more than blanks, if it shows an error, or if it is a formula saved without its
    value; a formula whose value is an empty text holds nothing.

    Raises:
        files.UnreadableError: as the reader would.
    """
    data = files.contents(path)
    if path.suffix.lower() in files.TEXT_SUFFIXES:
        counts = {"": _filled_records(*texts.opened(data))}
    elif data.startswith(ZIP):
        archive = Archive(data)
        of = _opendocument if opendocument.CONTENT in archive.names else _xlsx
        counts = of(archive)
    else:
        counts = _xls(data)
    return {name: count - 1 for name, count in counts.items() if count}


# --- text ---------------------------------------------------------------------------------------


def _filled_records(text: str, separator: str) -> int:
    """Records that hold anything. Quotes may hold line ends, if they are closed as they should.

    A record over several lines is whole only if each of its quotes closes before a separator or a
    line end; else its first line is a record by itself and the next begins with the line after.
    """
    records, at, broken = 0, 0, 0
    while at < len(text):
        if broken < texts.MOST_OPEN:
            end, filled, whole = _record(text, at, separator)
        else:
            end, filled, whole = at, False, False
        if not whole:
            end = text.find("\n", at)
            end = len(text) if end < 0 else end
            filled = any(not char.isspace() and char != separator for char in text[at:end])
            broken += 1
        records += filled
        at = end + 1
    return records


def _record(text: str, at: int, separator: str) -> tuple[int, bool, bool]:
    """Where a record that begins at a place ends, whether it holds anything, and is whole."""
    begun, quoted, fresh, well, filled = at, False, True, True, False
    while at < len(text):
        char = text[at]
        if quoted and char == '"':
            doubled = text[at + 1 : at + 2] == '"'  # a quote meant as such
            filled |= doubled
            at += doubled
            quoted = doubled
            well &= doubled or text[at + 1 : at + 2] in ("", "\n", separator)
        elif not quoted and char == "\n":
            break
        elif not quoted and char == separator:
            fresh = True
        elif fresh and not quoted and char == '"':
            quoted, fresh = True, False
        else:
            filled |= not char.isspace()
            fresh = False
        at += 1
    return at, filled, not quoted and (well or "\n" not in text[begun:at])


# --- workbooks ----------------------------------------------------------------------------------


def _xlsx(archive: Archive) -> dict[str, int]:
    texts_in = next((n for n in archive.names if n.lower() == "xl/sharedstrings.xml"), "")
    shared = _SharedTexts(archive.part(texts_in)).filled
    return {
        name: _XlsxRows(archive.part(part), shared).count
        for name, part in xlsx.sheet_parts(archive)
    }


def _bare(name: str) -> str:
    return name.rsplit(":", maxsplit=1)[-1]


class _SharedTexts:
    """Which of a workbook's shared texts hold anything."""

    def __init__(self, part: bytes) -> None:
        self.filled: list[bool] = []
        self._within = False
        if part:
            walk(part, self._start, self._end, self._text)

    def _start(self, name: str, _: dict[str, str]) -> None:
        if _bare(name) == "si":
            self.filled.append(False)
        self._within = _bare(name) == "t"

    def _end(self, _: str) -> None:
        self._within = False

    def _text(self, text: str) -> None:
        if self._within and text.strip():
            self.filled[-1] = True


class _XlsxRows:
    """Counts the rows of one sheet's XML, by the numbers they are given."""

    def __init__(self, part: bytes, shared: list[bool]) -> None:
        self._shared, self._numbers = shared, set[int]()
        self._row, self._given, self._said, self._empty = 0, "", dict[str, str](), True
        self._within = ""
        if part:
            walk(part, self._start, self._end, self._text)

    @property
    def count(self) -> int:
        return len(self._numbers)

    def _start(self, name: str, given: dict[str, str]) -> None:
        name = _bare(name)
        if name == "row":
            self._row = int(given.get("r", self._row + 1))
        elif name == "c":
            letters = given.get("r", "")
            self._row = int(letters.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz")
                            or self._row)  # fmt: skip
            self._given, self._said = given.get("t", ""), {}
        elif name in ("v", "f", "is"):
            self._within = name
            self._said.setdefault(name, "")

    def _text(self, text: str) -> None:
        if self._within:
            self._said[self._within] += text

    def _end(self, name: str) -> None:
        name = _bare(name)
        if name in ("v", "f", "is"):
            self._within = ""
        elif name == "c" and self._filled():
            self._numbers.add(self._row)

    def _filled(self) -> bool:
        value = (self._said.get("v", "") + self._said.get("is", "")).strip()
        if self._given == "e":
            return "v" in self._said or "f" in self._said
        if self._given == "s" and value.isdecimal() and int(value) < len(self._shared):
            return self._shared[int(value)]
        return bool(value) or ("f" in self._said and self._given != "str")


def _opendocument(archive: Archive) -> dict[str, int]:
    return _OpenRows(archive.part(opendocument.CONTENT)).counts


class _OpenRows:
    """Counts the rows of an OpenDocument's sheets; one that stands n times is n rows."""

    def __init__(self, part: bytes) -> None:
        self.counts: dict[str, int] = {}
        self._names: list[str] = []
        self._ignored = 0
        self._times, self._filled, self._cell = 1, False, False
        walk(part, self._start, self._end, self._text)

    def _start(self, name: str, given: dict[str, str]) -> None:
        if name == "table:table":
            self._names.append(given["table:name"])
            if len(self._names) == 1:
                self.counts.setdefault(self._names[0], 0)
        if len(self._names) != 1:
            return
        if name == "office:annotation":
            self._ignored += 1
        elif name == "table:table-row":
            self._times = int(given.get("table:number-rows-repeated", "1"))
            self._filled = False
        elif name in opendocument.CELLS:
            self._cell = True
            kind = given.get("office:value-type")
            self._filled |= kind not in (None, "string")
            self._filled |= kind is None and "table:formula" in given

    def _text(self, text: str) -> None:
        if self._cell and len(self._names) == 1 and not self._ignored and text.strip():
            self._filled = True

    def _end(self, name: str) -> None:
        if name == "table:table":
            self._names.pop()
        elif len(self._names) == 1:
            if name == "office:annotation":
                self._ignored -= 1
            elif name in opendocument.CELLS:
                self._cell = False
            elif name == "table:table-row" and self._filled:
                self.counts[self._names[0]] += self._times


def _xls(data: bytes) -> dict[str, int]:
    book = xls.open_book(data)
    return {
        sheet.name: sum(_holds(sheet.row(row)) for row in range(sheet.nrows))
        for sheet in book.sheets()
    }


def _holds(cells: Iterable[xlrd.sheet.Cell]) -> bool:
    blank = (xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK)
    return any(cell.ctype not in blank and str(cell.value).strip() for cell in cells)
