"""What the parts of an XLSX workbook say beside the values of its cells."""

from __future__ import annotations

import posixpath
import re

from pipeline.intake import limits
from pipeline.intake.archives import NO_BOOK, Archive, walk
from pipeline.intake.files import UnreadableError
from pipeline.intake.unseen import Unseen

_REFERENCE = re.compile(r"([A-Za-z]{1,3})(\d{1,7})\Z")
_LETTERS = 26


def unseen(archive: Archive) -> dict[str, Unseen]:
    """By sheet: formulas without value, errors, hidden rows and columns.

    Raises:
        UnreadableError: no workbook, or a cell beyond the limits.
    """
    return {name: _Sheet(archive.part(part)).found for name, part in sheet_parts(archive)}


def sheet_parts(archive: Archive) -> list[tuple[str, str]]:
    """(name, part) of every sheet in the order of the workbook."""
    book = next((name for name in archive.names if name.lower() == "xl/workbook.xml"), "")
    if not book:
        raise UnreadableError(NO_BOOK)
    folder, file = posixpath.split(book)
    related: dict[str, str] = {}
    sheets: list[tuple[str, str]] = []

    def relation(name: str, given: dict[str, str]) -> None:
        if _local(name) == "Relationship":
            related[given.get("Id", "")] = given.get("Target", "")

    def sheet(name: str, given: dict[str, str]) -> None:
        if _local(name) == "sheet":
            target = related.get(next((v for k, v in given.items() if _local(k) == "id"), ""), "")
            part = posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")
            sheets.append((given.get("name", ""), part))

    walk(archive.part(f"{folder}/_rels/{file}.rels"), relation, _nothing, _nothing)
    walk(archive.part(book), sheet, _nothing, _nothing)
    return sheets


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _nothing(_: str) -> None:
    """What is not looked at."""


def reference(text: str) -> tuple[int, int]:
    """(row, column) of a cell's name such as W3.

    Raises:
        UnreadableError: it is none.
    """
    match = _REFERENCE.match(text)
    if match is None:
        raise UnreadableError(NO_BOOK)
    column = 0
    for letter in match.group(1).upper():
        column = column * _LETTERS + ord(letter) - ord("A") + 1
    return int(match.group(2)), column


class _Sheet:
    """Walks one sheet. A cell may leave out its name: then it follows the one before."""

    def __init__(self, part: bytes) -> None:
        self.found = Unseen()
        self._row = self._column = self._rows = self._columns = 0
        self._type = self._open = ""
        self._formula: str | None = None
        self._value: str | None = None
        if part:
            walk(part, self._start, self._end, self._text)

    def _start(self, name: str, given: dict[str, str]) -> None:
        name = _local(name)
        if name == "c":
            place = given.get("r")
            if place:
                self._row, self._column = reference(place)
            else:
                self._column += 1
            self._type, self._formula, self._value = given.get("t", ""), None, None
        elif name == "row":
            self._row = _whole(given.get("r")) or self._row + 1
            self._column = 0
            if given.get("hidden") in ("1", "true"):
                self.found.hidden_rows.append(self._row)
        elif name == "f":
            self._open, self._formula = name, ""
        elif name in ("v", "is"):
            self._open, self._value = name, ""
        elif name == "col" and given.get("hidden") in ("1", "true"):
            last = min(_whole(given.get("max")), limits.MOST_COLUMNS)
            self.found.hidden_columns += range(_whole(given.get("min")), last + 1)

    def _end(self, name: str) -> None:
        name = _local(name)
        if name in ("f", "v", "is"):
            self._open = ""
        elif name == "c" and (self._formula is not None or self._value is not None):
            self._cell()

    def _text(self, text: str) -> None:
        if self._open == "f":
            self._formula = (self._formula or "") + text
        elif self._open:
            self._value = (self._value or "") + text

    def _cell(self) -> None:
        self._rows, self._columns = max(self._rows, self._row), max(self._columns, self._column)
        why = limits.why_too_large(self._rows, self._columns)
        if why:
            raise UnreadableError(why)
        at = self._row, self._column
        if self._type == "e":
            self.found.texts[at] = self._value or "#"
        elif self._formula is not None and not self._value and self._type != "str":
            self.found.texts[at] = f"={self._formula}"  # an empty text is a value: type str
            self.found.unvalued.append(at)


def _whole(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) <= len("1048576") else 0
