"""Whatever a cell holds, the run goes on and the account adds up."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pipeline import computing, reading, tables
from pipeline.errors import CannotStartError
from tests import seasons
from tests.intake.small import adds_up

_DAY = seasons.DAY_FOLDER
_OTHERS = {
    "battery.toml": '[tests."grip"]\nkind = "other"\nunit = "kg"\n',
    "targets.csv": "athlete_id,test,measure,target,by\nA01,60 m,time,7.5,2027-03-01\n",
    "plan.csv": "athlete_id,from,sprint_phase,emphasis,note\nA01,2026-05-20,drive,,hills\n",
    "reference_sprints.csv": "person,sex,test,attempt,start,t10_s,t30_s,t60_s\n"
    "W01,F,60 m,1,blocks,2.04,4.28,7.70\nW01,,60 m,2,,2.05,4.30,7.74\n",
    f"{_DAY}/status.csv": "athlete_id,test,status,reason\nA03,,not done,ill\n",
    f"{_DAY}/drop_jumps.csv": "athlete_id,attempt,drop_height_cm,contact_time_s,flight_time_s\n"
    "A01,1,40,0.182,0.478\nA01,2,40,0.190,0.480\n",
    f"{_DAY}/other.csv": "athlete_id,test,attempt,side,value\nA01,grip,1,left,31.5\n",
}
_TEXTS = {**seasons.TIDY, **_OTHERS}
_SHEETS = [name for name in _TEXTS if name.endswith(".csv")]

_NASTY = (
    # numbers, and what looks like them
    "", " ", "\u00a0", "0", "-1", "1", "2.5", "1e5", "1,80", "1.805,00", "1.2.3", "9" * 25,
    "9" * 400, "-0.0", "inf", "nan", "NaN", "NA", "None", "null", "TRUE", "=1+1", "#N/A",
    # words of other columns
    "DNF", "x", "-", "failed", "good", "A01", "a02", "A02", "CON", "007", "60 m", "100 m", "cmj",
    "back squat", "grip", "left", "blocks", "gun", "flying", "2026-09-15", "2026-02-30",
    # marks of the files themselves
    '"', '""', "a\nb", "a\r\nb", ",", ";", "\t", "!", "a!b!c!d", "é", "\u202e", "\U0001f3c3",
    "\x00", "\x1f",
    # headings
    "t10_s", "flight_time_ms", "athlete_id", "attempt", "reps", "t0_s", "t10_s ", "height_cm",
    "side", "indoor",
)  # fmt: skip

_CELL = st.sampled_from(_NASTY) | st.text(max_size=6) | st.floats(width=32).map(str)
_ROWS = st.sampled_from((0, 1, 1, 1, 2, 2, 2, 3, 3))  # 0 is the heading: seldom, it spoils all
_MUTATION = st.tuples(st.sampled_from(_SHEETS), _ROWS, st.integers(0, 9), _CELL)


def _mutated(mutations: list[tuple[str, int, int, str]]) -> dict[str, str | bytes | None]:
    grids = {name: list(csv.reader(io.StringIO(_TEXTS[name]))) for name in _SHEETS}
    for name, row, column, cell in mutations:
        grid = grids[name]
        cells = grid[row % len(grid)]
        if column < len(cells):
            cells[column] = cell
        else:
            cells.append(cell)
    files: dict[str, str | bytes | None] = dict(_OTHERS)
    for name, grid in grids.items():
        text = io.StringIO(newline="")
        csv.writer(text).writerows(grid)
        files[name] = text.getvalue().encode("utf-8", errors="replace")
    return files


@settings(
    derandomize=True,
    database=None,
    deadline=None,
    max_examples=28,
    phases=[Phase.generate],  # no shrinking: each step is a run of a whole season
)
@given(st.lists(_MUTATION, min_size=1, max_size=10))
def test_no_cell_stops_a_run_and_every_row_is_accounted_for(
    mutations: list[tuple[str, int, int, str]],
) -> None:
    with tempfile.TemporaryDirectory() as place:
        season = seasons.write(Path(place), _mutated(mutations))
        try:
            intake = reading.read(season, None)
        except CannotStartError as error:
            assert "roster.csv" in str(error)  # noqa: PT017  # nobody on it: the one way to stop
            return
        assert adds_up(intake)
        for name, frame in computing.compute(intake).tables.items():
            shaped = tables.shape(name, frame)
            again = tables.from_csv(name, tables.to_csv(name, shaped))
            assert len(again) == len(shaped)
