"""A small sheet with fixed headings beside the trials: one line a person, no attempts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import Finding, Place, finding
from pipeline.intake import readers
from pipeline.intake.columns import by_heading, heading_faults, plain
from pipeline.intake.folder import Season
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import Roster


@dataclass(frozen=True, slots=True)
class Line:
    """One row: where it stands, and its cells by plain heading."""

    place: Place
    cells: dict[str, str]

    def at(self, column: str) -> Place:
        """The place of one of its cells."""
        return self.place.at(self.place.row, column)


def the_one(season: Season, stem: str) -> tuple[Path | None, list[Finding]]:
    """The season's own sheet of a name, if there is one; any further one is named and not read."""
    files = readers.named(season.path, stem)
    twice = [
        finding("sheet-twice", season.place(path), kind=stem, other=files[0].name)
        for path in files[1:]
    ]
    return (files[0] if files else None), twice


class SideSheet:
    """A small sheet with fixed headings beside the trials: its lines, rows and findings."""

    def __init__(
        self, season: Season, path: Path, columns: tuple[str, ...], required: tuple[str, ...]
    ) -> None:
        self.rows: list[RowMark] = []
        self.findings: list[Finding] = []
        self._lines: list[Line] = []
        place = season.place(path)
        try:
            sheets = readers.read(path)
        except readers.UnreadableError as error:
            self.findings.append(finding("file-unreadable", place, why=error))
            return
        if not sheets:
            self.findings.append(finding("sheet-empty", place))
        for sheet in sheets:
            self._read(Place(place.file, sheet.name), sheet, columns, required)

    def _read(
        self,
        place: Place,
        sheet: readers.RawSheet,
        columns: tuple[str, ...],
        required: tuple[str, ...],
    ) -> None:
        headings = [plain(h) for h in sheet.headings]
        self.findings += heading_faults(place, sheet, columns, required)
        self.rows += RowMark.of(place.file, sheet)
        for row in sheet.rows:
            cells = by_heading(headings, row)
            self._lines.append(Line(place.at(row.number), cells))

    def of_athletes(self, roster: Roster) -> Iterator[tuple[Line, str]]:
        """The lines that belong to somebody on the roster, with the id; the others are faults."""
        for line in self._lines:
            raw = line.cells.get("athlete_id", "")
            athlete = roster.find(raw)
            if athlete is not None:
                yield line, athlete.athlete_id
            elif raw:
                self.findings.append(finding("athlete-unknown", line.at("athlete_id"), raw=raw))
            else:
                self.findings.append(finding("athlete-blank", line.at("athlete_id")))
