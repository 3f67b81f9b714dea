"""Who did a test only in part or not at all, and why."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.battery import Battery
from pipeline.errors import Finding, finding
from pipeline.intake.columns import STATUS
from pipeline.intake.folder import Day, Season
from pipeline.intake.headings import Own
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import Roster
from pipeline.intake.side_sheet import SideSheet, the_one
from pipeline.tables import FULL, LIMITED, NOT_DONE

STATUSES = (FULL, LIMITED, NOT_DONE)


@dataclass(frozen=True, slots=True)
class Status:
    """One line of status.csv; a blank ``test`` means all of them."""

    athlete_id: str
    test: str
    status: str
    reason: str


def read_status(
    season: Season, day: Day, roster: Roster, battery: Battery
) -> tuple[list[Status], list[RowMark], list[Finding]]:
    """Read a day's status.csv; an absent one says nothing."""
    path, twice = the_one(season, "status", day.folder)
    if path is None:
        return [], [], []
    sheet = SideSheet(season, path, STATUS, Own(day.own(STATUS.name)))
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
    return given, sheet.rows, twice + sheet.findings
