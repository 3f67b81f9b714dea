"""A cell's amount: a number as people write it, with or without a unit of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.intake.words import UNITS
from pipeline.units import HEADING_UNITS, Unit, in_one

_NUMBER = re.compile(
    r"""[+-]?(
        (?P<plain>\d+([.,]\d*)?|[.,]\d+)          # 7.70  7,70
        |(?P<point>\d{1,3}(,\d{3})+(\.\d*)?)      # 1,805.00
        |(?P<comma>\d{1,3}(\.\d{3})+(,\d*)?)      # 1.805,00
        |(?P<blank>\d{1,3}([ \u00a0\u202f]\d{3})+([.,]\d*)?)  # 1 805,00
    )\Z""",
    re.VERBOSE,
)
_LONGEST_NUMBER = 30
_FULL_WIDTH = {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
_EVEN = str.maketrans(
    {**_FULL_WIDTH, **dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2212"), "-"),
     **dict.fromkeys(map(ord, "\u2007\u2009\u3000"), " ")}
)  # fmt: skip
"""Letters and digits of full width, and the dashes and blanks of typesetting, as a keyboard's."""


def _even(text: str) -> str:
    return text.translate(_EVEN).strip()


def number(text: str) -> float | None:
    """A number as people write it, point or comma; ``None`` if it is none.

    One mark alone is the decimal mark (``1.805`` is less than two); with thousands in groups of
    three the other one is: ``1.805,00`` and ``1,805.00`` are the same.
    """
    plain = _even(text)
    found = _NUMBER.match(plain) if len(plain) <= _LONGEST_NUMBER else None
    if found is None:
        return None
    if found["plain"] or found["blank"]:
        plain = re.sub(r"[ \u00a0\u202f]", "", plain).replace(",", ".")
    elif found["point"]:
        plain = plain.replace(",", "")
    else:
        plain = plain.replace(".", "").replace(",", ".")
    return float(plain)


def last_digit(text: str) -> float:
    """The step of the last digit written: 0.01 for ``1.80``, 1 for ``74``."""
    digits = re.search(r"[.,](\d+)\s*$", text)
    return 10.0 ** -len(digits.group(1)) if digits else 1.0


@dataclass(frozen=True, slots=True)
class Amount:
    """A number and its last digit's step, both counted in ``unit``; no unit for a plain count."""

    value: float
    step: float
    unit: Unit | None


_UNIT_OF = {
    word: HEADING_UNITS[ending]
    for ending, words in UNITS.items()
    for word in words
    if not HEADING_UNITS[ending].larger
}
_ENDING_OF = {word: ending for ending, words in UNITS.items() for word in words}
_PAIRS = tuple((ending, unit) for ending, unit in HEADING_UNITS.items() if unit.larger)
_WITH_UNIT = re.compile(
    r"(?P<number>[\d.,+\- \u00a0\u202f]*\d)\s*(?P<word>[^\d\s.,+-][^\d]*?)\.?\Z"
)
_HYPHENED = re.compile(r"(?P<larger>\d{1,3})-(?P<smaller>\d{1,2}(?:[.,]\d+)?)\Z")


def _either(ending: str) -> str:
    words = sorted(UNITS[ending], key=len, reverse=True)
    return "|".join(re.escape(word) for word in words)


_PAIRED = {
    ending: re.compile(
        rf"(?P<larger>\d{{1,3}})\s*(?:{_either(unit.larger)})\.?\s*-?\s*"
        rf"(?P<smaller>\d{{1,2}}(?:[.,]\d+)?)\s*(?:(?:{_either(ending.split('_')[1])})\.?)?\Z"
    )
    for ending, unit in _PAIRS
}
"""``6'2"``, ``6 ft 2 in``, ``10 st 4``: the larger unit is named, the smaller may be."""


def read(text: str, unit: Unit | None) -> Amount | None:
    """What a cell says under a heading in ``unit`` (none: a count); ``None`` if nothing clear.

    A unit the cell names itself goes before the heading's; the caller sees it in ``Amount.unit``.
    Feet with inches and stones with pounds are read as a pair, and with a hyphen (``6-2``) only
    under a heading that says so; inches must be fewer than 12, pounds than 14.
    """
    plain = _even(text)
    value = number(plain)
    if value is not None:
        return None if unit and unit.larger else Amount(value, last_digit(plain), unit)
    if unit is None or len(plain) > _LONGEST_NUMBER:
        return None
    plain = plain.casefold()
    if unit.dimension == "time" and unit is not HEADING_UNITS["frames"] and ":" in plain:
        return _clock(plain)
    for ending, pair in _PAIRS:
        found = _PAIRED[ending].match(plain) or (_HYPHENED.match(plain) if pair == unit else None)
        if found:
            return _pair(found, pair)
    own = _WITH_UNIT.match(plain)
    value = number(own["number"]) if own else None
    if own is None or value is None or own["word"] not in _UNIT_OF:
        return None
    return Amount(value, last_digit(own["number"]), _UNIT_OF[own["word"]])


