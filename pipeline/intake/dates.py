"""Dates as people write them: a column decides which number is the day, or it is asked for."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.battery import DATE_ORDERS

DATE_LIKE = "date like 2026-10-13"
_DAY_FIRST, _MONTH_FIRST = DATE_ORDERS
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAMED = re.compile(
    r"(?:(?P<day>\d{1,2})(?:st|nd|rd|th)?[-\s./]+(?P<month>[a-z]{3,9})|"
    r"(?P<first>[a-z]{3,9})[-\s./]+(?P<second>\d{1,2})(?:st|nd|rd|th)?),?[-\s./]+(?P<year>\d{4})\Z",
    re.IGNORECASE,
)
_NUMBERS = re.compile(
    r"(?P<one>\d{1,2})(?P<mark>[-./])\s?(?P<two>\d{1,2})(?P=mark)\s?(?P<year>\d{4})\Z"
)
_MIDNIGHT = re.compile(r"[T ]00:00(?::00)?(?:\.0+)?\Z")
_LAST_MONTH = 12


@dataclass(frozen=True, slots=True)
class Dates:
    """How a column writes its dates.

    ``order`` is one of DATE_ORDERS, empty where neither its cells nor a setting say.
    """

    order: str

    @classmethod
    def of(cls, texts: Iterable[str], stated: str = "") -> Dates:
        """What a column's cells say; ``stated`` (a setting) goes before them.

        One first number over 12 makes the whole column day first, one second number over 12 month
        first; a column with both says nothing.
        """
        if stated:
            return cls(stated)
        said = {_order(found) for text in texts if (found := _NUMBERS.match(_bare(text)))} - {""}
        return cls(said.pop() if len(said) == 1 else "")

    def read(self, text: str) -> dt.date | None:
        """The date a text is; ``None`` where it is none, or may be two.

        ISO dates and named months are clear by themselves, and so is 13/09/2026. A year of two
        digits is none.
        """
        plain = _bare(text)
        try:
            return dt.date.fromisoformat(plain)
        except ValueError:
            pass
        named, numbers = _NAMED.match(plain), _NUMBERS.match(plain)
        if named is not None:
            month = (named["month"] or named["first"]).casefold()
            return _date(named["year"], _month(month), named["day"] or named["second"])
        if numbers is None:
            return None
        order = self.order or _order(numbers)
        if not order and int(numbers["one"]) != int(numbers["two"]):
            return None
        one, two = numbers["one"], numbers["two"]
        day, month = (one, two) if order == _DAY_FIRST else (two, one)
        return _date(numbers["year"], month, day)

    def is_ambiguous(self, text: str) -> bool:
        """Whether a text is a date that may be one of two, since nothing says which."""
        numbers = _NUMBERS.match(_bare(text))
        if numbers is None or self.order:
            return False
        one, two = int(numbers["one"]), int(numbers["two"])
        return one != two and max(one, two) <= _LAST_MONTH


NOT_SAID = Dates("")
"""Of a sheet that has no column of dates."""


def _bare(text: str) -> str:
    return _MIDNIGHT.sub("", text.strip())


def _order(found: re.Match[str]) -> str:
    """The order that one date shows: a month is none over 12; 03/03 is the same both ways."""
    one, two = int(found["one"]), int(found["two"])
    if one > _LAST_MONTH >= two:
        return _DAY_FIRST
    return _MONTH_FIRST if two > _LAST_MONTH >= one else ""


def _month(word: str) -> int:
    """A month by its English name or the first letters of it; 0 for any other word."""
    names = [name for name in _ENGLISH if name.startswith(word) or word == "sept"]
    return _MONTHS.index(word[:3]) + 1 if names and word[:3] in _MONTHS else 0


_ENGLISH = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip


def _date(year: str, month: str | int, day: str) -> dt.date | None:
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        return None
