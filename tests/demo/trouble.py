"""What goes wrong on a testing day, put into the clean sheets one slip at a time.

`TROUBLES` is the list of it all: where each trouble lies, what somebody did, the severity of the
finding it should lead to, and what should become of the data. Tests walk it. The three earlier
days hold errors (something is set aside); the latest day holds warnings and notes only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import ceil
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Literal

from .days import AUTUMN_25, AUTUMN_26, SPRING_26, WINTER_26
from .sheets import Sheets

if TYPE_CHECKING:
    from .tables import Row, Table

Severity = Literal["note", "warning", "error"]
Where = dict[str, str]
Edit = Callable[[Sheets, str], None]  # the day's sheets, the name of the one meant

_POUND_KG = 0.45359237
_POUND_PLATES = 5
_HAND_TIMING_S = 0.24  # by so much a stopwatch reads less than electronics


@dataclass(frozen=True)
class Trouble:
    """One trouble: where, what happened, and what the tool should make of it."""

    day: str
    file: str  # as it stands in the day's folder; blank: all of them
    athlete_id: str  # blank: the file as a whole, or a whole heat
    what: str
    expected: Severity
    then: str
    edit: Edit = field(repr=False, compare=False)

    def strike(self, season: dict[str, Sheets]) -> None:
        """Put the trouble into the day's sheets."""
        self.edit(season[self.day], PurePosixPath(self.file).stem)


def _find(table: Table, where: Where) -> list[Row]:
    """Return the rows meant; a slip that hits nothing would be no test of anything."""
    rows = [row for row in table.rows if all(row.get(k, "") == v for k, v in where.items())]
    if not rows:
        message = f"no row is like {where}"
        raise LookupError(message)
    return rows


def _run(athlete_id: str, test: str, attempt: int) -> Where:
    return {"athlete_id": athlete_id, "test": test, "attempt": str(attempt)}


def _put(where: Where, **cells: str) -> Edit:
    """Write other cells over those that stood there."""

    def edit(sheets: Sheets, name: str) -> None:
        for row in _find(sheets[name], where):
            row.update(cells)

    return edit


def _mistype(where: Where, column: str, meant: str, typed: str) -> Edit:
    """Mistype a cell; the right content is named, so the slip cannot drift from its words."""
    return _put({**where, column: meant}, **{column: typed})


def _untimed(where: Where, **cells: str) -> Edit:
    """Leave a run without any time, then write `cells`."""

    def edit(sheets: Sheets, name: str) -> None:
        for row in _find(sheets[name], where):
            times = [key for key in row if key.startswith("t") and key.endswith("_s")]
            row.update(dict.fromkeys(times, "") | cells)

    return edit


def _as_it_was(where: Where) -> Edit:
    """Change nothing, the weather did it; only make sure that it is there."""

    def edit(sheets: Sheets, name: str) -> None:
        _find(sheets[name], where)

    return edit


def _keep_only(run: Where, **cells: str) -> Edit:
    """Keep one attempt of an athlete at a test, and write `cells` in it."""

    def edit(sheets: Sheets, name: str) -> None:
        table = sheets[name]
        [kept] = _find(table, run)
        same = {key: run[key] for key in ("athlete_id", "test")}
        lost = [row for row in _find(table, same) if row is not kept]
        table.rows = [row for row in table.rows if row not in lost]
        kept.update(cells)

    return edit


def _paste_twice(where: Where) -> Edit:
    def edit(sheets: Sheets, name: str) -> None:
        table = sheets[name]
        [row] = _find(table, where)
        table.rows.insert(table.rows.index(row), dict(row))

    return edit


def _time_by_hand(race: Where) -> Edit:
    """Add a second race, about as fast as the first, with a stopwatch at the finish only."""

    def edit(sheets: Sheets, name: str) -> None:
        table = sheets[name]
        [row] = _find(table, race)
        seconds = ceil(10 * (float(row["t100_s"]) - _HAND_TIMING_S)) / 10
        kept = {key: row[key] for key in ("athlete_id", "test", "start", "clock", "session")}
        last = max(i for i, other in enumerate(table.rows) if other["test"] == row["test"])
        by_hand = {"attempt": "2", "timing": "hand", "t100_s": f"{seconds:.1f}"}
        table.rows.insert(last + 1, kept | by_hand)

    return edit


