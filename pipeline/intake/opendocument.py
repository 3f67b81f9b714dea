"""What an OpenDocument sheet says beside the values of its cells."""

from __future__ import annotations

from pipeline.intake import limits
from pipeline.intake.archives import Archive, walk
from pipeline.intake.files import UnreadableError
from pipeline.intake.unseen import Unseen

CONTENT = "content.xml"
CELLS = ("table:table-cell", "table:covered-table-cell")
HIDDEN = ("collapse", "filter")


def unseen(archive: Archive) -> dict[str, Unseen]:
    """By sheet: formulas without value, errors, hidden rows and columns.

    Raises:
        UnreadableError: no whole document, or a cell beyond the limits.
    """
    reader = _Document()
    walk(archive.part(CONTENT), reader.start, reader.end, reader.text)
    return reader.found


def times(given: dict[str, str], name: str) -> int:
    """How often a row or a cell stands; at most once beyond what a sheet may have."""
    text = given.get(name, "1")
    most = max(limits.MOST_ROWS, limits.MOST_COLUMNS) + 1
    return min(int(text), most) if text.isdecimal() and len(text) <= len("1048576000") else most


class _Document:
    """Walks a document. A sheet within a cell, and a note on a cell, are no cells of the sheet."""

    def __init__(self) -> None:
        self.found: dict[str, Unseen] = {}
        self._depth = self._notes = 0
        self._sheet = Unseen()
        self._row = self._next_row = self._column = self._next_column = 0
        self._rows = self._columns = 0
        self._cell: dict[str, str] = {}
        self._texts: list[str] | None = None
        self._filled = 0

    def start(self, name: str, given: dict[str, str]) -> None:
        if name == "table:table":
            self._depth += 1
            if self._depth == 1:
                self._sheet = self.found.setdefault(given.get("table:name", ""), Unseen())
                self._next_row = self._next_column = self._rows = self._columns = 0
        elif name == "office:annotation":
            self._notes += 1
        elif self._depth == 1 and name == "table:table-row":
            self._row = self._next_row
            self._next_row += times(given, "table:number-rows-repeated")
            self._next_column = self._filled = 0
            if given.get("table:visibility") in HIDDEN and self._next_row <= limits.MOST_ROWS:
                self._sheet.hidden_rows += range(self._row + 1, self._next_row + 1)
        elif self._depth == 1 and name == "table:table-column":
            first, self._column = (
                self._column,
                self._column + times(given, "table:number-columns-repeated"),
            )
            if given.get("table:visibility") in HIDDEN and self._column <= limits.MOST_COLUMNS:
                self._sheet.hidden_columns += range(first + 1, self._column + 1)
        elif self._depth == 1 and name in CELLS:
            self._cell, self._texts = given, []

    def end(self, name: str) -> None:
        if name == "table:table":
            self._depth -= 1
            self._column = 0
        elif name == "office:annotation":
            self._notes -= 1
        elif self._depth == 1 and name in CELLS and self._texts is not None:
            self._close("".join(self._texts))
            self._texts = None
        elif self._depth == 1 and name == "table:table-row" and self._filled:
            self._rows, self._columns = self._next_row, max(self._columns, self._filled)
            why = limits.why_too_large(self._rows, self._columns)
            if why:
                raise UnreadableError(why)

    def text(self, text: str) -> None:
        if self._texts is not None and not self._notes:
            self._texts.append(text)

    def _close(self, shown: str) -> None:
        first = self._next_column
        self._next_column += times(self._cell, "table:number-columns-repeated")
        formula, kind = self._cell.get("table:formula"), self._cell.get("office:value-type")
        text = ""
        if self._cell.get("calcext:value-type") == "error" or (
            formula is not None and kind == "string" and shown and not self._string()
        ):
            text = shown or "#"
        elif formula is not None and kind is None:
            text = "=" + formula.removeprefix("of:").removeprefix("=")
        if shown.strip() or kind is not None or text:
            self._filled = self._next_column
        if not text:
            return
        why = limits.why_too_large(self._next_row, self._next_column)
        if why:
            raise UnreadableError(why)
        for row in range(self._row + 1, self._next_row + 1):
            for column in range(first + 1, self._next_column + 1):
                self._sheet.texts[row, column] = text
                if kind is None:
                    self._sheet.unvalued.append((row, column))

    def _string(self) -> bool:
        """Whether the cell's text is not said to be another than what it shows."""
        return bool(self._cell.get("office:string-value", "x"))
