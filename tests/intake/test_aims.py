"""What each athlete aims at, and what was chosen for them after a day."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline import computing, reading
from pipeline.intake.aims import Choice
from tests.intake.small import adds_up, codes, errors, message, read, season

JUMPS = "athlete_id,test,attempt,flight_time_s\nA01,cmj,1,0.511\n"
TARGETS = "athlete_id,test,measure,target,by\n"
PLAN = "athlete_id,from,sprint_phase,emphasis,note\n"


def _counts(day: reading.Intake, file: str) -> tuple[int, ...]:
    """(rows, used, flagged, set aside) of a sheet of the season's own."""
    mine = day.account[day.account["file"] == file]
    return tuple(int(n) for n in mine[["rows", "used", "flagged", "set_aside"]].sum())


# --- targets.csv ----------------------------------------------------------------------------


def test_a_target_reaches_its_table(tmp_path: Path) -> None:
    text = TARGETS + 'a01,cmj,jump_height,"40,5",2027-03-01\nA02,60 m,time,6.80,\n'
    made = computing.check(season(tmp_path, {"jumps.csv": JUMPS}, {"targets.csv": text}), None)
    table = made.tables["targets"]
    assert table[["athlete_id", "test", "measure", "target", "by"]].to_dict("records") == [
        {
            "athlete_id": "A01", "test": "countermovement jump", "measure": "jump_height",
            "target": 40.5, "by": "2027-03-01",
        },
        {"athlete_id": "A02", "test": "60 m", "measure": "time", "target": 6.8, "by": ""},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("A01,cmk,jump_height,40,", "test"),
        ("A01,cmj,jump_hight,40,", "measure"),
        ("A01,cmj,jump_height,high,", "target"),
        ("A01,cmj,jump_height,,", "target"),
        (f"A01,cmj,jump_height,{'9' * 400},", "target"),
        ("A01,cmj,jump_height,40,next spring", "by"),
        ("A01,cmj,jump_height,40,2027-02-30", "by"),
    ],
)
def test_a_target_that_cannot_be_used_is_set_aside_and_names_its_cell(
    tmp_path: Path, line: str, column: str
) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"targets.csv": TARGETS + line + "\n"})
    assert errors(day) == [("target-unknown", 2, column)]
    assert not day.targets
    assert adds_up(day)


def test_a_target_of_nobody_on_the_roster_is_set_aside(tmp_path: Path) -> None:
    text = TARGETS + "B77,cmj,jump_height,40,\n"
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"targets.csv": text})
    assert errors(day) == [("athlete-unknown", 2, "athlete_id")]
    assert "“B77”" in message(day, "athlete-unknown")


# --- plan.csv -------------------------------------------------------------------------------


def test_a_choice_is_read_whatever_its_letter_case_and_blanks(tmp_path: Path) -> None:
    text = PLAN + "a01,2026-05-20,Maximum  Velocity,SHORT contacts,low hurdles\n"
    text += "A02,2026-05-20,drive,,\nA03,2026-05-20,,short contacts,\n"
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"plan.csv": text})
    assert day.plan == [
        Choice("A01", "2026-05-20", "maximum velocity", "short contacts", "low hurdles"),
        Choice("A02", "2026-05-20", "drive", "", ""),
        Choice("A03", "2026-05-20", "", "short contacts", ""),
    ]
    assert not errors(day)
    assert adds_up(day)


@pytest.mark.parametrize(
    ("line", "column", "told"),
    [
        ("A01,May,drive,short contacts,", "from", "date like"),
        ("A01,,drive,short contacts,", "from", "date like"),
        ("A01,2026-05-20,drvie,,", "sprint_phase", "did you mean “drive”?"),
        ("A01,2026-05-20,,shrt contacts,", "emphasis", "did you mean “short contacts”?"),
    ],
)
def test_a_choice_that_cannot_be_used_is_set_aside_and_names_its_cell(
    tmp_path: Path, line: str, column: str, told: str
) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"plan.csv": PLAN + line + "\n"})
    assert errors(day) == [("plan-unknown", 2, column)]
    assert told in message(day, "plan-unknown")
    assert not day.plan
    assert adds_up(day)


def test_a_choice_of_neither_phase_nor_emphasis_is_set_aside(tmp_path: Path) -> None:
    text = PLAN + "A01,2026-05-20,,,rest\nA02,2026-05-20,drive,,\n"
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"plan.csv": text})
    assert errors(day) == [("plan-blank", 2, "sprint_phase")]
    assert [one.athlete_id for one in day.plan] == ["A02"]
    assert _counts(day, "plan.csv") == (2, 1, 0, 1)


def test_a_phase_joined_past_a_missed_gate_may_be_chosen(tmp_path: Path) -> None:
    text = PLAN + "A01,2026-05-20,drive and maximum velocity,,\n"
    text += "A02,2026-05-20,start and maintenance,,\n"  # these two are no neighbours
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"plan.csv": text})
    assert [one.sprint_phase for one in day.plan] == ["drive and maximum velocity"]
    assert errors(day) == [("plan-unknown", 3, "sprint_phase")]


@pytest.mark.parametrize("date", ["2026-05-20", "20260520", "2026-W21-3"])
def test_a_date_is_kept_as_days_are_named(tmp_path: Path, date: str) -> None:
    over = {
        "plan.csv": PLAN + f"A01,{date},drive,,\n",
        "targets.csv": TARGETS + f"A01,cmj,jump_height,40,{date}\n",
    }
    day = read(tmp_path, {"jumps.csv": JUMPS}, over)
    assert [one.chosen for one in day.plan] == ["2026-05-20"]
    assert [one.by for one in day.targets] == ["2026-05-20"]


@pytest.mark.parametrize("stem", ["plan", "targets"])
def test_a_second_sheet_of_a_name_is_named_and_not_read(tmp_path: Path, stem: str) -> None:
    heading = {"plan": PLAN, "targets": TARGETS}[stem]
    over = {f"{stem}.csv": heading, f"{stem}.tsv": heading.replace(",", "\t")}
    day = read(tmp_path, {"jumps.csv": JUMPS}, over)
    (one,) = (f for f in day.findings if f.code == "sheet-twice")
    assert one.place.file == f"{stem}.tsv"
    assert f"{stem}.csv was read" in one.message
    assert adds_up(day)


def test_each_wrong_cell_of_a_choice_is_named(tmp_path: Path) -> None:
    text = PLAN + "A01,May,drving,shrt,\nB77,2026-05-20,drive,,\n"
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"plan.csv": text})
    assert sorted(errors(day)) == [
        ("athlete-unknown", 3, "athlete_id"),
        ("plan-unknown", 2, "emphasis"),
        ("plan-unknown", 2, "from"),
        ("plan-unknown", 2, "sprint_phase"),
    ]
    assert adds_up(day)


def test_a_phase_of_the_seasons_own_may_be_chosen(tmp_path: Path) -> None:
    over = {
        "plan.csv": PLAN + "A01,2026-05-20,getting going,,\n",
        "battery.toml": '[[phases."60 m"]]\nends_m = [0, 10]\nnames = ["getting going"]\n',
    }
    day = read(tmp_path, {"jumps.csv": JUMPS}, over)
    assert [one.sprint_phase for one in day.plan] == ["getting going"]


def test_a_damaged_plan_is_an_error_and_the_day_goes_on(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS}, {"plan.xlsx": b"PK"})
    assert codes(day) == {"file-unreadable"}
    assert len(day.trials.attempts) == 1