def _in_pounds(sheets: Sheets, name: str) -> None:
    """Write a lift sheet in pounds, and as a workbook."""
    table = sheets[name]
    table.suffix = "xlsx"
    table.columns = tuple(column.replace("_kg", "_lb") for column in table.columns)
    for row in table.rows:
        plates = round(float(row.pop("load_kg")) / _POUND_KG / _POUND_PLATES)
        row["load_lb"] = str(plates * _POUND_PLATES)


def _continental(sheets: Sheets, name: str) -> None:
    """Write a sheet the way spreadsheets of half of Europe save it."""
    sheets[name].delimiter = ";"
    sheets[name].decimal = ","


def _never_seen(athlete_id: str) -> Edit:
    """Take every row of an athlete out of every sheet."""

    def edit(sheets: Sheets, _: str) -> None:
        for table in sheets.values():
            table.rows = [row for row in table.rows if row.get("athlete_id") != athlete_id]

    return edit


def _test_of(sheet: str, row: Row) -> str:
    return row.get("test") or row.get("lift") or sheet.replace("drop_jumps", "drop jump")


def _status(
    day: str, athlete_id: str, test: str, status: str, *, reason: str, session: str
) -> Trouble:
    """Write down who did less than planned; limited means one attempt, not done means none."""

    def edit(sheets: Sheets, name: str) -> None:
        for sheet, table in sheets.items():
            table.rows = [
                row
                for row in table.rows
                if row.get("athlete_id") != athlete_id
                or (test and _test_of(sheet, row) != test)
                or (status == "limited" and row["attempt"] == "1")
                or sheet == name
            ]
        sheets[name].rows.append(
            {
                "athlete_id": athlete_id,
                "test": test,
                "status": status,
                "reason": reason,
                "session": session,
            }
        )

    what = f"{test or 'the whole day'} {status}: {reason}"
    then = "said with its reason, never counted as missing"
    return Trouble(day, "status.csv", athlete_id, what, "note", then, edit)


