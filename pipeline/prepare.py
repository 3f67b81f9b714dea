"""Getting ready for a day: its folder, and the sheets for the trackside.

The one place where the roster (intake), the forms and the setting of pages (publish) meet before
a day; the stages after it are put together in ``build``.
"""

from __future__ import annotations

import datetime as dt
import shutil
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline import battery as batteries
from pipeline.battery import TEMPLATES, Battery, nearest, read_toml
from pipeline.errors import CannotStartError, Finding
from pipeline.forms import new_day, rows, sheets
from pipeline.forms.limits import Limits, limits_of
from pipeline.forms.rows import BODY, STATUS, Block, Person
from pipeline.intake import columns, corrections, folder, roster, status
from pipeline.intake.folder import Season
from pipeline.publish import pdf
from pipeline.publish.notebook import write_whole

RESULTS = ("good", "failed")
YES_NO = ("yes", "no")

_EXAMPLES = {
    "indoor": "false", "start_distance_m": "0.5", "altitude_m": "0", "temperature_c": "15",
    "pressure_hpa": "1013", folder.RESOLUTION: "1",
}  # fmt: skip
_REMARKS = {
    "start_distance_m": "from the front foot to the first gate",
    "altitude_m": "of the venue, above the sea",
    folder.RESOLUTION: "the step of the jump mat's clock",
}
PAPERS = sheets.PAPERS


@dataclass(frozen=True, slots=True)
class Squad:
    """Everybody who is on the list for a date, and what was wrong with roster and battery."""

    season: Path
    date: dt.date
    people: tuple[Person, ...]
    battery: Battery
    findings: tuple[Finding, ...]


def squad(season: Path, date: str) -> Squad:
    """The list for a date, in running order: group by group, within a group as on the roster.

    Raises:
        CannotStartError: no such date or season, no roster, nobody on it that day.
    """
    try:
        day = dt.date.fromisoformat(date)
    except ValueError as error:
        raise CannotStartError(f"{date!r} is no date; write it like 2026-10-13.") from error
    if not season.is_dir():
        raise CannotStartError(f"There is no folder {season.name!r} to read.")
    battery, faults = batteries.load(season)
    signed = corrections.read(Season(season, ()))
    people, findings = roster.read(season, battery.dates, signed.applied)
    here = list(people.here_on(day))
    if not here:
        raise CannotStartError(f"Nobody on the roster belongs to the squad on {day}.")
    groups = list(dict.fromkeys(a.groups[:1] for a in here))
    here.sort(key=lambda athlete: groups.index(athlete.groups[:1]))
    persons = tuple(
        Person(a.athlete_id, a.name, frozenset(w.casefold() for w in (*a.groups, a.event) if w))
        for a in here
    )
    return Squad(season, day, persons, battery, (*findings, *faults))


def _blocks(listed: Squad, tests: Sequence[str], *, walk_ins: int = 0) -> list[Block]:
    """The blocks of the day's tests, in the order of the stations."""
    chosen = []
    for name in tests:
        plan = listed.battery.test_named(name)
        if plan is None:
            guess = nearest(name, list(listed.battery.tests))
            raise CannotStartError(f"{name!r} is no test of the battery{guess}.")
        chosen.append(plan.name)
    stations = rows.stations(listed.battery, tuple(dict.fromkeys(chosen)))
    return [rows.block(plan, listed.people, listed.battery, walk_ins=walk_ins) for plan in stations]


def without_people(listed: Squad, tests: Sequence[str]) -> list[str]:
    """The day's tests that nobody on the list does; a group spelt otherwise is the usual cause."""
    return [one.test for one in _blocks(listed, tests) if not one.rows]


# --- a day's folder -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Asked:
    """What a new day should be.

    ``sessions`` are the day's parts, as ``NAME`` or ``NAME=SHEET,SHEET``; ``tests`` may be empty:
    then the battery's planned ones are taken.
    """

    term: str
    style: str = new_day.XLSX
    sessions: tuple[str, ...] = ()
    tests: tuple[str, ...] = ()


def scaffold(listed: Squad, asked: Asked) -> Path:
    """Write a new day's folder, whole or not at all.

    Returns:
        The folder, named after the date.

    Raises:
        CannotStartError: the day is there already, or what was asked for makes no sense.
    """
    _refuse_twice(listed)
    _refuse_controls("The term", asked.term)
    sessions = _sessions(asked.sessions)
    blocks = [one for one in _blocks(listed, asked.tests) if one.rows]
    several = {name: {"session": ""} for name in {one.sheet for one in blocks}}
    for session, names in sessions.items():
        for name in names:
            several[name] = {"session": session}
    made = rows.sheets(blocks, lambda name: several[name] if len(sessions) > 1 else {})
    told = new_day.Help(_words(listed, list(sessions), blocks), _limits(listed.battery))
    files = {"day.toml": _day_file(listed.date, asked.term, list(sessions))}
    for sheet in made:
        data = new_day.to_csv(sheet) if asked.style == new_day.CSV else new_day.to_xlsx(sheet, told)
        files[f"{sheet.name}.{asked.style}"] = data
    return _write(listed.season, listed.date.isoformat(), files)


