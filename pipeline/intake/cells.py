"""From the cells of a row to its values: in SI, each with its step, its place and its status."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.intake import amounts, folder, marks
from pipeline.intake.amounts import Amount, number
from pipeline.intake.folder import Session
from pipeline.intake.headings import metres
from pipeline.intake.kinds import CUMULATIVE, QUANTITY, SEGMENT, Column
from pipeline.intake.loads import Written
from pipeline.intake.roster import Athlete
from pipeline.intake.rows import Cell, Notes, Row, is_blank, is_result
from pipeline.measures.spec import NO_MARK, SET_ASIDE, USED, joined
from pipeline.units import HEADING_UNITS, SI, Unit

NO_MARKS = frozenset(
    {
        "dns", "dnf", "dq", "dsq", "nt", "nm", "nd", "na", "n/a", "-", "--", "---", "–", "—",
        "x", "xx", "xxx", "failed", "fail", "foul", "absent", "abs", "inj", "injured",
        "didnotstart", "didnotfinish", "disqualified", "notime", "nomark", "noresult",
    }
)  # fmt: skip
"""Entries that say “no result”, without dots and blanks."""


def is_no_mark(text: str) -> bool:
    """Whether an entry says “no result”; it is kept as what it is. Case, dots, blanks aside."""
    return "".join(text.replace(".", "").split()).casefold() in NO_MARKS


MAT_TIMES = ("contact_time", "flight_time")
"""What a mat's clock takes; the gates of the same day have another."""


def values_of(
    row: Row, written: Written, session: Session, athlete: Athlete, notes: Notes
) -> list[dict[str, Any]]:
    """The recorded values of a row as VALUE_COLUMNS but the key, and ``clock_step`` in s."""
    signs = signs_of(row)
    values = [
        {**value, "clock_step": _clock_step(value, row, session)}
        for value in _quantities(row, written, athlete, notes, signs)
    ]
    if not any(v["quantity"] == CUMULATIVE for v in values):
        values += _cumulative(values)
    elif odd := _disagreeing(values):
        for cell in (row.cells[key] for key in odd):
            notes.of("splits-disagree", row, cell, athlete, raw=cell.text)
        values = [{**v, "status": SET_ASIDE} if v["quantity"] in _RUN_TIMES else v for v in values]
    part = ": ".join(row.text(name) for name in row.kind.part_of)
    return [{**v, "part": v["part"] or part} for v in values]


_RUN_TIMES = (CUMULATIVE, SEGMENT)


@dataclass(frozen=True, slots=True)
class Signs:
    """What the signs beside a row's results say of the attempt, each with the cell that bears one.

    ``aside`` are hand times among others that are none, which can be of no one run.
    """

    hand: Cell | None
    windy: Cell | None
    star: Cell | None
    aside: tuple[Cell, ...]


def signs_of(row: Row) -> Signs:
    """The signs beside the results of a row."""
    found = [
        (cell, marks.read(cell.text, run=cell.column.field.name in _RUN_TIMES))
        for cell in row.cells.values()
        if is_result(cell.column) and not is_blank(cell.text) and not is_no_mark(cell.text)
    ]
    by_hand = tuple(cell for cell, sign in found if sign.hand)
    all_by_hand = bool(by_hand) and len(by_hand) == len(found)
    return Signs(
        hand=by_hand[0] if all_by_hand else None,
        windy=next((cell for cell, sign in found if sign.windy), None),
        star=next((cell for cell, sign in found if sign.star), None),
        aside=() if all_by_hand else by_hand,
    )


def _unsigned(row: Row, cell: Cell, text: str, athlete: Athlete, notes: Notes) -> str:
    """A result's text without the signs beside it, each of which is said."""
    if not is_result(cell.column) or is_no_mark(text):
        return text
    sign = marks.read(text, run=cell.column.field.name in _RUN_TIMES)
    if amounts.read(sign.text, cell.column.unit) is None:
        return text
    for code, there in (
        ("mark-hand", sign.hand),
        ("mark-wind", sign.windy),
        ("mark-source", sign.star),
        ("mark-best", sign.best),
    ):
        if there:
            notes.of(code, row, cell, athlete, raw=text)
    return sign.text


