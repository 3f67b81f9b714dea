"""Names of people inside texts: found however they are written, and hidden.

Case, accents, order, joining marks and small slips make no difference. A first name by itself is a
name too. So some innocent word that looks like somebody's name is hidden with it: of the two
mistakes this is the one that tells nothing.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
import unicodedata
from collections.abc import Iterable, Iterator

from pipeline import outgoing

HIDDEN = outgoing.CUT
_WORD = re.compile(r"[^\W\d_]+")
_PARTICLES = frozenset((
    "al", "ap", "as", "az", "ben", "bin", "da", "das", "de", "del", "den", "der", "des", "di", "do",
    "dos", "du", "el", "ibn", "la", "las", "le", "les", "lo", "los", "mac", "mc", "ni", "och", "of",
    "san", "st", "te", "ten", "ter", "the", "to", "und", "van", "von", "y", "zu",
))  # fmt: skip
_SHORTEST, _SHORTEST_MISSPELT, _SHORTEST_INSIDE = 3, 4, 5
_ALIKE = 0.8  # of 1.0; a letter wrong, left out or doubled in a name of five
_OTHERWISE = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "ı": "i", "æ": "ae",
                            "œ": "oe", "þ": "th"})  # fmt: skip
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")  # fmt: skip


def folded(text: str) -> str:
    """A text without case, accents and unseen marks."""
    apart = unicodedata.normalize("NFKD", outgoing.visible(text).casefold())
    return "".join(c for c in apart if not unicodedata.combining(c)).translate(_OTHERWISE)


def words(text: str) -> set[str]:
    """The words of a text, folded."""
    return {folded(match.group()) for match in _WORD.finditer(_composed(text))}


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", outgoing.visible(text))


def initials(name: str) -> str:
    """The first letters of a name, ``B. O.``; empty where a letter would be a whole name."""
    firsts = [part[0] for part in outgoing.visible(name).split()]
    if not all(c.lower() != c.upper() for c in firsts):
        return ""
    return " ".join(f"{c}." for c in firsts)


class Names:
    """The names and birth dates of some people.

    Args:
        people: name and birth date of each; a name that is no name (the id again) is to be left
            out by the caller.
        kept: folded words that are no name where they stand alone, such as those of headings.
    """

    def __init__(
        self, people: Iterable[tuple[str, dt.date | None]], kept: frozenset[str] = frozenset()
    ) -> None:
        self._kept = kept
        self._parts: set[str] = set()
        self._short: set[str] = set()
        self._unspaced: set[str] = set()
        self._whole: set[str] = set()
        dates: set[str] = set()
        for name, born in people:
            self._add(name)
            dates |= set() if born is None else set(_written(born))
        self._misspelt = sorted(p for p in self._parts if len(p) >= _SHORTEST_MISSPELT)
        self._starts = tuple(sorted(p for p in self._parts if len(p) >= _SHORTEST_INSIDE))
        told = "|".join(map(re.escape, sorted(dates)))
        self._dates = re.compile(rf"(?<!\d)(?:{told})(?!\d)", re.IGNORECASE) if told else None
        self._known: dict[str, bool] = {}

    def _add(self, name: str) -> None:
        parts = [m.group() for m in _WORD.finditer(_composed(name))]
        plain = [folded(part) for part in parts]
        for part, one in zip(parts, plain, strict=True):
            if one in _PARTICLES:
                continue
            if not part.isascii() and part.lower() == part.upper():
                self._unspaced.add(one)  # a script without capitals may have no blanks either
            elif len(one) >= _SHORTEST:
                self._parts.add(one)
            elif len(one) > 1:
                self._short.add(part)
        joined = {"".join(plain), "".join(reversed(plain))}
        self._whole |= {one for one in joined if len(one) > _SHORTEST_INSIDE}

    def _is_name(self, word: str) -> bool:
        """Whether a word as written is, or may be, part of somebody's name."""
        if word not in self._known:
            one = folded(word)
            self._known[word] = (
                word in self._short
                or (one not in self._kept and self._alike(one))
                or any(whole in one for whole in self._whole)
                or any(part in one for part in self._unspaced)
            )
        return self._known[word]

    def _alike(self, one: str) -> bool:
        return (
            one in self._parts
            or one.startswith(self._starts)
            or (
                len(one) >= _SHORTEST_MISSPELT
                and bool(difflib.get_close_matches(one, self._misspelt, 1, _ALIKE))
            )
        )

    def _found(self, text: str) -> Iterator[tuple[int, int]]:
        """Where names and birth dates stand in a composed text."""
        for match in _WORD.finditer(text):
            if self._is_name(match.group()):
                yield match.span()
        if self._dates is not None and any(c.isdigit() for c in text):
            for match in self._dates.finditer(text):
                yield match.span()

    def inside(self, text: str) -> bool:
        """Whether a text holds a name or a birth date of these people."""
        return next(self._found(_composed(text)), None) is not None

    def note(self, text: str) -> str:
        """A remark, hidden whole if it holds a name: what surrounds a name tells too."""
        return HIDDEN if self.inside(text) else text

    def without(self, text: str) -> str:
        """A text in which each name and birth date is hidden; the rest stays."""
        shown = _composed(text)
        spans = sorted(self._found(shown), reverse=True)
        if not spans:
            return text
        for start, end in spans:
            shown = shown[:start] + HIDDEN + shown[end:]
        return re.sub(rf"{HIDDEN}(?:[\s._-]*{HIDDEN})+", HIDDEN, shown)


def _written(born: dt.date) -> Iterator[str]:
    """A birth date as people write it."""
    year, month, day = born.year, born.month, born.day
    yield from (f"{year}-{month:02}-{day:02}", f"{year}{month:02}{day:02}", f"{year}-{month}-{day}")
    for mark in "./-":
        for first, second in ((day, month), (month, day)):
            yield f"{first:02}{mark}{second:02}{mark}{year}"
            yield f"{first}{mark}{second}{mark}{year}"
            yield f"{first:02}{mark}{second:02}{mark}{year % 100:02}"
        yield f"{year}{mark}{month:02}{mark}{day:02}"
    for name in (_MONTHS[month - 1], _MONTHS[month - 1][:3]):
        yield from (f"{day} {name} {year}", f"{name} {day}, {year}", f"{name} {day} {year}")
