"""From the sheets of a testing day to trials: every row read, every value with its place."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline.battery import Battery, TestPlan, nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake import amounts, columns, files, folder, force, loads, readers
from pipeline.intake.amounts import Amount, number
from pipeline.intake.columns import BODY, SHEETS, TRACES
from pipeline.intake.folder import Day, Season, Session
from pipeline.intake.frames import RawRow
from pipeline.intake.headings import Own, metres
from pipeline.intake.kinds import CONDITION, CUMULATIVE, QUANTITY, SEGMENT, Column, SheetKind
from pipeline.intake.loads import Written
from pipeline.intake.readers import RawSheet, RowMark
from pipeline.intake.roster import Athlete, Roster
from pipeline.measures import registry
from pipeline.measures.force_traces import Trace
from pipeline.measures.spec import (
    ATTEMPT_COLUMNS,
    COUNTED,
    FAILED,
    FORCE_TRACE,
    NO_MARK,
    OVER_LIMIT,
    SET_ASIDE,
    SIDE_INFORMATION,
    USED,
    VALUE_COLUMNS,
    Trials,
    joined,
    key_word,
)
from pipeline.units import HEADING_UNITS, SI, Unit

NO_MARK_WORDS = frozenset({"dns", "dnf", "dq", "nt", "nm", "-", "–", "x", "n/a", "failed"})
"""Entries that say “no result” and are kept as what they are."""

BLANK_WORDS = frozenset({"", "nan"})

KEY_FIELDS: dict[str, tuple[str, ...]] = {
    "sprint": (
        "start", "start_distance_m", "run_in_m", "clock", "timing", "beams", "indoor", "surface",
        "footwear",
    ),
    "flying": (
        "start", "run_in_m", "clock", "timing", "beams", "indoor", "surface", "footwear",
    ),
    "repeated": (
        "start", "start_distance_m", "clock", "timing", "beams", "indoor", "surface", "footwear",
    ),
    "jump": ("side", "arms", "surface", "footwear", "device"),
    "distance jump": ("side", "arms", "indoor", "surface", "footwear"),
    "drop jump": ("drop_height_m", "arms", "surface", "footwear", "device"),
    "rebound": ("side", "arms", "surface", "footwear"),
    "isometric": ("side", "device"),
    "lift": ("side", "leg", "depth", "load_is", "body_mass"),
    "other": ("side", "indoor", "surface", "footwear"),
    BODY: (),
}  # fmt: skip
"""What must agree before two values of a test may be compared, by kind of test."""

FORCE_PLATE = "force plate"
"""The ``device`` of what comes from a trace: never compared with a mat's or a camera's."""

AIR = ("altitude_m", "temperature_c", "pressure_hpa")
"""What the air was like; kept with every run, and part of no comparison key."""

WIND_LIMIT_MPS = 2.0
"""Above it a mark is no record (competition rule); it is flagged, not refused."""


@dataclass
class DayTrials:
    """What one day's files gave."""

    trials: Trials
    rows: list[RowMark]
    findings: list[Finding] = field(default_factory=list)


def read_day(season: Season, day: Day, roster: Roster, battery: Battery) -> DayTrials:
    """Read every sheet of a day.

    Returns:
        Trials keyed from 0, the rows read, and what was found wrong with them. Nothing is
        raised for bad content: a fault sets its row or value aside.
    """
    reader = _DayReader(season, day, roster, battery)
    for path, kind in reader.files():
        reader.file(path, kind)
    reader.force()  # last, since a trace is held against the body mass of the day
    return reader.result()


def read_sheet(
    season: Season, day: Day, roster: Roster, battery: Battery, sheet: tuple[Path, SheetKind]
) -> DayTrials:
    """Read one sheet by itself, as ``read_day`` reads those of a day."""
    reader = _DayReader(season, day, roster, battery)
    reader.file(*sheet)
    return reader.result()


