"""Signs that people put beside a result: timed by hand, too much wind, a best, another source."""

from __future__ import annotations

import re
from dataclasses import dataclass

_BESTS = r"=?(?:pb|sb|pr)"
_STAR = re.compile(r"\*+\s*(?P<core>.*\d.*)\Z|(?P<before>.*\d.*?)\s*\*+\Z")
_BEST = re.compile(
    rf"(?:{_BESTS})\s*(?P<core>\d.*)\Z|(?P<before>.*\d.*?)\s*\(?{_BESTS}\)?\Z", re.IGNORECASE
)
_HAND = re.compile(r"(?P<core>.*\d)\s*h\.?\Z", re.IGNORECASE)
_WIND = re.compile(r"(?P<core>.*\d\s*h?\.?)\s*w\Z", re.IGNORECASE)

_LONGEST = 60
"""Characters of a result with its signs; the patterns take for ever over a cell of thousands."""


@dataclass(frozen=True, slots=True)
class Marked:
    """A cell without its signs, and which there were."""

    text: str
    hand: bool = False
    windy: bool = False
    star: bool = False
    best: bool = False


def read(text: str, *, run: bool) -> Marked:
    """Part a cell from the signs beside its number.

    Args:
        text: the cell.
        run: whether it is the time of a run; only there ``h`` and ``w`` mean something.
    """
    if len(text) > _LONGEST:
        return Marked(text)
    core, star, best, hand, windy = text, False, False, False, False
    for _ in range(3):  # in whatever order they stand
        core, found = _without(_STAR, core)
        star |= found
        core, found = _without(_BEST, core)
        best |= found
    if run:
        core, windy = _without(_WIND, core)
        core, hand = _without(_HAND, core)
    return Marked(core, hand=hand, windy=windy, star=star, best=best)


def _without(sign: re.Pattern[str], text: str) -> tuple[str, bool]:
    found = sign.match(text)
    if found is None:
        return text, False
    groups = found.groupdict()
    return (groups["core"] or groups.get("before") or "").strip(), True
