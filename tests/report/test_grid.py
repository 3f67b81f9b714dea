"""The check beside the track: who did what, what to repeat, and the account, in a terminal."""

from __future__ import annotations

from pathlib import Path

import pytest
from wcwidth import wcswidth

from pipeline import bundle, computing
from pipeline.bundle import DayBundle
from pipeline.report import grid, terminal, testing_day
from pipeline.tables import LIMITED, NOT_DONE
from tests import seasons
from tests.seasons import DAY_FOLDER

PEOPLE = {
    "G01": "Réka Tőkefalvi",
    "G02": "Bronagh Tullyvane",
    "G03": "한소연",
    "G04": "Nerys Drumgoldie",
    "G05": "Lorcan Thistlemoor-Wetherell-Oakes",
    "G06": "Poppy Larkinshaw",
    "G07": "Noemí Cardañuela",
    "G08": "Maren Østvollen",
    "G09": "Zofia Małkowiecka",
}
ROSTER = (
    "athlete_id,name,sex,birth_date,groups,event,joined,left\n"
    + "".join(f"{key},{name},F,2004-03-18,sprint,,,\n" for key, name in PEOPLE.items())
    + "W01,Walker Inn,M,2003-01-01,sprint,,,2026-01-01\n"
)
SPRINTS = """\
athlete_id,test,attempt,t10_s,t30_s,t60_s
G01,60 m,1,2.04,4.28,7.70
G01,60 m,2,2.05,4.31,7.74
G01,60 m,3,2.05,4.30,8.70
G02,60 m,1,2.04,4.28,7.70
G03,60 m,1,2.04,4.28,7.80
G03,60 m,2,2.05,4.31,8.80
G04,60 m,1,2.10,4.40,7.90
G05,60 m,1,DNF,,
G06,60 m,1,2.10,4.10,4.00
W01,60 m,1,2.00,4.20,7.50
W01,60 m,2,2.00,4.21,7.52
Z99,60 m,1,2.00,4.20,7.50
"""
JUMPS = """\
athlete_id,test,attempt,side,flight_time_s
G01,cmj,1,,0.511
G01,cmj,2,,0.519
G02,cmj,1,,0.511
G02,single-leg jump,1,left,0.350
G02,single-leg jump,2,left,0.352
G02,single-leg jump,1,right,0.351
G03,cmj,1,,0.511
G06,cmj,1,,0.511
G06,cmj,2,,511
"""
STATUS = (
    "athlete_id,test,status,reason\nG04,countermovement jump,limited,calf\nG08,,not done,exam\n"
)
BATTERY = 'tests."countermovement jump".attempts = 2\n'


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> DayBundle:
    files = {
        "roster.csv": ROSTER,
        "battery.toml": BATTERY,
        f"{DAY_FOLDER}/day.toml": "date = 2026-09-15\n",
        f"{DAY_FOLDER}/sprints.csv": SPRINTS,
        f"{DAY_FOLDER}/jumps.csv": JUMPS,
        f"{DAY_FOLDER}/lifts.csv": None,
        f"{DAY_FOLDER}/body.csv": "athlete_id,body_mass_kg\nG07,56.4\n",
        f"{DAY_FOLDER}/status.csv": STATUS,
    }
    season = seasons.write(tmp_path_factory.mktemp("day") / "season", files)
    return computing.check(season, None)


def _states(made: grid.Grid, who: str) -> dict[str, str]:
    (line,) = (line for line in made.lines if line.athlete_id == who)
    return {test: field.state for test, field in zip(made.tests, line.fields, strict=True)}


SPRINT, CMJ, ONE_LEG = "60 m", "countermovement jump", "single-leg jump"


@pytest.mark.parametrize(
    ("who", "states"),
    [
        # a third run is in doubt, and the two that are asked for stand
        ("G01", {SPRINT: grid.DONE, CMJ: grid.DONE, ONE_LEG: grid.UNPLANNED}),
        # the right leg lacks a jump, whatever the left one did
        ("G02", {SPRINT: grid.SHORT, CMJ: grid.SHORT, ONE_LEG: grid.SHORT}),
        ("G03", {SPRINT: grid.REPEAT, CMJ: grid.SHORT, ONE_LEG: grid.UNPLANNED}),
        ("G04", {SPRINT: grid.SHORT, CMJ: LIMITED, ONE_LEG: grid.UNPLANNED}),
        ("G05", {SPRINT: grid.BARE, CMJ: grid.MISSING, ONE_LEG: grid.UNPLANNED}),
        # nothing stands of the run; one of two jumps was lost
        ("G06", {SPRINT: grid.REPEAT, CMJ: grid.REPEAT, ONE_LEG: grid.UNPLANNED}),
        ("G07", {SPRINT: grid.MISSING, CMJ: grid.MISSING, ONE_LEG: grid.UNPLANNED}),
        ("G08", {SPRINT: NOT_DONE, CMJ: NOT_DONE, ONE_LEG: NOT_DONE}),
        ("G09", {SPRINT: grid.MISSING, CMJ: grid.MISSING, ONE_LEG: grid.UNPLANNED}),
        ("W01", {SPRINT: grid.DONE, CMJ: grid.MISSING, ONE_LEG: grid.UNPLANNED}),
    ],
)
def test_the_state_of_an_athlete_in_each_test(
    day: DayBundle, who: str, states: dict[str, str]
) -> None:
    assert _states(grid.grid(day), who) == states


