"""A day that may be handed on: initials or ids in place of names, nowhere a birth date.

What comes from a cell and is neither a number nor a word of the trade is hidden in findings; a
remark that holds a name is hidden whole; elsewhere the name itself. All of it stands as “…”.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle, computing, reading, tables, units
from pipeline.battery import TEMPLATES, Battery
from pipeline.bundle import DayBundle
from pipeline.errors import CannotStartError, Finding
from pipeline.hiding import HIDDEN, Names, folded, initials, words
from pipeline.intake import cells, roster, trials
from pipeline.intake.columns import ROSTER, SHEETS, TRACES
from pipeline.intake.folder import WORDS
from pipeline.intake.roster import NOBODY, Roster
from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import NO_MARK, SET_ASIDE
from pipeline.reading import Intake

FULL, INITIALS, IDS = "full", "initials", "ids"
NAMES = (FULL, INITIALS, IDS)
"""How the people of a build are named; the last two are for handing on."""


def folder_name(day: str, names: str) -> str:
    """The folder of a day's reports; one for handing on never takes the place of the staff's."""
    return day if names == FULL else f"{day}-{names}"


def compute(season: Path, day: str, names: str) -> DayBundle:
    """A day's tables and facts, its people named as asked.

    Raises:
        CannotStartError: the season cannot be opened, or an id would tell a name.
    """
    intake = reading.read(season, day)
    if names == FULL:
        return computing.compute(intake)
    labels = _labels(intake.roster, names)
    own = _words_of(intake.battery)
    hidden = names_in(intake.roster)
    told = _Findings(hidden, _TRADE | own, intake.roster.place.file)
    made = computing.compute(replace(intake, findings=[told.of(f) for f in intake.findings]))
    return _disguised(made, intake, labels, hidden, told)


def names_in(people: Roster) -> Names:
    """The names of everybody on a roster.

    Raises:
        CannotStartError: an id tells a name, so that it cannot stand in its place.
    """
    named = [a for a in people.athletes.values() if folded(a.name) != folded(a.athlete_id)]
    names = Names([(a.name, a.birth_date) for a in named], _TRADE)
    born = Names([("", a.birth_date) for a in people.athletes.values() if a not in named])
    telling = [
        key for key in people.athletes if names.inside(_parted(key)) or born.inside(_parted(key))
    ]
    if telling:
        raise CannotStartError(
            f"{_counted(len(telling))} on the roster (first: {telling[0]}) holds somebody's name "
            "or birth date, so it cannot stand in place of one; give those athletes other ids."
        )
    return names


def _parted(key: str) -> str:
    """An id as words: ``BramO-07`` is a name and a number."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", key)


def _counted(count: int) -> str:
    return "One id" if count == 1 else f"{count} ids; each"


def _labels(people: Roster, names: str) -> dict[str, str]:
    """What each athlete is called; two of the same initials have their ids beside them."""
    if names == IDS:
        return {key: key for key in people.athletes}
    short = {
        key: initials(a.name) if a.share != NOBODY and a.name != key else ""
        for key, a in people.athletes.items()
    }
    often = Counter(short.values())
    return {
        key: (f"{one} ({key})" if often[one] > 1 else one) if one else key
        for key, one in short.items()
    }


# --- words that are no names ----------------------------------------------------------------


