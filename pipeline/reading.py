"""From a season folder to trials, findings and the account: what every later stage starts from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from pipeline import battery as batteries
from pipeline import tables as schemas
from pipeline.battery import Battery
from pipeline.errors import CannotStartError, Finding, finding, grouped, in_order
from pipeline.intake import (
    account,
    aims,
    corrections,
    folder,
    mapping,
    plausibility,
    reference_sprints,
    roster,
    status,
    suggest,
    trials,
)
from pipeline.intake.columns import BODY
from pipeline.intake.folder import Day, Season
from pipeline.intake.roster import Roster
from pipeline.measures import ratios, registry
from pipeline.measures.spec import (
    FAILED,
    NO_MARK,
    USED,
    Trials,
)
from pipeline.publish import fonts


@dataclass(frozen=True, slots=True)
class Intake:
    """Everything read for one day and the days before it."""

    season: Season
    day: Day
    roster: Roster
    battery: Battery
    trials: Trials
    statuses: list[status.Status]
    eased: frozenset[tuple[str, str, str]]
    targets: list[aims.Target]
    plan: list[aims.Choice]
    reference_sprints: Trials
    findings: list[Finding]
    account: pd.DataFrame


def read(season_path: Path, day_key: str | None) -> Intake:
    """Read a season up to one day (the latest by default).

    Findings and account are those of the day itself and of the season's own files.

    Raises:
        CannotStartError: the season cannot be opened, or has no such day.
    """
    season, day_findings = folder.open_season(season_path)
    signed = corrections.read(season)
    season = replace(season, amend=signed.applied)
    day = the_day(season, day_key)
    battery, findings = batteries.load(season_path)
    findings += batteries.unknown_measures(battery, list(registry.MEASURES))
    findings += ratios.faults(battery)
    people, found = roster.read(season_path, battery.dates, signed.applied)
    findings += found + day_findings[day.key] + mapping.faults(season, day, battery)
    parts: list[Trials] = []
    eased: set[tuple[str, str, str]] = set()
    rows = list(people.rows)
    for one in season.up_to(day):
        taken = trials.read_day(season, one, people, battery)
        checked, implausible = plausibility.check(taken.trials, battery, signed.accepts)
        checked, unlikely = plausibility.compare(checked, battery, parts, signed.accepts)
        noted = signed.accepted([*implausible, *unlikely])
        parts.append(checked)
        given, more, found = status.read_status(season, one, people, battery)
        eased |= {(one.key, s.athlete_id, s.test) for s in given if s.status != schemas.FULL}
        if one is day:
            findings += taken.findings + noted + found
            rows += taken.rows + more
    targets, more, found = aims.read_targets(season, people, battery)
    rows, findings = rows + more, findings + found
    plan, more, found = aims.read_plan(season, people, battery)
    rows, findings = rows + more, findings + found
    reference = reference_sprints.read(season, people, battery, signed.accepts)
    rows, findings = rows + reference.rows, findings + reference.findings
    findings += signed.accepted(reference.implausible)
    excused = {(s.athlete_id, s.test) for s in given if s.status != schemas.FULL}
    together = trials.concatenate(parts)
    findings += signed.accepted(
        (
            *plausibility.notice(parts[-1], excused, battery),
            *plausibility.unweighed(together, day.key),
        )
    )
    findings += signed.told(season, day, people)
    rows += signed.rows
    findings += _absences(day, people, parts[-1], excused)
    findings += _letters(people, day)
    counted = trials.concatenate([parts[-1], reference.trials])
    table, lost = account.account(season_path, rows, findings, counted)
    return Intake(
        season=season,
        day=day,
        roster=people,
        battery=battery,
        trials=signed.marked(together),
        statuses=given,
        eased=frozenset(eased),
        targets=targets,
        plan=plan,
        reference_sprints=reference.trials,
        findings=in_order(grouped(findings + lost)),
        account=table,
    )


def the_day(season: Season, key: str | None) -> Day:
    """The day of that date; the latest for none.

    Raises:
        CannotStartError: the season has no such day.
    """
    if key is None:
        return season.days[-1]
    for day in season.days:
        if day.key == key:
            return day
    known = ", ".join(day.key for day in season.days)
    raise CannotStartError(f"The season has no testing day {key}; it has {known}.")


def tried(taken: Trials, day: str) -> pd.DataFrame:
    """A day's attempts with a result, a no-mark or a failure; a planned row alone is none."""
    attempts = taken.attempts
    made = attempts.index.isin(taken.with_results(USED, NO_MARK, FAILED))
    return attempts[(attempts["day"] == day) & made]


def tested(intake: Intake) -> frozenset[str]:
    """Who tried a test of the day; to be weighed and measured is none."""
    today = tried(intake.trials, intake.day.key)
    return frozenset(today.loc[today["test"] != BODY, "athlete_id"])


def _absences(
    day: Day, people: Roster, taken: Trials, excused: set[tuple[str, str]]
) -> list[Finding]:
    present = set(tried(taken, day.key)["athlete_id"])
    return [
        finding("athlete-not-tested", people.place, athlete.athlete_id)
        for athlete in people.here_on(day.date)
        if athlete.athlete_id not in present and (athlete.athlete_id, "") not in excused
    ]


def _letters(people: Roster, day: Day) -> list[Finding]:
    found = []
    for athlete in people.here_on(day.date):
        letters = fonts.missing(athlete.name)
        if letters:
            shown = " ".join(f"U+{ord(c):04X}" for c in letters)
            found.append(
                finding("letters-missing", people.place, athlete.athlete_id, letters=shown)
            )
    return found


def mapping_lines(season_path: Path, day_key: str | None) -> list[str]:
    """A line for each sheet of a season's own and of a day: which heading was taken for what.

    Raises:
        CannotStartError: the season cannot be opened, or has no such day.
    """
    season, _ = folder.open_season(season_path)
    battery, _ = batteries.load(season_path)
    day = the_day(season, day_key)
    sheets = mapping.of_season(season) + mapping.of_day(season, day, battery)
    return [one.line() for one in sheets]


def suggested_columns(season_path: Path, day_key: str | None) -> str:
    """A starting ``[columns]`` for a day file; empty where every heading was read.

    Raises:
        CannotStartError: as ``mapping_lines``.
    """
    season, _ = folder.open_season(season_path)
    day = the_day(season, day_key)
    battery, _ = batteries.load(season_path)
    return suggest.block(mapping.of_day(season, day, battery), day)
