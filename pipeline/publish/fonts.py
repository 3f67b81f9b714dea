"""The fonts of a page: shipped in pinned packages only, and what they can draw.

A system font would change the bytes from one machine to the next; a letter without a shape would
stop a tagged PDF or vanish from it. So coverage is checked first and a missing letter is replaced
by a box, which is said in a finding.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import matplotlib as mpl
from fontTools.ttLib import TTFont

FAMILY = "DejaVu Sans"
FOLDER = Path(mpl.get_data_path()) / "fonts" / "ttf"
_FACES = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
BOX = "\u25a1"
_BLANKS = frozenset("\n\t")


@cache
def _covered() -> frozenset[int]:
    """Code points that every face we use can draw."""
    maps = []
    for face in _FACES:
        with TTFont(FOLDER / face, lazy=True) as font:
            maps.append(frozenset(font.getBestCmap()))
    return maps[0].intersection(*maps[1:])


def missing(text: str) -> list[str]:
    """The letters of ``text`` that no shipped font can draw, each once, in order."""
    covered = _covered()
    return [c for c in dict.fromkeys(text) if c not in _BLANKS and ord(c) not in covered]


def drawable(text: str) -> str:
    """``text`` with control characters dropped and letters without a shape as boxes."""
    covered = _covered()
    if all(ord(c) in covered or c in _BLANKS for c in text):
        return text
    return "".join(
        c if ord(c) in covered or c in _BLANKS else BOX
        for c in text
        if c in _BLANKS or ord(c) in covered or c.isprintable()
    )
