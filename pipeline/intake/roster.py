"""Who is on the roster, and which row belongs to whom."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cached_property
from pathlib import Path

from pipeline import hiding, outgoing
from pipeline.errors import CannotStartError, Finding, Place, finding
from pipeline.intake import files, headings, readers, words
from pipeline.intake.columns import ROSTER, by_field, named, recognise
from pipeline.intake.dates import DATE_LIKE, Dates
from pipeline.intake.folder import Amend, as_read, roster_file
from pipeline.intake.readers import RawSheet, RowMark

_ID = re.compile(r"[A-Za-z0-9_-]{1,64}\Z")
_DEVICES = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])\Z", re.IGNORECASE)
SEXES = ("F", "M")
FULL_NAME, INITIALS, NOBODY = "full", "initials", "none"
SHARE = (FULL_NAME, INITIALS, NOBODY)
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
            return outgoing.cut(self.name, outgoing.LONGEST_NAME)
        return hiding.initials(self.name) or self.athlete_id

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
    """The athletes by id, and where the file's rows stand.

    ``contested`` holds ids, in small letters, that the file gives to two people; neither is in
    ``athletes``.
    """

    athletes: Mapping[str, Athlete]
    place: Place
    rows: tuple[RowMark, ...]
    contested: frozenset[str] = frozenset()

    def find(self, text: str) -> Athlete | None:
        """The athlete a row's id means, letter case and blanks aside."""
        return self._by_case.get(text.strip().casefold())

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


_LONGEST_ID = 64


def even_id(key: str) -> str:
    """An id as a spreadsheet leaves it that takes it for a number: ``007`` → 7, ``12E3`` → 12000.

    Zeros before a number inside a word go as well (``A01`` → ``a1``), which people leave out.
    """
    try:
        number = Decimal(key)
    except InvalidOperation:
        return re.sub(r"(?<!\d)0+(?=\d)", "", key.casefold())
    if not number.is_finite() or "_" in key or abs(number.adjusted()) > _LONGEST_ID:
        return key.casefold()
    return format(number.normalize(), "f")


def read(season: Path, dates: str = "", amend: Amend = as_read) -> tuple[Roster, list[Finding]]:
    """Read the season's roster.

    Args:
        season: the season folder.
        dates: how it writes its dates, where a setting says so.
        amend: lays signed corrections over it.

    Raises:
        CannotStartError: it cannot be read, or no one is on it.
    """
    path = roster_file(season)
    try:
        sheets = amend(path.name, readers.read(path))
    except files.UnreadableError as error:
        raise CannotStartError(f"{path.name} could not be read: {error}.") from error
    ids = (headings.meaning(heading, ROSTER) for heading in (sheets[0].headings if sheets else ()))
    if not any(found is not None and found.field.name == "athlete_id" for found in ids):
        raise CannotStartError(f"{path.name} has no column athlete_id.")
    reader = _RosterReader(dates)
    sheets = [sheet.settled(readers.has_words) for sheet in sheets]
    for sheet in sheets:
        reader.sheet(Place(path.name, sheet.name), sheet)
    if not reader.athletes:
        raise CannotStartError(f"{path.name} lists no athlete.")
    marks = [mark for sheet in sheets for mark in RowMark.of(path.name, sheet)]
    people = Roster(reader.athletes, Place(path.name), tuple(marks), frozenset(reader.contested))
    return people, reader.findings


_DATES = ("birth_date", "joined", "left")


