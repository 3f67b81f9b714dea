"""A sheet in memory, and how it is written down the same way every time."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import xlsxwriter  # type: ignore[import-untyped]  # ships no types

if TYPE_CHECKING:
    from pathlib import Path

Row = dict[str, str]

# A workbook carries the moment it was made: a fixed one keeps the bytes equal.
_WORKBOOK_MADE = datetime(2026, 1, 22, 18, 0, tzinfo=UTC)


@dataclass
class Table:
    """The rows of one sheet, every cell as the text a coach would type."""

    columns: tuple[str, ...]
    rows: list[Row]
    suffix: str = "csv"
    delimiter: str = ","
    decimal: str = "."

    def grid(self) -> list[list[str]]:
        """Return heading and cells, without the columns nobody used."""
        used = [name for name in self.columns if any(row.get(name) for row in self.rows)]
        return [used, *([row.get(name, "") for name in used] for row in self.rows)]

    def write(self, path: Path) -> None:
        """Write the sheet beside `path`, whose name lacks the suffix."""
        target = path.with_name(f"{path.name}.{self.suffix}")
        target.parent.mkdir(parents=True, exist_ok=True)
        if self.suffix == "xlsx":
            _write_workbook(target, path.name, self.grid())
            return
        text = io.StringIO()
        writer = csv.writer(text, delimiter=self.delimiter, lineterminator="\n")
        writer.writerows([self._localised(cell) for cell in line] for line in self.grid())
        target.write_bytes(text.getvalue().encode())

    def _localised(self, cell: str) -> str:
        return cell.replace(".", self.decimal) if is_number(cell) else cell


def is_number(cell: str) -> bool:
    """Say whether a cell holds a plain decimal number."""
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _write_workbook(target: Path, sheet_name: str, grid: list[list[str]]) -> None:
    options = {"strings_to_formulas": False, "in_memory": True}
    with xlsxwriter.Workbook(target, options) as book:
        book.set_properties({"created": _WORKBOOK_MADE})
        sheet = book.add_worksheet(sheet_name)
        for row, line in enumerate(grid):
            for column, cell in enumerate(line):
                if is_number(cell):
                    sheet.write_number(row, column, float(cell))
                elif cell:
                    sheet.write_string(row, column, cell)
