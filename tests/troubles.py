"""One testing day with everything wrong that goes wrong: a check report worth looking at.

``SEASON`` are its files, ``TROUBLES`` the findings each of them must raise. Everybody is invented.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path

import openpyxl

DAY = "2026-09-autumn"


@dataclass(frozen=True)
class Trouble:
    """A slip, and the finding that must name it: code, file, row, column."""

    code: str
    file: str
    row: int | None = None
    column: str = ""


_ROSTER = """\
athlete_id,name,sex,birth_date,groups,event,joined,left,share
S01,Ilva Brandmoor,F,2009-04-12,sprint,100/200 m,,,full
S02,Teo Halvanti,M,2006-11-30,sprint,100/200 m,,,full
S03,Maro Ekkelund,M,2008-02-31,sprint,100/200 m,,,full
S04,Juna Pellicer-Roth,F,2010-07-03,sprint,100/200 m,,,initials
S05,Odile Varnhem,F,2007-01-19,sprint,100/200 m,,,full
S06,Kasimir Dolent,M,2005-09-25,sprint,100/200 m,,,full
s06,Kasimir Dolent,M,2005-09-25,sprint,100/200 m,,,full
S07,Wren Attalos,F,2008-12-08,sprint,100/200 m,,,full
S08,Bero Lindqvarst,M,2007-05-14,sprint,100/200 m,,,full
S09,Isaura Penhallow,F,2009-10-02,sprint,100/200 m,,,none
"""

_DAY = """\
date = 2026-09-15
term = "autumn 2026"
surfcae = "synthetic track"

[session.track]
indoor = false
timing = "gates"
beams = "double"
start = "three-point"
start_distance_m = 0.0

[session.gym]
date = 2026-09-17
indoor = true
resolution_ms = -1
"""

_BATTERY = """\
[tests."60 m"]
attempts = 2
atempts = 3
"""

# Semicolons and decimal commas, as a spreadsheet in most of Europe saves them.
_SPRINTS = """\
session;athlete_id;test;attempt;start;timing;wind_mps;reaction_s;t10_s;t30_s;t60_s;weather
track;S01;60 m;1;;;0,6;;2,04;4,28;7,70;sun
track;S01;60 m;2;;;0,2;;2,05;4,31;7,74;sun
track;S02;60 m;1;;;2,4;;1,87;3,95;6,90;gust
track;S02;60 m;2;;;0,4;;1,88;9,36;6,91;
track;S03;60 m;1;blocks;electronic;0,1;0,071;1,99;4,10;7,12;
track;S03;60 m;1;blocks;electronic;0,1;0,071;1,99;4,10;7,12;
track;S04;60 m;1;;;0,0;;2,10;;7,98;
track;S05;60 m;1;;;0,0;;2,03;2,25;3,40;
track;S06;40 m;1;;;0,0;;1,90;4,02;7,05;
track;S07;60 m;1;;;0,0;;DNF;DNF;DNF;
track;S19;60 m;1;;;0,0;;2,00;4,20;7,50;
track;;60 m;1;;;0,0;;2,00;4,20;7,50;
track;S08;60 yards;1;;;0,0;;1,92;4,05;7,10;
MEAN;;;;;;;;1,98;4,13;7,38;
"""

_BODY = """\
session,athlete_id,body_mass_kg,height_ft_in
gym,S01,56.4,5-6
gym,S02,171 lb,6-0
gym,S03,166,74
gym,S04,561,5-4
gym,S05,58.0,2-Jun
"""

_LIFTS = """\
session,athlete_id,lift,load_kg,reps,result,best_kg
gym,S02,back squat,140,1,good,140
gym,S02,back squat,147.5,1,,140
gym,S03,back squat,3x5@80,,,
gym,S06,back squat,120,,good,
gym,S06,back squat,60,30,good,,"knee felt fine"
"""

_STATUS = """\
athlete_id,test,status,reason
S08,,not done,exam
S05,60 m,tired,
"""

_TARGETS = """\
athlete_id,test,measure,target,by
S01,60 m,time,7.5,2027-03-01
S01,60 m,tiem,7.5,soon
"""

_PLAN = """\
athlete_id,from,sprint_phase,emphasis,note
S01,2026-05-20,drive,,hills
S02,2026-05-20,,,
S04,2026-05-20,dirve,,
"""


def _jumps() -> bytes:
    """A workbook: numbers stored as text, a formula saved without its value, a hidden row."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Jumps"
    rows: tuple[tuple[str | float, ...], ...] = (
        ("Autumn testing, mat 2",),
        ("session", "athlete_id", "test", "attempt", "arms", "flight_time_s", "flight_time_s", ""),
        ("gym", "S01", "cmj", 1, "hips", 0.511),
        ("gym", "S01", "cmj", 2, "hips", "0,519"),
        ("gym", "S01", "cmj", 3, "hips", 519),
        ("gym", "S02", "cmj", 1, "hips", "about 0.6"),
        ("gym", "S02", "cmj", 2, "hips", "=MAX(F3:F4)"),
        ("gym", "S02", "cmk", 3, "hips", 0.56),
        ("gym", "S03", "cmj", 1, "hips", 0.549, 0.55),
        ("gym", "S03", "cmj", 2, "hips", 0.552, "", "left late"),
        ("gym", "S06", "cmj", 1, "hips", ""),
        ("dusk", "S06", "cmj", 2, "hips", 0.561),
        ("Notes: the mat slipped once",),
    )
    for row in rows:
        page.append(list(row))
    page.row_dimensions[9].hidden = True
    out = io.BytesIO()
    book.save(out)
    return _undated(out.getvalue())


