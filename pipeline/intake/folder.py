"""What a season folder holds: its testing days, their sessions, their files."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pipeline.battery import DATE_ORDERS, TIMINGS, nearest, read_toml
from pipeline.errors import CannotStartError, Finding, Place, finding
from pipeline.intake import files, readers
from pipeline.intake.readers import RawSheet

WORDS: dict[str, tuple[str, ...]] = {
    "timing": TIMINGS,
    "beams": ("single", "double"),
    "clock": ("gun", "movement", "gate"),
    "start": ("blocks", "three-point", "standing", "flying"),
}
"""Conditions with a fixed set of words."""

TEXTS = ("venue", "surface", "footwear")
NUMBERS = ("start_distance_m", "altitude_m", "temperature_c", "pressure_hpa")
RESOLUTION = "resolution_ms"
"""The step of the clock that takes contacts and flights, as of a mat."""
CONDITIONS = (*WORDS, *TEXTS, "indoor", *NUMBERS, RESOLUTION)
"""Everything a day or a session may state once for all its rows."""
COLUMNS = "columns"
"""The table of a day file that says what headings mean."""
Columns = Mapping[str, Mapping[str, str]]
"""What it says: file without its ending (blank: any) → heading → field, unit or ignore."""


def said_of(columns: Columns, stem: str) -> dict[str, str]:
    """What is said of the headings of one file; its own table goes before the general lines."""
    return {**columns.get("", {}), **columns.get(stem, {})}


@dataclass(frozen=True, slots=True)
class Session:
    """One part of a testing day: the track on Tuesday, the gym on Thursday."""

    name: str
    date: dt.date
    conditions: Mapping[str, tuple[str, str]]
    """Condition → (text, source)."""


@dataclass(frozen=True, slots=True)
class Day:
    """One testing day, which may be a window of several sessions.

    ``dates`` says how its sheets write dates, where that is stated.
    """

    folder: Path
    date: dt.date
    term: str
    repeat_of: dt.date | None
    sessions: Mapping[str, Session]
    default: Session
    columns: Columns = field(default_factory=dict)
    dates: str = ""

    @property
    def key(self) -> str:
        """The day's name in every table: its ISO date."""
        return self.date.isoformat()

    def own(self, stem: str) -> dict[str, str]:
        """What ``[columns]`` says of one file's headings: heading → field, unit or ignore."""
        return said_of(self.columns, stem)

    def session(self, name: str) -> Session | None:
        """The named session; for a blank name the only one there is, else the day itself."""
        if name:
            return self.sessions.get(name)
        return next(iter(self.sessions.values())) if len(self.sessions) == 1 else self.default


Amend = Callable[[str, list[RawSheet]], list[RawSheet]]
"""From a file's path in the season and its sheets as read, to its sheets as they count."""


def as_read(_: str, sheets: list[RawSheet]) -> list[RawSheet]:
    """The sheets as they stand."""
    return sheets


@dataclass(frozen=True, slots=True)
class Season:
    """A season folder, opened. ``amend`` lays signed corrections over what is read."""

    path: Path
    days: tuple[Day, ...]
    amend: Amend = as_read

    def read(self, path: Path) -> list[RawSheet]:
        """The sheets of a file of the season, signed corrections in place.

        Raises:
            readers.UnreadableError: as ``readers.read``.
        """
        return self.amend(self.place(path).file, readers.read(path))

    def holds(self, file: str) -> bool:
        """Whether there is such a file, its path relative to the season."""
        return (self.path / file).is_file()

    def up_to(self, day: Day) -> tuple[Day, ...]:
        """The days that a build of ``day`` may look at, oldest first."""
        return tuple(d for d in self.days if d.date <= day.date)

    def place(self, path: Path) -> Place:
        """A file's place, relative to the season."""
        return Place(path.relative_to(self.path).as_posix())


def open_season(path: Path) -> tuple[Season, dict[str, list[Finding]]]:
    """Open a season folder.

    Returns:
        The season, and the findings of each day file under the day's date.

    Raises:
        CannotStartError: no such folder, no roster, no testing day, or two days of one date.
    """
    if not path.is_dir():
        raise CannotStartError(f"There is no folder {path.name!r} to read.")
    roster_file(path)
    findings: dict[str, list[Finding]] = {}
    linked: list[Finding] = []
    days: dict[dt.date, Day] = {}
    for day_file in sorted(path.glob("*/day.toml"), key=lambda p: p.as_posix()):
        if day_file.parent.is_symlink() or day_file.is_symlink():
            place = Place(day_file.relative_to(path).as_posix())
            linked.append(finding("link-not-read", place))
            continue
        day, found = _read_day(path, day_file)
        if day.date in days:
            raise CannotStartError(
                f"Two folders hold the testing day {day.key}: "
                f"{days[day.date].folder.name} and {day.folder.name}."
            )
        days[day.date] = day
        findings[day.key] = found
    if not days:
        raise CannotStartError(
            f"No testing day in {path.name!r}: a day is a folder that holds a day.toml."
        )
    findings = {key: found + linked for key, found in findings.items()}
    return Season(path, tuple(days[date] for date in sorted(days))), findings


def keep_out(season: Season, out: Path) -> None:
    """Refuse a place for outputs that would lie among the inputs.

    Raises:
        CannotStartError: it is the season folder itself, or lies in the folder of a testing day.
    """
    place = out.resolve()
    inputs = [day.folder.resolve() for day in season.days]
    if place == season.path.resolve() or any(place.is_relative_to(one) for one in inputs):
        raise CannotStartError(
            f"{out.name!r} holds raw files, and nothing is ever written among them; "
            "choose another folder with --out."
        )