_CLOCK = re.compile(
    r"(?:(?P<hours>\d{1,2}):(?=\d{2}:))?(?P<minutes>\d{1,2}):(?P<seconds>[0-5]\d)"
    r"(?:[.,](?P<part>\d{1,9}))?\Z"
)
_FINEST_CLOCK = 3


def _clock(text: str) -> Amount | None:
    """Minutes and seconds, ``1:02.35``; ``7:42`` may be hours and minutes and is not read."""
    found = _CLOCK.match(text)
    if found is None or not (found["hours"] or found["part"]):
        return None
    part = found["part"] or ""
    if len(part) > _FINEST_CLOCK:  # a spreadsheet's own zeros
        part = part.rstrip("0").ljust(_FINEST_CLOCK, "0")
    whole = 3600 * int(found["hours"] or 0) + 60 * int(found["minutes"]) + int(found["seconds"])
    value = float(f"{whole}.{part or 0}")
    return Amount(value, 10.0 ** -len(part), HEADING_UNITS["s"])


_A_DAY = 86_400
_SHORT_DECIMALS, _LONG_DECIMALS = 6, 9


def as_part_of_day(text: str) -> float | None:
    """The seconds that a number is as a fraction of a day, if it looks like a spreadsheet's time.

    It does with more decimals than a watch has, where it is under a thousandth of a second or a
    whole number of seconds of a day.
    """
    value, step = number(text), last_digit(text)
    if value is None or not 0 < value < 1 or step > 10.0**-_SHORT_DECIMALS:
        return None
    seconds = value * _A_DAY
    if value < HEADING_UNITS["ms"].factor:
        return seconds
    close = step * _A_DAY + 1e-9
    whole = step <= 10.0**-_LONG_DECIMALS and abs(seconds - round(seconds)) <= close
    return seconds if whole else None


_THREE = re.compile(r"[+-]?[1-9]\d{0,2}(?P<mark>[.,])\d{3}\Z")
_DECIMAL = re.compile(r"[+-]?\d*(?:[ \u00a0\u202f.,]?\d{3})*(?P<mark>[.,])\d+\Z")


def doubtful(texts: Iterable[str]) -> set[int]:
    """Which numbers of a column may be decimals or thousands: ``1.805`` beside ``1,80``.

    The column decides: where another number of it has the other mark before its decimals, three
    digits after this one may be either.
    """
    plain = [_even(text) for text in texts]
    three = {at: found["mark"] for at, text in enumerate(plain) if (found := _THREE.match(text))}
    decimal = {
        found["mark"]
        for at, text in enumerate(plain)
        if at not in three and number(text) is not None and (found := _DECIMAL.match(text))
    }
    return {at for at, mark in three.items() if decimal - {mark}}


_AS_DATE = re.compile(
    r"\d{1,2}[-. /](?:[a-z]{3,9}|\d{1,2})(?:[-. /]\d{2,4})?\Z|[a-z]{3,9}[-. /]\d{1,4}\Z"
    r"|\d{4}-\d{2}-\d{2}(?:[ t].*)?\Z",
    re.IGNORECASE,
)
_MONTH = re.compile(r"[a-z]{3}", re.IGNORECASE)


def looks_like_date(text: str) -> bool:
    """Whether a cell holds a date, as a spreadsheet makes of ``6-2`` (``2-Jun``)."""
    found = _AS_DATE.match(_even(text))
    return found is not None and bool(_MONTH.search(text) or re.search(r"\d{4}", text))


def ending_of(text: str) -> str:
    """The heading's ending for the unit that a cell names itself; nothing where it names none."""
    own = _WITH_UNIT.match(text.strip().casefold()) if len(text) <= _LONGEST_NUMBER else None
    return _ENDING_OF.get(own["word"], "") if own else ""


def _pair(found: re.Match[str], unit: Unit) -> Amount | None:
    """Both parts counted in the smaller unit; ``None`` where that would make one of the larger."""
    smaller, size = number(found["smaller"]), in_one(unit)
    if smaller is None or smaller >= size:
        return None
    return Amount(int(found["larger"]) * size + smaller, last_digit(found["smaller"]), unit)