def fits(row: Row, cell: Cell, amount: Amount, athlete: Athlete, notes: Notes) -> bool:
    """Whether the unit a cell names itself may stand there; where it differs, that is said."""
    column = cell.column
    if amount.unit is None or amount.unit == column.unit:
        return True
    details = {"raw": cell.text, "heading": column.heading}
    may = amount.unit.dimension == column.field.dimension
    notes.of("unit-own" if may else "unit-other", row, cell, athlete, **details)
    return may


def finest(values: pd.DataFrame, attempts: pd.DataFrame) -> pd.Series:
    """The step of each value: the finest its column shows in that test and timing.

    A spreadsheet saves 7.70 as 7.7; what was read beside 7.74 was read to 0.01 s all the same.
    What a cell says beside its digits (pounds under kilograms) sets it apart from the others.
    """
    beside = values["raw"].str.replace(r"[\d.,\s+-]", "", regex=True).str.casefold()
    places = values["source"].str.replace(r"![^!]*!([^!]*)$", r"!\1", regex=True)
    own = values["key"].map(attempts["test"] + "|" + attempts["timing"])
    return (
        values.groupby([places, own, beside])["resolution"]
        .transform("min")
        .where(values["resolution"].notna())
    )


def _quantities(
    row: Row, written: Written, athlete: Athlete, notes: Notes, signs: Signs
) -> Iterator[dict[str, Any]]:
    for cell in row.cells.values():
        raw, column = cell.text, cell.column
        name = column.field.name
        if column.field.role != QUANTITY or is_blank(raw):
            continue
        if name == "reps" and name in written.texts:
            continue  # the load cell says it
        value, step, status = None, 1.0, SET_ASIDE
        if name != written.plan:
            text = written.texts.get(name, raw)
            text = _unsigned(row, cell, text, athlete, notes)
            value, step, status = _read(row, cell, text, athlete, notes)
            if cell in signs.aside:
                status = SET_ASIDE
                notes.of("hand-among-others", row, cell, athlete, raw=raw)
        recorded: dict[str, Any] = {
            "quantity": name,
            "part": column.part,
            "at_m": _at(column),
            "value": value,
            "unit": SI[column.field.dimension],
            "raw": raw,
            "resolution": step,
            "source": row.place_of(cell).source,
            "status": status,
        }
        yield recorded
        if name == "load" and "reps" in written.texts:
            reps, unit = number(written.texts["reps"]), SI["count"]
            yield {
                **recorded, "quantity": "reps", "value": reps, "unit": unit, "resolution": 1.0,
            }  # fmt: skip


def _read(
    row: Row, cell: Cell, text: str, athlete: Athlete, notes: Notes
) -> tuple[float | None, float, str]:
    """A cell's value and the step of its last digit, both in SI, and its status."""
    column = cell.column
    amount, status = amounts.read(text, column.unit), USED
    if is_no_mark(text):
        status = NO_MARK
        notes.of("row-no-mark", row, cell, athlete, raw=text)
    elif amount is None:
        status = SET_ASIDE
        notes.of(_why_unread(text, column), row, cell, athlete, raw=text)
    elif (cell.number, column.index) in row.whole.doubtful:
        amount, status = None, SET_ASIDE
        notes.of("number-doubtful", row, cell, athlete, raw=text)
    elif column.field.dimension == "time" and (seconds := amounts.as_part_of_day(text)):
        amount, status = None, SET_ASIDE
        notes.of("time-of-day", row, cell, athlete, raw=text, seconds=f"{seconds:.2f}")
    elif not fits(row, cell, amount, athlete, notes):
        amount, status = None, SET_ASIDE
    unit = column.unit if amount is None else amount.unit
    step = amounts.last_digit(text) if amount is None else amount.step
    factor = _factor(row, cell, unit, athlete, notes)
    if math.isnan(factor):
        status, factor = SET_ASIDE, 1.0
    return None if amount is None else amount.value * factor, step * factor, status


