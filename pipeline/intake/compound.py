"""Headings that say more than a field: which attempt, side, occasion or test is meant.

``CMJ 2 (cm)`` is a height of the second countermovement jump, ``SLJ_R_cm`` one off the right
leg, ``10 m trial 2`` the split of the second run.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pipeline.battery import BLOWN, Battery, TestPlan
from pipeline.intake import headings, words
from pipeline.intake.columns import SHEETS
from pipeline.intake.headings import ending_of, metres, parted
from pipeline.intake.kinds import CUMULATIVE, LABEL, QUANTITY, Column, Field, SheetKind
from pipeline.intake.words import plain
from pipeline.units import HEADING_UNITS

ATTEMPT, REP, SIDE, SESSION = "attempt", "rep", "side", "session"
RESULTS = "results"
"""The sheet of any tests, each named by a heading or a column."""

BARE = "bare"
"""A field that is a result of the row's test, whichever quantity that is."""

_SIDE_OF = {word: side for side in ("left", "right") for word in words.layout_words(side)}
_OCCASION_OF = {word: name for name in ("pre", "post") for word in words.layout_words(name)}
OCCASIONS = ("pre", "post")
"""Sessions of a day that are two occasions of one test: what is of one is never set beside what
is of the other."""

_SUMMARIES = words.layout_words("summary")
_ATTEMPTS, _REPS = words.layout_words("attempt"), words.layout_words("rep")
_COUNTED = frozenset(map(str, range(1, 21)))
"""The numbers that an attempt may have in a heading."""
_NUMBER = re.compile(r"(?P<number>\d{1,2})(?:st|nd|rd|th|er|e|o|a)?\Z")
_WORD_NUMBER = re.compile(r"(?P<word>[a-z]+?)(?P<number>\d{1,2})\Z")
_REP_MAX = re.compile(r"(\d{1,2})rm\Z")

RESULT_FIELDS: Mapping[tuple[str, str], str] = {
    **dict.fromkeys(((kind, "time") for kind in BLOWN), CUMULATIVE),
    ("jump", "length"): "height",
    ("jump", "time"): "flight_time",
    ("distance jump", "length"): "distance",
    ("lift", "mass"): "load",
}
"""The quantity that a number in a unit of some dimension is in a kind of test."""


@dataclass(frozen=True, slots=True)
class Compound:
    """A column of a sheet and the labels its heading fixes for its values.

    ``summary`` is the heading's word for a best, a mean or the like; ``assumed`` says that nobody
    gave the unit and seconds are read. The column's field is ``BARE`` where only the row's test
    says what it is.
    """

    column: Column
    kind: SheetKind
    fixed: Mapping[str, str]
    summary: str = ""
    assumed: bool = False

    @property
    def key(self) -> tuple[tuple[str, str], ...]:
        """The labels in one order."""
        return tuple(sorted(self.fixed.items()))


@dataclass(frozen=True, slots=True)
class NoUnit:
    """A heading that is clear but for its unit."""

    example: str


def sheet_of(plan: TestPlan) -> SheetKind:
    """The kind of sheet that holds results of a test."""
    return next(s for s in SHEETS.values() if plan.kind in s.kinds and s.name != RESULTS)


def may_mean(text: str, kind: SheetKind, battery: Battery) -> bool:
    """Whether a text is a compound heading of some sheet of a kind, with a test column or none."""
    columns = (frozenset[str](), frozenset({kind.test_column}))
    found = (Reader(kind, battery, has).read(0, text) for has in columns)
    return any(isinstance(one, Compound) for one in found)


def result_field(plan: TestPlan, column: Column) -> Column | None:
    """A bare column as what it is in a test; ``None`` where its unit does not suit.

    A test of the staff's own takes numbers in its own unit only.
    """
    if plan.kind == "other":
        if column.unit is not None and plain(plan.unit) != ending_of(column.unit):
            return None
        return replace(column, field=SHEETS["other"].fields["value"], unit=None)
    dimension = column.unit.dimension if column.unit else ""
    name = RESULT_FIELDS.get((plan.kind, dimension), "")
    if not name:
        return None
    if name == CUMULATIVE:
        part = metres(plan.distance_m or 0)
        return replace(column, field=Field(name, QUANTITY, "time"), part=part)
    return replace(column, field=sheet_of(plan).fields[name])