class _RosterReader:
    def __init__(self, stated: str) -> None:
        self._stated = stated
        self._dates: dict[str, Dates] = {}
        self._place = Place("")
        self._headings: dict[str, str] = {}
        self._first: dict[str, tuple[Athlete, Place]] = {}
        self._even: dict[str, str] = {}
        self.athletes: dict[str, Athlete] = {}
        self.contested: set[str] = set()
        self.findings: list[Finding] = []

    def sheet(self, place: Place, sheet: RawSheet) -> None:
        self._place = place
        self.findings += sheet.findings(place)
        columns, faults = recognise(sheet, ROSTER, place)
        self.findings += faults
        self._headings = {name: column.heading for (name, _), column in columns.items()}
        names = named(columns, len(sheet.headings))
        people = {row.number: by_field(names, row) for row in sheet.rows}
        for column in _DATES:
            texts = {number: cells.get(column, "") for number, cells in people.items()}
            self._settle(column, texts)
        sexes = {cells.get("sex", "") for cells in people.values()}
        for number, cells in people.items():
            self._row(number, cells, sexes)

    def _settle(self, column: str, texts: Mapping[int, str]) -> None:
        """See how a column writes its dates; where nothing says, it is asked for once."""
        dates = self._dates[column] = Dates.of(texts.values(), self._stated)
        unclear = [number for number, text in texts.items() if dates.is_ambiguous(text)]
        if unclear:
            place = self._at(unclear[0], column)
            raw, count = texts[unclear[0]], len(unclear)
            self.findings.append(
                finding("date-ambiguous", place, raw=raw, count=count, file="battery.toml")
            )

    def _row(self, number: int, cells: dict[str, str], sexes: set[str]) -> None:
        key = cells.get("athlete_id", "")
        place = self._at(number, "athlete_id")
        why = why_no_id(key)
        if why:
            self.findings.append(finding("roster-id", place, raw=key, why=why))
            return

        sex = words.sex(cells.get("sex", ""), sexes)
        if cells.get("sex") and not sex:
            self._unusual(number, "sex", cells["sex"], " or ".join(SEXES))
        share = cells.get("share", "") or FULL_NAME
        if share not in SHARE:
            self._unusual(number, "share", share, " or ".join(SHARE))
            share = FULL_NAME
        athlete = Athlete(
            key,
            name=whole_name(cells) or key,
            sex=sex,
            birth_date=self._date(number, "birth_date", cells),
            groups=tuple(g.strip() for g in cells.get("groups", "").split(";") if g.strip()),
            event=cells.get("event", ""),
            joined=self._date(number, "joined", cells),
            left=self._date(number, "left", cells),
            share=share,
        )
        self._enter(athlete, place)

    def _enter(self, athlete: Athlete, place: Place) -> None:
        """Take an athlete in, unless the id is another's: then nobody has it."""
        key = athlete.athlete_id
        first, there = self._first.setdefault(key.casefold(), (athlete, place))
        if first is not athlete:
            if _one_name(first, athlete):
                twice = finding("roster-id-twice", place, raw=key, first=there.row)
                self.findings.append(twice)
                return
            names = f"“{first.name}” and “{athlete.name}”"
            self.findings += [
                finding("roster-id-two-names", at, raw=key, names=names) for at in (there, place)
            ]
            self.athletes.pop(first.athlete_id, None)
            self.contested.add(key.casefold())
            return
        other = self._even.setdefault(even_id(key), key)
        if other != key:
            self.findings.append(finding("roster-ids-alike", place, key, raw=key, other=other))
        self.athletes[key] = athlete

    def _at(self, number: int, field: str) -> Place:
        """The place of a cell, under the heading the file has."""
        return self._place.at(number, self._headings.get(field, field))

    def _date(self, number: int, column: str, cells: dict[str, str]) -> dt.date | None:
        text, dates = cells.get(column, ""), self._dates[column]
        date = dates.read(text)
        if text and date is None and not dates.is_ambiguous(text):
            self._unusual(number, column, text, DATE_LIKE)
        return date

    def _unusual(self, number: int, column: str, raw: str, what: str) -> None:
        place = self._at(number, column)
        self.findings.append(finding("roster-value", place, raw=raw, what=what))


def _one_name(one: Athlete, other: Athlete) -> bool:
    """Whether two rows of an id can be one person: equal names, or one of them has none."""
    names = {a.name.casefold() for a in (one, other) if a.name != a.athlete_id}
    return len(names) < 2  # noqa: PLR2004  # two names


def whole_name(cells: Mapping[str, str]) -> str:
    """First name and surname as one; ``name`` may be the whole or whichever has no column."""
    parts = [cells.get(field, "") for field in ("first_name", "name", "surname")]
    told = {word.casefold() for word in parts[1].split()}
    first, _, last = (part and not set(part.casefold().split()) <= told for part in parts)
    return " ".join(part for part, kept in zip(parts, (first, parts[1], last), strict=True) if kept)
