"""What a workbook holds beside the cells one sees."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class Unseen:
    """Of one sheet, counted from 1: what is read beside its cells' values.

    ``texts`` holds the cells a reader shows as blank though they are not: (row, column) → the
    formula or the error. ``unvalued`` are those among them that are formulas saved without their
    value.
    """

    texts: dict[tuple[int, int], str] = field(default_factory=dict)
    unvalued: list[tuple[int, int]] = field(default_factory=list)
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[int] = field(default_factory=list)
