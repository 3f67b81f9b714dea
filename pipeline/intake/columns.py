"""Which heading means what: one table of fields for each kind of sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pipeline.battery import nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake import folder
from pipeline.intake.readers import RawRow, RawSheet
from pipeline.measures.spec import COUNTED, EACH
from pipeline.units import HEADING_UNITS, Unit

QUANTITY, CONDITION, LABEL = "quantity", "condition", "label"
WORDS: dict[str, tuple[str, ...]] = {
    **folder.WORDS,
    "load_is": ("total", EACH),
    "leg": ("front", "rear"),
    "body_mass": (COUNTED,),
}
"""Conditions with a fixed set of words, those of the day and those of a set."""

SEGMENT = "segment_time"
BODY = "body"
"""The test that body.csv holds; it is in no battery."""


@dataclass(frozen=True, slots=True)
class Field:
    """What a column may hold. ``dimension`` is empty for text."""

    name: str
    role: str
    dimension: str = ""


@dataclass(frozen=True, slots=True)
class SheetKind:
    """One kind of sheet: the column that names the test, and its fields.

    ``fixed_test`` stands where no column names it; ``part_of`` names the labels that make a
    value's part; a sheet that is not ``timed`` looks at runs another sheet holds, so its rows are
    no attempts at the test.
    """

    name: str
    test_column: str
    kinds: tuple[str, ...]
    fields: Mapping[str, Field]
    required: tuple[str, ...]
    splits: bool = False
    fixed_test: str = ""
    part_of: tuple[str, ...] = ()
    timed: bool = True


@dataclass(frozen=True, slots=True)
class Column:
    """A recognised column of a real sheet."""

    index: int
    heading: str
    field: Field
    unit: Unit | None = None
    part: str = ""


def _fields(role: str, **dimensions: str) -> dict[str, Field]:
    return {name: Field(name, role, dimension) for name, dimension in dimensions.items()}


_LABELS = _fields(LABEL, athlete_id="", name="", session="", date="", attempt="count", fps="count")
_TRACK = {
    **{name: Field(name, CONDITION) for name in (*folder.WORDS, *folder.TEXTS, "indoor")},
    **_fields(CONDITION, start_distance="length", run_in="length"),
}

SHEETS: dict[str, SheetKind] = {
    "body": SheetKind(
        "body",
        "",
        (),
        {
            **_fields(LABEL, athlete_id="", name="", session="", date=""),
            **_fields(QUANTITY, body_mass="mass", height="length", sitting_height="length"),
        },
        ("athlete_id",),
        fixed_test=BODY,
    ),
    "sprints": SheetKind(
        "sprints",
        "test",
        ("sprint", "flying", "repeated"),
        {
            **_LABELS,
            **_fields(LABEL, set="count", rep="count"),
            "test": Field("test", LABEL),
            **_TRACK,
            **_fields(QUANTITY, reaction="time", wind="speed", lane="count"),
        },
        ("athlete_id", "test"),
        splits=True,
    ),
    "jumps": SheetKind(
        "jumps",
        "test",
        ("jump", "distance jump"),
        {
            **_LABELS,
            "test": Field("test", LABEL),
            **_fields(CONDITION, arms="", side="", surface="", footwear=""),
            **_fields(QUANTITY, flight_time="time", height="length", distance="length"),
        },
        ("athlete_id", "test"),
    ),
    "drop_jumps": SheetKind(
        "drop_jumps",
        "",
        ("drop jump",),
        {
            **_LABELS,
            **_fields(CONDITION, drop_height="length", arms="", surface="", footwear=""),
            **_fields(QUANTITY, contact_time="time", flight_time="time"),
        },
        ("athlete_id",),
        fixed_test="drop jump",
    ),
    "rebounds": SheetKind(
        "rebounds",
        "test",
        ("rebound",),
        {
            **_LABELS,
            "test": Field("test", LABEL),
            **_fields(CONDITION, arms="", side="", surface="", footwear=""),
            **_fields(QUANTITY, rep="count", contact_time="time", flight_time="time"),
        },
        ("athlete_id", "test", "rep"),
    ),
    "lifts": SheetKind(
        "lifts",
        "lift",
        ("lift",),
        {
            **_LABELS,
            "lift": Field("lift", LABEL),
            **_fields(CONDITION, side="", leg="", depth="", load_is="", body_mass=""),
            **_fields(LABEL, result="", maximal=""),
            **_fields(QUANTITY, load="mass", reps="count", best="mass"),
        },
        ("athlete_id", "lift"),
    ),
    "other": SheetKind(
        "other",
        "test",
        ("other",),
        {
            **_LABELS,
            "test": Field("test", LABEL),
            **_fields(CONDITION, side=""),
            "value": Field("value", QUANTITY, "count"),
        },
        ("athlete_id", "test", "value"),
    ),
    "steps": SheetKind(
        "steps",
        "test",
        ("sprint",),
        {
            **_LABELS,
            "test": Field("test", LABEL),
            **_fields(QUANTITY, zone_from="length", zone_to="length", contact_time="time"),
            **_fields(QUANTITY, flight_time="time", step_length="length"),
        },
        ("athlete_id", "test"),
        timed=False,
    ),
    "technique": SheetKind(
        "technique",
        "test",
        ("sprint",),
        {
            **_LABELS,
            "test": Field("test", LABEL),
            **_fields(LABEL, checkpoint="", angle="", observer=""),
            "degrees": Field("degrees", QUANTITY, "count"),
        },
        ("athlete_id", "test", "degrees"),
        part_of=("checkpoint", "angle"),
        timed=False,
    ),
}
"""Every sheet a testing day may hold, by the file's name without its ending."""