def _refuse_twice(listed: Squad) -> None:
    name = listed.date.isoformat()
    if (listed.season / name).exists():
        raise CannotStartError(f"{name!r} is in the season already; nothing was written.")
    for file in sorted(listed.season.glob("*/day.toml")):
        shown = file.relative_to(listed.season).as_posix()
        if read_toml(file, shown).get("date") == listed.date:
            raise CannotStartError(
                f"The folder {file.parent.name!r} holds the testing day {name} already; "
                "nothing was written."
            )


def _refuse_controls(what: str, text: str) -> None:
    if not text.strip() or any(unicodedata.category(c) in ("Cc", "Cs") for c in text):
        raise CannotStartError(f"{what} must be one line of text.")


def _sessions(asked: Sequence[str]) -> dict[str, list[str]]:
    """Name → the sheets that belong to it."""
    known = [*dict.fromkeys(rows.SHEETS.values()), BODY]
    sessions: dict[str, list[str]] = {}
    for text in asked:
        name, _, listed = text.partition("=")
        name = name.strip()
        _refuse_controls("A session's name", name)
        names = [n.strip() for n in listed.split(",") if n.strip()]
        for sheet in names:
            if sheet not in known:
                guess = nearest(sheet, known)
                raise CannotStartError(f"{sheet!r} is no sheet of a day{guess}.")
            taken = next((s for s, own in sessions.items() if sheet in own), None)
            if taken is not None:
                raise CannotStartError(f"The sheet {sheet!r} cannot be of {taken!r} and {name!r}.")
        if name in sessions:
            raise CannotStartError(f"The session {name!r} is named twice.")
        sessions[name] = names
    return sessions


def _day_file(date: dt.date, term: str, sessions: Sequence[str]) -> bytes:
    examples: dict[str, tuple[str, str]] = {}
    for key in folder.CONDITIONS:
        if key in folder.WORDS:
            examples[key] = (f'"{folder.WORDS[key][0]}"', ", ".join(folder.WORDS[key]))
        else:
            examples[key] = (_EXAMPLES.get(key, '""'), _REMARKS.get(key, ""))
    return new_day.day_toml(date, term, sessions, examples).encode()


def _words(listed: Squad, sessions: Sequence[str], blocks: Sequence[Block]) -> new_day.WordsOf:
    """The words that are understood in each sheet; as tests those of that sheet."""
    everywhere = {
        **columns.WORDS,
        "athlete_id": [person.athlete_id for person in listed.people],
        "side": rows.SIDES,
        "session": sessions,
        "status": status.STATUSES,
        "result": RESULTS,
        "maximal": YES_NO,
    }
    tests = listed.battery.tests.values()

    def words(sheet: str, heading: str) -> Sequence[str]:
        if heading not in ("test", "lift"):
            return everywhere.get(heading, ())
        if sheet == STATUS:
            return [one.test for one in blocks if one.test]
        return [test.name for test in tests if rows.SHEETS[test.kind] == sheet]

    return words


def _limits(battery: Battery) -> new_day.LimitsOf:
    def of(heading: str, test: str) -> Limits | None:
        return limits_of(heading, battery.tests.get(test), battery)

    return of


def _write(season: Path, name: str, files: Mapping[str, bytes]) -> Path:
    """Write a folder aside and put it in place by one rename.

    It is built two folders deep, where no reader looks for a day, so that a run cut short leaves
    nothing that could be taken for one; the next run sweeps it.
    """
    aside, final = season / f".new-{name}", season / name
    shutil.rmtree(aside, ignore_errors=True)
    try:
        for file, data in files.items():
            path = aside / name / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        (aside / name).rename(final)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return final


# --- the paper ------------------------------------------------------------------------------


def recording_sheets(listed: Squad, tests: Sequence[str], paper: str, out: Path) -> None:
    """Write the day's recording sheets as a PDF.

    Args:
        listed: the day's list.
        tests: names of tests; the battery's planned ones if empty.
        paper: one of ``PAPERS``.
        out: the file; never overwritten.

    Raises:
        CannotStartError: the file is there already, or a test is not known.
        PageError: the pages could not be set.
    """
    if out.exists():
        raise CannotStartError(
            f"{out.name!r} is there already; move it away, or give another name with --out."
        )
    blocks = _blocks(listed, tests, walk_ins=sheets.WALK_INS)
    data = sheets.pages(listed.people, blocks, listed.battery, listed.season.resolve().name)
    data["paper"] = PAPERS[paper]
    source = pdf.files("sheets.typ", data, date=listed.date, templates=TEMPLATES / "typst")
    write_whole(out, pdf.typeset(source, date=listed.date))
