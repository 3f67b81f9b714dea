"""A new day's folder: whose rows, which columns, what a spreadsheet makes of it; never over one."""

from __future__ import annotations

import csv
import io
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pandas as pd
import pytest
from click.testing import CliRunner, Result

from pipeline import prepare
from pipeline.cli import main
from pipeline.errors import CannotStartError, Place
from pipeline.forms import new_day
from pipeline.forms.limits import limits_of
from pipeline.forms.rows import SHEETS, Sheet
from pipeline.intake import folder
from pipeline.intake.columns import BODY, TRACES, recognise
from pipeline.intake.columns import SHEETS as KINDS
from pipeline.intake.readers import RawSheet
from pipeline.measures import jumps
from pipeline.protocols import RECORDED
from tests import seasons
from tests.forms import filled

WHO = """\
planned = ["60 m", "single-leg jump", "drop jump", "ten rebounds", "back squat", "6 x 30 m"]
tests."60 m".who = ["Sprint Women"]
tests."back squat".who = ["100/200 m"]
tests."back squat".sets = 2
tests."drop jump".drop_heights_cm = [15, 30]
"""


def _made(season: Path, **asked: Any) -> dict[str, bytes]:
    listed = prepare.squad(season, filled.DATE)
    day = prepare.scaffold(listed, prepare.Asked("autumn 2026", **{"style": "csv", **asked}))
    return {p.relative_to(day).as_posix(): p.read_bytes() for p in day.rglob("*") if p.is_file()}


def _table(data: bytes) -> pd.DataFrame:
    return pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False)


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


# --- which rows -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> dict[str, pd.DataFrame]:
    made = _made(filled.season(tmp_path_factory.mktemp("planned") / "season", WHO))
    return {name: _table(data) for name, data in made.items() if name.endswith(".csv")}


def test_only_sheets_of_planned_tests_and_those_of_people_are_made(
    planned: dict[str, pd.DataFrame],
) -> None:
    assert sorted(planned) == [
        "body.csv", "drop_jumps.csv", "jumps.csv", "lifts.csv", "rebounds.csv", "sprints.csv",
        "status.csv",
    ]  # fmt: skip


def test_who_has_left_is_on_no_sheet(planned: dict[str, pd.DataFrame]) -> None:
    assert list(planned["body.csv"]["athlete_id"]) == ["007", "A03", "A02"]
    assert planned["status.csv"].empty


def test_groups_and_events_say_who_does_a_test_whatever_the_case(
    planned: dict[str, pd.DataFrame],
) -> None:
    sprints, lifts = planned["sprints.csv"], planned["lifts.csv"]
    assert set(sprints[sprints["test"] == "60 m"]["athlete_id"]) == {"007", "A03"}
    assert set(sprints[sprints["test"] == "6 x 30 m"]["athlete_id"]) == {"007", "A02", "A03"}
    assert len(lifts) == 3 * 2


def test_sprints_go_in_rounds_and_jumps_person_by_person(planned: dict[str, pd.DataFrame]) -> None:
    runs = planned["sprints.csv"].query("test == '60 m'")
    pairs = list(zip(runs["athlete_id"], runs["attempt"], strict=True))
    assert pairs == [("007", "1"), ("A03", "1"), ("007", "2"), ("A03", "2")]
    own = planned["jumps.csv"].query("athlete_id == 'A02'")
    assert list(zip(own["side"], own["attempt"], strict=True)) == [
        ("left", "1"), ("left", "2"), ("right", "1"), ("right", "2"),
    ]  # fmt: skip


def test_boxes_series_and_repetitions_each_have_their_rows(
    planned: dict[str, pd.DataFrame],
) -> None:
    drops = planned["drop_jumps.csv"].query("athlete_id == '007'")
    assert list(drops["drop_height_cm"]) == ["15", "15", "30", "30"]
    assert list(drops["attempt"]) == ["1", "2", "1", "2"]
    contacts = planned["rebounds.csv"].query("athlete_id == '007'")
    assert list(contacts["rep"]) == [str(n) for n in range(1, 11)]
    repeated = planned["sprints.csv"].query("test == '6 x 30 m' and athlete_id == '007'")
    assert list(repeated["rep"]) == [str(n) for n in range(1, 7)]
    assert set(repeated["attempt"]) == {""}