def concatenate(days: list[Trials]) -> Trials:
    """Trials of several days as one, keys renumbered; those of a single day stay as they are."""
    if len(days) == 1:
        return days[0]
    attempts, values, offset = [], [], 0
    traces: dict[int, Trace] = {}
    for one in days:
        traces |= {key + offset: trace for key, trace in one.traces.items()}
        attempts.append(one.attempts.set_axis(one.attempts.index + offset))
        values.append(one.values.assign(key=one.values["key"] + offset))
        offset += len(one.attempts)
    return Trials(pd.concat(attempts), pd.concat(values, ignore_index=True), traces)


_ATTEMPT = re.compile(r"[1-9]\d{0,2}\Z")
_SIDES = {"l": "left", "r": "right"}
"""Short for the two sides; anything else stands as written, letter case aside."""
_YES_NO = {"yes": "yes", "true": "yes", "1": "yes", "no": "no", "false": "no", "0": "no"}
GOOD_WORDS = frozenset({"good", "yes", "ok"})


DATE_LIKE = "date like 2026-10-13"


def is_date(text: str) -> bool:
    """Whether a text is an ISO date."""
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        return False
    return True


def is_status(path: Path) -> bool:
    """Whether a file of a day is its status sheet."""
    return path.stem.casefold() == "status" and path.suffix.lower() in files.SUFFIXES


def clock_of(timing: str, start: str) -> str:
    """The clock where a sheet does not say: it follows from timing and start."""
    if start == "flying" or timing == "gates":
        return "gate"
    if timing == "hand":  # in training a stopwatch starts with the runner, in a race with the gun
        return "gun" if start == "blocks" else ""
    return {"electronic": "gun", "video": "movement"}.get(timing, "")


