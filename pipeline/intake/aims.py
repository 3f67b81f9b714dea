"""What each athlete aims at, and what was chosen for them after a day."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.battery import Battery, nearest
from pipeline.errors import Finding, finding
from pipeline.intake.amounts import number
from pipeline.intake.columns import PLAN, TARGETS
from pipeline.intake.dates import DATE_LIKE, Dates
from pipeline.intake.folder import Season
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import Roster
from pipeline.intake.side_sheet import SideSheet, the_one
from pipeline.measures.registry import MEASURES


@dataclass(frozen=True, slots=True)
class Target:
    """One line of targets.csv."""

    athlete_id: str
    test: str
    measure: str
    target: float
    by: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One line of plan.csv: the phase and the emphasis chosen on an ISO date."""

    athlete_id: str
    chosen: str
    sprint_phase: str
    emphasis: str
    note: str


def read_targets(
    season: Season, roster: Roster, battery: Battery
) -> tuple[list[Target], list[RowMark], list[Finding]]:
    """Read the season's targets.csv; an absent one says nothing."""
    path, twice = the_one(season, "targets")
    if path is None:
        return [], [], []
    sheet = SideSheet(season, path, TARGETS)
    aims, dates = [], sheet.dates("by", battery.dates)
    for line, athlete_id in sheet.of_athletes(roster):
        raw = {name: line.cells.get(name, "") for name in ("test", "measure", "target", "by")}
        plan, target = battery.test_named(raw["test"]), number(raw["target"])
        wrong = [
            ("test", plan is None),
            ("measure", raw["measure"] not in MEASURES),
            ("target", target is None),
            ("by", raw["by"] != "" and dates.read(raw["by"]) is None),
        ]
        faults = [name for name, is_wrong in wrong if is_wrong]
        for name in faults:
            what = {"target": "number", "by": DATE_LIKE}.get(name, name)
            place = line.at(name)
            sheet.findings.append(
                finding("target-unknown", place, athlete_id, raw=raw[name], what=what)
            )
        if not faults and plan is not None and target is not None:
            aims.append(
                Target(athlete_id, plan.name, raw["measure"], target, _iso(dates, raw["by"]))
            )
    return aims, sheet.rows, twice + sheet.findings


def read_plan(
    season: Season, roster: Roster, battery: Battery
) -> tuple[list[Choice], list[RowMark], list[Finding]]:
    """Read the season's plan.csv; an absent one says nothing.

    A phase or an emphasis may be left blank, not both.
    """
    path, twice = the_one(season, "plan")
    if path is None:
        return [], [], []
    sheet = SideSheet(season, path, PLAN)
    choices, dates = [], sheet.dates("from", battery.dates)
    for line, athlete_id in sheet.of_athletes(roster):
        raw = {name: line.cells.get(name, "") for name in PLAN.fields}
        phase, emphasis = (
            battery.phase_named(raw["sprint_phase"]),
            battery.emphasis_named(raw["emphasis"]),
        )
        if not raw["sprint_phase"] and not raw["emphasis"]:
            sheet.findings.append(finding("plan-blank", line.at("sprint_phase"), athlete_id))
            continue
        wrong = {
            "from": (dates.read(raw["from"]) is None, DATE_LIKE, ""),
            "sprint_phase": (
                phase is None and raw["sprint_phase"] != "",
                "phase of the battery",
                nearest(raw["sprint_phase"], battery.phase_names),
            ),
            "emphasis": (
                emphasis is None and raw["emphasis"] != "",
                "emphasis of the battery",
                nearest(raw["emphasis"], list(battery.emphases)),
            ),
        }
        faults = {name: found[1:] for name, found in wrong.items() if found[0]}
        for name, (what, guess) in faults.items():
            details = {"raw": raw[name], "what": what, "guess": guess}
            sheet.findings.append(finding("plan-unknown", line.at(name), athlete_id, **details))
        if not faults:
            told = "" if emphasis is None else emphasis.name
            since = _iso(dates, raw["from"])
            choices.append(Choice(athlete_id, since, phase or "", told, raw["note"]))
    return choices, sheet.rows, twice + sheet.findings


def _iso(dates: Dates, text: str) -> str:
    """A date as days are named, so that texts compare as dates do; blank stays blank."""
    date = dates.read(text)
    return date.isoformat() if date else ""