def test_gates_are_those_of_the_phases_unless_the_battery_says_so(tmp_path: Path) -> None:
    own = 'tests."40 m".gates_m = [5, 12.5, 40]\nplanned = ["40 m", "60 m"]'
    columns = list(_table(_made(filled.season(tmp_path, own))["sprints.csv"]).columns)
    assert columns[-6:] == ["t5_s", "t10_s", "t12.5_s", "t30_s", "t40_s", "t60_s"]


def test_no_row_holds_a_mark_before_the_day(planned: dict[str, pd.DataFrame]) -> None:
    given = {"athlete_id", "name", "test", "lift", "side", "attempt", "set", "rep"}
    for name, table in planned.items():
        blank = table.drop(columns=[c for c in table if c in {*given, "drop_height_cm"}])
        assert (blank == "").all(axis=None), name


@pytest.mark.parametrize("kind", RECORDED)
def test_every_heading_a_sheet_may_have_is_one_that_is_read(kind: str) -> None:
    reader = {**KINDS, "force/traces": TRACES}[BODY if kind == BODY else SHEETS[kind]]
    for heading in RECORDED[kind]:
        sheet = RawSheet("", ("athlete_id", "name", heading), ())
        _, faults = recognise(sheet, reader, Place("a.csv"))
        assert {f.code for f in faults} <= {"heading-missing"}, heading


# --- the files ------------------------------------------------------------------------------


@pytest.mark.parametrize("style", ["csv", "xlsx"])
def test_the_same_season_gives_the_same_bytes(tmp_path: Path, style: str) -> None:
    one, two = (_made(filled.season(tmp_path / n, WHO), style=style) for n in ("a", "b"))
    assert one == two


def test_a_csv_name_that_begins_like_a_formula_loses_those_signs() -> None:
    names = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "==1", "Ada =1"]
    sheet = Sheet("body", ("athlete_id", "name"), tuple(("A1", name) for name in names))
    rows = list(csv.reader(io.StringIO(new_day.to_csv(sheet).decode("utf-8-sig"))))
    assert [name for _, name in rows[1:]] == ["1+1", "1", "1", "SUM(A1)", "1", "1", "Ada =1"]


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    battery = WHO.replace('"6 x 30 m"', '"6 x 30 m", "throw"') + (
        'tests.throw = {kind = "other", unit = "m", low = 2, high = 25, attempts = 1}\n'
    )
    made = _made(filled.season(tmp_path_factory.mktemp("books") / "season", battery), style="xlsx")
    return {
        name.removesuffix(".xlsx"): openpyxl.load_workbook(io.BytesIO(data)).worksheets
        for name, data in made.items()
        if name.endswith(".xlsx")
    }


def test_a_workbook_is_one_sheet_that_keeps_ids_and_names_as_text(books: dict[str, Any]) -> None:
    (body,) = books["body"]
    assert body.freeze_panes == "C2"
    assert [(body.cell(r, 1).value, body.cell(r, 1).data_type) for r in (2, 3)] == [
        ("007", "s"), ("A03", "s"),
    ]  # fmt: skip
    assert (body["B3"].value, body["B3"].data_type) == ('=HYPERLINK("x")', "s")
    assert body["A2"].number_format == "@"
    assert body.column_dimensions["A"].number_format is not None
    assert all(len(sheets) == 1 for sheets in books.values())


def _rules(sheet: Any, heading: str) -> list[Any]:
    columns = {cell.value: cell.column_letter for cell in sheet[1]}
    rules = sheet.data_validations.dataValidation
    return [r for r in rules if str(r.sqref).startswith(columns[heading])]


def test_words_have_drop_downs_that_warn_and_reach_below_the_planned_rows(
    books: dict[str, Any],
) -> None:
    expected = {
        ("jumps", "athlete_id"): "007,A03,A02",
        ("jumps", "side"): "left,right",
        ("jumps", "test"): "countermovement jump,squat jump,single-leg jump,standing long jump,"
        "triple bound,five bounds,triple hop",
        ("lifts", "lift"): "back squat,front squat,power clean,split squat",
        ("lifts", "result"): "good,failed",
        ("lifts", "maximal"): "yes,no",
        ("status", "status"): "full,limited,not done",
        ("status", "test"): "single-leg jump,drop jump,ten rebounds,60 m,back squat,throw,6 x 30 m",
    }
    for (name, heading), words in expected.items():
        (sheet,) = books[name]
        (rule,) = _rules(sheet, heading)
        assert (rule.type, rule.formula1, rule.errorStyle) == ("list", f'"{words}"', "warning")
        assert int(str(rule.sqref).rpartition(":")[2][1:]) > sheet.max_row