def _why_unread(text: str, column: Column) -> str:
    if amounts.looks_like_date(text):
        return "cell-as-date"
    paired = column.unit is not None and column.unit.larger and number(text) is not None
    return "unit-pair" if paired else "value-unreadable"


def _factor(row: Row, cell: Cell, unit: Unit | None, athlete: Athlete, notes: Notes) -> float:
    """What one of a unit is in SI; frames are worth what the row's fps says."""
    if unit is not HEADING_UNITS["frames"]:
        return unit.factor if unit else 1.0
    raw = row.text("fps")
    rate = number(raw)
    if not rate or rate < 0:
        what = "number of frames a second, which frames need"
        notes.of("frames-without-rate", row, cell, athlete, raw=raw, what=what)
        return math.nan
    return 1 / rate


def _clock_step(value: Mapping[str, Any], row: Row, session: Session) -> float:
    """What the clock behind a time can tell apart, in s: NaN where nothing is said of it.

    Film is read to one frame either way, whether the sheet holds frames or the seconds worked out
    from them. A mat's own step is the session's or the day's ``resolution_ms``.
    """
    if value["unit"] != SI["time"]:
        return math.nan
    rate = number(row.text("fps"))
    steps = [2 / rate] if rate and rate > 0 else []
    stated, _ = session.conditions.get(folder.RESOLUTION, ("", ""))
    if stated and value["quantity"] in MAT_TIMES:
        steps.append(float(stated) * HEADING_UNITS["ms"].factor)
    return max(steps, default=math.nan)


def _disagreeing(values: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Segments that are not the difference of the cumulative times at their ends.

    Those from the line are left out: a gun's time holds a reaction that a gate's does not.
    """
    used = [v for v in values if v["status"] == USED]
    gates = {v["at_m"]: v for v in used if v["quantity"] == CUMULATIVE}
    odd = []
    for v in used:
        if v["quantity"] != SEGMENT:
            continue
        start, end = (float(m) for m in v["part"].removesuffix(" m").split("-"))
        if start in gates and end in gates:
            between = gates[end]["value"] - gates[start]["value"]
            step = max(v["resolution"], gates[start]["resolution"], gates[end]["resolution"])
            if abs(between - v["value"]) > _ROUNDINGS * step:
                odd.append((v["quantity"], v["part"]))
    return odd


_ROUNDINGS = 1.6
"""Three numbers rounded by half a step each, and a little for the computer's own."""


def _at(column: Column) -> float | None:
    """The distance of a split in metres; none for anything else."""
    if column.field.name != CUMULATIVE:
        return None
    return float(column.part.removesuffix(" m"))


def _cumulative(values: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Cumulative times from segment times that follow on each other from the line.

    Each names the cells it is the sum of. Segments beyond a gap stay as they are.
    """
    segments = {
        tuple(float(m) for m in v["part"].removesuffix(" m").split("-")): v
        for v in values
        if v["quantity"] == SEGMENT and v["status"] == USED
    }
    made: list[dict[str, Any]] = []
    at, total, step, clock, sources = 0.0, 0.0, 0.0, 0.0, ""
    while (found := next((k for k in segments if k[0] == at), None)) is not None:
        segment = segments.pop(found)
        at, total = found[1], total + segment["value"]
        step += segment["resolution"]
        clock += segment["clock_step"]
        sources = joined(sources, segment["source"])
        made.append(
            {
                **segment, "quantity": CUMULATIVE, "part": metres(at), "at_m": at,
                "value": round(total, 6), "raw": "", "resolution": step, "source": sources,
                "clock_step": clock,
            }
        )  # fmt: skip
    return made
