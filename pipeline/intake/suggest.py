"""A starting ``[columns]`` for the headings of a day that were not read, ready to paste."""

from __future__ import annotations

import json
import math
import re
import statistics
from collections.abc import Iterable
from dataclasses import dataclass, replace

from pipeline.intake import headings
from pipeline.intake.amounts import number
from pipeline.intake.folder import COLUMNS, Day
from pipeline.intake.headings import IGNORE, PREFERRED, Meaning, headed
from pipeline.intake.kinds import Field, SheetKind
from pipeline.intake.mapping import Mapped
from pipeline.units import HEADING_UNITS

USUAL: dict[str, tuple[float, float]] = {
    "flight_time": (0.2, 0.9),
    "contact_time": (0.08, 0.6),
    "reaction": (0.08, 0.5),
    "cumulative_time": (0.8, 60.0),
    "segment_time": (0.5, 30.0),
    "jumps.height": (0.08, 0.9),
    "body.height": (1.1, 2.3),
    "sitting_height": (0.5, 1.2),
    "drop_height": (0.1, 1.2),
    "distance": (0.8, 20.0),
    "start_distance": (0.0, 2.0),
    "run_in": (5.0, 60.0),
    "step_length": (0.5, 3.0),
    "zone_from": (0.0, 200.0),
    "zone_to": (0.0, 200.0),
    "body_mass": (25.0, 160.0),
    "load": (5.0, 350.0),
    "best": (5.0, 350.0),
    "wind": (-6.0, 6.0),
}
"""Where the middle value of a column usually lies, in SI; only to guess its unit, never to judge.
Common practice, no source."""

_ORDER = ("s", "ms", "frames", "cm", "m", "mm", "in", "ft", "yd", "kg", "lb", "st", "mps", "kmh")
"""Which unit is offered first where the numbers fit several."""


@dataclass(frozen=True, slots=True)
class Line:
    """One heading, what it may be, and what a person should look at (blank where all is clear)."""

    heading: str
    target: str
    doubt: str

    def toml(self) -> str:
        """The line as it is pasted."""
        said = f"  # {_one_line(self.doubt)}" if self.doubt else ""
        return f"{quoted(self.heading)} = {quoted(self.target)}{said}"


def quoted(text: str) -> str:
    """A text as TOML writes it between double quotes."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _one_line(text: str) -> str:
    """A comment can hold no line end and no control character."""
    return re.sub(r"[\x00-\x1f\x7f\u0085\u2028\u2029]+", " ", text)


def block(mapped: Iterable[Mapped], day: Day) -> str:
    """TOML for a day file; empty where every heading was read or is ignored."""
    tables: dict[str, dict[str, Line]] = {}
    for one in mapped:
        lines = tables.setdefault(one.kind.name, {})
        for line in for_sheet(one):
            lines.setdefault(line.heading, line)
    parts = []
    for name, lines in tables.items():
        if lines:
            there = name in day.columns
            head = f"[{COLUMNS}.{name}]"
            head = f"# add to the {head} that is there" if there else head
            parts.append("\n".join([head, *(line.toml() for line in lines.values())]) + "\n")
    return "\n".join(parts)


def for_sheet(one: Mapped) -> list[Line]:
    """A line for each heading of a sheet that was not read; a field is offered once.

    No line can part two columns headed alike, or say which of two units is the right one.
    """
    taken = {(column.field.name, column.part) for column in one.columns}
    seen = {column.heading for column in one.columns}
    lines = []
    for heading in one.unread:
        if heading in seen:
            continue
        seen.add(heading)
        at = one.sheet.headings.index(heading)
        cells = [row.cells[at].strip() for row in one.sheet.rows if at < len(row.cells)]
        field, others = _guess(heading, one.kind)
        if field is None or (field.field.name, field.part) in taken:
            lines.append(_left_alone(heading, field, one.kind))
            continue
        taken.add((field.field.name, field.part))
        lines.append(_offered(heading, field, others, cells, one.kind))
    return lines


def _guess(heading: str, kind: SheetKind) -> tuple[Meaning | None, tuple[str, ...]]:
    """The likeliest field of a heading, and others it may be; its own unit where it names one."""
    clear = headings.natural(heading, kind)
    if clear is not None:
        return clear, ()
    fields, ending = headings.unsure(heading, kind)
    if fields:
        unit = HEADING_UNITS[ending] if ending else None
        return Meaning(kind.fields[fields[0]], unit), tuple(fields[1:])
    near = headings.closest(heading, kind)
    return (headings.natural(near, kind) if near else None), ()


def _left_alone(heading: str, field: Meaning | None, kind: SheetKind) -> Line:
    if field is not None:
        return Line(heading, IGNORE, f"{field.field.name} has a column already; left out")
    offers = [headings.spelled(replace(f, name=key)) for key, f in kind.fields.items()]
    known = ", ".join([*offers, *(("t10_s", "s0_10_s") if kind.splits else ())])
    return Line(heading, IGNORE, f"not known; left out unless you name one of: {known}")


def _offered(
    heading: str,
    field: Meaning,
    others: tuple[str, ...],
    cells: list[str],
    kind: SheetKind,
) -> Line:
    keys = {one: key for key, one in kind.fields.items()}
    name, part = keys.get(field.field, field.field.name), field.part
    doubts = []
    if headings.natural(heading, kind) is None:
        doubts.append("a guess by the word: " + " or ".join((field.field.name, *others)))
    elif field.loose:
        doubts.append("a guess: counted from the start; s0_10_s … is from gate to gate")
    if field.field.dimension not in PREFERRED:
        return Line(heading, headed(name, part, ""), "; ".join(doubts))
    told = headings.ending_in(heading, field.field.dimension)
    if told:
        return Line(heading, headed(name, part, told), "; ".join(doubts))
    fitting = units_that_fit(field.field, kind, cells)
    if fitting:
        also = f", may be {' or '.join(fitting[1:])}" if fitting[1:] else ""
        doubts.append(f"the unit is a guess by the numbers{also}")
    else:
        fitting = [PREFERRED[field.field.dimension]]
        doubts.append("the unit is not known: put in the one that was used")
    return Line(heading, headed(name, part, fitting[0]), "; ".join(doubts))


def units_that_fit(field: Field, kind: SheetKind, cells: Iterable[str]) -> list[str]:
    """The units in which a column's middle value is a usual one, the likeliest first."""
    usual = USUAL.get(f"{kind.name}.{field.name}", USUAL.get(field.name))
    values = [value for value in map(number, cells) if value is not None]
    if usual is None or not values:
        return []
    middle = statistics.median(values)
    endings = [e for e in _ORDER if HEADING_UNITS[e].dimension == field.dimension]
    return [e for e in endings if _fits(middle * HEADING_UNITS[e].factor, usual)]


def _fits(value: float, usual: tuple[float, float]) -> bool:
    return not math.isnan(value) and usual[0] <= value <= usual[1]