def test_numbers_have_the_limits_of_their_measure_as_a_warning(books: dict[str, Any]) -> None:
    (throws,) = books["other"]
    (rule,) = _rules(throws, "value")
    assert (rule.type, float(rule.formula1), float(rule.formula2)) == ("decimal", 2, 25)
    assert rule.errorStyle == "warning"
    (jumped,) = books["jumps"]
    (flight,) = _rules(jumped, "flight_time_s")
    heights = jumps.jump_height(
        np.array([float(flight.formula1), float(flight.formula2)]), np.array([np.nan, np.nan])
    )
    assert heights == pytest.approx([3, 90])  # the record's limits, in cm


def test_a_list_too_long_for_a_drop_down_is_taken_from_the_rows() -> None:
    ids = [f"athlete-{n:03}" for n in range(40)]
    sheet = Sheet("body", ("athlete_id",), tuple((one,) for one in ids))
    told = new_day.Help(lambda *_: ids, lambda *_: None)
    book = openpyxl.load_workbook(io.BytesIO(new_day.to_xlsx(sheet, told)))
    (rule,) = book.worksheets[0].data_validations.dataValidation
    assert rule.formula1 == "$A$2:$A$41"
    book = openpyxl.load_workbook(io.BytesIO(new_day.to_xlsx(Sheet("status", ("test",), ()), told)))
    assert book.worksheets[0].data_validations.dataValidation == []


def test_limits_are_given_in_the_unit_of_the_heading(tmp_path: Path) -> None:
    battery = prepare.squad(filled.season(tmp_path), filled.DATE).battery
    jump, run, lift = (battery.tests[n] for n in ("drop jump", "60 m", "back squat"))
    assert limits_of("flight_time_ms", jump, battery) == pytest.approx((156.44, 856.85), abs=0.01)
    assert limits_of("t10_s", run, battery) == pytest.approx((10 / 13, 10))
    assert limits_of("load_lb", lift, battery) == pytest.approx((0, 350 / 0.45359237))
    assert limits_of("height_cm", None, battery) == pytest.approx((110, 230))
    assert limits_of("height_cm", battery.tests["squat jump"], battery) == pytest.approx((3, 90))
    assert limits_of("reps", lift, battery) == (1, 10)
    assert limits_of("body_mass_st_lb", None, battery) is None
    assert limits_of("wind_mps", run, battery) is None


# --- the day file and sessions --------------------------------------------------------------


def test_every_line_of_the_day_file_may_be_used_as_it_stands(tmp_path: Path) -> None:
    season = filled.season(tmp_path)
    _made(season, sessions=("track=sprints", "gym = body,jumps"), tests=("60 m", "cmj"))
    day_file = season / filled.DATE / "day.toml"
    text = day_file.read_text()
    assert tomllib.loads(text)["term"] == "autumn 2026"
    lines = [
        line.removeprefix("# ") if line.startswith("# ") and " = " in line else line
        for line in text.splitlines()
        if "repeat_of" not in line
    ]
    day_file.write_text("\n".join(lines))
    opened, found = folder.open_season(season)
    assert found == {filled.DATE: []}
    (day,) = opened.days
    assert set(day.sessions) == {"track", "gym"}
    blank = {"venue", "surface", "footwear"}
    assert set(day.default.conditions) == set(folder.CONDITIONS) - blank


def test_a_sheet_names_its_session_where_there_are_several(tmp_path: Path) -> None:
    sessions = ("track=sprints", "gym=body,jumps")
    made = _made(filled.season(tmp_path), sessions=sessions, tests=("60 m", "cmj", "back squat"))
    told = {name: set(_table(made[name])["session"]) for name in made if name in _SHEETS}
    assert told == {
        "sprints.csv": {"track"}, "jumps.csv": {"gym"}, "body.csv": {"gym"}, "lifts.csv": {""},
    }  # fmt: skip


_SHEETS = ("sprints.csv", "jumps.csv", "body.csv", "lifts.csv")


