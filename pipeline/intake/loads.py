"""What people write for a load: an amount, body mass and more, sets in one cell, or a plan."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from pipeline.intake import amounts
from pipeline.units import HEADING_UNITS

_BODY = re.compile(r"(?:bw|body\s?-?(?:mass|weight))(?:\s*\+\s*(?P<added>\d.*))?\Z", re.IGNORECASE)
_SETS = re.compile(
    r"(?P<sets>[1-9])\s*[x\u00d7]\s*(?P<reps>\d{1,2})\s*@\s*(?P<load>\d.*)\Z", re.IGNORECASE
)
_PLAN = re.compile(
    r"""[%@\u00d7]|\dx|\d\s+x|\bx\s*\d                    # 80%  3x5@80  80x5
    |\d\s*(?:[-\u2013/*]|to)\s*\d|\d\s*\+\Z             # 3-5  5/3/1  5+
    |\b(?:rpe|rir|amrap|max|bw|body\s?-?(?:mass|weight))|\d*rm\b""",
    re.IGNORECASE | re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Written:
    """What the cells of a set say. ``texts`` stands in place of a cell, by field."""

    texts: Mapping[str, str] = field(default_factory=dict)
    sets: int = 1
    body: bool = False
    plan: str = ""
    """The field that holds a plan and no lift, if one does."""


def read(load: str, reps: str, *, good: bool) -> Written:
    """Look behind the cells of one set.

    Args:
        load: the load cell.
        reps: the cell of repetitions, empty if there is none.
        good: whether the row says in so many words that the lift was good.

    Returns:
        ``BW+20`` is body mass counted, with 20 added. ``3x5@80`` is three sets of five at 80 only
        if the row says that it was good and gives no other number of repetitions: else it may be
        what was planned. Percentages, RPE, RM, ranges and the like are a plan.
    """
    body, sets = _BODY.match(load), _SETS.match(load)
    if body and _is_mass(body["added"] or "0"):
        return Written({"load": body["added"] or "0"}, body=True, plan=_planned(reps))
    if (
        sets
        and good
        and _is_mass(sets["load"])
        and amounts.number(reps or sets["reps"]) == float(sets["reps"])
    ):
        return Written({"load": sets["load"], "reps": sets["reps"]}, sets=int(sets["sets"]))
    if _PLAN.search(load) and not _is_mass(load):
        return Written(plan="load")
    return Written(plan=_planned(reps))


def _is_mass(text: str) -> bool:
    return amounts.read(text, HEADING_UNITS["kg"]) is not None


def _planned(reps: str) -> str:
    return "reps" if amounts.number(reps) is None and _PLAN.search(reps) else ""