def roster_file(season: Path) -> Path:
    """The season's one roster.

    Raises:
        CannotStartError: there is none, or more than one.
    """
    found = files.named(season, "roster")
    if not found:
        raise CannotStartError(f"The season folder {season.name!r} has no roster.csv.")
    if len(found) > 1:
        told = " and ".join(path.name for path in found)
        raise CannotStartError(f"There is more than one roster: {told}; keep one.")
    return found[0]


def _read_day(season: Path, day_file: Path) -> tuple[Day, list[Finding]]:
    folder = day_file.parent
    shown = day_file.relative_to(season).as_posix()
    settings = read_toml(day_file, shown)
    date = settings.pop("date", None)
    if not isinstance(date, dt.date) or isinstance(date, dt.datetime):
        raise CannotStartError(f"{shown} needs a line like: date = 2026-10-13")
    reader = _DayReader(shown)
    term = reader.text("term", settings.pop("term", ""))
    dates = reader.one_of("dates", settings.pop("dates", ""), DATE_ORDERS)
    repeat_of = reader.date("repeat_of", settings.pop("repeat_of", None))
    columns = reader.columns(settings.pop(COLUMNS, {}))
    raw_sessions = settings.pop("session", {})
    default = reader.session("", date, settings, {})
    sessions = {
        name: reader.session(name, date, table, default.conditions)
        for name, table in reader.tables("session", raw_sessions).items()
    }
    return (
        Day(folder, date, term, repeat_of, sessions, default, columns, dates),
        reader.findings,
    )


class _DayReader:
    """Reads the settings of one day file and collects what is wrong with them."""

    def __init__(self, shown: str) -> None:
        self._shown = shown
        self.findings: list[Finding] = []

    def _refuse(self, key: str, why: str) -> None:
        place = Place(self._shown, column=key)
        self.findings.append(finding("day-value", place, key=key, why=why))

    def tables(self, key: str, value: object) -> dict[str, dict[str, Any]]:
        """The tables ``[key.NAME]``; anything else there is refused."""
        if not isinstance(value, dict):
            self._refuse(key, f"it must be a table for each session, like [{key}.track]")
            return {}
        for name, table in value.items():
            if not isinstance(table, dict):
                self._refuse(f"{key}.{name}", f"it must be a table, like [{key}.{name}]")
        return {name: table for name, table in value.items() if isinstance(table, dict)}

    def columns(self, value: object) -> dict[str, dict[str, str]]:
        """What is said of headings, of any file under a blank name."""
        own: dict[str, dict[str, str]] = {"": {}}
        if not isinstance(value, dict):
            self._refuse(COLUMNS, 'it must be a table of lines like "Flugzeit" = "flight_time_ms"')
            return own
        for name, said in value.items():
            if isinstance(said, dict):
                texts = {k: self.text(f"{COLUMNS}.{name}.{k}", v) for k, v in said.items()}
                own[name.casefold()] = {k: text for k, text in texts.items() if text}
            elif text := self.text(f"{COLUMNS}.{name}", said):
                own[""][name] = text
        return own

    def text(self, key: str, value: object) -> str:
        if isinstance(value, str):
            return value
        self._refuse(key, "it must be text in quotes")
        return ""

    def one_of(self, key: str, value: object, words: tuple[str, ...]) -> str:
        if value in ("", *words):
            return str(value)
        self._refuse(key, f"it must be one of {', '.join(words)}")
        return ""

    def date(self, key: str, value: object) -> dt.date | None:
        if value is None or (isinstance(value, dt.date) and not isinstance(value, dt.datetime)):
            return value
        self._refuse(key, "it must be a date like 2026-10-13")
        return None

    def session(
        self,
        name: str,
        date: dt.date,
        table: dict[str, Any],
        inherited: Mapping[str, tuple[str, str]],
    ) -> Session:
        conditions = dict(inherited)
        sheet = f"session.{name}" if name else ""
        for key, value in table.items():
            shown_key = f"{sheet}.{key}" if sheet else key
            if key == "date" and sheet:
                date = self.date(shown_key, value) or date
            elif key in CONDITIONS:
                text = self._condition(key, shown_key, value)
                if text:
                    conditions[key] = (text, Place(self._shown, sheet, column=key).source)
            else:
                days = ("date", "dates", "term", "repeat_of", "session", COLUMNS)
                own = ("date",) if sheet else days
                guess = nearest(key, [*CONDITIONS, *own])
                place = Place(self._shown, sheet, column=key)
                self.findings.append(finding("day-key", place, key=shown_key, guess=guess))
        return Session(name, date, conditions)

    def _condition(self, key: str, shown_key: str, value: object) -> str:
        if key in WORDS:
            if value in WORDS[key]:
                return str(value)
            self._refuse(shown_key, f"it must be one of {', '.join(WORDS[key])}")
        elif key == "indoor":
            if isinstance(value, bool):
                return "yes" if value else "no"
            self._refuse(shown_key, "it must be true or false")
        elif key in (*NUMBERS, RESOLUTION):
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if key == RESOLUTION and number and not value > 0:  # type: ignore[operator]  # a number
                self._refuse(shown_key, "it must be above 0")
                return ""
            if number and math.isfinite(value):  # type: ignore[arg-type]  # a number, just tested
                return f"{value:g}"
            self._refuse(shown_key, "it must be a number")
        else:
            return self.text(shown_key, value)
        return ""
