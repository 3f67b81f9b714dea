"""Sheets as a coach would fill them in: plausible marks under every heading, no two rows alike.

The marks are common practice, no source; each test below says what it holds them against.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import openpyxl

from tests.intake.test_force import csv as trace_csv
from tests.measures.synthetic import pull

ROSTER = """\
athlete_id,name,sex,birth_date,groups,event,joined,left,share
007,Ada Quillon,F,2004-03-18,sprint women,100/200 m,,,full
A02,Bram Ostrander-Vale,M,2003-11-02,sprint men,100/200 m,,,full
A03,"=HYPERLINK(""x"")",F,2002-07-25,sprint women,100/200 m,,,full
A04,Dov Castellane,M,2001-01-30,sprint men,,,2026-01-31,full
"""
"""Three who are here in 2026-09, one with an id of zeros, one whose name looks like a formula."""

DATE = "2026-09-15"
PULLS_HZ = 500.0

_FLIGHT = {"single-leg jump": 0.40, "squat jump": 0.50, "countermovement jump": 0.52}
_LENGTH = {"standing long jump": 2.4, "triple bound": 7.2, "five bounds": 12.2, "triple hop": 6.6}


def season(folder: Path, battery: str = "") -> Path:
    """A season folder with nothing but its roster and, where given, a battery."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "roster.csv").write_text(ROSTER)
    if battery:
        (folder / "battery.toml").write_text(battery)
    return folder


def _sprint_time(at: float) -> float:
    """Seconds to a distance for a runner of 9.5 m/s with a time constant of 1.25 s."""
    time = at / 9.5
    for _ in range(60):
        time = (at + 9.5 * 1.25 * (1 - math.exp(-time / 1.25))) / 9.5
    return time


def _trial(row: Mapping[str, str], number: int) -> dict[str, str]:
    """What is written into the blank cells of a planned row, by heading."""
    test, step = row.get("test") or row.get("lift", ""), number % 7
    attempt = int(row.get("attempt") or row.get("rep") or 1)
    told = {
        "lane": str(1 + step), "wind_mps": f"{0.1 * step:.1f}", "run_in_m": "20",
        "reaction_s": f"{0.141 + step / 1000}", "arms": "hips",
        "body_mass_kg": f"{61 + step / 10:.1f}", "height_cm": f"{171 + step / 10:.1f}",
        "sitting_height_cm": f"{89 + step / 10:.1f}",
        "contact_time_s": f"{0.151 + step / 1000:.3f}",
        "flight_time_s": f"{_FLIGHT.get(test, 0.49) + step / 1000:.3f}",
        "distance_m": f"{_LENGTH.get(test, 0) + step / 100:.2f}",
        "load_kg": f"{60 + 10 * attempt:g}", "reps": {1: "5", 2: "3"}.get(attempt, "1"),
        "result": "good", "maximal": "yes" if attempt == 5 else "",
        "rate_hz": f"{PULLS_HZ:g}", "unit": "N",
    }  # fmt: skip
    if "file" in row:
        told["file"] = f"{row['athlete_id']}-{test.replace(' ', '-')}-{attempt}.csv"
    for heading in row:
        if heading.startswith("t") and heading[1:2].isdigit():
            at = float(heading[1:-2])
            if at in _GATES[test]:
                slow = 1 + step / 200
                told[heading] = (
                    f"{2.05 * slow if test.startswith('flying') else _sprint_time(at) * slow:.2f}"
                )
    return {k: v for k, v in told.items() if k in row and not row[k]}


_GATES: dict[str, tuple[float, ...]] = {
    "100 m": (10, 30, 60, 100), "60 m": (10, 30, 60), "40 m": (10, 20, 40),
    "200 m": (50, 100, 150, 200), "flying 20 m": (20,), "6 x 30 m": (30,),
}  # fmt: skip

_ONLY: dict[str, Callable[[str], bool]] = {
    "distance_m": lambda test: test in _LENGTH,
    "flight_time_s": lambda test: test not in _LENGTH,
    "arms": lambda test: test not in _LENGTH,
    "run_in_m": lambda test: test.startswith("flying"),
    "lane": lambda test: test in ("100 m", "200 m", "60 m", "40 m"),
    "reaction_s": lambda test: test in ("100 m", "200 m"),
    "wind_mps": lambda test: test != "6 x 30 m",
}


def fill(day: Path) -> int:
    """Fill every planned row of a day's folder in place; returns how many there were."""
    rows = 0
    for path in sorted(day.rglob("*")):
        if path.suffix == ".csv":
            rows += _fill_csv(path)
        elif path.suffix == ".xlsx":
            rows += _fill_book(path)
    return rows


def _cells(row: Mapping[str, str], number: int) -> dict[str, str]:
    test = row.get("test") or row.get("lift", "")
    told = _trial(row, number)
    return {k: v for k, v in told.items() if k not in _ONLY or _ONLY[k](test)}


def _fill_csv(path: Path) -> int:
    reader = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")))
    rows = [{**row, **_cells(row, n)} for n, row in enumerate(reader)]
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, reader.fieldnames or [])
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
    _traces(path.parent, rows)
    return len(rows)


def _fill_book(path: Path) -> int:
    """As a coach does in a spreadsheet: numbers typed as numbers."""
    book = openpyxl.load_workbook(path)
    (sheet,) = book.worksheets
    headings = [str(cell.value) for cell in sheet[1]]
    rows = []
    for number, line in enumerate(sheet.iter_rows(min_row=2, max_col=len(headings))):
        row = {
            h: "" if c.value is None else str(c.value) for h, c in zip(headings, line, strict=True)
        }
        if not row["athlete_id"]:
            continue
        told = _cells(row, number)
        for heading, cell in zip(headings, line, strict=True):
            if heading in told:
                cell.value = _typed(told[heading])
        rows.append({**row, **told})
    book.save(path)
    _traces(path.parent, rows)
    return len(rows)


def _typed(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text


def _traces(folder: Path, rows: list[dict[str, str]]) -> None:
    for number, row in enumerate(rows):
        if "file" in row:
            force = pull(62.0, 1500.0 + 10 * number, PULLS_HZ)
            noise = np.random.default_rng(number).normal(0, 1, len(force))
            (folder / row["file"]).write_text(trace_csv(force + noise))
