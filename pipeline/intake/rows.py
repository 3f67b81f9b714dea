"""What belongs to one attempt, whatever the layout of the sheet it stands in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pipeline.errors import Finding, Place, finding
from pipeline.intake.dates import NOT_SAID, Dates
from pipeline.intake.frames import RawRow
from pipeline.intake.kinds import QUANTITY, Column, SheetKind
from pipeline.intake.people import WHO
from pipeline.intake.roster import Athlete
from pipeline.measures.spec import SIDE_INFORMATION


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell's text with its column and raw row; for a label a heading says, the heading's."""

    text: str
    column: Column
    number: int

    @classmethod
    def of(cls, raw: RawRow, column: Column) -> Cell:
        """The cell of a raw row under a column; blank where the row ends before it."""
        text = raw.cells[column.index].strip() if column.index < len(raw.cells) else ""
        return cls(text, column, raw.number)


def is_blank(text: str) -> bool:
    """Whether a cell holds nothing, or only a program's word for it."""
    return text.strip().casefold() in {"", "nan"}


def is_result(column: Column) -> bool:
    """Whether a column holds results of an attempt, not what describes it."""
    return column.field.role == QUANTITY and column.field.name not in SIDE_INFORMATION


@dataclass(frozen=True, slots=True)
class Whole:
    """What only the whole of a sheet tells of its cells.

    Attributes:
        doubtful: (raw row, index) of the numbers that may be decimals or thousands.
        dates: how its dates are written.
    """

    doubtful: frozenset[tuple[int, int]] = frozenset()
    dates: Dates = NOT_SAID


NOTHING_MORE = Whole()


@dataclass(frozen=True, slots=True)
class Row:
    """The cells of one attempt by field and part.

    Attributes:
        place: the sheet.
        kind: the kind of sheet.
        numbers: the raw rows its cells stand in, as a spreadsheet numbers them; mostly one.
        cells: (field, part) → cell; a column without a cell in this row is there, blank.
        beyond: what stands to the right of the last heading.
        whole: what only the whole sheet tells of a cell.
    """

    place: Place
    kind: SheetKind
    numbers: tuple[int, ...]
    cells: Mapping[tuple[str, str], Cell]
    beyond: str = ""
    whole: Whole = NOTHING_MORE

    @property
    def number(self) -> int:
        """The first of its raw rows."""
        return self.numbers[0]

    def at(self, column: str, number: int | None = None) -> Place:
        """A column's place, by its field or heading, in the first or another of its raw rows."""
        cell = self.cells.get((column, ""))
        return self.place.at(number or self.number, cell.column.heading if cell else column)

    def place_of(self, cell: Cell) -> Place:
        """Where one of its cells stands."""
        return self.place.at(cell.number, cell.column.heading)

    def text(self, name: str) -> str:
        """The text under a field; empty where the sheet has no such column."""
        cell = self.cells.get((name, ""))
        return cell.text if cell else ""

    def contents(self) -> tuple[tuple[str, str, str], ...]:
        """Every cell but the athlete's and the test's names, by field, whatever their order."""
        named = (*WHO, self.kind.test_column)
        cells = ((*key, cell.text) for key, cell in self.cells.items() if key[0] not in named)
        return tuple(sorted(cells))


@dataclass
class Notes:
    """Collects what is found wrong with the rows of a day."""

    findings: list[Finding] = field(default_factory=list)

    def at(
        self, code: str, row: Row, column: str, athlete: Athlete | None, **details: object
    ) -> None:
        """Something about a row, or about a column of it: said of each of its raw rows."""
        who = athlete.athlete_id if athlete else ""
        self.findings += [
            finding(code, row.at(column, number), who, **details) for number in row.numbers
        ]

    def of(self, code: str, row: Row, cell: Cell, athlete: Athlete, **details: object) -> None:
        """Something about one cell."""
        self.findings.append(finding(code, row.place_of(cell), athlete.athlete_id, **details))
