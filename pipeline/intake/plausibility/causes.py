"""What a slip of the pen or of a unit looks like, and which value it would have been.

The mended value is only ever proposed in a sentence; nothing is computed from it.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from pipeline.intake.amounts import number

POUND_KG = 0.45359237

SLIPS: tuple[tuple[float, str], ...] = (
    (1e-3, "thousandths written as whole units (ms as s?)"),
    (1e-2, "hundredths written as whole units (cm as m?)"),
    (1e-1, "the decimal point one place too far right"),
    (1 / 4, "a slow-motion clip, its times 4 times too long"),
    (1 / 8, "a slow-motion clip, its times 8 times too long"),
    (1e1, "the decimal point one place too far left"),
    (1e2, "whole units written as hundredths (m as cm?)"),
    (POUND_KG, "pounds written as kilograms"),
)
"""Factor that would bring the value back, and the slip it betrays."""

_ONLY_OF = {"pounds": "kg", "kilograms": "kg", "a": "s"}
"""The unit a slip belongs to, by its first word: pounds are masses, clips are times."""

SLOW_SLIPS = tuple(sorted((p for p in SLIPS if p[0] < 1), key=lambda p: "clip" not in p[1]))
LOAD_SLIPS = tuple(pair for pair in reversed(SLIPS) if pair[0] in (1e-1, POUND_KG))

_BY_FACTOR = (*SLIPS, (1 / POUND_KG, "kilograms written as pounds"))


def belongs(slip: str, units: set[str]) -> bool:
    """Whether a slip may befall values of these units."""
    return _ONLY_OF.get(slip.split(maxsplit=1)[0], "") in {"", *units}


def clause(slip: str) -> str:
    """A slip as the closing clause of a sentence."""
    return f"; likely {slip}" if slip else ""


@dataclass(frozen=True, slots=True)
class Cause:
    """A slip in words, and the value in SI it would have been."""

    slip: str
    value: float

    def clause(self, shown: str) -> str:
        """As a closing clause that proposes a value, as it is shown."""
        return f"; likely {self.slip}: {shown} would fit, and was not used"


def likely(raw: str, value: float, unit: str, fits: Callable[[float], bool]) -> Cause | None:
    """The slip that explains a value best: a unit or a decimal point, then digits.

    Args:
        raw: the cell as it was written.
        value: what was read from it, in SI.
        unit: its SI unit.
        fits: whether a value in SI would be in line with the athlete's others.
    """
    for factor, slip in _BY_FACTOR:
        if belongs(slip, {unit}) and fits(value * factor):
            return Cause(slip, value * factor)
    written = number(raw)
    if not written:
        return None
    scale = value / written
    for slip, text in _miswritten(raw):
        meant = number(text)
        if meant is not None and fits(meant * scale):
            return Cause(slip, meant * scale)
    return None


def one_digit(raw: str, value: float, fits: Callable[[float], bool]) -> Cause | None:
    """The only other digit in one place that would bring a value in line; none if several would."""
    written = number(raw)
    if not written:
        return None
    found = {
        meant * value / written
        for at, digit in enumerate(raw)
        if digit.isdigit()
        for other in "0123456789"
        if other != digit
        and (meant := number(raw[:at] + other + raw[at + 1 :])) is not None
        and fits(meant * value / written)
    }
    return Cause("one digit wrong", min(found)) if len(found) == 1 else None


_DIGITS = re.compile(r"\d")


def _miswritten(raw: str) -> Iterator[tuple[str, str]]:
    """What may have been meant: digits exchanged, one too many, one too few."""
    places = [found.start() for found in _DIGITS.finditer(raw)]
    for one, other in itertools.pairwise(places):
        if raw[one] != raw[other]:
            text = list(raw)
            text[one], text[other] = raw[other], raw[one]
            yield "two digits exchanged", "".join(text)
    for one, other in itertools.pairwise(places):
        if raw[one] == raw[other]:
            yield "a digit written twice", raw[:other] + raw[other + 1 :]
    for at in places:
        yield "a double digit written once", raw[:at] + raw[at] + raw[at:]
