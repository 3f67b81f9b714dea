"""The words people write above a column and for a unit: reads ``words.toml``, the one list."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from typing import Any

from pipeline.units import HEADING_UNITS

_TABLE: dict[str, Any] = tomllib.loads(
    (resources.files("pipeline.intake") / "words.toml").read_text(encoding="utf-8")
)
UNITS: Mapping[str, tuple[str, ...]] = {
    ending: tuple(word.casefold() for word in words) for ending, words in _TABLE["units"].items()
}
"""How people write each unit, letter case aside, by the ending of a heading."""

LANGUAGES: tuple[str, ...] = tuple(_TABLE["headings"])

_LETTERS = str.maketrans({"ł": "l", "Ł": "l", "ø": "o", "Ø": "o", "æ": "ae", "Æ": "ae",
                          "œ": "oe", "Œ": "oe", "đ": "d", "Đ": "d"})  # fmt: skip
_TWO_LETTERS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe",
                              "Ä": "ae", "Ö": "oe", "Ü": "ue", "Å": "aa", "Ø": "oe"})  # fmt: skip
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_MARKS = re.compile(r"[^\w.°]+|(?<!\d)\.|\.(?!\d)")


def plain(text: str) -> str:
    """Case, accents, blanks and punctuation evened out; ``Flight time [ms]`` is flight_time_ms."""
    parted = unicodedata.normalize("NFKD", text.translate(_LETTERS).casefold())
    text = "".join(c for c in parted if not unicodedata.combining(c)).casefold()
    text = _MARKS.sub("_", _DECIMAL_COMMA.sub(".", text))
    return re.sub(r"__+", "_", text).strip("_")


def spellings(word: str) -> set[str]:
    """A word evened out, and as people without its letters spell it (Größe, Groesse)."""
    return {plain(word), plain(unicodedata.normalize("NFC", word).translate(_TWO_LETTERS))}


def words_of(kind: str, field: str, language: str) -> tuple[str, ...]:
    """The words for a field in one kind of sheet and one language."""
    table = _TABLE["headings"][language]
    return tuple(table.get(f"{kind}.{field}", table.get(field, ())))


@cache
def headings(kind: str, fields: tuple[str, ...]) -> Mapping[str, str]:
    """Every evened-out heading of a kind of sheet → its field; a field's own name goes first."""
    known: dict[str, str] = {field: field for field in fields}
    for field in fields:
        for language in LANGUAGES:
            for word in words_of(kind, field, language):
                for spelled in sorted(spellings(word)):
                    known.setdefault(spelled, field)
    return known


ENDINGS: Mapping[str, str] = {
    **{plain(word): ending for ending, words in UNITS.items() for word in words if plain(word)},
    **{ending: ending for ending in HEADING_UNITS},
}
"""Every evened-out way of writing a unit → the ending it stands for."""


def unit_named(text: str) -> str:
    """The ending of the unit that a text is (brackets aside), or nothing."""
    inner = text.strip().strip("[](){}").strip().casefold()
    exact = (ending for ending, words in UNITS.items() if inner in words)
    return next(exact, ENDINGS.get(plain(inner), ""))


def split_words(sort: str) -> frozenset[str]:
    """Evened-out words that stand beside a split's distance: ``cumulative`` or ``segment``."""
    return frozenset(s for word in _TABLE["split"][sort] for s in spellings(word))


@cache
def layout_words(sort: str) -> frozenset[str]:
    """Evened-out words in a heading that say which results are meant: ``left``, ``summary``."""
    return frozenset(s for word in _TABLE["layout"][sort] for s in spellings(word))


@cache
def _sexes() -> Mapping[str, str]:
    return {s: sex for sex, words in _TABLE["sex"].items() for w in words for s in spellings(w)}


def sex(text: str, beside: Iterable[str]) -> str:
    """``F`` or ``M`` for a cell, else nothing; ``beside`` are the cells of its column.

    Where a column has both H and M, M may be *mujer* and is not taken for a man.
    """
    short = plain(text)
    if short == "m" and any(plain(cell) == "h" for cell in beside):
        return ""
    return _sexes().get(short, "")


@cache
def unsure() -> Mapping[str, tuple[str, ...]]:
    """Evened-out headings that may be several fields, and which."""
    return {s: tuple(f) for word, f in _TABLE["unsure"].items() for s in spellings(word)}
