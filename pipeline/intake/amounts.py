"""A cell's amount: a number as people write it, with or without a unit of its own."""

from __future__ import annotations

import re
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


def number(text: str) -> float | None:
    """A number as people write it, point or comma; ``None`` if it is none.

    One mark alone is the decimal mark (``1.805`` is less than two); with thousands in groups of
    three the other one is: ``1.805,00`` and ``1,805.00`` are the same.
    """
    plain = text.strip()
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
    plain = text.strip()
    value = number(plain)
    if value is not None:
        return None if unit and unit.larger else Amount(value, last_digit(plain), unit)
    if unit is None or len(plain) > _LONGEST_NUMBER:
        return None
    plain = plain.casefold()
    for ending, pair in _PAIRS:
        found = _PAIRED[ending].match(plain) or (_HYPHENED.match(plain) if pair == unit else None)
        if found:
            return _pair(found, pair)
    own = _WITH_UNIT.match(plain)
    value = number(own["number"]) if own else None
    if own is None or value is None or own["word"] not in _UNIT_OF:
        return None
    return Amount(value, last_digit(own["number"]), _UNIT_OF[own["word"]])


def _pair(found: re.Match[str], unit: Unit) -> Amount | None:
    """Both parts counted in the smaller unit; ``None`` where that would make one of the larger."""
    smaller, size = number(found["smaller"]), in_one(unit)
    if smaller is None or smaller >= size:
        return None
    return Amount(int(found["larger"]) * size + smaller, last_digit(found["smaller"]), unit)
