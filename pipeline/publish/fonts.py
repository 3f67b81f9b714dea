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

from pipeline import outgoing

FAMILY = "DejaVu Sans"
FOLDER = Path(mpl.get_data_path()) / "fonts" / "ttf"
_FACES = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
BOX = "\u25a1"
_KEPT = frozenset("\n\t\u200c\u200d")


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
    shown = dict.fromkeys(outgoing.visible(text))
    return [c for c in shown if c not in _KEPT and ord(c) not in covered]


def drawable(text: str) -> str:
    """``text`` without control characters, letters without a shape as boxes."""
    covered = _covered()
    return "".join(c if ord(c) in covered or c in _KEPT else BOX for c in outgoing.visible(text))
