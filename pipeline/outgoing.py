"""What every text goes through before it leaves: nothing unseen, no flood, no formula.

Names, notes and cells come from outside. Pages escape them where they are made
(``report.blocks``) and the PDF gets them as data; here is what is common to all outputs.
"""

from __future__ import annotations

import re
import unicodedata

LONGEST = 200
"""A text of a cell or a setting is cut here; a sentence about it may be longer."""

LONGEST_NAME = 60
"""A person's name is cut here."""

CUT = "…"

_JOINERS = "\u200c\u200d"  # letters of some scripts, though unseen
_KEPT = frozenset("\n\t" + _JOINERS)
_UNSEEN = frozenset({"Cc", "Cf", "Cs"})
_NO_LETTERS = frozenset("\ufffe\uffff")
_ENDS_A_LINE = frozenset("\u2028\u2029")


def visible(text: str) -> str:
    """A text without what nobody sees: controls, marks that turn the reading direction, halves."""
    if text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(" " if c in _ENDS_A_LINE else c for c in text if not _unseen(c))


def _unseen(char: str) -> bool:
    if char in _KEPT:
        return False
    return unicodedata.category(char) in _UNSEEN or char in _NO_LETTERS


def cut(text: str, longest: int = LONGEST) -> str:
    """A text of at most ``longest`` letters; a longer one ends with “…”."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + CUT


def plain(text: str) -> str:
    """Visible and cut; of a list joined by ``; `` each part is cut by itself."""
    shown = visible(text)
    return shown if len(shown) <= LONGEST else "; ".join(cut(p) for p in shown.split("; "))


# --- spreadsheets ---------------------------------------------------------------------------

_FORMULA = re.compile(r"'*[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)*|[.,]\d+)([eE][+-]?\d+)?\Z")
_MARK = "'"


def for_sheet(text: str) -> str:
    """A text as it may stand in a CSV: one that a spreadsheet would run begins with ``'``.

    Numbers, signed ones too, stay as they are. ``from_sheet`` gives the text back.
    """
    if _FORMULA.match(text) and not _NUMBER.match(text):
        return _MARK + text
    return text


def from_sheet(text: str) -> str:
    """The text that ``for_sheet`` was given."""
    return text[1:] if text.startswith(_MARK) and _FORMULA.match(text) else text
