"""Whom a row belongs to, by id or by name, and what is said where that is not plain.

Nobody is chosen between two people: a row that could be either's is set aside with both named. A
spelling that is only near is used where nobody else is near it, and always said.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from rapidfuzz.distance import OSA

from pipeline.battery import nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake.columns import NAMES
from pipeline.intake.roster import Athlete, Roster, even_id, whole_name

ATHLETE_ID, NAME = "athlete_id", "name"
WHO = (ATHLETE_ID, *NAMES)
"""The fields in which a sheet says whom a row belongs to; an id or a name is enough."""

ONE_SLIP, TWO_SLIPS = 5, 10
"""Letters from which on a name may differ by one slip of the hand, and by two.

A slip is a letter too many, too few, wrong, or changed with its neighbour. Common practice, no
source.
"""
CLEARLY = 2
"""Slips by which the nearest name must be nearer than any other."""

_LONGEST = 200
_LETTERS = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ħ": "h", "ŧ": "t",
     "ı": "i", "ŋ": "n", "ĸ": "k", "'": "", "’": "", "ʼ": "", "`": "", "´": ""}
)  # fmt: skip
"""Letters that Unicode does not take apart into a base and its mark, and marks inside a name."""


def folded(name: str) -> tuple[str, ...]:
    """The words of a name with letter case, accents and marks evened out: ``("zoe", "marz")``."""
    text = unicodedata.normalize("NFKD", name[:_LONGEST].casefold()).translate(_LETTERS)
    kept = (
        char if unicodedata.category(char)[0] in "LNM" else " "
        for char in text
        if not unicodedata.combining(char) and unicodedata.category(char) != "Cf"
    )
    return tuple("".join(kept).split())


@dataclass(frozen=True)
class _Name:
    """A name in the forms in which it may be written."""

    words: tuple[str, ...]

    @classmethod
    def of(cls, text: str) -> _Name:
        return cls(folded(text))

    @cached_property
    def letters(self) -> str:
        return "".join(self.words)

    @cached_property
    def in_order(self) -> tuple[str, ...]:
        return tuple(sorted(self.words))

    @cached_property
    def turned(self) -> frozenset[str]:
        """Its letters from each word on: the surname may stand first, a blank may be missing."""
        words = self.words
        return frozenset("".join(words[at:] + words[:at]) for at in range(len(words)))

    def same(self, other: _Name) -> bool:
        """Whether both are one name, order, blanks and hyphens aside."""
        return bool(self.words) and (
            self.in_order == other.in_order or self.letters in other.turned
        )

    def slips(self, other: _Name) -> int:
        """Slips of the hand between the two, in whichever order they come nearest.

        A name that lacks some of the other's words, and holds two, counts as one slip away.
        """
        mine, yours = set(self.words), set(other.words)
        if min(len(mine), len(yours)) > 1 and (mine <= yours or yours <= mine):
            return 1
        pairs = [("".join(self.in_order), "".join(other.in_order))]
        pairs += [(self.letters, turned) for turned in other.turned]
        return min(int(OSA.distance(one, two)) for one, two in pairs)

    @property
    def allowed(self) -> int:
        """How many slips a name of this length may have."""
        return (len(self.letters) >= ONE_SLIP) + (len(self.letters) >= TWO_SLIPS)

    def short_for(self, other: _Name) -> bool:
        """Whether each word begins a word of the other: initials, a first name, a short form."""
        left = list(other.words)
        for word in sorted(self.words, key=len, reverse=True):
            found = next((full for full in left if full.startswith(word)), None)
            if found is None:
                return False
            left.remove(found)
        return bool(self.words)


@dataclass(frozen=True, slots=True)
class Match:
    """Whom the two cells of a row mean; ``code`` and ``details`` are of what is to be said."""

    athlete: Athlete | None
    code: str = ""
    column: str = ATHLETE_ID
    details: Mapping[str, str] = field(default_factory=dict)


ONCE = "athlete-respelled"
"""What is said once a sheet and spelling: the name is the same, only written otherwise."""


class People:
    """Finds the athletes of the rows of one or more sheets."""

    def __init__(self, roster: Roster) -> None:
        self._roster = roster
        self._names = {
            key: _Name.of(athlete.name)
            for key, athlete in roster.athletes.items()
            if athlete.name != key
        }
        self._known: dict[tuple[str, str], Match] = {}
        self._said: set[tuple[str, str, str]] = set()
        self._called: dict[str, dict[Place, str]] = {}

    def of_row(
        self, row: Place, cells: Mapping[str, str], headings: Mapping[str, str]
    ) -> tuple[Athlete | None, list[Finding]]:
        """The athlete of a row, nobody where it must be set aside, and what is to be said.

        Args:
            row: its place, without a column.
            cells: its texts by field, those of ``WHO`` at least; the id's may hold a name.
            headings: what the sheet calls these fields.
        """
        raw_id, raw_name = cells.get(ATHLETE_ID, ""), whole_name(cells)
        match = self.match(raw_id, raw_name)
        athlete = match.athlete
        if athlete is not None and raw_name and athlete.athlete_id not in self._names:
            self._called.setdefault(athlete.athlete_id, {})[row] = raw_name
        if not match.code:
            return athlete, []
        if match.code == ONCE:
            spelling = (row.file, row.sheet, match.details["raw"])
            if spelling in self._said:
                return athlete, []
            self._said.add(spelling)
        fields = NAMES if match.column == NAME else (ATHLETE_ID,)
        heading = next((headings[f] for f in fields if f in headings), match.column)
        at = row.at(row.row, heading)
        who = athlete.athlete_id if athlete else ""
        return athlete, [finding(match.code, at, who, **match.details)]

    def match(self, raw_id: str, raw_name: str = "") -> Match:
        """Whom an id, a name or both of them mean."""
        asked = (raw_id.strip(), raw_name.strip() if folded(raw_name) else "")
        if asked not in self._known:
            self._known[asked] = self._match(*asked)
        return self._known[asked]

    def called_twice(self) -> list[Finding]:
        """One for each row of an id that the sheets give two names, where the roster has none."""
        found = []
        for key, rows in self._called.items():
            names = [_Name.of(raw) for raw in rows.values()]
            if all(name.slips(names[0]) <= name.allowed for name in names):
                continue
            told = " and ".join(f"“{raw}”" for raw in dict.fromkeys(rows.values()))
            for row, raw in rows.items():
                at = row.at(row.row)
                found.append(finding("athlete-two-names", at, raw=raw, own=key, names=told))
        return found

    def named(self, text: str) -> list[Athlete]:
        """Everybody on the roster whose name this is, letter case, accents and order aside."""
        wanted = _Name.of(text)
        same = (key for key, name in self._names.items() if wanted.same(name))
        return [self._roster.athletes[key] for key in same]

    def holds(self, text: str) -> bool:
        """Whether a text is the id or the name of somebody on the roster."""
        return self._roster.find(text) is not None or bool(self.named(text))

    # --- the rules --------------------------------------------------------------------------

    def _match(self, raw_id: str, raw_name: str) -> Match:
        if not raw_id and not raw_name:
            return Match(None, "athlete-blank")
        if not raw_id:
            return self._by_name(raw_name, NAME)
        if raw_id.casefold() in self._roster.contested:
            return Match(None, "athlete-id-contested", details={"raw": raw_id})
        athlete = self._roster.find(raw_id)
        match = Match(athlete) if athlete else self._near_id(raw_id)
        if match.athlete is None and not match.code:
            match = self._by_name(raw_id, ATHLETE_ID)
        if match.athlete is None:
            return self._with_name_as_guess(match, raw_name)
        return self._agreeing(match, raw_name)

    def _near_id(self, raw: str) -> Match:
        """Ids that are the same but for zeros and the form of a number; a spreadsheet's doing."""
        wanted = even_id(raw)
        found = [a for key, a in self._roster.athletes.items() if even_id(key) == wanted]
        if not found:
            return Match(None)
        if len(found) > 1:
            return Match(None, "athlete-unclear", details={"raw": raw, "who": _both(found)})
        return Match(
            found[0], "athlete-id-near", details={"raw": raw, "match": found[0].athlete_id}
        )

    def _by_name(self, raw: str, column: str) -> Match:
        same = self.named(raw)
        if len(same) > 1:
            details = {"raw": raw, "who": _both(same)}
            return Match(None, "athlete-name-shared", column, details)
        if same:
            (athlete,) = same
            if " ".join(raw.split()).casefold() == " ".join(athlete.name.split()).casefold():
                return Match(athlete)
            return Match(athlete, ONCE, column, _told(raw, athlete))
        near = self._near(_Name.of(raw))
        if not near:
            known = [*self._roster.athletes, *(a.name for a in self._roster.athletes.values())]
            guess = nearest(raw, known)
            return Match(None, "athlete-unknown", column, {"raw": raw, "guess": guess})
        if len(near) > 1:
            return Match(None, "athlete-unclear", column, {"raw": raw, "who": _both(near)})
        return Match(near[0], "athlete-name-near", column, _told(raw, near[0]))

    def _near(self, wanted: _Name) -> list[Athlete]:
        """Whose name is near: one, if it is clearly the nearest, else all that it could be."""
        slips = sorted((wanted.slips(name), key) for key, name in self._names.items())
        if not slips or slips[0][0] > wanted.allowed:
            return []
        near = [key for count, key in slips if count < slips[0][0] + CLEARLY]
        return [self._roster.athletes[key] for key in near]

    def _with_name_as_guess(self, match: Match, raw_name: str) -> Match:
        """An unknown id beside a name that is known stays set aside, and names whom it may be."""
        same = self.named(raw_name) if raw_name and match.code == "athlete-unknown" else []
        if not same:
            return match
        guess = f"; the name beside it is that of {_both(same)}"
        return Match(None, match.code, match.column, {**match.details, "guess": guess})

    def _agreeing(self, match: Match, raw_name: str) -> Match:
        """The match, if the name beside the id can be the same person's."""
        athlete = match.athlete
        known = None if athlete is None else self._names.get(athlete.athlete_id)
        if athlete is None or known is None or not raw_name:
            return match
        wanted = _Name.of(raw_name)
        if wanted.same(known):
            return match
        same = self.named(raw_name)
        own = wanted.slips(known)
        nearer = [
            self._roster.athletes[key]
            for key, name in self._names.items()
            if key != athlete.athlete_id and wanted.slips(name) <= min(own, wanted.allowed)
        ]
        others = same or nearer
        if not others and (own <= wanted.allowed or wanted.short_for(known)):
            return match if match.code else Match(athlete, ONCE, NAME, _told(raw_name, athlete))
        guess = f"; it may be that of {_both(others)}" if others else ""
        details = {"raw": raw_name, "own": _both([athlete]), "guess": guess}
        return Match(None, "athlete-disagrees", NAME, details)


def _both(people: Iterable[Athlete]) -> str:
    return " and ".join(
        one.athlete_id if one.name == one.athlete_id else f"{one.name} ({one.athlete_id})"
        for one in people
    )


def _told(raw: str, athlete: Athlete) -> dict[str, str]:
    return {"raw": raw, "match": _both([athlete])}
