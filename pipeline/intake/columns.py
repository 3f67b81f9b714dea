"""Which heading means what: one table of fields for each kind of sheet."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from pipeline.errors import Finding, Place, finding
from pipeline.intake import folder, headings
from pipeline.intake.frames import RawRow
from pipeline.intake.headings import NOTHING, Own, Unread
from pipeline.intake.kinds import CONDITION, LABEL, QUANTITY, Column, Field, SheetKind, of_text
from pipeline.intake.readers import RawSheet
from pipeline.measures.spec import COUNTED, EACH

WORDS: dict[str, tuple[str, ...]] = {
    **folder.WORDS,
    "load_is": ("total", EACH),
    "leg": ("front", "rear"),
    "body_mass": (COUNTED,),
}
"""Conditions with a fixed set of words, those of the day and those of a set."""

NAMES = ("name", "surname", "first_name")
"""Columns that say whom a row belongs to besides the id; the parts of a name may stand apart."""

BODY = "body"
"""The test that body.csv holds; it is in no battery."""


def _fields(role: str, **dimensions: str) -> dict[str, Field]:
    return {name: Field(name, role, dimension) for name, dimension in dimensions.items()}


_WHOSE = _fields(LABEL, athlete_id="", **dict.fromkeys(NAMES, ""), session="", date="")
_LABELS = {**_WHOSE, **_fields(LABEL, attempt="count", fps="count")}
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
            **_WHOSE,
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
    "results": SheetKind(
        "results",
        "test",
        ("sprint", "flying", "repeated", "jump", "distance jump", "lift", "other"),
        {
            **_LABELS,
            **_fields(LABEL, set="count", rep="count", result="", maximal=""),
            "test": Field("test", LABEL),
            **_TRACK,
            **_fields(CONDITION, side="", arms="", depth="", load_is=""),
            **_fields(QUANTITY, reps="count"),
        },
        ("athlete_id", "test"),
    ),
}
"""Every sheet a testing day may hold, by the file's name without its ending."""

TRACES = SheetKind(
    "traces",
    "test",
    ("jump", "drop jump", "isometric"),
    {
        **_WHOSE,
        **_fields(LABEL, attempt="count", test="", file="", rate_hz="", column="", unit=""),
        **_fields(CONDITION, drop_height="length", arms="", side="", surface="", footwear=""),
    },
    ("file", "athlete_id", "test", "rate_hz", "unit"),
)
"""The list of force traces, which stands in a folder of its own."""

_ON_ROSTER = ("athlete_id", *NAMES, "session")
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

ROSTER = of_text(
    "roster",
    (
        "athlete_id", "name", "surname", "first_name", "sex", "birth_date", "groups", "event",
        "joined", "left", "share",
    ),
    ("athlete_id",),
)  # fmt: skip
STATUS = of_text(
    "status",
    ("athlete_id", *NAMES, "test", "status", "reason", "session", "date"),
    ("athlete_id", "status"),
)
TARGETS = of_text(
    "targets",
    ("athlete_id", *NAMES, "test", "measure", "target", "by"),
    ("athlete_id", "test", "measure", "target"),
)
PLAN = of_text(
    "plan",
    ("athlete_id", *NAMES, "from", "sprint_phase", "emphasis", "note"),
    ("athlete_id", "from"),
)

CORRECTIONS = of_text(
    "corrections",
    ("file", "sheet", "row", "column", "was", "action", "value", "reason", "by"),
    ("file", "row", "action", "reason", "by"),
)


def by_field(names: list[str], row: RawRow) -> dict[str, str]:
    """A row's cells by field, for the ``named`` columns of a sheet of text."""
    pairs = zip(names, row.cells, strict=False)
    return {name: cell.strip() for name, cell in pairs if name}


def _missing(required: Iterable[str], there: set[str]) -> list[str]:
    """The required columns that are not there; for an athlete's id a name will do."""
    known = there | ({"athlete_id"} if there & {"name", "surname"} else set())
    return [name for name in required if name not in known]


def recognise(
    sheet: RawSheet,
    kind: SheetKind,
    place: Place,
    own: Own = NOTHING,
    *,
    elsewhere: Collection[int] = (),
    given: Collection[str] = (),
) -> tuple[dict[tuple[str, str], Column], list[Finding]]:
    """The columns of a sheet by field name and part, and what was wrong with its headings.

    ``own`` is what the day file says of this sheet's headings. A sheet that lacks a required
    column gives an ``heading-missing`` finding; the caller then sets every row aside. Columns at
    the places ``elsewhere`` are not looked at; ``given`` names the fields that those say.
    """
    columns: dict[tuple[str, str], Column] = {}
    findings: list[Finding] = []
    unclear: set[tuple[str, str]] = set()
    for index, heading in enumerate(sheet.headings):
        if index in elsewhere:
            continue
        if not heading.strip():
            filled = (r for r in sheet.rows if index < len(r.cells) and r.cells[index].strip())
            first = next(filled, None)
            if first is not None:
                blank = place.at(first.number)
                findings.append(finding("heading-blank", blank, number=index + 1))
            continue
        at = place.at(column=heading)
        unit = sheet.units[index] if index < len(sheet.units) else ""
        found = headings.look(heading, kind, unit, own)
        if isinstance(found, Unread):
            if found.code:
                findings.append(finding(found.code, at, **found.details))
            continue
        if found.assumed:
            findings.append(finding("heading-seconds", at, heading=heading))
        column = Column(index, heading, found.field, found.unit, found.part)
        key = (column.field.name, column.part)
        if key not in columns:
            columns[key] = column
        elif headings.alike(columns[key], column):
            unclear.add(key)
            details = {"heading": heading, "other": columns[key].heading, "part": found.part}
            findings.append(finding("splits-alike", at, **details))
        else:
            findings.append(finding("heading-twice", at, heading=heading))
    columns = headings.from_the_line({k: c for k, c in columns.items() if k not in unclear})
    findings.extend(
        finding("heading-missing", place.at(column=name), heading=name)
        for name in _missing(kind.required, {name for name, part in columns if not part})
        if name not in given
    )
    return columns, findings


def knows(sheet: RawSheet, kind: SheetKind, own: Own = NOTHING) -> bool:
    """Whether any heading of a sheet means something in this kind of sheet."""
    return any(headings.meaning(one, kind, own=own) for one in sheet.headings if one.strip())


def named(columns: Mapping[tuple[str, str], Column], width: int) -> list[str]:
    """The field of each of a sheet's columns, in their order; blank where none was recognised."""
    names = [""] * width
    for (name, _), column in columns.items():
        names[column.index] = name
    return names
