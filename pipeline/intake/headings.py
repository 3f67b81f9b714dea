"""What one heading means: a field, its unit, and for a split its distance."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache

from pipeline.intake import words
from pipeline.intake.kinds import CUMULATIVE, QUANTITY, SEGMENT, Column, Field, SheetKind
from pipeline.intake.words import plain
from pipeline.units import HEADING_UNITS, Unit

IGNORE = "ignore"
"""What ``[columns]`` says of a column that is left alone."""

PREFERRED = {"time": "s", "length": "m", "mass": "kg", "speed": "mps"}
"""The unit in which a heading is offered, by dimension."""


@dataclass(frozen=True, slots=True)
class Own:
    """What the day file's ``[columns]`` says of one sheet: heading as written → what it is."""

    targets: Mapping[str, str] = field(default_factory=dict)

    def of(self, heading: str) -> str:
        """What is said of a heading: of its very text, else of the only one that evens out so."""
        exact = self.targets.get(heading, self.targets.get(heading.strip()))
        if exact is not None:
            return exact
        alike = {t for key, t in self.targets.items() if plain(key) == plain(heading)}
        return alike.pop() if len(alike) == 1 else ""


NOTHING = Own()


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a heading means; ``unit`` is none for text and counts.

    ``loose`` marks a split that is a distance in words (``10 m``, not ``t10``), ``assumed`` one of
    them whose unit nobody gave: it is read in seconds, and that is said.
    """

    field: Field
    unit: Unit | None = None
    part: str = ""
    loose: bool = False
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Unread:
    """Why a heading gives no column: a finding's code and details; no code where it is ignored."""

    code: str = ""
    details: Mapping[str, str] = field(default_factory=dict)


def meaning(
    heading: str, kind: SheetKind, unit_text: str = "", own: Own = NOTHING
) -> Meaning | None:
    """What a heading means in a kind of sheet, if that is clear.

    Args:
        heading: as written, or the part of one that names the quantity.
        kind: the kind of sheet.
        unit_text: what a row of units says of the column, e.g. ``[cm]``.
        own: what ``[columns]`` says.
    """
    found = look(heading, kind, unit_text, own)
    return found if isinstance(found, Meaning) else None


def look(
    heading: str, kind: SheetKind, unit_text: str = "", own: Own = NOTHING
) -> Meaning | Unread:
    """As ``meaning``, with the reason where there is none."""
    target = own.of(heading)
    if target == IGNORE:
        return Unread()
    said = [(words.unit_named(unit_text), "the row of units")]
    found, by = None, "the heading"
    if words.unit_named(target):
        said.append((words.unit_named(target), "[columns]"))
    elif target:
        found = natural(target, kind)
        if found is not None:
            said.append((ending_in(heading, found.field.dimension), by))
            by = "[columns]"
    found = found or natural(heading, kind)
    if found is None:
        guess = closest(heading, kind)
        clause = f"; did you mean “{guess}”?" if guess else ""
        return Unread("heading-unknown", {"heading": heading, "guess": clause})
    return _settled(heading, found, by, said)


def _settled(
    heading: str, found: Meaning, by: str, said: list[tuple[str, str]]
) -> Meaning | Unread:
    """A meaning with the unit that everything said of it agrees on.

    Args:
        heading: as written.
        found: the meaning, with a unit if ``by`` gave one.
        by: what gave the meaning.
        said: further units said, as (ending, by what); blank where nothing was.
    """
    dimension = found.field.dimension
    if dimension not in PREFERRED:
        return found
    for ending, other in said:
        unit = HEADING_UNITS.get(ending)
        if unit is None:
            continue
        if unit.dimension != dimension or (found.unit is not None and unit != found.unit):
            one = ending_of(found.unit) if found.unit else found.field.name
            details = {"heading": heading, "one": one, "by": by, "other": ending, "other_by": other}
            return Unread("unit-conflict", details)
        found, by = replace(found, unit=unit), other if found.unit is None else by
    if found.unit is not None:
        return found
    if found.loose:
        return replace(found, unit=HEADING_UNITS["s"], assumed=True)
    example = headed(found.field.name, found.part, PREFERRED[dimension])
    return Unread("heading-unit", {"heading": heading, "example": example})