def _undated(book: bytes) -> bytes:
    """The same workbook without the hour it was saved at: a page's revision rests on its bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as before, zipfile.ZipFile(out, "w") as after:
        for name in before.namelist():
            part = re.sub(rb"\d{4}-\d\d-\d\dT[\d:]+Z", b"2026-09-15T10:00:00Z", before.read(name))
            after.writestr(zipfile.ZipInfo(name), part)
    return out.getvalue()


SEASON: dict[str, str | bytes] = {
    "roster.csv": _ROSTER,
    "battery.toml": _BATTERY,
    "targets.csv": _TARGETS,
    "plan.csv": _PLAN,
    f"{DAY}/day.toml": _DAY,
    f"{DAY}/sprints.csv": _SPRINTS.encode("cp1252"),
    f"{DAY}/jumps.xlsx": _jumps(),
    f"{DAY}/sprints.tsv": "athlete_id\ttest\tt60_s\nS07\t60 m\t7.9\n",
    f"{DAY}/body.csv": _BODY,
    f"{DAY}/lifts.csv": _LIFTS,
    f"{DAY}/status.csv": _STATUS,
    f"{DAY}/drop_jumps.xlsx": b"PK\x03\x04 cut off by the stick",
    f"{DAY}/rebounds.pdf": b"%PDF-1.4",
    f"{DAY}/order of the day.txt": "10:00 warm-up\n",
    f"{DAY}/~$jumps.xlsx": b"lock",
}
"""Every file by its place in the season folder."""


def _of(file: str, *lines: tuple[str, int | None, str]) -> tuple[Trouble, ...]:
    return tuple(Trouble(code, file, row, column) for code, row, column in lines)


TROUBLES: tuple[Trouble, ...] = (
    *_of(
        "roster.csv",
        ("roster-value", 4, "birth_date"),
        ("roster-id-twice", 8, "athlete_id"),
        ("athlete-not-tested", None, ""),
    ),
    *_of("battery.toml", ("battery-key", None, 'tests."60 m".atempts')),
    *_of("targets.csv", ("target-unknown", 3, "measure")),
    *_of("plan.csv", ("plan-blank", 3, "sprint_phase"), ("plan-unknown", 4, "sprint_phase")),
    *_of(
        f"{DAY}/day.toml",
        ("day-key", None, "surfcae"),
        ("day-value", None, "session.gym.resolution_ms"),
    ),
    *_of(
        f"{DAY}/sprints.csv",
        ("heading-unknown", None, "weather"),
        ("wind-over", 4, ""),
        ("splits-disorder", 5, "t60_s"),
        ("reaction-early", 6, "reaction_s"),
        ("row-twice", 7, ""),
        ("gate-missed", 8, "t30"),
        ("segments-as-cumulative", 9, "t30_s"),
        ("gate-beyond", 10, "t60_s"),
        ("row-no-mark", 11, "t10_s"),
        ("athlete-unknown", 12, "athlete_id"),
        ("athlete-blank", 13, "athlete_id"),
        ("test-unknown", 14, "test"),
        ("row-total", 15, ""),
    ),
    *_of(f"{DAY}/sprints.tsv", ("sheet-twice", None, "")),
    *_of(
        f"{DAY}/jumps.xlsx",
        ("heading-twice", None, "flight_time_s"),
        ("heading-blank", 10, ""),
        ("row-title", 1, ""),
        ("value-implausible", 5, "flight_time_s"),
        ("value-unreadable", 6, "flight_time_s"),
        ("formula-unvalued", None, ""),
        ("value-unreadable", 7, "flight_time_s"),
        ("test-unknown", 8, "test"),
        ("row-no-value", 11, ""),
        ("value-unusual", 12, "session"),
        ("row-remark", 13, ""),
    ),
    *_of(
        f"{DAY}/body.csv",
        ("unit-own", 3, "body_mass_kg"),
        ("unit-pair", 4, "height_ft_in"),
        ("value-implausible", 5, "body_mass_kg"),
        ("cell-as-date", 6, "height_ft_in"),
    ),
    *_of(
        f"{DAY}/lifts.csv",
        ("lift-over-best", 3, "load_kg"),
        ("lift-planned", 4, "load_kg"),
        ("repetitions-missing", 5, "reps"),
        ("repetitions-too-many", 6, "reps"),
        ("cells-beyond-headings", 6, ""),
    ),
    *_of(f"{DAY}/status.csv", ("status-given", 2, "status"), ("value-unusual", 3, "status")),
    *_of(f"{DAY}/drop_jumps.xlsx", ("file-unreadable", None, "")),
    *_of(f"{DAY}/rebounds.pdf", ("file-format", None, "")),
    *_of(f"{DAY}/order of the day.txt", ("file-not-used", None, "")),
)
"""What must be found, by place."""


def write(folder: Path) -> Path:
    """Write the season into a new folder.

    Returns:
        The folder.
    """
    for name, content in SEASON.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return folder
