"""A starting ``[columns]``: what it offers, and that it makes a sheet read once pasted."""

from __future__ import annotations

import tomllib
from pathlib import Path

from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from pipeline import battery as batteries
from pipeline import cli, reading
from pipeline.errors import Place
from pipeline.intake import folder, mapping, suggest
from pipeline.intake.columns import SHEETS
from pipeline.intake.suggest import quoted, units_that_fit
from tests import seasons
from tests.intake.small import season

JUMPS = """\
athlete_id,test,Luftzeit,flihgt time,Moo"d = \\,Sprunghöhe
A01,cmj,a,511,good,32.0
A01,cmj,b,519,bad,33.1
"""
LIFTS = """\
athlete_id,lift,weight,reps,result
A02,back squat,130,1,good
A02,back squat,140,1,good
"""


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_heading_can_be_quoted(text: str) -> None:
    assert tomllib.loads(f"{quoted(text)} = {quoted(text)}") == {text: text}


def test_units_are_offered_by_the_size_of_the_numbers() -> None:
    jumps, body = SHEETS["jumps"], SHEETS["body"]
    assert units_that_fit(jumps.fields["flight_time"], jumps, ["511", "", "DNS", "519"]) == ["ms"]
    assert units_that_fit(jumps.fields["flight_time"], jumps, ["0,51"]) == ["s"]
    assert units_that_fit(body.fields["height"], body, ["168", "183"]) == ["cm"]
    assert units_that_fit(body.fields["height"], body, ["1.68"]) == ["m", "yd"]
    assert units_that_fit(body.fields["body_mass"], body, ["77.5"]) == ["kg", "lb"]
    assert units_that_fit(body.fields["height"], body, ["x", ""]) == []


def test_what_is_suggested_makes_the_sheets_read_once_pasted(tmp_path: Path) -> None:
    files = {"jumps.csv": JUMPS, "lifts.csv": LIFTS}
    made = season(tmp_path, files)
    run = CliRunner().invoke(cli.main, ["check", str(made), "--suggest"])
    assert run.exit_code == 0
    assert tomllib.loads(run.output)["columns"] == {
        "jumps": {
            "Luftzeit": "ignore",
            "flihgt time": "flight_time_ms",
            'Moo"d = \\': "ignore",
            "Sprunghöhe": "height_cm",
        },
        "lifts": {"weight": "load_kg"},
    }
    assert all("  # " in line for line in run.output.splitlines() if " = " in line)
    day_file = made / seasons.DAY_FOLDER / "day.toml"
    day_file.write_text(day_file.read_text() + "\n" + run.output)
    again = reading.read(made, None)
    values = again.trials.values.set_index("quantity")["value"]
    assert values["flight_time"].tolist() == [0.511, 0.519]
    assert values["height"].tolist() == [0.32, 0.331]
    assert values["load"].tolist() == [130.0, 140.0]
    assert not [f for f in again.findings if f.code.startswith(("heading", "columns", "unit"))]
    assert reading.suggested_columns(made, None) == ""


def test_the_mapping_is_told_in_a_line_a_sheet(tmp_path: Path) -> None:
    jumps = "ID,test,Flugzeit [ms],Stimmung,Sprugnhöhe\nA01,cmj,511,good,32\n"
    own = '\n[columns.jumps]\n"Stimmung" = "ignore"\n'
    made = season(tmp_path, {"jumps.csv": jumps, "day.toml": seasons.DAY + own})
    people, line = reading.mapping_lines(made, None)
    assert people.startswith("roster.csv: athlete_id, name, sex, birth_date")
    assert line == (
        "2026-09-autumn/jumps.csv: ID = athlete_id, test, Flugzeit [ms] = flight_time (ms); "
        "ignored: Stimmung; not read: Sprugnhöhe (did you mean height_m?)"
    )


def test_no_line_is_offered_where_none_can_help(tmp_path: Path) -> None:
    drops = "athlete_id,flight_time_s,flight_time_s,Flugzeit s,contact_time_s\nA01,1,2,3,4\n"
    made = season(tmp_path, {"drop_jumps.csv": drops})
    opened, _ = folder.open_season(made)
    (sheet,) = mapping.of_day(opened, opened.days[0], batteries.load(made)[0])
    assert sheet.place == Place("2026-09-autumn/drop_jumps.csv")
    lines = [(line.heading, line.target) for line in suggest.for_sheet(sheet)]
    assert lines == [("Flugzeit s", "ignore")]


def test_a_table_that_is_there_is_to_be_added_to(tmp_path: Path) -> None:
    own = '\n[columns.jumps]\n"Luftzeit" = "ignore"\n'
    made = season(tmp_path, {"jumps.csv": JUMPS, "day.toml": seasons.DAY + own})
    offered = reading.suggested_columns(made, None)
    assert offered.startswith("# add to the [columns.jumps] that is there\n")
    assert "Luftzeit" not in offered