class _DayReader:
    def __init__(self, season: Season, day: Day, roster: Roster, battery: Battery) -> None:
        self._season, self._day, self._roster, self._battery = season, day, roster, battery
        self._attempts: list[dict[str, Any]] = []
        self._values: list[dict[str, Any]] = []
        self._rows: list[RowMark] = []
        self._findings: list[Finding] = []
        self._numbered: defaultdict[tuple[str, ...], int] = defaultdict(int)
        self._traces: dict[int, Trace] = {}
        self._force_folder: Path | None = None
        self._plates: force.Plates | None = None
        self._masses: dict[str, float] = {}

    def result(self) -> DayTrials:
        attempts = pd.DataFrame(self._attempts, columns=list(ATTEMPT_COLUMNS))
        attempts["age"] = attempts["age"].astype(float)
        values = pd.DataFrame(self._values, columns=list(VALUE_COLUMNS))
        values = values.astype({"key": int, "value": float, "at_m": float, "resolution": float})
        clocks = pd.Series([v.get("clock_step", math.nan) for v in self._values], dtype=float)
        finest, traced = _finest(values, attempts), values["key"].isin(list(self._traces))
        values["resolution"] = finest.where(~traced, values["resolution"]).clip(lower=clocks)
        trials = Trials(attempts, values, self._traces)
        attempts.loc[sorted(trials.twice()), "timed"] = False
        return DayTrials(trials, self._rows, self._findings)

    # --- files ----------------------------------------------------------------------------

    def files(self) -> Iterator[tuple[Path, SheetKind]]:
        """The day's sheets in the order of their names, once each."""
        taken: dict[str, Path] = {}
        for path in sorted(self._day.folder.iterdir(), key=lambda p: p.name):
            if is_status(path) or path.name == "day.toml" or files.is_litter(path):
                continue
            place = self._season.place(path)
            if path.is_dir() and path.name.casefold() == force.FOLDER:
                self._force_folder = path
                continue
            if path.is_dir():
                self._findings.append(finding("folder-not-used", place))
                continue
            kind = SHEETS.get(path.stem.casefold())
            if kind is None:
                self._findings.append(finding("file-not-used", place, known=", ".join(SHEETS)))
            elif path.suffix.lower() not in files.SUFFIXES:
                self._findings.append(finding("file-format", place, suffix=path.suffix))
            elif kind.name in taken:
                other = taken[kind.name].name
                self._findings.append(finding("sheet-twice", place, kind=kind.name, other=other))
            else:
                taken[kind.name] = path
                yield path, kind

    def force(self) -> None:
        """Read the list of force traces and the files it names."""
        if self._force_folder is None:
            return
        self._plates = force.Plates(self._force_folder)
        self._masses = self._body_masses()
        lists = files.named(self._force_folder, TRACES.name)
        for path in lists[1:]:
            details = {"kind": TRACES.name, "other": lists[0].name}
            self._findings.append(finding("sheet-twice", self._season.place(path), **details))
        for path in lists[:1]:
            self.file(path, TRACES)
        for path in self._plates.unlisted():
            self._findings.append(finding("trace-not-listed", self._season.place(path)))

    def file(self, path: Path, kind: SheetKind) -> None:
        place = self._season.place(path)
        try:
            sheets = readers.read(path)
        except files.UnreadableError as error:
            self._findings.append(finding("file-unreadable", place, why=error))
            return
        if not sheets:
            self._findings.append(finding("sheet-empty", place))
        first_of: dict[tuple[object, ...], int] = {}
        own = Own(self._day.own(kind.name))
        known = [columns.knows(sheet, kind, own) for sheet in sheets]
        for sheet, is_known in zip(sheets, known, strict=True):
            if is_known or not any(known):
                settled = sheet.settled(lambda row: self._roster.holds(row.texts[0]))
                self._sheet(Place(place.file, sheet.name), settled, kind, first_of)
            else:
                self._rows.extend(RowMark.of(place.file, sheet))
                self._findings.extend(sheet.passed_over(Place(place.file, sheet.name)))

    def _sheet(
        self,
        place: Place,
        sheet: RawSheet,
        kind: SheetKind,
        first_of: dict[tuple[object, ...], int],
    ) -> None:
        """Read one sheet; ``first_of`` knows the file's rows so far, for copies."""
        self._rows.extend(RowMark.of(place.file, sheet))
        self._findings.extend(sheet.findings(place))
        if not sheet.rows:
            self._findings.append(finding("sheet-empty", place))
        found, faults = columns.recognise(sheet, kind, place, Own(self._day.own(kind.name)))
        self._findings.extend(faults)
        missing = [f for f in faults if f.code == "heading-missing"]
        reader = _SheetReader(place, kind, found, len(sheet.headings))
        for row in sheet.rows:
            if missing:
                self._findings.append(_at_row(missing[0], row.number))
                continue
            self._row(reader.row(row), first_of)

    # --- rows -----------------------------------------------------------------------------

    def _row(self, row: _Row, first_of: dict[tuple[object, ...], int]) -> None:
        athlete = self._athlete(row)
        plan = self._test(row) if athlete else None
        if athlete is None or plan is None:
            return
        if row.beyond:
            self._note("cells-beyond-headings", row, "", athlete, raw=row.beyond)
        if self._is_copy(row, athlete, plan, first_of):
            return
        session = self._session(row, athlete)
        conditions = self._conditions(row, plan, session, athlete)
        written = Written()
        if row.kind is TRACES:
            conditions["device"] = (FORCE_PLATE, row.at("").source)
            values = self._trace_values(len(self._attempts), row, athlete, plan)
        else:
            written = self._written(row, conditions, athlete)
            values = self._values_of(row, written, session, athlete)
        wind = next((v["value"] for v in values if v["quantity"] == "wind"), None)
        if conditions.get("indoor", ("", ""))[0] == "yes":
            wind = None  # whatever a sheet says, there is none in a hall
        if isinstance(wind, float) and wind > WIND_LIMIT_MPS:
            self._note("wind-over", row, "", athlete, wind=f"{wind:+.1f}")
        if all(v["quantity"] in SIDE_INFORMATION and v["status"] != FAILED for v in values):
            self._note("row-no-value", row, "", athlete)
        values += self._condition_values(conditions)
        for _ in range(written.sets):
            key = len(self._attempts)
            self._values += [{"key": key, **value} for value in values]
            self._attempts.append(
                {
                    "day": self._day.key,
                    "session": session.name,
                    "athlete_id": athlete.athlete_id,
                    "sex": athlete.sex,
                    "age": athlete.exact_age_on(session.date),
                    "kind": plan.kind,
                    "test": plan.name,
                    "attempt": self._attempt_number(row, athlete, plan, conditions),
                    "clock": conditions.get("clock", ("", ""))[0],
                    "timing": conditions.get("timing", ("", ""))[0],
                    "side": conditions.get("side", ("", ""))[0],
                    "set": row.text("set"),
                    "timed": row.kind.timed,
                    "drop_height_m": float(conditions.get("drop_height_m", ("nan", ""))[0]),
                    "maximal": self._yes_no(row, "maximal", athlete),
                    "conditions": "; ".join(
                        f"{name}={key_word(conditions[name][0])}"
                        for name in KEY_FIELDS[plan.kind]
                        if name in conditions
                    ),
                    "flags": _wind_flag(wind),
                    "place": row.at("").source,
                }
            )

    def _written(
        self, row: _Row, conditions: dict[str, tuple[str, str]], athlete: Athlete
    ) -> Written:
        """What stands behind the cells of a set; body mass in it becomes a condition."""
        if row.kind.name != "lifts":
            return Written()
        good = row.text("result").casefold() in GOOD_WORDS
        written = loads.read(row.text("load"), row.text("reps"), good=good)
        if written.body:
            conditions["body_mass"] = (
                COUNTED,
                row.at(row.columns["load", ""].heading).source,
            )
        if written.plan:
            heading = row.columns[written.plan, ""].heading
            self._note("lift-planned", row, heading, athlete, raw=row.text(written.plan))
        return written

    def _is_copy(
        self,
        row: _Row,
        athlete: Athlete,
        plan: TestPlan,
        first_of: dict[tuple[object, ...], int],
    ) -> bool:
        """Whether a numbered attempt stands in the file already, cell for cell."""
        if not row.text("attempt"):
            return False
        same = (athlete.athlete_id, plan.name, row.contents())
        first = first_of.get(same)
        first_of.setdefault(same, row.number)
        if first is not None:
            self._note("row-twice", row, "", athlete, first=first)
        return first is not None

    def _session(self, row: _Row, athlete: Athlete) -> Session:
        raw = row.text("session")
        session = self._day.session(raw)
        if session is None:
            self._note("value-unusual", row, "session", athlete, raw=raw, what="session")
        return session or self._day.default

    def _values_of(
        self, row: _Row, written: Written, session: Session, athlete: Athlete
    ) -> list[dict[str, Any]]:
        """The row's recorded values, with their part and their status."""
        values = [
            {**v, "clock_step": _clock_step(v, row, session)}
            for v in self._quantities(row, written, athlete)
        ]
        if not any(v["quantity"] == CUMULATIVE for v in values):
            values += _cumulative(values)
        part = ": ".join(row.text(name) for name in row.kind.part_of)
        values = [{**v, "part": v["part"] or part} for v in values]
        failed = self._failed(row, athlete)
        if written.plan:
            return [{**v, "status": SET_ASIDE} for v in values]
        loaded = row.kind.name == "lifts"
        if loaded and values and not any(v["quantity"] == "reps" and v["value"] for v in values):
            self._note("repetitions-missing", row, "reps", athlete)
        return [{**v, "status": FAILED} for v in values] if failed else values

    def _trace_values(
        self, key: int, row: _Row, athlete: Athlete, plan: TestPlan
    ) -> list[dict[str, Any]]:
        """A row's force trace as values: its length, and the times a mat would give."""
        said = any(row.text(name) for name in ("file", "rate_hz", "column", "unit"))
        if self._plates is None or not said:  # a planned row that was left blank
            return []
        rate = row.text("rate_hz")
        asked = force.Asked(
            file=row.text("file"),
            column=row.text("column"),
            unit=row.text("unit"),
            rate_hz=number(rate),
            raw_rate=rate,
            kind=plan.kind,
            test=plan.name,
        )
        trace, faults = self._plates.read(asked, self._masses.get(athlete.athlete_id, math.nan))
        for fault in faults:
            self._note(fault.code, row, fault.column, athlete, **fault.details)
        one = {
            "quantity": FORCE_TRACE, "part": "", "at_m": None, "value": None,
            "unit": "s", "raw": asked.file, "resolution": 0.0, "source": row.at("file").source,
            "status": SET_ASIDE,
        }  # fmt: skip
        if trace is None:
            return [one]
        self._traces[key] = trace
        step, found = 1 / trace.rate_hz, trace.reading
        times = {
            FORCE_TRACE: (len(trace.force) * step, step),
            "flight_time": (found.flight_s, 2 * step),  # a sample at either end
            "contact_time": (found.time_s if plan.kind == "drop jump" else math.nan, 2 * step),
        }
        return [
            {**one, "quantity": name, "value": time, "resolution": resolution, "status": USED}
            for name, (time, resolution) in times.items()
            if not math.isnan(time)
        ]

    def _body_masses(self) -> dict[str, float]:
        """The first plausible body mass of this day in kg by athlete."""
        low, high = registry.MEASURES["body_mass"].limits(self._battery)
        masses: dict[str, float] = {}
        for value in self._values:
            weighed = value["quantity"] == "body_mass" and value["status"] == USED
            if weighed and low <= value["value"] <= high:
                masses.setdefault(self._attempts[value["key"]]["athlete_id"], value["value"])
        return masses

    def _failed(self, row: _Row, athlete: Athlete) -> bool:
        """Whether the row says that the attempt failed; a word not known counts as failed."""
        raw = row.text("result")
        if not raw or raw.casefold() in GOOD_WORDS:
            return False
        if raw.casefold() not in NO_MARK_WORDS:
            what = "result (good or failed), so the attempt is not used"
            self._note("value-unusual", row, "result", athlete, raw=raw, what=what)
        return True

    def _yes_no(self, row: _Row, column: str, athlete: Athlete) -> str:
        raw = row.text(column)
        if raw and raw.casefold() not in _YES_NO:
            self._note("value-unusual", row, column, athlete, raw=raw, what="yes or no")
        return _YES_NO.get(raw.casefold(), "")

    def _note(
        self, code: str, row: _Row, column: str, athlete: Athlete | None, **details: object
    ) -> None:
        who = athlete.athlete_id if athlete else ""
        self._findings.append(finding(code, row.at(column), who, **details))

    def _athlete(self, row: _Row) -> Athlete | None:
        raw = row.text("athlete_id")
        athlete = self._roster.find(raw)
        if athlete is None:
            self._note("athlete-unknown" if raw else "athlete-blank", row, "athlete_id", None,
                       **({"raw": raw} if raw else {}))  # fmt: skip
        return athlete

    def _test(self, row: _Row) -> TestPlan | None:
        if row.kind.fixed_test == BODY:
            return TestPlan(BODY, BODY)
        raw = row.kind.fixed_test or row.text(row.kind.test_column)
        plan = self._battery.test_named(raw)
        if plan is None or plan.kind not in row.kind.kinds:
            known = [t.name for t in self._battery.tests.values() if t.kind in row.kind.kinds]
            athlete = self._roster.find(row.text("athlete_id"))
            self._note(
                "test-unknown", row, row.kind.test_column, athlete, raw=raw,
                guess=nearest(raw, known),
            )  # fmt: skip
            return None
        return plan

    def _attempt_number(
        self,
        row: _Row,
        athlete: Athlete,
        plan: TestPlan,
        conditions: Mapping[str, tuple[str, str]],
    ) -> int:
        """The attempt as written, else counted in the order of the sheet."""
        series = row.kind.kinds == ("rebound",)  # there an attempt is the whole series
        raw = row.text("attempt") or ("1" if series else row.text("rep"))
        if _ATTEMPT.match(raw):
            return int(raw)
        if raw:
            self._note("value-unusual", row, "attempt", athlete, raw=raw, what="attempt number")
        side = conditions.get("side", ("", ""))[0]
        counted = (athlete.athlete_id, plan.name, side)
        self._numbered[counted] += 1
        return self._numbered[counted]

    # --- cells ----------------------------------------------------------------------------

    def _quantities(
        self, row: _Row, written: Written, athlete: Athlete
    ) -> Iterator[dict[str, Any]]:
        for column in row.columns.values():
            raw, name = row.cell(column), column.field.name
            if column.field.role != QUANTITY or raw.casefold() in BLANK_WORDS:
                continue
            if name == "reps" and name in written.texts:
                continue  # the load cell says it
            value, step, status = None, 1.0, SET_ASIDE
            if name != written.plan:
                value, step, status = self._read(row, column, written.texts.get(name, raw), athlete)
            recorded: dict[str, Any] = {
                "quantity": name,
                "part": column.part,
                "at_m": _at(column),
                "value": value,
                "unit": SI[column.field.dimension],
                "raw": raw,
                "resolution": step,
                "source": row.at(column.heading).source,
                "status": status,
            }
            yield recorded
            if name == "load" and "reps" in written.texts:
                reps = number(written.texts["reps"])
                unit = SI["count"]
                yield {
                    **recorded,
                    "quantity": "reps",
                    "value": reps,
                    "unit": unit,
                    "resolution": 1.0,
                }

    def _read(
        self, row: _Row, column: Column, text: str, athlete: Athlete
    ) -> tuple[float | None, float, str]:
        """A cell's value and the step of its last digit, both in SI, and its status."""
        amount, status = amounts.read(text, column.unit), USED
        if text.casefold() in NO_MARK_WORDS:
            status = NO_MARK
            self._note("row-no-mark", row, column.heading, athlete, raw=text)
        elif amount is None:
            status = SET_ASIDE
            paired = column.unit is not None and column.unit.larger and number(text) is not None
            code = "unit-pair" if paired else "value-unreadable"
            self._note(code, row, column.heading, athlete, raw=text)
        elif not self._fits(row, column, amount, athlete):
            amount, status = None, SET_ASIDE
        unit = column.unit if amount is None else amount.unit
        step = amounts.last_digit(text) if amount is None else amount.step
        factor = self._factor(row, column, unit, athlete)
        if math.isnan(factor):
            status, factor = SET_ASIDE, 1.0
        return None if amount is None else amount.value * factor, step * factor, status

    def _fits(self, row: _Row, column: Column, amount: Amount, athlete: Athlete) -> bool:
        """Whether the unit a cell names itself may stand there; where it differs, that is said."""
        if amount.unit is None or amount.unit == column.unit:
            return True
        details = {"raw": row.cell(column), "heading": column.heading}
        fits = amount.unit.dimension == column.field.dimension
        self._note("unit-own" if fits else "unit-other", row, column.heading, athlete, **details)
        return fits

    def _factor(self, row: _Row, column: Column, unit: Unit | None, athlete: Athlete) -> float:
        """What one of a unit is in SI; frames are worth what the row's fps says."""
        if unit is not HEADING_UNITS["frames"]:
            return unit.factor if unit else 1.0
        raw = row.text("fps")
        rate = number(raw)
        if not rate or rate < 0:
            what = "number of frames a second, which frames need"
            self._note("frames-without-rate", row, column.heading, athlete, raw=raw, what=what)
            return float("nan")
        return 1 / rate

    def _conditions(
        self, row: _Row, plan: TestPlan, session: Session, athlete: Athlete
    ) -> dict[str, tuple[str, str]]:
        """Condition → (text, source): the row's own before its session's before the day's."""
        wanted = KEY_FIELDS[plan.kind]
        kept = (*wanted, *AIR) if "clock" in wanted else wanted
        conditions = {k: v for k, v in session.conditions.items() if k in kept}
        for column in row.columns.values():
            raw = row.cell(column)
            if column.field.role != CONDITION or not raw:
                continue
            amount = amounts.read(raw, column.unit) if column.unit else None
            if amount and not self._fits(row, column, amount, athlete):
                continue
            name, text = _condition(column, raw, amount)
            if text:
                conditions[name] = (text, row.at(column.heading).source)
            else:
                words = ", ".join(columns.WORDS.get(name, ()))
                what = f"{name} ({words})" if words else name
                self._note("value-unusual", row, column.heading, athlete, raw=raw, what=what)
        self._labels(row, conditions, athlete)
        if "clock" in wanted and "clock" not in conditions:
            timing = conditions.get("timing", ("", ""))
            clock = clock_of(timing[0], conditions.get("start", ("", ""))[0])
            if clock:
                conditions["clock"] = (clock, timing[1])
        return conditions

    def _labels(self, row: _Row, conditions: dict[str, tuple[str, str]], athlete: Athlete) -> None:
        """The row's own date and observer, which are kept and compared with nothing."""
        for name in ("date", "observer", "fps"):
            raw = row.text(name)
            if raw and name == "date" and not is_date(raw):
                self._note("value-unusual", row, name, athlete, raw=raw, what=DATE_LIKE)
            elif raw:
                heading = row.columns[name, ""].heading
                conditions[name] = (raw, row.at(heading).source)

    def _condition_values(
        self, conditions: Mapping[str, tuple[str, str]]
    ) -> Iterator[dict[str, object]]:
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


