"""Who is on the roster, and which row belongs to whom."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from pipeline.errors import CannotStartError, Finding, Place, finding
from pipeline.intake import files, headings, readers, words
from pipeline.intake.columns import ROSTER, by_field, named, recognise
from pipeline.intake.folder import roster_file
from pipeline.intake.readers import RawSheet, RowMark

_ID = re.compile(r"[A-Za-z0-9_-]{1,64}\Z")
_DEVICES = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])\Z", re.IGNORECASE)
SEXES = ("F", "M")
INITIALS, NOBODY = "initials", "none"
SHARE = ("full", INITIALS, NOBODY)
"""What an athlete's own page may show of the name; with ``none`` no page is made."""


@dataclass(frozen=True, slots=True)
class Athlete:
    """One line of the roster."""

    athlete_id: str
    name: str
    sex: str
    birth_date: dt.date | None
    groups: tuple[str, ...]
    event: str
    joined: dt.date | None
    left: dt.date | None
    share: str

    @property
    def shown_name(self) -> str:
        """The name on the athlete's own page."""
        if self.share != INITIALS:
            return self.name
        return " ".join(f"{part[0]}." for part in self.name.split())

    def here_on(self, date: dt.date) -> bool:
        """Whether the athlete belonged to the squad on a date."""
        return (self.joined is None or self.joined <= date) and (
            self.left is None or date <= self.left
        )

    def age_on(self, date: dt.date) -> int | None:
        """Whole years of age."""
        born = self.birth_date
        if born is None:
            return None
        return date.year - born.year - ((date.month, date.day) < (born.month, born.day))

    def exact_age_on(self, date: dt.date) -> float | None:
        """Age in years with its fraction; at a birthday it is whole."""
        years = self.age_on(date)
        if years is None or self.birth_date is None:
            return None
        born = self.birth_date
        last = dt.date(born.year + years, 1, 1)
        day = min(born.day, calendar.monthrange(last.year, born.month)[1])
        return years + (date - last.replace(month=born.month, day=day)).days / _DAYS_A_YEAR


_DAYS_A_YEAR = 366  # never a whole year too early


@dataclass(frozen=True)
class Roster:
    """The athletes by id, and where the file's rows stand."""

    athletes: Mapping[str, Athlete]
    place: Place
    rows: tuple[RowMark, ...]

    def find(self, text: str) -> Athlete | None:
        """The athlete a row's id means, letter case and blanks aside."""
        return self._by_case.get(text.strip().casefold())

    def holds(self, text: str) -> bool:
        """Whether a text is the id or the name of somebody on the roster, letter case aside."""
        return self.find(text) is not None or text.strip().casefold() in self._names

    @cached_property
    def _names(self) -> frozenset[str]:
        return frozenset(athlete.name.casefold() for athlete in self.athletes.values())

    @cached_property
    def _by_case(self) -> dict[str, Athlete]:
        return {key.casefold(): athlete for key, athlete in self.athletes.items()}

    def here_on(self, date: dt.date) -> Iterable[Athlete]:
        """The squad of a date, in roster order."""
        return (a for a in self.athletes.values() if a.here_on(date))


def why_no_id(text: str) -> str:
    """Why a text cannot be an athlete id; empty if it can."""
    if not text:
        return "it is empty"
    if not _ID.match(text):
        return "it has other characters than letters, digits, - and _, or more than 64"
    if _DEVICES.match(text):
        return "some computers reserve that word for a device"
    return ""


def read(season: Path) -> tuple[Roster, list[Finding]]:
    """Read the season's roster.

    Raises:
        CannotStartError: it cannot be read, or no one is on it.
    """
    path = roster_file(season)
    try:
        sheets = readers.read(path)
    except files.UnreadableError as error:
        raise CannotStartError(f"{path.name} could not be read: {error}.") from error
    ids = (headings.meaning(heading, ROSTER) for heading in (sheets[0].headings if sheets else ()))
    if not any(found is not None and found.field.name == "athlete_id" for found in ids):
        raise CannotStartError(f"{path.name} has no column athlete_id.")
    reader = _RosterReader()
    sheets = [sheet.settled(readers.has_words) for sheet in sheets]
    for sheet in sheets:
        reader.sheet(Place(path.name, sheet.name), sheet)
    if not reader.athletes:
        raise CannotStartError(f"{path.name} lists no athlete.")
    marks = [mark for sheet in sheets for mark in RowMark.of(path.name, sheet)]
    return Roster(reader.athletes, Place(path.name), tuple(marks)), reader.findings


class _RosterReader:
    def __init__(self) -> None:
        self._place = Place("")
        self._headings: dict[str, str] = {}
        self._first: dict[str, int] = {}
        self.athletes: dict[str, Athlete] = {}
        self.findings: list[Finding] = []

    def sheet(self, place: Place, sheet: RawSheet) -> None:
        self._place = place
        self.findings += sheet.findings(place)
        columns, faults = recognise(sheet, ROSTER, place)
        self.findings += faults
        self._headings = {name: column.heading for (name, _), column in columns.items()}
        names = named(columns, len(sheet.headings))
        people = [(row.number, by_field(names, row)) for row in sheet.rows]
        sexes = {cells.get("sex", "") for _, cells in people}
        for number, cells in people:
            self._row(number, cells, sexes)

    def _row(self, number: int, cells: dict[str, str], sexes: set[str]) -> None:
        key = cells.get("athlete_id", "")
        place = self._at(number, "athlete_id")
        why = why_no_id(key)
        if why:
            self.findings.append(finding("roster-id", place, raw=key, why=why))
            return
        first = self._first.setdefault(key.casefold(), number)
        if first != number:
            self.findings.append(finding("roster-id-twice", place, raw=key, first=first))
            return

        sex = words.sex(cells.get("sex", ""), sexes)
        if cells.get("sex") and not sex:
            self._unusual(number, "sex", cells["sex"], " or ".join(SEXES))
        share = cells.get("share", "") or SHARE[0]
        if share not in SHARE:
            self._unusual(number, "share", share, " or ".join(SHARE))
            share = SHARE[0]
        self.athletes[key] = Athlete(
            key,
            name=_whole_name(cells) or key,
            sex=sex,
            birth_date=self._date(number, "birth_date", cells),
            groups=tuple(g.strip() for g in cells.get("groups", "").split(";") if g.strip()),
            event=cells.get("event", ""),
            joined=self._date(number, "joined", cells),
            left=self._date(number, "left", cells),
            share=share,
        )

    def _at(self, number: int, field: str) -> Place:
        """The place of a cell, under the heading the file has."""
        return self._place.at(number, self._headings.get(field, field))

    def _date(self, number: int, column: str, cells: dict[str, str]) -> dt.date | None:
        text = cells.get(column, "")
        if not text:
            return None
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            self._unusual(number, column, text, "date like 2009-05-31")
            return None

    def _unusual(self, number: int, column: str, raw: str, what: str) -> None:
        place = self._at(number, column)
        self.findings.append(finding("roster-value", place, raw=raw, what=what))


def _whole_name(cells: Mapping[str, str]) -> str:
    """First name and surname as one; ``name`` may be the whole or whichever has no column."""
    parts = [cells.get(field, "") for field in ("first_name", "name", "surname")]
    told = {word.casefold() for word in parts[1].split()}
    first, _, last = (part and not set(part.casefold().split()) <= told for part in parts)
    return " ".join(part for part, kept in zip(parts, (first, parts[1], last), strict=True) if kept)
