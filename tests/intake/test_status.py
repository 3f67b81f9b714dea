"""Who did a test only in part or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.intake.small import adds_up, codes, found, read, states

JUMPS = "athlete_id,test,attempt,flight_time_s\nA01,cmj,1,0.511\n"
STATUS = "athlete_id,test,status,reason\n"


def _absent(folder: Path, status: str) -> list[str]:
    day = read(folder, {"jumps.csv": JUMPS, "status.csv": STATUS + status})
    return [f.athlete_id for f in day.findings if f.code == "athlete-not-tested"]


# --- status.csv -----------------------------------------------------------------------------


def test_an_athlete_who_is_said_not_to_have_tested_is_not_named_absent(tmp_path: Path) -> None:
    assert _absent(tmp_path, "a02,,Not Done,hamstring\n") == ["A03"]


def test_a_status_for_one_test_does_not_excuse_a_whole_day(tmp_path: Path) -> None:
    assert _absent(tmp_path, "A02,60 m,not done,\n") == ["A02", "A03"]


def test_full_excuses_nobody(tmp_path: Path) -> None:
    assert _absent(tmp_path, "A02,,full,\n") == ["A02", "A03"]


@pytest.mark.parametrize(
    ("status", "short"),
    [
        ("", True),
        ("A01,cmj,limited,knee\n", False),
        ("A01,,not done,\n", False),
        ("A01,60 m,limited,\n", True),
        ("A02,cmj,limited,\n", True),
        ("A01,cmj,full,\n", True),
    ],
)
def test_fewer_attempts_than_planned_are_named_unless_excused(
    tmp_path: Path, status: str, *, short: bool
) -> None:
    battery = {"battery.toml": 'tests."countermovement jump".attempts = 2\n'}
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": STATUS + status}, battery)
    named = [f.athlete_id for f in day.findings if f.code == "attempts-short"]
    assert named == (["A01"] if short else [])


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("B77,,not done,\n", ("athlete-unknown", 2, "athlete_id")),
        (",,not done,\n", ("athlete-blank", 2, "athlete_id")),
        ("A02,cmk,not done,\n", ("test-unknown", 2, "test")),
        ("A02,,ill,\n", ("value-unusual", 2, "status")),
        ("A02,,,\n", ("value-unusual", 2, "status")),
    ],
)
def test_a_status_that_cannot_be_used_is_named_and_excuses_nobody(
    tmp_path: Path, line: str, fault: tuple[str, int, str]
) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": STATUS + line})
    assert found(day) == [fault]
    assert not day.statuses
    assert adds_up(day)
    assert states(day, "status.csv")[0] == 1


def test_every_row_of_a_status_sheet_is_accounted_for(tmp_path: Path) -> None:
    text = STATUS + "\nA02,,not done,\n\nB77,,full,\nA03,cmj,limited,knee\n"
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": text})
    assert adds_up(day)
    assert states(day, "status.csv") == (3, 2, 0, 1)


def test_an_unknown_heading_of_a_status_sheet_is_named(tmp_path: Path) -> None:
    text = "athlete_id,test,status,mood\nA02,,not done,low\n"
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": text})
    assert ("heading-unknown", None, "mood") in found(day)


def test_a_status_sheet_without_its_status_column_is_told_what_it_lacks(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": "athlete_id,sttaus\nA02,not done\n"})
    assert ("heading-missing", None, "status") in found(day)


def test_of_a_heading_twice_in_a_status_sheet_the_first_counts(tmp_path: Path) -> None:
    text = "athlete_id,test,status,status\nA02,,not done,full\n"
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": text})
    assert "heading-twice" in codes(day)
    assert [s.status for s in day.statuses] == ["not done"]


@pytest.mark.parametrize("name", ["Status.csv", "STATUS.CSV"])
def test_a_status_sheet_is_known_whatever_its_letter_case(tmp_path: Path, name: str) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS, name: STATUS + "A02,,not done,\n"})
    assert [s.athlete_id for s in day.statuses] == ["A02"]


@pytest.mark.parametrize("name", ["status.docx", "status.txt", "day.csv", "day.xlsx"])
def test_a_file_that_nothing_reads_is_not_passed_over_for_its_name(
    tmp_path: Path, name: str
) -> None:
    assert found(read(tmp_path, {"jumps.csv": JUMPS, name: "x"}))


def test_a_damaged_status_sheet_is_an_error_and_the_day_goes_on(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.xlsx": b"PK"})
    assert codes(day) == {"file-unreadable"}
    assert len(day.trials.attempts) == 1
