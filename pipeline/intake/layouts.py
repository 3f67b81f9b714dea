"""How a sheet is laid out: which of its cells belong to one attempt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.errors import Place
from pipeline.intake.frames import RawRow
from pipeline.intake.kinds import Column, SheetKind
from pipeline.intake.readers import RawSheet
from pipeline.intake.rows import Cell, Row


def rows(
    sheet: RawSheet, kind: SheetKind, place: Place, columns: Mapping[tuple[str, str], Column]
) -> Iterator[Row]:
    """The sheet's rows, each an attempt."""
    width = len(sheet.headings)
    for raw in sheet.rows:
        cells = {key: Cell(_text(raw, c), c, raw.number) for key, c in columns.items()}
        beyond = " ".join(cell.strip() for cell in raw.cells[width:] if cell.strip())
        yield Row(place, kind, (raw.number,), cells, beyond)


def _text(raw: RawRow, column: Column) -> str:
    return raw.cells[column.index].strip() if column.index < len(raw.cells) else ""