def _wind_flag(wind: float | None) -> str:
    if wind is None:
        return ""
    return f"wind {wind:+.1f} m/s{OVER_LIMIT if wind > WIND_LIMIT_MPS else ''}"


def _condition(column: Column, raw: str, amount: Amount | None) -> tuple[str, str]:
    """A condition's name and text; the text is empty where the cell cannot be understood."""
    name = column.field.name
    if column.unit is not None:
        unit = amount.unit if amount else None
        return f"{name}_m", f"{amount.value * unit.factor:g}" if amount and unit else ""
    if name == "side":
        return name, _SIDES.get(raw.casefold(), raw.casefold())
    if name == "indoor":
        return name, _YES_NO.get(raw.casefold(), "")
    if name in columns.WORDS:
        return name, raw.casefold() if raw.casefold() in columns.WORDS[name] else ""
    return name, raw


MAT_TIMES = ("contact_time", "flight_time")
"""What a mat's clock takes; the gates of the same day have another."""


def _clock_step(value: Mapping[str, Any], row: _Row, session: Session) -> float:
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


def _finest(values: pd.DataFrame, attempts: pd.DataFrame) -> pd.Series:
    """The step of each value: the finest its column shows in that test and timing.

    A spreadsheet saves 7.70 as 7.7; what was read beside 7.74 was read to 0.01 s all the same.
    What a cell says beside its digits (pounds under kilograms) sets it apart from the others.
    """
    beside = values["raw"].str.replace(r"[\d.,\s+-]", "", regex=True).str.casefold()
    columns = values["source"].str.replace(r"![^!]*!([^!]*)$", r"!\1", regex=True)
    own = values["key"].map(attempts["test"] + "|" + attempts["timing"])
    return values.groupby([columns, own, beside])["resolution"].transform("min")


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