def ending_of(unit: Unit) -> str:
    """The ending of a heading that stands for a unit."""
    return next(ending for ending, one in HEADING_UNITS.items() if one == unit)


def ending_in(heading: str, dimension: str) -> str:
    """The unit of a dimension that a heading ends in, whatever stands before it."""
    endings = (ending for _, ending in parted(heading))
    return next((e for e in endings if e and HEADING_UNITS[e].dimension == dimension), "")


def parted(heading: str) -> Iterator[tuple[str, str]]:
    """A heading evened out and whole, then as a base and a unit, the longest unit first."""
    name = plain(heading)
    yield name, ""
    brackets = _BRACKET.match(heading.strip())
    if brackets and words.unit_named(brackets[2]):  # of which " and ' are no letters
        yield plain(brackets[1]), words.unit_named(brackets[2])
    parts = name.split("_")
    for at in range(1, len(parts)):
        ending = words.ENDINGS.get("_".join(parts[at:]))
        if ending:
            yield "_".join(parts[:at]), ending


_HINT = re.compile(r"(?:\w{1,8}(?:\s*[/|,;.–-]\s*\w{1,8})+|n|no|nr|#)\Z", re.IGNORECASE)
_BRACKET = re.compile(r"(.+?)\s*[\[(]\s*([^\[\]()]+?)\s*[\])]\s*\Z", re.DOTALL)


def natural(heading: str, kind: SheetKind) -> Meaning | None:
    """What a heading means by itself; the unit is none where it gives none."""
    without: Meaning | None = None
    for base, ending in parted(heading):
        found = _field(base, kind)
        if found is None:
            continue
        dimension = found.field.dimension
        if dimension not in PREFERRED and not ending:
            return found
        if not ending:
            without = found
        elif HEADING_UNITS[ending].dimension == dimension:
            return replace(found, unit=HEADING_UNITS[ending])
    return without or _with_hint(heading, kind)


def _with_hint(heading: str, kind: SheetKind) -> Meaning | None:
    """A text's heading with a hint in brackets: ``side (L/R)``, ``date (dd.mm.yyyy)``."""
    parts = _BRACKET.match(heading.strip())
    if parts is None or not _HINT.match(parts[2]) or words.unit_named(parts[2]):
        return None
    found = _field(plain(parts[1]), kind)
    if found is None or found.field.dimension in PREFERRED:
        return None
    counted = plain(parts[2]) in ("n", "no", "nr", "")
    return found if counted or found.field.role != QUANTITY else None


def _field(base: str, kind: SheetKind) -> Meaning | None:
    """The field an evened-out base names."""
    split = _split(base) if kind.splits else None
    if split is not None:
        return split
    name = words.headings(kind.name, tuple(kind.fields)).get(base)
    return None if name is None else Meaning(kind.fields[name])


_NUMBER = r"\d+(?:\.\d+)?"


def _either(choices: frozenset[str] | set[str]) -> str:
    return "|".join(re.escape(c) for c in sorted(choices, key=len, reverse=True))


@cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    units = {w for w, ending in words.ENDINGS.items() if ending in ("m", "yd")}
    unit = _either(units)
    cumulative = _either(words.split_words("cumulative"))
    segment = _either(words.split_words("segment"))
    return (
        re.compile(rf"t_?(?P<to>{_NUMBER})(?:_?(?P<unit>{unit}))?\Z"),
        re.compile(
            rf"(?:(?:{cumulative})_)?(?P<to>{_NUMBER})_?(?P<unit>{unit})(?:_(?:{cumulative}))?\Z"
        ),
        re.compile(
            rf"(?:(?P<strict>s)|(?:{segment})_)?(?P<start>{_NUMBER})(?:_?(?P<first>{unit}))?"
            rf"_(?:(?:to|bis)_)?(?P<to>{_NUMBER})(?:_?(?P<unit>{unit}))?(?:_(?:{segment}))?\Z"
        ),
    )