def test_attempts_that_stand_are_counted_without_the_one_in_doubt(day: DayBundle) -> None:
    made = grid.grid(day)
    fields = {line.athlete_id: line.fields[0] for line in made.lines}
    assert fields["G01"] == grid.Field(grid.DONE, 2, 2)
    assert fields["G06"] == grid.Field(grid.REPEAT, 0, 2)


def test_an_attempt_to_repeat_says_who_which_what_the_others_and_why(day: DayBundle) -> None:
    said = [testing_day.repeat(one) for one in grid.grid(day).again]
    starts = [sentence.split(". ")[0] for sentence in said]
    assert "한소연 (G03), 60 m, attempt 2: 8.80 (t60_s), the others 7.80" in said[1]
    assert any(s.startswith("Poppy Larkinshaw (G06), 60 m, attempt 1: 4.00 (t60_s)") for s in said)
    (jump,) = (s for s in said if "countermovement jump, attempt 2" in s)
    assert "511 (flight_time_s), the others 0.511. “511” gives jump height" in jump
    assert not [s for s in starts if "G01" in s]


def test_who_stands_in_no_field_is_named_beside_the_grid(day: DayBundle) -> None:
    assert testing_day.beside(day, grid.grid(day)) == [
        "Weighed or measured only: Noemí Cardañuela (G07).",
        "Not tested, as the staff noted: Maren Østvollen (G08) (exam).",
        "Nothing from, and no word why: Zofia Małkowiecka (G09).",
        "Tested, and not on the roster of that date: Walker Inn (W01).",
        f"Rows of nobody on the roster, set aside: {DAY_FOLDER}/sprints.csv, row 13, athlete_id.",
    ]


def test_the_terminal_says_it_in_order_and_the_account_adds_up(day: DayBundle) -> None:
    said = terminal.check(day, [])
    parts = ["60 m", "+ done", "Weighed or", "Repeat now", "Findings:", "sprints.csv: rows read 12"]
    assert [said.find(part) for part in parts] == sorted(said.find(part) for part in parts)
    assert min(said.find(part) for part in parts) >= 0
    rows = [line for line in said.splitlines() if line.startswith("Lorcan")]
    assert rows[0].split()[-3:] == ["x", "??", "."]
    assert "(G05)" in rows[0]
    totals = day.tables["account"][["rows", "used", "flagged", "set_aside"]].sum()
    assert said.splitlines()[-1] == (
        f"Rows read {totals['rows']} = used {totals['used']} + flagged and used "
        f"{totals['flagged']} + set aside {totals['set_aside']}."
    )
    assert totals["rows"] == totals["used"] + totals["flagged"] + totals["set_aside"]


def test_thirty_athletes_and_nineteen_tests_fit_a_hundred_columns() -> None:
    tests = tuple(f"{word} {n} jump of the staff's own" for n, word in enumerate(["long"] * 19))
    fields = tuple(grid.Field(grid.REPEAT, 10, 12) for _ in tests)
    lines = tuple(
        grid.Line(f"A{n}" * 9, "한소연 아주 긴 이름의 선수 " * 3, fields) for n in range(30)
    )
    blocks = list(terminal.blocks(grid.Grid(tests, lines, (), (), (), (), ())))
    shown = [line for block in blocks for line in block.splitlines()]
    assert max(map(wcswidth, shown)) <= terminal.WIDTH
    assert len([line for line in shown if line.count(">> 10/12")]) == 30 * len(blocks)
    assert sum(line.count(">> 10/12") for line in shown) == 30 * 19


def test_the_page_of_the_day_has_the_same_grid_in_words(day: DayBundle, tmp_path: Path) -> None:
    bundle.write(tmp_path / "data", day)
    back = bundle.read_day(tmp_path / "data")
    assert grid.grid(back) == grid.grid(day)
    shown = testing_day.grid(back)._repr_mimebundle_()
    assert ">repeat now<" in str(shown["text/html"])
    words = str(shown["text/plain"]).split("\n\n", 1)[1]
    for said in ("1 of 2", "Poppy Larkinshaw (G06), 60 m, attempt 1", "Walker Inn (W01)"):
        assert said in words


def test_a_day_without_any_result_has_a_grid_all_the_same(tmp_path: Path) -> None:
    sheets = {f"{DAY_FOLDER}/{name}.csv": None for name in ("sprints", "jumps", "lifts", "body")}
    made = computing.check(seasons.write(tmp_path / "season", sheets), None)
    said = terminal.check(made, ["jumps.csv: height_cm"])
    assert "Nothing from, and no word why: Ada Quillon (A01)" in said
    assert said.splitlines()[-1] == ("Rows read 3 = used 3 + flagged and used 0 + set aside 0.")