def _texts_of(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield str(key)
            yield from _texts_of(one)
    elif isinstance(value, Iterable):
        for one in value:
            yield from _texts_of(one)


_SHIPPED = frozenset(
    _texts_of(tomllib.loads((TEMPLATES / "battery.toml").read_text(encoding="utf-8")))
)
"""Texts of the default battery; they are ours and name nobody."""

_CALENDAR = (
    "spring summer autumn fall winter term season day week january february march april may june "
    "july august september october november december mon tue wed thu fri sat sun"
)


def _trade() -> frozenset[str]:
    """Words of headings, sheets, measures and settings."""
    schemas = [" ".join((schema.name, *schema.columns)) for schema in tables.SCHEMAS.values()]
    sheets = [" ".join((kind.name, *kind.kinds, *kind.fields)) for kind in SHEETS.values()]
    measures = [f"{m.key} {m.label} {m.section}" for m in MEASURES.values()]
    battery = [text for text in _SHIPPED if len(text.split()) <= _A_LABEL]
    more = [
        _CALENDAR, *ROSTER.fields, *roster.SHARE, *TRACES.fields, *units.HEADING_UNITS,
        *cells.NO_MARKS, *trials.GOOD_WORDS, *(w for kind in WORDS.values() for w in kind),
        *WORDS, tables.FULL, tables.LIMITED, tables.NOT_DONE,
        "csv tsv txt xlsx toml day roster targets plan status corrections battery session yes no",
        "track gym field hall indoor outdoor left right force plate mat bw all tests device ends",
    ]  # fmt: skip
    return frozenset(words(" ".join((*schemas, *sheets, *measures, *battery, *more))))


_A_LABEL = 4  # more words are a sentence
_TRADE = _trade()


def _words_of(battery: Battery) -> frozenset[str]:
    """Words of the staff's own tests and phases."""
    return frozenset(words(" ".join((*battery.tests, *battery.phase_names))))


# --- findings -------------------------------------------------------------------------------

_OURS = frozenset({"why", "what", "known", "guess", "label", "unit", "status"})
"""Details of a finding that are worded here; a cell's words stand in them only in quotes."""

_QUOTED = re.compile("“([^”]*)”")
_NUMERIC = re.compile(r"[\d\s.,:;/×x*+\-–−%°()'\"’″′<>=@]*\Z")


class _Findings:
    """What a finding says where it is handed on."""

    def __init__(self, names: Names, known: frozenset[str], roster_file: str) -> None:
        self._names, self._known, self._roster = names, known, roster_file

    def raw(self, text: str) -> str:
        """A cell's words: numbers and words of the trade stay, anything else is hidden."""
        plain = words(text) <= self._known and (_NUMERIC.match(text) or words(text))
        return self._names.without(text) if plain else HIDDEN

    def of(self, found: Finding) -> Finding:
        person = found.place.file == self._roster
        details = tuple((key, self._detail(key, text, person)) for key, text in found.details)
        place = found.place
        if found.code.startswith("heading"):
            place = place.at(place.row, self.raw(place.column))
        return replace(found, place=place, details=details)

    def _detail(self, key: str, text: str, person: bool) -> str:  # noqa: FBT001  # a fact
        if key in _OURS:
            shown = _QUOTED.sub(lambda match: f"“{self.raw(match.group(1))}”", text)
            return self._names.without(shown)
        if person and any(c.isdigit() for c in text):
            return text if text.isdigit() and len(text) <= _ROW_DIGITS else HIDDEN
        return self.raw(text)


_ROW_DIGITS = 3  # a row's number, and no year

# --- tables and facts -----------------------------------------------------------------------

_MADE = frozenset((
    "athlete_id", "id", "day", "from_day", "to_day", "date", "now_day", "measure", "verdict",
    "error_source", "error_grade", "basis", "state", "against", "kind", "quantity", "severity",
    "code", "message", "scale", "finding", "says", "key", "better",
))  # fmt: skip
"""Columns and facts that hold no word of a cell: ids, dates, and what is worded here."""

_REMARKS = frozenset({"note", "reason"})


def _disguised(
    made: DayBundle, intake: Intake, labels: dict[str, str], names: Names, told: _Findings
) -> DayBundle:
    ids = frozenset(intake.roster.athletes)

    def change(text: str, key: str) -> str:
        if key in _MADE or text in ids or text in _SHIPPED:
            return text
        if key in _REMARKS:
            return names.note(text)
        return told.raw(text) if key == "word" else names.without(text)

    own = {**made.tables, "trials": _raw_hidden(made.tables["trials"], told)}
    hidden = bundle.with_texts(replace(made, tables=own), change)
    people = [{**one, "name": labels[one["id"]]} for one in hidden.day["roster"]]
    pages = {key: {**facts, "name": labels[key]} for key, facts in hidden.day["athletes"].items()}
    return replace(hidden, day={**hidden.day, "roster": people, "athletes": pages})


def _raw_hidden(table: pd.DataFrame, told: _Findings) -> pd.DataFrame:
    """Trials without an observer's name, and without words where a number was asked for."""
    asked = table["status"].isin((SET_ASIDE, NO_MARK)) | table["value"].notna()
    raw = [
        HIDDEN if quantity == "observer" else told.raw(text) if number else text
        for text, quantity, number in zip(table["raw"], table["quantity"], asked, strict=True)
    ]
    return table.assign(raw=raw)


def input_names(found: Mapping[str, str], names: Names) -> dict[str, str]:
    """The digests of inputs by names in which no person stands; equal ones are numbered."""
    shown: dict[str, str] = {}
    for path, digest in found.items():
        name = count = names.without(path)
        number = 1
        while count in shown:
            number += 1
            count = f"{name} ({number})"
        shown[count] = digest
    return shown
