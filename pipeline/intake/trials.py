"""From the sheets of a testing day to trials: every row read, every value with its place."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

import pandas as pd

from pipeline.battery import Battery, TestPlan, nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake import cells, columns, files, force, layouts, loads
from pipeline.intake import conditions as surroundings
from pipeline.intake.amounts import number
from pipeline.intake.columns import BODY, SHEETS, TRACES
from pipeline.intake.compound import RESULTS
from pipeline.intake.conditions import YES_NO, Conditions
from pipeline.intake.folder import Day, Season, Session
from pipeline.intake.headings import Own
from pipeline.intake.kinds import SheetKind
from pipeline.intake.loads import Written
from pipeline.intake.people import WHO, People
from pipeline.intake.readers import RawSheet, RowMark
from pipeline.intake.roster import Athlete, Roster
from pipeline.intake.rows import Notes, Row, is_blank, is_result
from pipeline.measures import registry
from pipeline.measures.force_traces import Trace
from pipeline.measures.spec import (
    ATTEMPT_COLUMNS,
    COUNTED,
    FAILED,
    FORCE_TRACE,
    OVER_LIMIT,
    SET_ASIDE,
    SIDE_INFORMATION,
    USED,
    VALUE_COLUMNS,
    Trials,
)

FORCE_PLATE = "force plate"
"""The ``device`` of what comes from a trace: never compared with a mat's or a camera's."""

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
GOOD_WORDS = frozenset({"good", "yes", "ok"})


def is_status(path: Path) -> bool:
    """Whether a file of a day is its status sheet."""
    return path.stem.casefold() == "status" and path.suffix.lower() in files.SUFFIXES


class _DayReader:
    def __init__(self, season: Season, day: Day, roster: Roster, battery: Battery) -> None:
        self._season, self._day, self._battery = season, day, battery
        self._people = People(roster)
        self._attempts: list[dict[str, Any]] = []
        self._values: list[dict[str, Any]] = []
        self._rows: list[RowMark] = []
        self._notes = Notes()
        self._findings = self._notes.findings
        self._numbered: defaultdict[tuple[str, ...], int] = defaultdict(int)
        self._held: dict[tuple[str, str, str], str] = {}
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
        finest, traced = cells.finest(values, attempts), values["key"].isin(list(self._traces))
        values["resolution"] = finest.where(~traced, values["resolution"]).clip(lower=clocks)
        trials = Trials(attempts, values, self._traces)
        attempts.loc[sorted(trials.twice()), "timed"] = False
        contested = self._people.called_twice()
        aside = {f.place.at(f.place.row).source for f in contested}
        trials = trials.rows_aside(aside) if aside else trials
        return DayTrials(trials, self._rows, self._findings + contested)

    # --- files ----------------------------------------------------------------------------

    def files(self) -> Iterator[tuple[Path, SheetKind]]:
        """The day's sheets in the order of their names, once each; that of any tests last."""
        taken: dict[str, Path] = {}
        found = sorted(self._day.folder.iterdir(), key=lambda p: p.name)
        for path in sorted(found, key=lambda p: p.stem.casefold() == RESULTS):
            if is_status(path) or path.name == "day.toml" or files.is_litter(path):
                continue
            place = self._season.place(path)
            if path.is_symlink() and path.is_dir():
                self._findings.append(finding("link-not-read", place))
                continue
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
            sheets = self._season.read(path)
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
                settled = sheet.settled(lambda row: self._people.holds(row.texts[0]))
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
        if not sheet.rows and not sheet.excluded:
            self._findings.append(finding("sheet-empty", place))
        layout = layouts.recognise(sheet, kind, place, self._battery, self._day)
        missing = [f for f in layout.findings if f.code == "heading-missing"]
        if missing:
            self._findings.extend(_at_row(missing[0], row.number) for row in sheet.rows)
        else:
            for row in layout.rows(sheet, place):
                self._row(row, first_of)
        self._findings.extend(layout.findings)

    # --- rows -----------------------------------------------------------------------------

    def _row(self, row: Row, first_of: dict[tuple[object, ...], int]) -> None:
        athlete = self._athlete(row)
        plan = self._test(row, athlete) if athlete else None
        if athlete is None or plan is None:
            return
        row, odd = layouts.settled(row, plan)
        for cell in odd:
            details = {"raw": cell.text, "heading": f"{cell.column.heading} of a {plan.name}"}
            self._notes.of("unit-other", row, cell, athlete, **details)
        if row.beyond:
            self._note("cells-beyond-headings", row, "", athlete, raw=row.beyond)
        if self._is_copy(row, athlete, plan, first_of):
            return
        session = self._session(row, athlete)
        if not self._is_held(row, athlete, plan, session):
            self._attempt(row, athlete, plan, session)

    def _attempt(self, row: Row, athlete: Athlete, plan: TestPlan, session: Session) -> None:
        """One attempt of somebody, or as many as a cell says there were."""
        signs = cells.signs_of(row)
        conditions = surroundings.of_row(row, plan, session, athlete, self._notes, signs)
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
        values += surroundings.as_values(conditions)
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
                    "conditions": surroundings.key_of(plan, conditions),
                    "flags": _wind_flag(wind, marked=signs.windy is not None),
                    "place": row.at("").source,
                }
            )

    def _written(self, row: Row, conditions: Conditions, athlete: Athlete) -> Written:
        """What stands behind the cells of a set; body mass in it becomes a condition."""
        if row.kind.name != "lifts":
            return Written()
        good = row.text("result").casefold() in GOOD_WORDS
        written = loads.read(row.text("load"), row.text("reps"), good=good)
        if written.body:
            load = row.cells["load", ""]
            conditions["body_mass"] = (COUNTED, row.place_of(load).source)
        if written.plan:
            cell = row.cells[written.plan, ""]
            self._notes.of("lift-planned", row, cell, athlete, raw=cell.text)
        return written

    def _is_copy(
        self,
        row: Row,
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

    def _is_held(self, row: Row, athlete: Athlete, plan: TestPlan, session: Session) -> bool:
        """Whether the sheet of any tests repeats what a sheet of its own holds."""
        file, who = row.place.file, (athlete.athlete_id, plan.name, session.name)
        filled = [c for c in row.cells.values() if is_result(c.column) and not is_blank(c.text)]
        held = self._held.setdefault(who, file) if filled else file
        if held == file or PurePosixPath(file).stem.casefold() != RESULTS:
            return False
        for cell in filled:
            self._notes.of("result-twice", row, cell, athlete, raw=cell.text, other=held)
        return True

    def _session(self, row: Row, athlete: Athlete) -> Session:
        raw = row.text("session")
        session = self._day.session(raw)
        if session is None:
            self._note("value-unusual", row, "session", athlete, raw=raw, what="session")
        return session or self._day.default

    def _values_of(
        self, row: Row, written: Written, session: Session, athlete: Athlete
    ) -> list[dict[str, Any]]:
        """The row's recorded values, with their part and their status."""
        values = cells.values_of(row, written, session, athlete, self._notes)
        failed = self._failed(row, athlete)
        if written.plan:
            return [{**v, "status": SET_ASIDE} for v in values]
        loaded = row.kind.name == "lifts"
        if loaded and values and not any(v["quantity"] == "reps" and v["value"] for v in values):
            self._note("repetitions-missing", row, "reps", athlete)
        return [{**v, "status": FAILED} for v in values] if failed else values

    def _trace_values(
        self, key: int, row: Row, athlete: Athlete, plan: TestPlan
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

    def _failed(self, row: Row, athlete: Athlete) -> bool:
        """Whether the row says that the attempt failed; a word not known counts as failed."""
        raw = row.text("result")
        if not raw or raw.casefold() in GOOD_WORDS:
            return False
        if not cells.is_no_mark(raw):
            what = "result (good or failed), so the attempt is not used"
            self._note("value-unusual", row, "result", athlete, raw=raw, what=what)
        return True

    def _yes_no(self, row: Row, column: str, athlete: Athlete) -> str:
        raw = row.text(column)
        if raw and raw.casefold() not in YES_NO:
            self._note("value-unusual", row, column, athlete, raw=raw, what="yes or no")
        return YES_NO.get(raw.casefold(), "")

    def _note(
        self, code: str, row: Row, column: str, athlete: Athlete | None, **details: object
    ) -> None:
        self._notes.at(code, row, column, athlete, **details)

    def _athlete(self, row: Row) -> Athlete | None:
        athlete = None
        texts = {name: row.text(name) for name in WHO}
        headings = {n: row.cells[n, ""].column.heading for n in WHO if (n, "") in row.cells}
        for at in map(row.place.at, row.numbers):
            athlete, said = self._people.of_row(at, texts, headings)
            self._findings += said
        return athlete

    def _test(self, row: Row, athlete: Athlete) -> TestPlan | None:
        if row.kind.fixed_test == BODY:
            return TestPlan(BODY, BODY)
        raw = row.kind.fixed_test or row.text(row.kind.test_column)
        plan = self._battery.test_named(raw)
        if plan is None or plan.kind not in row.kind.kinds:
            known = [t.name for t in self._battery.tests.values() if t.kind in row.kind.kinds]
            self._note(
                "test-unknown", row, row.kind.test_column, athlete, raw=raw,
                guess=nearest(raw, known),
            )  # fmt: skip
            return None
        return plan

    def _attempt_number(
        self,
        row: Row,
        athlete: Athlete,
        plan: TestPlan,
        conditions: Conditions,
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


def _wind_flag(wind: float | None, *, marked: bool) -> str:
    """A flag for the wind; ``marked`` says that a sign beside the time calls it over the limit."""
    if wind is None:
        return f"wind not given{OVER_LIMIT}" if marked else ""
    return f"wind {wind:+.1f} m/s{OVER_LIMIT if marked or wind > WIND_LIMIT_MPS else ''}"


def _at_row(fault: Finding, row: int) -> Finding:
    return Finding(
        fault.code, fault.place.at(row, fault.place.column), fault.athlete_id, fault.details
    )
