"""Who did a test only in part or not at all, and why; and what each athlete aims at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.intake import readers
from pipeline.intake.amounts import number
from pipeline.intake.columns import by_heading, heading_faults, plain
from pipeline.intake.folder import Day, Season
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import Roster
from pipeline.intake.trials import DATE_LIKE, is_date, is_status
from pipeline.measures.registry import MEASURES
from pipeline.tables import FULL, LIMITED, NOT_DONE

STATUSES = (FULL, LIMITED, NOT_DONE)


@dataclass(frozen=True, slots=True)
class Status:
    """One line of status.csv; a blank ``test`` means all of them."""

    athlete_id: str
    test: str
    status: str
    reason: str


@dataclass(frozen=True, slots=True)
class Target:
    """One line of targets.csv."""

    athlete_id: str
    test: str
    measure: str
    target: float
    by: str


@dataclass(frozen=True, slots=True)
class _Line:
    place: Place
    cells: dict[str, str]

    def at(self, column: str) -> Place:
        return self.place.at(self.place.row, column)


class SideSheet:
    """A small sheet with fixed headings beside the trials: its lines, rows and findings."""

    def __init__(
        self, season: Season, path: Path, columns: tuple[str, ...], required: tuple[str, ...]
    ) -> None:
        self.rows: list[RowMark] = []
        self.findings: list[Finding] = []
        self._lines: list[_Line] = []
        place = season.place(path)
        try:
            sheets = readers.read(path)
        except readers.UnreadableError as error:
            self.findings.append(finding("file-unreadable", place, why=error))
            return
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
            self._lines.append(_Line(place.at(row.number), cells))

    def of_athletes(self, roster: Roster) -> Iterator[tuple[_Line, str]]:
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


def read_status(
    season: Season, day: Day, roster: Roster, battery: Battery
) -> tuple[list[Status], list[RowMark], list[Finding]]:
    """Read a day's status.csv; an absent one says nothing."""
    path = next(filter(is_status, sorted(day.folder.iterdir())), None)
    if path is None:
        return [], [], []
    columns = ("athlete_id", "test", "status", "reason", "session", "date")
    sheet = SideSheet(season, path, columns, ("athlete_id", "status"))
    given = []
    for line, athlete_id in sheet.of_athletes(roster):
        raw_test, raw = line.cells.get("test", ""), line.cells.get("status", "").casefold()
        plan = battery.test_named(raw_test)
        if raw_test and plan is None:
            place = line.at("test")
            sheet.findings.append(
                finding("test-unknown", place, athlete_id, raw=raw_test, guess="")
            )
        elif raw not in STATUSES:
            what = " or ".join(STATUSES)
            place = line.at("status")
            sheet.findings.append(finding("value-unusual", place, athlete_id, raw=raw, what=what))
        else:
            test = plan.name if plan else ""
            given.append(Status(athlete_id, test, raw, line.cells.get("reason", "")))
            shown = test or "all tests"
            place = line.at("status")
            sheet.findings.append(
                finding("status-given", place, athlete_id, test=shown, status=raw)
            )
    return given, sheet.rows, sheet.findings


def read_targets(
    season: Season, roster: Roster, battery: Battery
) -> tuple[list[Target], list[RowMark], list[Finding]]:
    """Read the season's targets.csv; an absent one says nothing."""
    path = next(iter(readers.named(season.path, "targets")), None)
    if path is None:
        return [], [], []
    columns = ("athlete_id", "test", "measure", "target", "by")
    sheet = SideSheet(season, path, columns, columns[:4])
    aims = []
    for line, athlete_id in sheet.of_athletes(roster):
        raw = {name: line.cells.get(name, "") for name in ("test", "measure", "target", "by")}
        plan, target = battery.test_named(raw["test"]), number(raw["target"])
        wrong = [
            ("test", plan is None),
            ("measure", raw["measure"] not in MEASURES),
            ("target", target is None),
            ("by", raw["by"] != "" and not is_date(raw["by"])),
        ]
        faults = [name for name, is_wrong in wrong if is_wrong]
        for name in faults:
            what = {"target": "number", "by": DATE_LIKE}.get(name, name)
            place = line.at(name)
            sheet.findings.append(
                finding("target-unknown", place, athlete_id, raw=raw[name], what=what)
            )
        if not faults and plan is not None and target is not None:
            aims.append(Target(athlete_id, plan.name, raw["measure"], target, raw["by"]))
    return aims, sheet.rows, sheet.findings
