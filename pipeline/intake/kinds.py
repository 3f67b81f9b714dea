"""What a sheet may hold: a kind of sheet, its fields, and a column found in a real one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.units import Unit

QUANTITY, CONDITION, LABEL = "quantity", "condition", "label"
CUMULATIVE, SEGMENT = "cumulative_time", "segment_time"


@dataclass(frozen=True, slots=True)
class Field:
    """What a column may hold. ``dimension`` is empty for text."""

    name: str
    role: str
    dimension: str = ""


@dataclass(frozen=True, slots=True)
class SheetKind:
    """One kind of sheet: the column that names the test, and its fields.

    Where ``athlete_id`` is required, a name will do.
    ``fixed_test`` stands where no column names it; ``part_of`` names the labels that make a
    value's part; a sheet that is not ``timed`` looks at runs another sheet holds, so its rows are
    no attempts at the test.
    """

    name: str
    test_column: str
    kinds: tuple[str, ...]
    fields: Mapping[str, Field]
    required: tuple[str, ...]
    splits: bool = False
    fixed_test: str = ""
    part_of: tuple[str, ...] = ()
    timed: bool = True


@dataclass(frozen=True, slots=True)
class Column:
    """A recognised column of a real sheet."""

    index: int
    heading: str
    field: Field
    unit: Unit | None = None
    part: str = ""


def of_text(name: str, columns: Iterable[str], required: tuple[str, ...]) -> SheetKind:
    """A kind of small sheet beside the trials, whose columns all hold text."""
    return SheetKind(name, "", (), {c: Field(c, LABEL) for c in columns}, required)