def _at_row(fault: Finding, row: int) -> Finding:
    return Finding(
        fault.code, fault.place.at(row, fault.place.column), fault.athlete_id, fault.details
    )


@dataclass(frozen=True, slots=True)
class _SheetReader:
    place: Place
    kind: SheetKind
    columns: Mapping[tuple[str, str], Column]
    width: int

    def row(self, raw: RawRow) -> _Row:
        return _Row(self.place, self.kind, self.columns, raw, self.width)


@dataclass(frozen=True, slots=True)
class _Row:
    place: Place
    kind: SheetKind
    columns: Mapping[tuple[str, str], Column]
    raw: RawRow
    width: int

    @property
    def number(self) -> int:
        return self.raw.number

    @property
    def beyond(self) -> str:
        """What stands to the right of the last heading."""
        return " ".join(cell.strip() for cell in self.raw.cells[self.width :] if cell.strip())

    def at(self, column: str) -> Place:
        """The place of a cell, by its field or its heading."""
        found = self.columns.get((column, ""))
        return self.place.at(self.raw.number, found.heading if found else column)

    def cell(self, column: Column) -> str:
        cells = self.raw.cells
        return cells[column.index].strip() if column.index < len(cells) else ""

    def text(self, name: str) -> str:
        column = self.columns.get((name, ""))
        return self.cell(column) if column else ""

    def contents(self) -> tuple[tuple[str, str, str], ...]:
        """Every cell but the athlete's and the test's names, by field, whatever their order."""
        named = ("athlete_id", self.kind.test_column)
        cells = ((*key, self.cell(c)) for key, c in self.columns.items() if key[0] not in named)
        return tuple(sorted(cells))
