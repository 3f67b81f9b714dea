"""The staff's own table of sprints by people who are not on the roster.

It is read as a day's sprints are, with the same checks, and serves one thing: a sprint's shape.
No result, change or page comes from it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.intake import files, plausibility, readers, words
from pipeline.intake.columns import REFERENCE, by_field, named, recognise
from pipeline.intake.folder import Day, Season, Session
from pipeline.intake.people import People
from pipeline.intake.plausibility.rules import Accepts, nothing
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import NOBODY, SEXES, Athlete, Roster
from pipeline.intake.side_sheet import the_one
from pipeline.intake.trials import read_sheet
from pipeline.measures.spec import ATTEMPT_COLUMNS, VALUE_COLUMNS, Trials

_NO_DAY = dt.date(1, 1, 1)
_PREFIX = "reference:"
"""Before a person's name: an athlete's id holds no colon, so nobody is taken for an athlete."""
_PERSON, _SEX, _ATHLETE = "person", "sex", "athlete_id"
"""Headings of this sheet, and what the reader calls its first."""


@dataclass(frozen=True)
class ReferenceSprints:
    """The runs, the rows read, what was wrong with them, and what of it was a check's doubt."""

    trials: Trials
    rows: list[RowMark] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    implausible: list[Finding] = field(default_factory=list)


def read(
    season: Season,
    squad: Roster,
    battery: Battery,
    accepts: Accepts = nothing,
) -> ReferenceSprints:
    """Read the season's reference_sprints; an absent one gives no run.

    ``accepts`` says whether staff signed for what stands at a place.

    A person without a sex, or with two, is set aside: a shape is of one sex. So is who is on the
    roster: nobody is held against themselves.
    """
    path, twice = the_one(season, REFERENCE.name)
    if path is None:
        attempts = pd.DataFrame(columns=list(ATTEMPT_COLUMNS))
        return ReferenceSprints(Trials(attempts, pd.DataFrame(columns=list(VALUE_COLUMNS)), {}))
    place = season.place(path)
    people, faults = _people(season, path, squad)
    day = Day(season.path, _NO_DAY, "", None, {}, Session("", _NO_DAY, {}))
    taken = read_sheet(season, day, Roster(people, place, ()), battery, (path, REFERENCE))
    checked, implausible = plausibility.check(taken.trials, battery, accepts)
    aside = {fault.place.at(fault.place.row).source for fault in faults}
    findings = [*twice, *faults, *map(_as_headed, taken.findings)]
    return ReferenceSprints(checked.rows_aside(aside), taken.rows, findings, implausible)


def _as_headed(one: Finding) -> Finding:
    """A finding of the reader's in the words of this sheet, which has persons for athletes."""
    if one.code == "athlete-blank":
        return finding("person-blank", one.place)
    if one.place.column != _ATHLETE:
        return one
    place = one.place.at(one.place.row, _PERSON)
    details = {name: _PERSON if text == _ATHLETE else text for name, text in one.details}
    return finding(one.code, place, one.athlete_id, **details)


@dataclass(frozen=True, slots=True)
class _Row:
    place: Place
    headings: dict[str, str]
    person: str
    raw_sex: str
    sex: str

    def at(self, field: str) -> Place:
        return self.place.at(self.place.row, self.headings[field])


def _rows(season: Season, path: Path) -> Iterator[_Row]:
    """Every row that names a person, of sheets that can be used; the reader tells of others."""
    try:
        sheets = season.read(path)
    except files.UnreadableError:
        return
    place = season.place(path)
    for sheet in (one.settled(readers.has_words) for one in sheets):
        columns, _ = recognise(sheet, REFERENCE, place)
        headings = {name: column.heading for (name, _), column in columns.items()}
        if not {_ATHLETE, _SEX} <= set(headings):
            continue
        names = named(columns, len(sheet.headings))
        rows = [(row.number, by_field(names, row)) for row in sheet.rows]
        sexes = {cells.get(_SEX, "") for _, cells in rows}
        for number, cells in rows:
            if cells.get(_ATHLETE):
                at = Place(place.file, sheet.name, number)
                raw = cells.get(_SEX, "")
                yield _Row(at, headings, cells[_ATHLETE], raw, words.sex(raw, sexes))


def _people(season: Season, path: Path, squad: Roster) -> tuple[dict[str, Athlete], list[Finding]]:
    """Everybody named, letter case aside, and one finding for each row that cannot be used."""
    persons: dict[str, list[_Row]] = {}
    for row in _rows(season, path):
        persons.setdefault(row.person.casefold(), []).append(row)
    listed_people = People(squad)
    people: dict[str, Athlete] = {}
    findings: list[Finding] = []
    for key, rows in persons.items():
        first = {row.sex: row for row in reversed(rows) if row.sex in SEXES}
        people[key] = _person(rows[0].person, next(iter(first)) if len(first) == 1 else "")
        listed = bool(listed_people.named(key)) or squad.find(key) is not None
        for row in rows:
            fault = _fault(row, first, people[key].athlete_id, listed=listed)
            findings += [fault] if fault else []
    return people, findings


def _fault(row: _Row, first: dict[str, _Row], who: str, *, listed: bool) -> Finding | None:
    """Why a row cannot be used; ``first`` holds the person's first row of each sex."""
    at = row.at(_SEX)
    if listed:
        return finding("person-on-roster", row.at(_ATHLETE), who, raw=row.person)
    if not first or (row.raw_sex and row.sex not in SEXES):
        return finding("person-sex", at, who, raw=row.raw_sex, what=" or ".join(SEXES))
    if len(first) > 1:
        other = next(one for sex, one in first.items() if sex != row.sex)
        return finding("person-two-sexes", at, who, raw=row.person, first=other.place.row)
    return None


def _person(label: str, sex: str) -> Athlete:
    return Athlete(
        athlete_id=f"{_PREFIX}{label}",
        name=label,
        sex=sex,
        birth_date=None,
        groups=(),
        event="",
        joined=None,
        left=None,
        share=NOBODY,
    )
