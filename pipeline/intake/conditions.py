"""Under what conditions an attempt was made: the row's own before its session's and the day's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.battery import TestPlan
from pipeline.intake import amounts, columns, folder
from pipeline.intake.amounts import Amount, number
from pipeline.intake.cells import Signs, fits
from pipeline.intake.columns import BODY
from pipeline.intake.compound import OCCASIONS
from pipeline.intake.dates import DATE_LIKE
from pipeline.intake.folder import Session
from pipeline.intake.kinds import CONDITION, Column
from pipeline.intake.roster import Athlete
from pipeline.intake.rows import Notes, Row
from pipeline.measures.spec import USED, key_word

Conditions = dict[str, tuple[str, str]]
"""Condition → (text, source)."""

_APART = ("occasion", "mark")
"""Before or after, where a day holds both; and a sign that sets a result apart from others."""

KEY_FIELDS: dict[str, tuple[str, ...]] = {
    "sprint": (
        "start", "start_distance_m", "run_in_m", "clock", "timing", "beams", "indoor", "surface",
        "footwear", *_APART,
    ),
    "flying": (
        "start", "run_in_m", "clock", "timing", "beams", "indoor", "surface", "footwear",
        *_APART,
    ),
    "repeated": (
        "start", "start_distance_m", "clock", "timing", "beams", "indoor", "surface", "footwear",
        *_APART,
    ),
    "jump": ("side", "arms", "surface", "footwear", "device", *_APART),
    "distance jump": ("side", "arms", "indoor", "surface", "footwear", *_APART),
    "drop jump": ("drop_height_m", "arms", "surface", "footwear", "device", *_APART),
    "rebound": ("side", "arms", "surface", "footwear", *_APART),
    "isometric": ("side", "device", *_APART),
    "lift": ("side", "leg", "depth", "load_is", "body_mass", *_APART),
    "other": ("side", "indoor", "surface", "footwear", *_APART),
    BODY: (),
}  # fmt: skip
"""What must agree before two values of a test may be compared, by kind of test."""

AIR = ("altitude_m", "temperature_c", "pressure_hpa")
"""What the air was like; kept with every run, and part of no comparison key."""

_STAR = "*"
_SIDES = {"l": "left", "r": "right"}
"""Short for the two sides; anything else stands as written, letter case aside."""
YES_NO = {"yes": "yes", "true": "yes", "1": "yes", "no": "no", "false": "no", "0": "no"}


def clock_of(timing: str, start: str) -> str:
    """The clock where a sheet does not say: it follows from timing and start."""
    if start == "flying" or timing == "gates":
        return "gate"
    if timing == "hand":  # in training a stopwatch starts with the runner, in a race with the gun
        return "gun" if start == "blocks" else ""
    return {"electronic": "gun", "video": "movement"}.get(timing, "")


def of_row(
    row: Row, plan: TestPlan, session: Session, athlete: Athlete, notes: Notes, signs: Signs
) -> Conditions:
    """The conditions of one attempt, and the labels that are kept and compared with nothing."""
    wanted = KEY_FIELDS[plan.kind]
    kept = (*wanted, *AIR) if "clock" in wanted else wanted
    conditions = {k: v for k, v in session.conditions.items() if k in kept}
    for cell in row.cells.values():
        column, raw = cell.column, cell.text
        if column.field.role != CONDITION or not raw:
            continue
        amount = amounts.read(raw, column.unit) if column.unit else None
        if amount and not fits(row, cell, amount, athlete, notes):
            continue
        name, text = _condition(column, raw, amount)
        if text:
            conditions[name] = (text, row.place_of(cell).source)
        else:
            words = ", ".join(columns.WORDS.get(name, ()))
            what = f"{name} ({words})" if words else name
            notes.of("value-unusual", row, cell, athlete, raw=raw, what=what)
    if session.name.casefold() in OCCASIONS and wanted:
        said = row.cells.get(("session", ""))
        source = row.place_of(said).source if said else row.at("").source
        conditions["occasion"] = (session.name.casefold(), source)
    if signs.star and wanted:
        conditions["mark"] = (_STAR, row.place_of(signs.star).source)
    if signs.hand:
        conditions["timing"] = ("hand", row.place_of(signs.hand).source)
    _add_labels(row, conditions, athlete, notes)
    if "clock" in wanted and "clock" not in conditions:
        timing = conditions.get("timing", ("", ""))
        clock = clock_of(timing[0], conditions.get("start", ("", ""))[0])
        if clock:
            conditions["clock"] = (clock, timing[1])
    return conditions


def key_of(plan: TestPlan, conditions: Conditions) -> str:
    """The comparison key in words."""
    return "; ".join(
        f"{name}={key_word(conditions[name][0])}"
        for name in KEY_FIELDS[plan.kind]
        if name in conditions
    )


def as_values(conditions: Mapping[str, tuple[str, str]]) -> Iterator[dict[str, object]]:
    """Conditions as values of the attempt; they have no resolution."""
    for name, (text, source) in conditions.items():
        yield {
            "quantity": name,
            "part": "",
            "at_m": None,
            "value": number(text) if name in (*folder.NUMBERS, "fps") else None,
            "unit": "",
            "raw": text,
            "resolution": None,
            "source": source,
            "status": USED,
        }


def _add_labels(row: Row, conditions: Conditions, athlete: Athlete, notes: Notes) -> None:
    """The row's own date and observer, which are kept and compared with nothing."""
    for name in ("date", "observer", "fps"):
        cell = row.cells.get((name, ""))
        if cell is None or not cell.text:
            continue
        text, dates = cell.text, row.whole.dates
        if name == "date" and dates.is_ambiguous(text):
            continue  # the whole column is asked for
        if name == "date":
            date = dates.read(text)
            text = date.isoformat() if date else ""
        if text:
            conditions[name] = (text, row.place_of(cell).source)
        else:
            notes.at("value-unusual", row, name, athlete, raw=cell.text, what=DATE_LIKE)


def _condition(column: Column, raw: str, amount: Amount | None) -> tuple[str, str]:
    """A condition's name and text; the text is empty where the cell cannot be understood."""
    name = column.field.name
    if column.unit is not None:
        unit = amount.unit if amount else None
        return f"{name}_m", f"{amount.value * unit.factor:g}" if amount and unit else ""
    if name == "side":
        return name, _SIDES.get(raw.casefold(), raw.casefold())
    if name == "indoor":
        return name, YES_NO.get(raw.casefold(), "")
    if name in columns.WORDS:
        return name, raw.casefold() if raw.casefold() in columns.WORDS[name] else ""
    return name, raw