@dataclass(frozen=True)
class Reader:
    """Reads the compound headings of one sheet.

    Attributes:
        kind: the kind of sheet.
        battery: whose tests a heading may name.
        has: fields that have a column of their own, so that no heading says them.
    """

    kind: SheetKind
    battery: Battery
    has: frozenset[str]

    def read(
        self, index: int, heading: str, said: str = "", unit_text: str = ""
    ) -> Compound | NoUnit | None:
        """What a heading says; ``None`` if it is no compound one.

        Args:
            index: the column's place in the sheet.
            heading: as written.
            said: what ``[columns]`` says of it: its unit, or a heading in its place.
            unit_text: what a row of units says of the column.
        """
        unit = words.unit_named(said) or words.unit_named(unit_text)
        text = heading if words.unit_named(said) else said or heading
        missing: NoUnit | None = None
        for base, ending in parted(text):
            for tokens, fixed, summary in self._cuts(base.split("_")):
                found = self._settled(Column(index, heading, _BARE), tokens, ending or unit, fixed)
                if isinstance(found, NoUnit):
                    missing = missing or found
                elif found is not None and (found.fixed or summary):
                    return replace(found, summary=summary)
        return missing

    def _cuts(self, tokens: list[str]) -> Iterator[tuple[list[str], dict[str, str], str]]:
        """What is left of a heading, and the labels cut from it: without a number, then with."""
        left: list[str] = []
        fixed: dict[str, str] = {}
        summary = ""
        for token in tokens:
            if token in _SUMMARIES and not summary:
                summary = token
            elif token in _OCCASION_OF and self._may(SESSION, fixed):
                fixed[SESSION] = _OCCASION_OF[token]
            elif token in _SIDE_OF and self._may(SIDE, fixed):
                fixed[SIDE] = _SIDE_OF[token]
            elif (found := _REP_MAX.match(token)) and self._may("reps", fixed):
                fixed |= {"reps": found[1], "maximal": "yes"}
            else:
                left.append(token)
        yield left, fixed, summary
        for rest, label, number in _numbered(left):
            name = REP if label == REP or self.kind.name == "rebounds" else ATTEMPT
            if self._may(name, fixed) and str(number) in _COUNTED:
                yield rest, {**fixed, name: str(number)}, summary

    def _may(self, name: str, fixed: Mapping[str, str]) -> bool:
        return name in self.kind.fields and name not in self.has and name not in fixed

    def _settled(
        self, column: Column, tokens: list[str], ending: str, fixed: dict[str, str]
    ) -> Compound | NoUnit | None:
        test_column = self.kind.test_column
        if test_column and test_column not in self.has:
            return self._of_test(column, tokens, ending, fixed)
        if not tokens:
            if not fixed or self.kind.fixed_test:
                return None
            assumed = not ending and self.kind.splits
            if not (ending or assumed or "other" in self.kind.kinds):
                return NoUnit(f"{column.heading} (cm)")
            bare = _with(column, _BARE, "s" if assumed else ending)
            return Compound(bare, self.kind, fixed, assumed=assumed)
        return self._field(column, tokens, ending, self.kind, fixed)

    def _of_test(
        self, column: Column, tokens: list[str], ending: str, fixed: dict[str, str]
    ) -> Compound | NoUnit | None:
        """A heading that begins with the name of a test, and perhaps goes on with a field."""
        for end in range(len(tokens), 0, -1):
            plan = self._plan("".join(tokens[:end]))
            if plan is None:
                continue
            kind, rest = sheet_of(plan), tokens[end:]
            if rest and rest[0] in _COUNTED and self._may(ATTEMPT, fixed):
                fixed, rest = {**fixed, ATTEMPT: rest[0]}, rest[1:]
            if not set(fixed) <= set(kind.fields):
                return None
            fixed = {**fixed, kind.test_column: plan.name}
            if rest:
                return self._field(column, rest, ending, kind, fixed)
            assumed = not ending and plan.kind in BLOWN
            if not (ending or assumed or plan.kind == "other"):
                return NoUnit(f"{column.heading} ({'kg' if plan.kind == 'lift' else 'cm'})")
            made = result_field(plan, _with(column, _BARE, "s" if assumed else ending))
            return None if made is None else Compound(made, kind, fixed, assumed=assumed)
        return None

    def _field(
        self,
        column: Column,
        tokens: list[str],
        ending: str,
        kind: SheetKind,
        fixed: dict[str, str],
    ) -> Compound | None:
        """A quantity, a condition or the outcome that the rest of a heading names."""
        found = headings.meaning("_".join(tokens), kind, ending)
        if found is None or (found.field.role == LABEL and found.field.name not in _OUTCOMES):
            return None
        column = replace(column, field=found.field, unit=found.unit, part=found.part)
        return Compound(column, kind, fixed, assumed=found.assumed)

    def _plan(self, name: str) -> TestPlan | None:
        for plan in self.battery.tests.values():
            words = (plan.name, *plan.aliases)
            if plan.kind in self.kind.kinds and name in {_close(word) for word in words}:
                return plan
        return None


_BARE = Field(BARE, QUANTITY, "")
_OUTCOMES = ("result", "maximal")


def _with(column: Column, field: Field, ending: str) -> Column:
    unit = HEADING_UNITS.get(ending)
    dimension = unit.dimension if unit else "count"
    return replace(column, unit=unit, field=replace(field, dimension=dimension))


def _close(word: str) -> str:
    return re.sub(r"[^\w.]|_", "", plain(word))


def _numbered(tokens: list[str]) -> Iterator[tuple[list[str], str, int]]:
    """Ways to part the number of an attempt from a heading: what is left, its word, the number."""
    for at, token in enumerate(tokens):
        word = REP if token in _REPS else ATTEMPT if token in _ATTEMPTS else ""
        for other in (at + 1, at - 1):
            found = _NUMBER.match(tokens[other]) if word and 0 <= other < len(tokens) else None
            if found:
                rest = [t for i, t in enumerate(tokens) if i not in (at, other)]
                yield rest, word, int(found["number"])
        joined = _WORD_NUMBER.match(token)
        if joined and joined["word"] in _ATTEMPTS | _REPS:
            label = REP if joined["word"] in _REPS else ATTEMPT
            yield tokens[:at] + tokens[at + 1 :], label, int(joined["number"])
    if tokens and tokens[-1].isascii() and tokens[-1].isdigit():
        yield tokens[:-1], ATTEMPT, int(tokens[-1])
    last = _WORD_NUMBER.match(tokens[-1]) if tokens else None
    if last:
        yield [*tokens[:-1], last["word"]], ATTEMPT, int(last["number"])
