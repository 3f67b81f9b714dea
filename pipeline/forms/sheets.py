"""The paper for the trackside: a front page, and for each station its protocol and its lines.

The lines are those of the files (``rows.block``), and some more with nobody's name. Only ids and
names of people are printed. Everything here is data for ``templates/typst/sheets.typ``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pipeline.battery import Battery, TestPlan
from pipeline.forms.rows import BODY, Block, Person, who_does
from pipeline.forms.wording import CONDITIONS, heading, say, split_unit
from pipeline.protocols import Protocol

PAPERS = {"A4": "a4", "Letter": "us-letter"}
"""Paper by the name it is asked for → what Typst calls it."""

WALK_INS = 2
"""People more than on the list for whom each station has lines."""

_LONGEST_NAME = 48
"""Letters of a name that paper has room for."""

_ALWAYS = ("date", "time", "observer", "venue")
_AIR = ("indoor", "surface", "footwear", "temperature", "pressure", "altitude")
_RUN = (*_AIR, "timing", "beams", "clock", "start", "start distance")
_ON_A_MAT = ("indoor", "surface", "footwear", "device")
ASKED_FOR: dict[str, tuple[str, ...]] = {
    BODY: ("date", "time", "observer", "scales"),
    "sprint": (*_ALWAYS, *_RUN),
    "flying": (*_ALWAYS, *_AIR, "timing", "beams"),
    "repeated": (*_ALWAYS, *_RUN),
    "jump": (*_ALWAYS, *_ON_A_MAT),
    "distance jump": (*_ALWAYS, "indoor", "surface", "footwear"),
    "drop jump": (*_ALWAYS, *_ON_A_MAT, "drop"),
    "rebound": (*_ALWAYS, *_ON_A_MAT),
    "isometric": (*_ALWAYS, "footwear", "device", "leg"),
    "lift": (*_ALWAYS, "footwear", "depth"),
    "other": (*_ALWAYS, *_AIR, "device"),
}
"""What is asked for in the box of a station, by kind of test: keys of ``wording.CONDITIONS``."""

_GIVEN = frozenset(
    {"athlete_id", "name", "test", "lift", "side", "attempt", "set", "rep", "drop_height_cm"}
)
"""Columns that the sheet fills in itself; a walk-in's id and name are left to be written."""


def pages(
    people: Sequence[Person], blocks: Sequence[Block], battery: Battery, season: str
) -> dict[str, Any]:
    """The whole pack as data.

    Args:
        people: the day's list, in running order.
        blocks: with lines for walk-ins, in the order of the stations.
        battery: for the protocols.
        season: the folder's name, where the battery gives the season none.
    """
    stations = [
        _station(number, one, people, battery) for number, one in enumerate(blocks, start=1)
    ]
    return {
        "title": say("title"),
        "season": battery.season or season,
        "note": say("front note"),
        "cautions": {
            "heading": say("cautions heading"),
            "lines": [say(f"caution {key}") for key in ("effort", "minors", "pain", "sheets")],
        },
        "day": {
            "heading": say("stations heading"),
            "caption": say("stations caption"),
            "columns": [say(f"col {k}") for k in ("station", "people", "attempts", "rest", "page")],
            "rows": [
                [one["heading"], str(one["people"]), one["attempts"], one["rest"]]
                for one in stations
            ],
        },
        "people": {
            "heading": say("people heading"),
            "caption": say("people caption"),
            "columns": [say(f"col {key}") for key in ("number", "id", "name", "here")],
            "rows": [
                [str(number), person.athlete_id, _short(person.name)]
                for number, person in enumerate(people, start=1)
            ],
        },
        "conditions": say("conditions"),
        "walk_in": say("walk-in"),
        "stations": stations,
    }


def _station(number: int, one: Block, people: Sequence[Person], battery: Battery) -> dict[str, Any]:
    plan = battery.tests.get(one.test)
    name = one.test or say("station body")
    protocol: Protocol | TestPlan = battery.body if plan is None else plan
    notes = {
        "how": plan.protocol if plan else "",
        "order": protocol.order,
        "rest": protocol.rest,
        "no mark": protocol.no_mark,
    }
    doing = len(who_does(plan, people))
    columns = [column for column in one.columns if column not in ("test", "lift")]
    return {
        "heading": say("station heading", number=number, name=name),
        "running": say("continued", number=number, name=name),
        "people": doing,
        "attempts": _attempts(plan),
        "rest": protocol.rest,
        "nobody": "" if doing else say("nobody"),
        "notes": [{"lead": say(key), "text": text} for key, text in notes.items() if text],
        "file": say("sheet note", file=one.sheet),
        "conditions": [CONDITIONS[key] for key in ASKED_FOR[plan.kind if plan else BODY]],
        "caption": say("caption", name=name) if plan else say("caption body"),
        "columns": [
            {
                "key": column,
                "heading": heading(column, plan.unit if plan and column == "value" else ""),
                "given": column in _GIVEN,
                "words": not split_unit(column)[1],
            }
            for column in columns
        ],
        "together": one.together,
        "rows": [[_short(row.get(column, "")) for column in columns] for row in one.rows],
    }


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 1]}…"


def _attempts(plan: TestPlan | None) -> str:
    """How many attempts one person has, in words."""
    if plan is None:
        return say("attempts body")
    number = plan.sets if plan.kind == "lift" else plan.attempts
    kinds = {"lift": "sets", "rebound": "series", "repeated": "reps"}
    boxes = ", ".join(f"{height:g}" for height in plan.drop_heights_cm)
    how = kinds.get(plan.kind, "boxes" if boxes else "one")
    text = say(f"attempts {how}", attempts=number, boxes=boxes, rebounds=plan.rebounds)
    return say("attempts sides", attempts=text) if plan.sides else text