TROUBLES: tuple[Trouble, ...] = (
    # Autumn 2025: the first day, and much is still new to everybody.
    _status(AUTUMN_25, "S04", "power clean", "not done", reason="wrist taped", session="gym"),
    _status(AUTUMN_25, "F06", "40 m", "limited", reason="blister", session="pitch"),
    Trouble(
        *(AUTUMN_25, "sprints.csv", "S08"),
        "a block was pasted twice: the first 60 m stands there two times, cell for cell",
        "error",
        "the second copy is set aside, the first is used",
        _paste_twice(_run("S08", "60 m", 1)),
    ),
    Trouble(
        *(AUTUMN_25, "sprints.csv", "S13"),
        "two digits changed places: the 30 m gate was read 4.12, typed 1.42",
        "error",
        "the run is set aside: 30 m before 10 m",
        _mistype(_run("S13", "60 m", 2), "t30_s", "4.12", "1.42"),
    ),
    Trouble(
        *(AUTUMN_25, "sprints.csv", "S04"),
        "the finish camera was packed up: a second 100 m timed by stopwatch",
        "note",
        "kept, and never compared with electronic times",
        _time_by_hand(_run("S04", "100 m", 1)),
    ),
    Trouble(
        *(AUTUMN_25, "sprints.csv", "S12"),
        "the finish camera was packed up: a second 100 m timed by stopwatch",
        "note",
        "kept, and never compared with electronic times",
        _time_by_hand(_run("S12", "100 m", 1)),
    ),
    Trouble(
        *(AUTUMN_25, "sprints.csv", ""),
        "the women's second 100 m had +2.4 m/s behind it",
        "warning",
        "kept and marked as wind-assisted",
        _as_it_was(_run("S01", "100 m", 2) | {"wind_mps": "2.4"}),
    ),
    Trouble(
        *(AUTUMN_25, "sprints.csv", "S05"),
        "stepped off the track after 100 m of the 200 m, entered as DNF",
        "note",
        "the splits are kept, the finish is a no-mark",
        _put(_run("S05", "200 m", 1), t150_s="", t200_s="DNF"),
    ),
    Trouble(
        *(AUTUMN_25, "sprints.csv", "S14"),
        "the second 60 m was prepared in the sheet and never run",
        "warning",
        "an attempt without a result, not an attempt of zero",
        _untimed(_run("S14", "60 m", 2)),
    ),
    Trouble(
        *(AUTUMN_25, "jumps.csv", "S99"),
        "a slip of the keyboard: the last countermovement jump of S09 was entered for S99",
        "error",
        "the row is set aside: nobody in the roster has that id",
        _put(_run("S09", "countermovement jump", 3), athlete_id="S99"),
    ),
    # Winter 2026: a guest coach brings American plates and a laptop from abroad.
    _status(WINTER_26, "F02", "", "not done", reason="influenza", session="gym"),
    _status(
        WINTER_26, "S14", "countermovement jump", "limited", reason="shins sore", session="gym"
    ),
    Trouble(
        *(WINTER_26, "lifts.xlsx", ""),
        "the guest coach counted plates in pounds and kept a workbook",
        "note",
        "read in kilograms, comparable with the other days",
        _in_pounds,
    ),
    Trouble(
        *(WINTER_26, "jumps.csv", ""),
        "saved on a laptop that writes semicolons and decimal commas",
        "note",
        "read with the same values",
        _continental,
    ),
    Trouble(
        *(WINTER_26, "drop_jumps.csv", "F08"),
        "one flight time was copied from the mat's display in milliseconds",
        "error",
        "the value is set aside: nobody flies for minutes",
        _mistype(
            {"athlete_id": "F08", "drop_height_cm": "30", "attempt": "1"},
            *("flight_time_s", "0.540", "540"),
        ),
    ),
    # Spring 2026: everything works, and people start to hurry.
    _status(
        SPRING_26, "S06", "100 m", "not done", reason="hamstring, physio says wait", session="race"
    ),
    _status(SPRING_26, "F13", "", "not done", reason="school trip", session="gym"),
    Trouble(
        *(SPRING_26, "sprints.csv", "F11"),
        "missed the pitch session and ran one 40 m the week after, with its date in the row",
        "note",
        "belongs to the same testing day, with its own date",
        _keep_only(_run("F11", "40 m", 1), date="2026-05-19"),
    ),
    Trouble(
        *(SPRING_26, "lifts.csv", "S08"),
        "the point of 117.5 kg was not typed",
        "error",
        "the set is set aside: ten times everything around it",
        _mistype({"athlete_id": "S08", "lift": "back squat"}, "load_kg", "117.5", "1175"),
    ),
    # Autumn 2026, the latest day: no slip of the pen, only life.
    _status(AUTUMN_26, "S06", "", "not done", reason="exam", session="track"),
    _status(
        AUTUMN_26, "S12", "60 m", "not done", reason="hamstring, physio says wait", session="track"
    ),
    _status(
        AUTUMN_26,
        "S12",
        "flying 20 m",
        "not done",
        reason="hamstring, physio says wait",
        session="track",
    ),
    _status(
        AUTUMN_26, "S12", "100 m", "not done", reason="hamstring, physio says wait", session="race"
    ),
    _status(AUTUMN_26, "F06", "drop jump", "limited", reason="ankle taped", session="gym"),
    Trouble(
        *(AUTUMN_26, "", "F09"),
        "did not come, and nobody wrote why",
        "warning",
        "named as missing",
        _never_seen("F09"),
    ),
    Trouble(
        *(AUTUMN_26, "sprints.csv", "S03"),
        "entered for the second 100 m and did not start: DNS",
        "note",
        "a no-mark; the first race counts",
        _untimed(_run("S03", "100 m", 2), t100_s="DNS", reaction_s=""),
    ),
    Trouble(
        *(AUTUMN_26, "sprints.csv", "S09"),
        "pulled up in the bend of the 200 m: DNF",
        "note",
        "the first split is kept, the finish is a no-mark",
        _put(_run("S09", "200 m", 1), t100_s="", t150_s="", t200_s="DNF"),
    ),
    Trouble(
        *(AUTUMN_26, "sprints.csv", "S07"),
        "left early for a train after one 60 m",
        "warning",
        "the value stands, from a single attempt",
        _keep_only(_run("S07", "60 m", 1)),
    ),
    Trouble(
        *(AUTUMN_26, "sprints.csv", ""),
        "the men's first 100 m had +2.3 m/s behind it",
        "warning",
        "kept and marked as wind-assisted",
        _as_it_was(_run("S08", "100 m", 1) | {"wind_mps": "2.3"}),
    ),
    Trouble(
        *(AUTUMN_26, "sprints.csv", "S10"),
        "somebody stood in the beam: no time at the 30 m gate of the first 60 m",
        "warning",
        "the split is missing and nothing is made up for it; the other phases stand",
        _put(_run("S10", "60 m", 1), t30_s=""),
    ),
)