@pytest.mark.parametrize("term", ['a "quoted" one', "back\\slash", "ő = [x]", "'"])
def test_any_term_of_one_line_is_kept(tmp_path: Path, term: str) -> None:
    listed = prepare.squad(filled.season(tmp_path), filled.DATE)
    day = prepare.scaffold(listed, prepare.Asked(term, "csv", (), ("60 m",)))
    assert tomllib.loads((day / "day.toml").read_text())["term"] == term


# --- refusals -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("2026-09-15", "--term", "x"), "The folder '2026-09-autumn' holds the testing day"),
        (("2026-10-01", "--term", "x"), "'2026-10-01' is in the season already"),
        (("2026-13-01", "--term", "x"), "is no date"),
        (("../x", "--term", "x"), "is no date"),
        (("2026-11-01", "--term", "a\nb"), "must be one line"),
        (("2026-11-01", "--term", "x", "--test", "60m sprint"), "is no test of the battery"),
        (("2026-11-01", "--term", "x", "--session", "gym=jump"), "did you mean “jumps”"),
        (("2026-11-01", "--term", "x", "--session", "a", "--session", "a"), "is named twice"),
        (("2026-11-01", "--term", "x", "--session", "a=body", "--session", "b=body"), "cannot be"),
    ],
)
def test_what_cannot_be_made_is_one_sentence_exit_2_and_nothing_written(
    tmp_path: Path, arguments: tuple[str, ...], sentence: str
) -> None:
    season = seasons.write(tmp_path / "season", {"2026-10-01/kept.txt": "kept"})
    before = {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    done = _run("new-day", season, *arguments)
    assert (done.exit_code, done.stdout) == (2, "")
    assert sentence in done.stderr
    assert "Traceback" not in done.output
    assert {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()} == before


def test_a_season_nobody_is_in_and_one_that_is_not_there_exit_2(tmp_path: Path) -> None:
    season = filled.season(tmp_path / "season")
    (season / "roster.csv").write_text("athlete_id,left\nA01,2020-01-01\n")
    done = _run("new-day", season, filled.DATE, "--term", "x")
    assert (done.exit_code, "Nobody on the roster" in done.stderr) == (2, True)
    assert _run("new-day", tmp_path / "none", filled.DATE, "--term", "x").exit_code == 2
    assert _run("new-day", season, filled.DATE).exit_code == 2  # no term


def test_a_new_day_exits_0_and_what_is_wrong_with_the_battery_makes_it_1(tmp_path: Path) -> None:
    season = filled.season(tmp_path / "season")
    done = _run("new-day", season, filled.DATE, "--term", "x", "--test", "cmj")
    assert (done.exit_code, done.stderr) == (0, "")
    assert "sheets for 3 athletes" in done.stdout
    (season / "battery.toml").write_text("max_repetitions = 40\n")
    done = _run("new-day", season, "2026-10-15", "--term", "x", "--test", "cmj")
    assert done.exit_code == 1
    assert "error: battery.toml, max_repetitions" in done.stderr


def test_a_test_that_nobody_does_is_named(tmp_path: Path) -> None:
    battery = 'planned = ["60 m", "squat jump"]\ntests."60 m".who = ["sprint womn"]\n'
    season = filled.season(tmp_path, battery)
    done = _run("new-day", season, filled.DATE, "--term", "x")
    assert done.exit_code == 0
    assert done.stderr == "60 m: nobody on the list is of a group or event that does it.\n"
    assert not (season / filled.DATE / "sprints.xlsx").exists()


def test_a_write_cut_short_leaves_no_day_and_the_next_run_sweeps_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    season = filled.season(tmp_path)
    listed = prepare.squad(season, filled.DATE)

    def fail(*_: object) -> bytes:
        raise OSError("disk full")

    before = sorted(season.iterdir())
    with monkeypatch.context() as patched:
        patched.setattr(Path, "rename", fail)
        with pytest.raises(OSError, match="disk full"):
            prepare.scaffold(listed, prepare.Asked("x"))
    assert sorted(season.iterdir()) == before
    left = season / f".new-{filled.DATE}" / filled.DATE
    left.mkdir(parents=True)  # as a killed run leaves it
    (left / "day.toml").write_text(f"date = {filled.DATE}")
    with pytest.raises(CannotStartError, match="No testing day"):
        folder.open_season(season)
    prepare.scaffold(listed, prepare.Asked("x"))
    assert [p.name for p in season.iterdir() if p.name.startswith(".")] == []