def _split(base: str) -> Meaning | None:
    """A split: ``t10``, ``10 m``, ``split 40 yd`` from the start; ``s0_10``, ``10-20 m`` between.

    A distance in yards is its own place in metres: 40 yards are 36.576 m, never 40 m.
    """
    strict_to, loose_to, between = _patterns()
    found = strict_to.match(base) or loose_to.match(base)
    if found is not None:
        to = _metres(found["to"], found["unit"])
        loose = found.re is loose_to or found["unit"] is not None
        part = metres(to)
        return Meaning(Field(CUMULATIVE, QUANTITY, "time"), None, part, loose) if to else None
    found = between.match(base)
    if found is None or not (found["strict"] or found["unit"]):
        return None
    start = _metres(found["start"], found["first"] or found["unit"])
    to = _metres(found["to"], found["unit"])
    if start >= to:
        return None
    part = f"{start:g}-{metres(to)}"
    return Meaning(Field(SEGMENT, QUANTITY, "time"), None, part, loose=found["unit"] is not None)


def _metres(number: str, unit: str | None) -> float:
    return float(number) * HEADING_UNITS[words.ENDINGS[unit or "m"]].factor


def metres(at: float) -> str:
    """The part of a split, ``"10 m"``."""
    return f"{at:g} m"


def alike(first: Column, second: Column) -> bool:
    """Whether two headings of one split are told apart by words alone, as 10 m and split 10 m."""
    loose = [_split(_base(column.heading)) for column in (first, second)]
    differ = plain(first.heading) != plain(second.heading)
    return differ and any(one is not None and one.loose for one in loose)


def _base(heading: str) -> str:
    """The evened-out heading without its unit, if what is left is a split."""
    bases = (base for base, _ in parted(heading))
    return next((base for base in bases if _split(base)), "")


def from_the_line(
    columns: Mapping[tuple[str, str], Column],
) -> dict[tuple[str, str], Column]:
    """The columns with times from 0 m as what they are in company: cumulative.

    ``0-10 m, 0-20 m`` count from the line both; so does ``0-10 m`` beside ``20 m``.
    """
    first = [key for key in columns if key[0] == SEGMENT and key[1].startswith("0-")]
    company = len(first) > 1 or any(name == CUMULATIVE for name, _ in columns)
    settled = {}
    for key, column in columns.items():
        part = key[1].removeprefix("0-")
        if key in first and company and (CUMULATIVE, part) not in columns:
            made = Field(CUMULATIVE, QUANTITY, "time")
            settled[CUMULATIVE, part] = replace(column, field=made, part=part)
        else:
            settled[key] = column
    return settled


# --- offering the nearest ----------------------------------------------------------------------


def spelled(one: Field) -> str:
    """A heading for a field as one would write it."""
    return headed(one.name, "", PREFERRED.get(one.dimension, ""))


def headed(name: str, part: str, ending: str) -> str:
    """The heading of the data guide for a field, a split's part and a unit; blank for none."""
    numbers = part.removesuffix(" m")
    base = {CUMULATIVE: f"t{numbers}", SEGMENT: "s" + numbers.replace("-", "_")}.get(name, name)
    return f"{base}_{ending}" if ending else base


def unsure(heading: str, kind: SheetKind) -> tuple[list[str], str]:
    """The fields a word may mean that is never taken for one, and the unit it names."""
    for base, ending in parted(heading):
        fields = [f for f in words.unsure().get(base, ()) if f in kind.fields]
        if ending:
            dimension = HEADING_UNITS[ending].dimension
            fields = [f for f in fields if kind.fields[f].dimension == dimension]
        if fields:
            return fields, ending
    return [], ""


_NEAR, _NEAR_WORD = 0.7, 0.8
"""How alike a heading must be to a field's own name, and to any other word for one."""


def closest(heading: str, kind: SheetKind) -> str:
    """The known heading nearest to one that is not known, as one would write it, or nothing."""
    maybe, ending = unsure(heading, kind)
    if maybe:
        return headed(maybe[0], "", ending) if ending else spelled(kind.fields[maybe[0]])
    name = plain(heading)
    own = {spelled(replace(f, name=key)): key for key, f in kind.fields.items()}
    near = difflib.get_close_matches(name, list(own), n=1, cutoff=_NEAR)
    if near:
        return near[0]
    known = words.headings(kind.name, tuple(kind.fields))
    for base, _ in reversed(list(parted(heading))):
        word = difflib.get_close_matches(base, list(known), n=1, cutoff=_NEAR_WORD)
        if word:
            return spelled(replace(kind.fields[known[word[0]]], name=known[word[0]]))
    return ""