TRACES = SheetKind(
    "traces",
    "test",
    ("jump", "drop jump", "isometric"),
    {
        **_fields(LABEL, athlete_id="", name="", session="", date="", attempt="count", test=""),
        **_fields(LABEL, file="", rate_hz="", column="", unit=""),
        **_fields(CONDITION, drop_height="length", arms="", side="", surface="", footwear=""),
    },
    ("file", "athlete_id", "test", "rate_hz", "unit"),
)
"""The list of force traces, which stands in a folder of its own."""

_ON_ROSTER = ("athlete_id", "name", "session")
"""Labels that only people on the roster and days have."""

REFERENCE = replace(
    SHEETS["sprints"],
    name="reference_sprints",
    kinds=("sprint",),
    fields={
        **{k: f for k, f in SHEETS["sprints"].fields.items() if k not in _ON_ROSTER},
        "person": Field("athlete_id", LABEL),
        "sex": Field("sex", LABEL),
        "day": Field("date", LABEL),
    },
    required=("athlete_id", "sex", "test"),
)
"""Sprints of people who are not on the roster, which stand beside the days and have no session."""

_SEGMENT = re.compile(r"s(\d+(?:\.\d+)?)_(\d+(?:\.\d+)?)$")
_CUMULATIVE = re.compile(r"t(\d+(?:\.\d+)?)$")
_BRACKETS = re.compile(r"\s*[\[(]\s*(\w+)\s*[\])]$")
_UNIT_ENDING = re.compile(rf"_({'|'.join(HEADING_UNITS)})$")


def plain(heading: str) -> str:
    """A heading with case, blanks and joining marks evened out; ``time [ms]`` is ``time_ms``."""
    heading = _BRACKETS.sub(r"_\1", heading.replace("\u00a0", " ").strip())
    return re.sub(r"[\s\-]+", "_", heading.replace("\u00a0", " ").strip()).casefold()


def by_heading(headings: list[str], row: RawRow) -> dict[str, str]:
    """A row's cells by heading; of a heading that stands twice the first counts."""
    cells: dict[str, str] = {}
    for heading, cell in zip(headings, row.cells, strict=False):
        cells.setdefault(heading, cell.strip())
    return cells


def heading_faults(
    place: Place, sheet: RawSheet, known: tuple[str, ...], required: tuple[str, ...]
) -> list[Finding]:
    """What is wrong with the headings of a sheet that has fixed ones."""
    names = [plain(heading) for heading in sheet.headings]
    faults = []
    for index, (name, heading) in enumerate(zip(names, sheet.headings, strict=True)):
        at = place.at(column=heading)
        if name and name not in known:
            guess = nearest(name, known)
            faults.append(finding("heading-unknown", at, heading=heading, guess=guess))
        elif name and name in names[:index]:
            faults.append(finding("heading-twice", at, heading=heading))
    missing = (name for name in required if name not in names)
    return faults + [finding("heading-missing", place.at(column=n), heading=n) for n in missing]


def metres(at: float) -> str:
    """The part of a split, ``"10 m"``."""
    return f"{at:g} m"


def recognise(
    sheet: RawSheet, kind: SheetKind, place: Place
) -> tuple[dict[tuple[str, str], Column], list[Finding]]:
    """The columns of a sheet by field name and part, and what was wrong with its headings.

    A sheet that lacks a required column gives an ``heading-missing`` finding; the caller then
    sets every row aside.
    """
    columns: dict[tuple[str, str], Column] = {}
    findings: list[Finding] = []
    for index, heading in enumerate(sheet.headings):
        if not heading.strip():
            filled = (r for r in sheet.rows if index < len(r.cells) and r.cells[index].strip())
            first = next(filled, None)
            if first is not None:
                blank = place.at(first.number)
                findings.append(finding("heading-blank", blank, number=index + 1))
            continue
        column = _column(index, heading, kind)
        if column is None:
            findings.append(
                finding(
                    "heading-unknown",
                    place.at(column=heading),
                    heading=heading,
                    guess=nearest(plain(heading), _spelled(kind)),
                )
            )
            continue
        key = (column.field.name, column.part)
        if key in columns:
            findings.append(finding("heading-twice", place.at(column=heading), heading=heading))
            continue
        columns[key] = column
    findings.extend(
        finding("heading-missing", place.at(column=name), heading=name)
        for name in kind.required
        if (name, "") not in columns
    )
    return columns, findings


def _column(index: int, heading: str, kind: SheetKind) -> Column | None:
    name = plain(heading)
    field = kind.fields.get(name)
    if field is not None and field.dimension in ("", "count"):
        return Column(index, heading, field)
    ending = _UNIT_ENDING.search(name)
    if ending is None:
        return None
    base, unit = name[: ending.start()], HEADING_UNITS[ending.group(1)]
    part = ""
    split = _CUMULATIVE.match(base) if kind.splits else None
    segment = _SEGMENT.match(base) if kind.splits else None
    if segment:
        field = Field(SEGMENT, QUANTITY, "time")
        part = f"{float(segment.group(1)):g}-{metres(float(segment.group(2)))}"
    elif split:
        field, part = Field("cumulative_time", QUANTITY, "time"), metres(float(split.group(1)))
    else:
        field = kind.fields.get(base)
    if field is None or field.dimension != unit.dimension:
        return None
    return Column(index, heading, field, unit, part)


def _spelled(kind: SheetKind) -> list[str]:
    """Headings of a kind of sheet as one would write them."""
    preferred = {"time": "s", "length": "m", "mass": "kg", "speed": "mps"}
    return [
        f"{field.name}_{preferred[field.dimension]}" if field.dimension in preferred else field.name
        for field in kind.fields.values()
    ]
