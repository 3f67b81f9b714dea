"""The staff's own table of sprints: read as a day's are, and in no result."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline import computing, reading
from pipeline.errors import Finding
from pipeline.measures import registry
from pipeline.measures.spec import Trials
from tests import finals, seasons
from tests.intake.small import adds_up, errors, found, message, read, season

JUMPS = {"jumps.csv": "athlete_id,test,attempt,flight_time_s\nA01,cmj,1,0.511\n"}
HEADING = "person,sex,test,start,timing,t10_s,t30_s,t60_s\n"
GOOD = "Old hand,F,60 m,three-point,gates,2.04,4.28,7.70\n"
NAME = "reference_sprints.csv"


def _read(folder: Path, text: str, heading: str = HEADING) -> reading.Intake:
    return read(folder, JUMPS, {NAME: heading + text})


def _counts(day: reading.Intake) -> tuple[int, ...]:
    """(rows, used, flagged, set aside) of the sheet."""
    mine = day.account[day.account["file"] == NAME]
    return tuple(int(n) for n in mine[["rows", "used", "flagged", "set_aside"]].sum())


def _own(day: reading.Intake) -> list[Finding]:
    return [f for f in day.findings if f.place.file == NAME]


def _told(day: reading.Intake) -> list[tuple[str, int | None, str]]:
    return [(f.code, f.place.row, f.place.column) for f in _own(day)]


def _people(day: reading.Intake) -> set[str]:
    """Who has a used phase."""
    rows = registry.attempt_values(day.reference_sprints, day.battery)
    return set(rows[rows["measure"] == "phase_time"]["athlete_id"])


# --- what is read ---------------------------------------------------------------------------


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
    assert not _own(day)
    assert _counts(day) == (1, 1, 0, 0)


def test_a_whole_100_m_has_its_phases_and_its_fade(tmp_path: Path) -> None:
    """A published final (``tests/reference``); its phases and fade worked out from the print."""
    rows = finals.finalists()
    run = rows[(rows["clock"] == finals.GUN) & (rows["sex"] == "M")].iloc[0]
    at = {0: float(run["reaction_s"]), **{gate: float(run[f"t{gate}"]) for gate in finals.GATES_M}}
    heading = "person,sex,test,start,timing,clock,reaction_s"
    heading += "".join(f",t{gate}_s" for gate in finals.GATES_M)
    cells = ",".join(f"{at[gate]:.2f}" for gate in finals.GATES_M)
    text = f"Finalist,M,100 m,blocks,electronic,gun,{at[0]:.3f},{cells}\n"
    day = _read(tmp_path, text, heading + "\n")
    made = registry.attempt_values(day.reference_sprints, day.battery)
    phases = made[made["measure"] == "phase_time"].set_index("part")["value"]
    stretches = {"start": (0, 10), **finals.PHASES}
    wanted = {name: at[last] - at[first] for name, (first, last) in stretches.items()}
    assert phases.to_dict() == pytest.approx(wanted)
    quickest = min(at[gate + 20] - at[gate] for gate in finals.GATES_M if gate + 20 in at)
    fade = made[made["measure"] == "fade"]["value"]
    assert fade.tolist() == pytest.approx([at[100] - at[60] - 2 * quickest])


def test_it_is_in_no_table_but_the_account(tmp_path: Path) -> None:
    made = computing.check(season(tmp_path, JUMPS, {NAME: HEADING + GOOD}), None)
    account = made.tables["account"].set_index("file")
    assert account.loc[NAME, ["rows", "used", "flagged", "set_aside"]].tolist() == [1, 1, 0, 0]
    assert "reference:" not in "".join(made.day["athletes"])
    for name, table in made.tables.items():
        assert "Old hand" not in table.to_csv(), name


def _values(trials: Trials) -> list[tuple[str, ...]]:
    values = trials.values
    columns = ["quantity", "part", "value", "resolution", "raw", "status"]
    return [tuple(map(str, row)) for row in values[columns].itertuples(index=False)]


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("t10_s;t30_s;t60_s", "2,04;4,28;7,70"),
        ("t10_s;t30_s;t60_s", "2.04;0:04.28;0:07.70"),
        ("t10_s;t30_s;t60_s", "2.04;4.28;DNF"),
        ("t10_s;t30_s;t60_s", "2.04;4.28;1:07.70"),
        ("s0_10_ms;s10_30_ms;s30_60_ms", "2040;2240,5;3420"),
        ("t10_s;t30_s;t60_s", "2.04 s;4280 ms;7.7"),
        ("t10_frames;t30_frames;t60_s;fps", "122;257;7.70;60"),
        ("t10_s;t30_s;t60_s", "2.04;two;7.70"),
        ("t10_s;t30_s;t60_s", "2.04;4.28 kg;7.70"),
        ("t10_s;t30_s;t60_s;t100_s", "2.04;4.28;7.70;12.1"),
    ],
)
def test_cells_are_read_and_judged_as_in_a_sheet_of_the_day(
    tmp_path: Path, heading: str, cells: str
) -> None:
    own = f"athlete_id;test;{heading}\nA01;60 m;{cells}\n"
    listed = f"person;sex;test;{heading}\nOld hand;F;60 m;{cells}\n"
    (tmp_path / "own").mkdir()
    (tmp_path / "listed").mkdir()
    there = read(tmp_path / "own", {"sprints.csv": own})
    day = _read(tmp_path / "listed", listed, "")
    file = f"{seasons.DAY_FOLDER}/sprints.csv"
    assert _values(day.reference_sprints) == _values(there.trials)
    looks = {"gate-missed", "attempts-short"}  # of a testing day, and no fault of a cell
    wanted = [f for f in there.findings if f.place.file == file and f.code not in looks]
    assert [(f.code, f.place.row, f.place.column, f.message) for f in _own(day)] == [
        (f.code, f.place.row, f.place.column, f.message) for f in wanted
    ]
    assert adds_up(day)


@pytest.mark.parametrize("heading", ["date", "day"])
def test_the_day_of_a_run_is_kept_and_compared_with_nothing(tmp_path: Path, heading: str) -> None:
    text = "Old hand,F,60 m,2019-06-01,2.04,4.28,7.70\n"
    day = _read(tmp_path, text, f"person,sex,test,{heading},t10_s,t30_s,t60_s\n")
    assert day.reference_sprints.used("date")["raw"].tolist() == ["2019-06-01"]
    assert "2019" not in "".join(day.reference_sprints.attempts["conditions"])
    assert not _own(day)


def test_a_column_of_sessions_is_named_once_and_not_read(tmp_path: Path) -> None:
    text = "Old hand,F,60 m,track,2.04,4.28,7.70\n"
    day = _read(tmp_path, text + text, "person,sex,test,session,t10_s,t30_s,t60_s\n")
    assert _told(day) == [("heading-unknown", None, "session")]
    assert _counts(day) == (2, 2, 0, 0)


# --- people ---------------------------------------------------------------------------------


def test_a_person_counts_as_one_whatever_the_letter_case(tmp_path: Path) -> None:
    day = _read(tmp_path, GOOD + GOOD.replace("Old hand", "OLD HAND"))
    assert set(day.reference_sprints.attempts["athlete_id"]) == {"reference:Old hand"}


@pytest.mark.parametrize("sex", ["", "X", "unknown"])
def test_a_person_without_a_sex_is_set_aside(tmp_path: Path, sex: str) -> None:
    day = _read(tmp_path, GOOD.replace(",F,", f",{sex},") + GOOD.replace("Old", "Other"))
    assert _told(day) == [("person-sex", 2, "sex")]
    assert f"“{sex}” is no sex (F or M)" in message(day, "person-sex")
    assert _people(day) == {"reference:Other hand"}
    assert _counts(day) == (2, 1, 0, 1)


def test_a_sex_said_once_holds_for_all_rows_of_a_person(tmp_path: Path) -> None:
    text = GOOD.replace(",F,", ",,") + GOOD.replace(",F,", ",f,") + GOOD.replace(",F,", ",X,")
    day = _read(tmp_path, text)
    assert _told(day) == [("person-sex", 4, "sex")]
    rows = registry.attempt_values(day.reference_sprints, day.battery)
    assert set(rows["sex"]) == {"F"}
    assert rows["key"].nunique() == 2
    assert _counts(day) == (3, 2, 0, 1)


def test_a_person_with_two_sexes_is_set_aside_with_every_row(tmp_path: Path) -> None:
    text = GOOD + GOOD.replace(",F,", ",M,") + GOOD.replace(",F,", ",,")
    day = _read(tmp_path, text + GOOD.replace("Old", "Other"))
    assert _told(day) == [("person-two-sexes", row, "sex") for row in (2, 3, 4)]
    assert [next(told for told in ("row 2", "row 3") if told in f.message) for f in _own(day)] == [
        "row 3",
        "row 2",
        "row 3",
    ]
    assert _people(day) == {"reference:Other hand"}
    assert _counts(day) == (4, 1, 0, 3)


@pytest.mark.parametrize("label", ["A01", "a01", "ADA quillon"])
def test_nobody_on_the_roster_is_in_their_own_reference(tmp_path: Path, label: str) -> None:
    day = _read(tmp_path, GOOD + GOOD.replace("Old hand", label))
    assert _told(day) == [("person-on-roster", 3, "person")]
    assert _people(day) == {"reference:Old hand"}
    assert _counts(day) == (2, 1, 0, 1)


# --- faults ---------------------------------------------------------------------------------


def test_faults_of_a_row_are_told_with_their_place(tmp_path: Path) -> None:
    text = (
        GOOD
        + "Old hand,F,61 m,,,2.04,4.28,7.70\n"
        + ",F,60 m,,,2.04,4.28,7.70\n"
        + "New,F,60 m,,,2.04,DNF,\n"
        + "Fast,F,60 m,,,2.04,1.28,7.70\n"
        + "Odd,F,60 m,crouching,,2.04,4.28,7.70\n"
    )
    day = _read(tmp_path, text)
    assert sorted(_told(day), key=lambda told: told[1] or 0) == [
        ("test-unknown", 3, "test"),
        ("person-blank", 4, "person"),
        ("row-no-mark", 5, "t30_s"),
        ("splits-disorder", 6, "t30_s"),
        ("value-unusual", 7, "start"),
    ]
    assert "“60 m”" in message(day, "test-unknown")
    assert _counts(day) == (6, 2, 1, 3)
    assert adds_up(day)


@pytest.mark.parametrize(
    ("heading", "row", "missing"),
    [
        ("sex,test,t10_s", "F,60 m,2.04", "person"),
        ("person,test,t10_s", "Old hand,60 m,2.04", "sex"),
        ("person,sex,t10_s", "Old hand,F,2.04", "test"),
    ],
)
def test_a_sheet_without_a_column_it_needs_is_told_so_and_the_day_goes_on(
    tmp_path: Path, heading: str, row: str, missing: str
) -> None:
    day = _read(tmp_path, f"{row}\n{row}\n", f"{heading}\n")
    assert _told(day) == [("heading-missing", row, missing) for row in (None, 2, 3)]
    assert all(f"“{missing}”" in f.message for f in _own(day))
    assert _counts(day) == (2, 0, 0, 2)
    assert len(day.trials.attempts) == 1


def test_a_damaged_sheet_is_an_error_and_the_day_goes_on(tmp_path: Path) -> None:
    day = read(tmp_path, JUMPS, {"reference_sprints.xlsx": b"PK"})
    assert [code for code, _, _ in errors(day)] == ["file-unreadable"]
    assert day.reference_sprints.attempts.empty


def test_a_second_sheet_is_named_and_not_read(tmp_path: Path) -> None:
    other = (HEADING + GOOD.replace("Old", "Other")).replace(",", "\t")
    day = read(tmp_path, JUMPS, {NAME: HEADING + GOOD, "reference_sprints.tsv": other})
    assert ("sheet-twice", None, "") in found(day)
    assert _people(day) == {"reference:Old hand"}


def test_a_season_without_one_has_no_run(tmp_path: Path) -> None:
    day = read(tmp_path, JUMPS)
    assert day.reference_sprints.attempts.empty
    assert registry.attempt_values(day.reference_sprints, day.battery).empty
