"""What a season folder holds beside its days: roster, targets, plan and battery."""

from __future__ import annotations

from .days import DAYS
from .people import ATHLETES
from .sprints import reference_sheet
from .tables import Table

# The staff's own tests, known to nothing but this file.
BATTERY = """\
season = "Quillmere Performance Centre, 2025/26"
[tests."shuttle 5-10-5"]
kind = "other"
unit = "s"
better = "lower"
decimals = 2
attempts = 2
low = 3.8
high = 9.0
[tests."overhead ball throw"]
kind = "other"
unit = "m"
better = "higher"
decimals = 2
attempts = 3
low = 2.0
high = 25.0

# The first page's rows, in order: the usual ones and the shuttle.
[[key_measures]]
test = "100 m"
measure = "time"
[[key_measures]]
test = "100 m"
measure = "phase_time"
[[key_measures]]
test = "60 m"
measure = "time"
[[key_measures]]
test = "60 m"
measure = "phase_time"
[[key_measures]]
test = "40 m"
measure = "time"
[[key_measures]]
test = "40 m"
measure = "phase_time"
[[key_measures]]
test = "flying 20 m"
measure = "speed"
[[key_measures]]
test = "shuttle 5-10-5"
measure = "value"
[[key_measures]]
test = "countermovement jump"
measure = "jump_height"
[[key_measures]]
test = "standing long jump"
measure = "distance"
[[key_measures]]
test = "drop jump"
measure = "rsi"
[[key_measures]]
test = "back squat"
measure = "one_rep_max"

# Nobody here changes a programme for less than this.
[smallest_worthwhile."60 m"]
time = 0.06
[smallest_worthwhile."shuttle 5-10-5"]
value = 0.25

[headline]
"sprint women" = [
    {test = "60 m", measure = "time"},
    {test = "flying 20 m", measure = "speed"},
    {test = "countermovement jump", measure = "jump_height"},
    {test = "drop jump", measure = "rsi"},
    {test = "back squat", measure = "one_rep_max"},
]
"sprint men" = [
    {test = "60 m", measure = "time"},
    {test = "flying 20 m", measure = "speed"},
    {test = "countermovement jump", measure = "jump_height"},
    {test = "drop jump", measure = "rsi"},
    {test = "back squat", measure = "one_rep_max"},
]
"football women" = [
    {test = "40 m", measure = "time"},
    {test = "shuttle 5-10-5", measure = "value"},
    {test = "countermovement jump", measure = "jump_height"},
    {test = "standing long jump", measure = "distance"},
    {test = "back squat", measure = "one_rep_max"},
]
"hockey men" = [
    {test = "40 m", measure = "time"},
    {test = "shuttle 5-10-5", measure = "value"},
    {test = "countermovement jump", measure = "jump_height"},
    {test = "standing long jump", measure = "distance"},
    {test = "back squat", measure = "one_rep_max"},
]
"""

_TARGETS = (
    ("S01", "100 m", "time", "12.00", "2026-10-17"),
    ("S03", "60 m", "time", "7.60", "2026-10-13"),
    ("S01", "60 m", "time", "7.50", "2027-06-30"),
    ("S08", "flying 20 m", "speed", "10.60", "2026-09-30"),
    ("S10", "back squat", "relative_strength", "2.00", "2026-10-15"),
    ("S12", "countermovement jump", "jump_height", "54.0", "2026-10-15"),
    ("S13", "200 m", "time", "22.40", "2027-06-30"),
    ("F01", "back squat", "one_rep_max", "105.0", "2026-10-15"),
    ("F05", "40 m", "time", "5.75", "2027-05-31"),
    ("F08", "shuttle 5-10-5", "value", "4.75", "2026-10-14"),
    ("F10", "40 m", "time", "5.20", "2027-05-31"),
    ("F11", "standing long jump", "distance", "2.75", "2026-10-15"),
)

_LONG, _SHORT = "long-impulse strength", "short contacts"
_SINGLE = "single-leg strength and Olympic lifts"
_PLAN = (
    ("S02", "2025-09-22", "start", _LONG, "two heavy days a week until Christmas"),
    ("S01", "2026-01-26", "maximum velocity", _SHORT, "flying runs, full rests"),
    ("S04", "2026-01-26", "drive", _SINGLE, "loaded jumps before sprints"),
    ("F10", "2026-01-26", "start", _LONG, ""),
    ("S01", "2026-05-25", "maximum velocity", _SHORT, "low hurdles on Mondays"),
    ("S03", "2026-05-25", "drive", _SINGLE, "step-ups, then short hills"),
    ("S04", "2026-05-25", "drive", _SINGLE, ""),
    ("S05", "2026-05-25", "start", _LONG, "paused front squats"),
    ("S10", "2026-05-25", "drive", _SINGLE, "cleans from the hang"),
    ("F02", "2026-05-25", "start", _LONG, ""),
    ("F08", "2026-05-25", "maximum velocity", _SHORT, "once a week before ball work"),
    ("F10", "2026-05-25", "start", _LONG, "three sets, nothing to failure"),
    ("F11", "2026-05-25", "drive", _SINGLE, ""),
    ("S09", "2026-08-31", "maintenance", _SHORT, "back from a long layoff, no hurry"),
)


def season_sheets() -> dict[str, Table]:
    """Return the season's own sheets by name."""
    return {
        "roster": _roster(),
        "targets": _table("athlete_id test measure target by", _TARGETS),
        "plan": _table("athlete_id from sprint_phase emphasis note", _PLAN),
        "reference_sprints": reference_sheet(DAYS[0]),
    }


def _roster() -> Table:
    rows = []
    for athlete in ATHLETES:
        young = athlete.age(DAYS[-1].date) < 18
        groups = [athlete.squad.name, *(["under 18"] if young else [])]
        rows.append(
            {
                "athlete_id": athlete.athlete_id,
                "name": athlete.name,
                "sex": athlete.squad.sex,
                "birth_date": athlete.born.isoformat(),
                "groups": ";".join(groups),
                "event": athlete.squad.event,
                "joined": athlete.joined.isoformat(),
                "left": athlete.left.isoformat() if athlete.left else "",
                "share": athlete.share,
            }
        )
    return Table(tuple(rows[0]), rows)


def _table(heading: str, lines: tuple[tuple[str, ...], ...]) -> Table:
    columns = tuple(heading.split())
    return Table(columns, [dict(zip(columns, line, strict=True)) for line in lines])
