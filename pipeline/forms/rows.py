"""Which rows and columns a day's sheets have. Files and paper are both made from these.

A *block* is what one test asks of everybody who does it; the blocks of one file stand below each
other in it, and each has a page of its own on paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.battery import Battery, TestPlan
from pipeline.forms.wording import gate

BODY, STATUS, TRACES = "body", "status", "force/traces"
SHEETS: dict[str, str] = {
    "sprint": "sprints", "flying": "sprints", "repeated": "sprints",
    "jump": "jumps", "distance jump": "jumps",
    "drop jump": "drop_jumps", "rebound": "rebounds", "isometric": TRACES,
    "lift": "lifts", "other": "other",
}  # fmt: skip
"""Which file of the day a kind of test stands in."""

NAMED_BY = {"lifts": "lift", "drop_jumps": "", BODY: ""}
"""The column that names the test, where it is not ``test``."""

STATUS_COLUMNS = ("athlete_id", "test", "status", "reason")

SIDES = ("left", "right")
_IN_ROUNDS = frozenset({"sprint", "flying", "other"})
"""Kinds in which everybody takes the first attempt before anybody takes the second."""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody on the list: the words a test's ``who`` may name are groups and events."""

    athlete_id: str
    name: str
    words: frozenset[str] = frozenset()


WALK_IN = Person("", "")
"""Somebody not on the list: a row to be filled in by hand."""

Row = Mapping[str, str]
"""Heading → cell; a heading that is absent is a blank cell."""


@dataclass(frozen=True, slots=True)
class Block:
    """The rows of one test, or of body.

    Attributes:
        sheet: the file, without its ending.
        test: the test's name; blank for body.
        columns: the headings, in order.
        rows: the planned rows, what is to be measured left blank.
        together: how many rows of one person follow each other.
    """

    sheet: str
    test: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    together: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """One file of a day: headings, and rows with a cell for each."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def stations(battery: Battery, chosen: Sequence[str]) -> list[TestPlan | None]:
    """The day's tests in the order of their stations; ``None`` stands for body.

    Args:
        battery: the season's.
        chosen: names of tests; if none, those the battery plans; if it plans none, all.
    """
    names = chosen or battery.planned or tuple(battery.tests)
    plans: list[TestPlan | None] = [battery.tests[name] for name in names]
    plans.append(None)
    places = list(battery.tests)

    def place(plan: TestPlan | None) -> tuple[int, int]:
        if plan is None:
            return battery.body.station, -1
        return plan.station, places.index(plan.name)

    return sorted(plans, key=place)


def who_does(plan: TestPlan | None, people: Sequence[Person]) -> list[Person]:
    """Those of the list who do a test, in the order of the list."""
    if plan is None or not plan.who:
        return list(people)
    wanted = {word.casefold() for word in plan.who}
    return [person for person in people if wanted & person.words]


def block(
    plan: TestPlan | None, people: Sequence[Person], battery: Battery, *, walk_ins: int = 0
) -> Block:
    """The rows of one test.

    Args:
        plan: the test; ``None`` is body.
        people: the day's list, in running order.
        battery: for the gates of a run and what body records.
        walk_ins: rows for so many people more, with nobody's name.
    """
    sheet = BODY if plan is None else SHEETS[plan.kind]
    named_by = NAMED_BY.get(sheet, "test")
    test = "" if plan is None else plan.name
    everybody = [*who_does(plan, people), *[WALK_IN] * walk_ins]
    labels = _planned(plan)
    in_rounds = plan is not None and plan.kind in _IN_ROUNDS
    if in_rounds:
        pairs = [(person, label) for label in labels for person in everybody]
    else:
        pairs = [(person, label) for person in everybody for label in labels]
    told = {named_by: test} if named_by else {}
    rows = tuple(
        {"athlete_id": person.athlete_id, "name": person.name, **told, **label}
        for person, label in pairs
    )
    recorded = battery.body.record if plan is None else plan.record
    gates = () if plan is None else tuple(f"t{at:g}_s" for at in battery.gates(plan))
    columns = dict.fromkeys(["athlete_id", "name", *told, *labels[0], *recorded, *gates])
    return Block(sheet, test, tuple(columns), rows, 1 if in_rounds else len(labels))


def _planned(plan: TestPlan | None) -> list[dict[str, str]]:
    """What tells the rows of one person in one test apart."""
    if plan is None:
        return [{}]
    if plan.kind == "repeated":
        return [{"set": "1", "rep": str(n)} for n in _counted(plan.attempts)]
    if plan.kind == "lift":
        attempts = [{"attempt": str(n)} for n in _counted(plan.sets)]
    else:
        attempts = [{"attempt": str(n)} for n in _counted(plan.attempts)]
    if plan.rebounds:
        attempts = [{**a, "rep": str(n)} for a in attempts for n in _counted(plan.rebounds)]
    if plan.kind == "drop jump" and plan.drop_heights_cm:
        boxes = [{"drop_height_cm": f"{height:g}"} for height in plan.drop_heights_cm]
        attempts = [{**box, **a} for box in boxes for a in attempts]
    if plan.sides:
        attempts = [{"side": side, **a} for side in SIDES for a in attempts]
    return attempts


def _counted(number: int) -> range:
    return range(1, number + 1)


def sheets(
    blocks: Sequence[Block], columns_for: Callable[[str], Mapping[str, str]]
) -> Iterator[Sheet]:
    """The day's files, each of the blocks that belong to it, and the sheet of who did less.

    Args:
        blocks: in the order of the stations.
        columns_for: what further columns each row of a sheet has, heading → cell.
    """
    for name in dict.fromkeys(one.sheet for one in blocks):
        mine = [one for one in blocks if one.sheet == name]
        more = columns_for(name)
        columns = _merged([one.columns for one in mine], tuple(more))
        rows = [{**row, **more} for one in mine for row in one.rows]
        cells = tuple(tuple(row.get(column, "") for column in columns) for row in rows)
        yield Sheet(name, columns, cells)
    yield Sheet(STATUS, STATUS_COLUMNS, ())


def _merged(columns: Sequence[Sequence[str]], more: Sequence[str]) -> tuple[str, ...]:
    """All headings once each; what tells rows apart first, the gates by their distance last."""
    every = dict.fromkeys(name for one in columns for name in one)
    gates = sorted(
        (name for name in every if gate(name) is not None), key=lambda name: gate(name) or 0.0
    )
    labels = [name for name in _LABELS if name in every]
    rest = [name for name in every if name not in (*gates, *labels)]
    return (*labels, *more, *rest, *gates)


_LABELS = (
    "athlete_id", "name", "test", "lift", "side", "drop_height_cm", "set", "rep", "attempt",
)  # fmt: skip
"""The headings that tell rows apart, in the order in which they stand."""
