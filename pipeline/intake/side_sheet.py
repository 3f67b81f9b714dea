"""A small sheet with fixed headings beside the trials: one line a person, no attempts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import Finding, Place, finding
from pipeline.intake import files, readers
from pipeline.intake.columns import by_field, named, recognise
from pipeline.intake.dates import Dates
from pipeline.intake.folder import Season
from pipeline.intake.headings import NOTHING, Own
from pipeline.intake.kinds import SheetKind
from pipeline.intake.people import People
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import Roster


@dataclass(frozen=True, slots=True)
class Line:
    """One row: where it stands, its cells by field, and the heading of each field."""

    place: Place
    cells: dict[str, str]
    headings: dict[str, str]

    def at(self, column: str) -> Place:
        """The place of one of its cells."""
        return self.place.at(self.place.row, self.headings.get(column, column))


def the_one(
    season: Season, stem: str, folder: Path | None = None
) -> tuple[Path | None, list[Finding]]:
    """The sheet of a name, if there is one; any further one is named and not read.

    It is the season's own, unless another folder is given.
    """
    found = files.named(folder or season.path, stem)
    twice = [
        finding("sheet-twice", season.place(path), kind=stem, other=found[0].name)
        for path in found[1:]
    ]
    return (found[0] if found else None), twice


class SideSheet:
    """A small sheet with fixed headings beside the trials: its lines, rows and findings."""

    def __init__(self, season: Season, path: Path, kind: SheetKind, own: Own = NOTHING) -> None:
        self.rows: list[RowMark] = []
        self.findings: list[Finding] = []
        self.lines: list[Line] = []
        place = season.place(path)
        try:
            sheets = season.read(path)
        except files.UnreadableError as error:
            self.findings.append(finding("file-unreadable", place, why=error))
            return
        if not sheets:
            self.findings.append(finding("sheet-empty", place))
        for sheet in sheets:
            settled = sheet.settled(readers.has_words)
            self._read(Place(place.file, sheet.name), settled, kind, own)

    def _read(self, place: Place, sheet: readers.RawSheet, kind: SheetKind, own: Own) -> None:
        columns, faults = recognise(sheet, kind, place, own)
        self.findings += sheet.findings(place) + faults
        self.rows += RowMark.of(place.file, sheet)
        names = named(columns, len(sheet.headings))
        headings = {name: column.heading for (name, _), column in columns.items()}
        for row in sheet.rows:
            self.lines.append(Line(place.at(row.number), by_field(names, row), headings))

    def dates(self, column: str, stated: str) -> Dates:
        """How one of its columns writes dates; ``stated`` is what a setting says."""
        return Dates.of((line.cells.get(column, "") for line in self.lines), stated)

    def of_athletes(self, roster: Roster) -> Iterator[tuple[Line, str]]:
        """The lines that belong to somebody on the roster, with the id; the others are faults."""
        people = People(roster)
        for line in self.lines:
            athlete, said = people.of_row(line.place, line.cells, line.headings)
            self.findings += said
            if athlete is not None:
                yield line, athlete.athlete_id
