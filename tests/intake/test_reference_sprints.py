"""The staff's own table of sprints: read as a day's are, and in no result."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline import build
from pipeline.measures import registry
from tests.intake.small import adds_up, errors, found, message, read, season

JUMPS = {"jumps.csv": "athlete_id,test,attempt,flight_time_s\nA01,cmj,1,0.511\n"}
HEADING = "person,sex,test,start,timing,t10_s,t30_s,t60_s\n"
GOOD = "Old hand,F,60 m,three-point,gates,2.04,4.28,7.70\n"
NAME = "reference_sprints.csv"


def _read(folder: Path, text: str, heading: str = HEADING) -> build.Intake:
    return read(folder, JUMPS, {NAME: heading + text})


def test_a_run_has_its_phases_its_sex_and_a_name_that_is_no_athletes(tmp_path: Path) -> None:
    day = _read(tmp_path, GOOD)
    rows = registry.attempt_values(day.reference_sprints, day.battery)
    phases = rows[rows["measure"] == "phase_time"]
    assert phases["value"].round(2).tolist() == [2.04, 2.24, 3.42]
    assert set(phases["athlete_id"]) == {"reference:Old hand"}
    assert set(phases["sex"]) == {"F"}
    # what the sheet leaves blank is in no key, so that it fits any
    assert set(phases["conditions"].str.partition("; ends")[0]) == {
        "start=three-point; clock=gate; timing=gates"
    }
    assert not errors(day)
    assert adds_up(day)


def test_it_is_in_no_table_but_the_account(tmp_path: Path) -> None:
    made = build.check(season(tmp_path, JUMPS, {NAME: HEADING + GOOD}), None)
    account = made.tables["account"].set_index("file")
    assert account.loc[NAME, ["rows", "used", "flagged", "set_aside"]].tolist() == [1, 1, 0, 0]
    for name in ("trials", "results", "changes", "phases"):
        assert "Old hand" not in made.tables[name].to_csv()


def test_numbers_are_read_as_in_any_other_sheet(tmp_path: Path) -> None:
    heading = "person;sex;test;s0_10_ms;s10_30_ms;s30_60_ms\n"
    day = _read(tmp_path, "Old hand;f;60 m;2040;2240,5;0:03.42 s\n", heading)
    values = day.reference_sprints.values
    found_times = values[values["quantity"] == "segment_time"]["value"].round(4).tolist()
    assert found_times[:2] == [2.04, 2.2405]


def test_a_person_counts_as_one_whatever_the_letter_case(tmp_path: Path) -> None:
    day = _read(tmp_path, GOOD + GOOD.replace("Old hand", "OLD HAND"))
    assert set(day.reference_sprints.attempts["athlete_id"]) == {"reference:Old hand"}


@pytest.mark.parametrize("sex", ["", "X", "woman"])
def test_a_person_without_a_sex_is_set_aside(tmp_path: Path, sex: str) -> None:
    day = _read(tmp_path, GOOD.replace(",F,", f",{sex},") + GOOD.replace("Old", "Other"))
    assert errors(day) == [("person-sex", 2, "sex")]
    rows = registry.attempt_values(day.reference_sprints, day.battery)
    assert set(rows["athlete_id"]) == {"reference:Other hand"}
    assert adds_up(day)


def test_a_person_with_two_sexes_is_set_aside_and_the_first_row_named(tmp_path: Path) -> None:
    day = _read(tmp_path, GOOD + GOOD.replace(",F,", ",M,"))
    assert errors(day) == [("person-two-sexes", 3, "sex")]
    assert "row 2" in message(day, "person-two-sexes")
    assert registry.attempt_values(day.reference_sprints, day.battery).empty


def test_faults_of_a_row_are_told_as_in_any_other_sheet(tmp_path: Path) -> None:
    text = (
        GOOD
        + "Old hand,F,61 m,,,2.04,4.28,7.70\n"
        + ",F,60 m,,,2.04,4.28,7.70\n"
        + "New,F,60 m,,,2.04,DNF,\n"
        + "Fast,F,60 m,,,2.04,1.28,7.70\n"
    )
    day = _read(tmp_path, text)
    told = {(code, row) for code, row, _ in found(day) if row is not None}
    assert {("test-unknown", 3), ("athlete-blank", 4)} <= told
    assert any(row == 6 for _, row in told)  # faster to 30 m than to 10 m
    assert adds_up(day)


def test_a_sheet_without_the_people_is_an_error_and_the_day_goes_on(tmp_path: Path) -> None:
    day = _read(tmp_path, "60 m,2.04\n", "test,t10_s\n")
    assert ("heading-missing", "person") in {(code, column) for code, _, column in errors(day)}
    assert len(day.trials.attempts) == 1


def test_a_damaged_sheet_is_an_error_and_the_day_goes_on(tmp_path: Path) -> None:
    day = read(tmp_path, JUMPS, {"reference_sprints.xlsx": b"PK"})
    assert [code for code, _, _ in errors(day)] == ["file-unreadable"]
    assert day.reference_sprints.attempts.empty


def test_a_season_without_one_has_no_run(tmp_path: Path) -> None:
    day = read(tmp_path, JUMPS)
    assert day.reference_sprints.attempts.empty
    assert registry.attempt_values(day.reference_sprints, day.battery).empty
