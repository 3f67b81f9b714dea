"""Who is on the roster, and whom a row belongs to."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from pipeline import reading
from pipeline.errors import CannotStartError, Finding
from pipeline.intake import roster
from pipeline.intake.roster import Roster
from tests.intake.small import book, codes, errors, found, message, read, states

JUMPS = "athlete_id,test,flight_time_s\n"


def _roster(
    folder: Path, text: str | bytes, name: str = "roster.csv"
) -> tuple[Roster, list[Finding]]:
    (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    return roster.read(folder)


def test_an_unknown_id_is_set_aside_and_named(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS + "A01,cmj,0.5\nB77,cmj,0.6\n"})
    assert found(day) == [("athlete-unknown", 3, "athlete_id")]
    assert "“B77”" in message(day, "athlete-unknown")
    assert states(day, "jumps.csv") == (2, 1, 0, 1)


@pytest.mark.parametrize("summary", ["MEAN", "SD", "Average", "Best of squad"])
def test_a_summary_row_becomes_nobody_s_result(tmp_path: Path, summary: str) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS + f"A01,cmj,0.5\n{summary},cmj,0.55\n"})
    assert found(day) == [("row-total", 3, "")]
    assert states(day, "jumps.csv") == (2, 1, 0, 1)
    assert day.trials.attempts["athlete_id"].tolist() == ["A01"]


@pytest.mark.parametrize("blank", ["", "  ", "\u00a0", "\t"])
def test_a_row_without_an_id_is_set_aside(tmp_path: Path, blank: str) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS + f"{blank},cmj,0.5\n"})
    assert found(day) == [("athlete-blank", 2, "athlete_id")]
    assert states(day, "jumps.csv") == (1, 0, 0, 1)


@pytest.mark.parametrize("written", ["a01", "A01", " A01 ", "a01\u00a0"])
def test_an_id_is_found_whatever_its_letter_case_and_blanks(tmp_path: Path, written: str) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS + f"{written},cmj,0.5\n"})
    assert not found(day)
    assert day.trials.attempts["athlete_id"].tolist() == ["A01"]


@pytest.mark.parametrize("key", ["NA", "None", "null", "nan", "007", "12E3", "1_000", "-", "TRUE"])
def test_an_id_stays_the_text_it_is_and_is_found(tmp_path: Path, key: str) -> None:
    people = f"athlete_id,name\n{key},Ada Null\n7,Bram Ostrander-Vale\n12000,Cleo Ruud\n"
    day = read(tmp_path, {"jumps.csv": JUMPS + f"{key},cmj,0.5\n"}, {"roster.csv": people})
    assert codes(day) <= {"roster-ids-alike"}
    assert day.trials.attempts["athlete_id"].tolist() == [key]
    assert day.roster.athletes[key].name == "Ada Null"


def test_an_id_that_is_a_number_in_one_workbook_and_in_the_other_is_found(tmp_path: Path) -> None:
    people = book({"Squad": [["athlete_id", "name"], [7, "Ada Quillon"], ["007", "Bram Vale"]]})
    jumps = book({"Day": [["athlete_id", "test", "flight_time_s"], [7, "cmj", 0.5]]})
    day = read(tmp_path, {"jumps.xlsx": jumps}, {"roster.csv": None, "roster.xlsx": people})
    assert codes(day) == {"roster-ids-alike"}
    assert day.trials.attempts["athlete_id"].tolist() == ["7"]


def test_an_id_for_two_names_is_nobody_s_and_one_for_the_same_name_is_a_copy(
    tmp_path: Path,
) -> None:
    text = "athlete_id,name\nA01,Ada\nB02,Bram\na01,Cleo\nb02,bram\nD04,Dag\nd04,\n"
    people, faults = _roster(tmp_path, text)
    assert [(f.code, f.place.row) for f in faults] == [
        ("roster-id-two-names", 2), ("roster-id-two-names", 4), ("roster-id-twice", 5),
        ("roster-id-twice", 7),
    ]  # fmt: skip
    assert "“Ada” and “Cleo”" in faults[0].message
    assert "row 3" in faults[2].message
    assert list(people.athletes) == ["B02", "D04"]
    assert people.contested == {"a01"}
    assert [mark.row for mark in people.rows] == [0, 2, 3, 4, 5, 6, 7]


def test_ids_that_a_spreadsheet_turns_into_one_another_are_named(tmp_path: Path) -> None:
    people, faults = _roster(tmp_path, "athlete_id,name\n007,Ada\n7,Bram\nA1,Cleo\na01,Dag\n")
    assert [(f.code, f.place.row, f.athlete_id) for f in faults] == [
        ("roster-ids-alike", 3, "7"), ("roster-ids-alike", 5, "a01"),
    ]  # fmt: skip
    assert len(people.athletes) == 4


@pytest.mark.parametrize(
    "key",
    ["CON", "nul", "Aux", "prn", "COM1", "lpt9"],
)
def test_a_word_some_computers_reserve_is_no_id(tmp_path: Path, key: str) -> None:
    people, (fault,) = _roster(tmp_path, f"athlete_id,name\nA01,Ada\n{key},Bram\n")
    assert (fault.code, fault.place.row) == ("roster-id", 3)
    assert "device" in fault.message
    assert list(people.athletes) == ["A01"]


@pytest.mark.parametrize(
    "key", ["", "A 1", "Ä1", "A/1", "..", "A.1", "=1+1", "a" * 65, "<b>", "A\u00a01", "٧"]
)
def test_an_id_of_other_characters_is_refused(tmp_path: Path, key: str) -> None:
    people, (fault,) = _roster(tmp_path, f"athlete_id,name\nA01,Ada\n{key},Bram\n")
    assert (fault.code, fault.place.row) == ("roster-id", 3)
    assert list(people.athletes) == ["A01"]


@pytest.mark.parametrize("key", ["a", "A-1_b", "0", "con1", "console", "z" * 64])
def test_an_id_of_letters_digits_hyphens_and_underscores_is_taken(tmp_path: Path, key: str) -> None:
    people, faults = _roster(tmp_path, f"athlete_id,name\n{key},Ada\n")
    assert (list(people.athletes), faults) == ([key], [])


@pytest.mark.parametrize("column", ["birth_date", "joined", "left"])
@pytest.mark.parametrize("text", ["18.03.10", "31/02/2010", "2010-02-30", "soon", "40255"])
def test_a_date_that_is_none_counts_as_not_known_and_keeps_the_athlete(
    tmp_path: Path, column: str, text: str
) -> None:
    people, (fault,) = _roster(tmp_path, f"athlete_id,{column}\nA01,{text}\n")
    assert (fault.code, fault.place.row, fault.place.column) == ("roster-value", 2, column)
    assert getattr(people.athletes["A01"], column) is None


def test_an_iso_date_is_year_month_day(tmp_path: Path) -> None:
    people, faults = _roster(tmp_path, "athlete_id,birth_date\nA01,2008-04-11\n")
    assert people.athletes["A01"].birth_date == dt.date(2008, 4, 11)
    assert not faults


def test_a_date_cell_of_a_workbook_is_that_date(tmp_path: Path) -> None:
    rows = [["athlete_id", "birth_date"], ["A01", dt.date(2008, 4, 11)]]
    people, faults = _roster(tmp_path, book({"Squad": rows}), "roster.xlsx")
    assert people.athletes["A01"].birth_date == dt.date(2008, 4, 11)
    assert not faults


@pytest.mark.parametrize(("column", "text"), [("sex", "x"), ("share", "everything")])
def test_another_word_than_the_allowed_ones_is_named(
    tmp_path: Path, column: str, text: str
) -> None:
    _, (fault,) = _roster(tmp_path, f"athlete_id,{column}\nA01,{text}\n")
    assert (fault.code, fault.place.column) == ("roster-value", column)


def test_age_is_in_whole_years_and_rises_on_the_birthday(tmp_path: Path) -> None:
    people, _ = _roster(tmp_path, "athlete_id,birth_date\nA01,2010-03-18\nA02,\n")
    ada = people.athletes["A01"]
    assert ada.age_on(dt.date(2028, 3, 17)) == 17
    assert ada.age_on(dt.date(2028, 3, 18)) == 18
    assert people.athletes["A02"].age_on(dt.date(2028, 3, 18)) is None


def test_the_squad_of_a_date_is_those_who_had_joined_and_not_left(tmp_path: Path) -> None:
    text = "athlete_id,joined,left\nA,2026-01-02,\nB,,2026-01-01\nC,2026-01-01,2026-01-01\nD,,\n"
    people, _ = _roster(tmp_path, text)
    here = [a.athlete_id for a in people.here_on(dt.date(2026, 1, 1))]
    assert here == ["B", "C", "D"]


def test_names_with_commas_quotes_and_letters_of_any_script_are_kept(tmp_path: Path) -> None:
    text = 'athlete_id;name\nA01;"Łucja ""Lu"" Őry; senior"\nA02;O\'Quillon, Şule\n'
    people, faults = _roster(tmp_path, text)
    assert [a.name for a in people.athletes.values()] == [
        'Łucja "Lu" Őry; senior',
        "O'Quillon, Şule",
    ]
    assert not faults


def test_those_on_the_roster_without_a_row_are_named_absent(tidy: Path) -> None:
    day = reading.read(tidy, None)
    assert [f.athlete_id for f in day.findings if f.code == "athlete-not-tested"] == ["A03"]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("name\nAda\n", "no column athlete_id"),
        ("", "no column athlete_id"),
        ("athlete_id,name\n", "lists no athlete"),
        ("athlete_id,name\n?,Ada\n", "lists no athlete"),
    ],
)
def test_a_roster_without_anybody_cannot_start_a_run(
    tmp_path: Path, text: str, sentence: str
) -> None:
    with pytest.raises(CannotStartError, match=f"roster.csv .*{sentence}"):
        _roster(tmp_path, text)


def test_a_damaged_roster_cannot_start_a_run(tmp_path: Path) -> None:
    with pytest.raises(CannotStartError, match=r"roster\.xlsx could not be read"):
        _roster(tmp_path, b"PK nothing", "roster.xlsx")


@pytest.mark.parametrize("stray", ["roster.bak", "roster.csv~", "roster.1.csv", "roster.pdf"])
def test_a_stray_file_beside_the_roster_is_not_taken_for_it(tmp_path: Path, stray: str) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS + "A01,cmj,0.5\n"}, {stray: "not the roster"})
    assert day.roster.place.file == "roster.csv"


def test_two_rosters_are_not_chosen_between_in_silence(tmp_path: Path) -> None:
    other = book({"Squad": [["athlete_id"], ["Z99"]]})
    sheets = {"jumps.csv": JUMPS + "A01,cmj,0.5\n"}
    try:
        day = read(tmp_path, sheets, {"roster.xlsx": other})
    except CannotStartError as error:
        assert "roster" in str(error)  # noqa: PT017  # a refusal that names them is as good
    else:
        assert any("roster" in f.place.file for f in day.findings if f.code in codes(day))


@pytest.mark.parametrize("heading", ["shoe", "brith_date", "gruops"])
def test_a_heading_of_the_roster_that_nothing_reads_is_named(tmp_path: Path, heading: str) -> None:
    _, faults = _roster(tmp_path, f"athlete_id,name,{heading}\nA01,Ada,2010-03-18\n")
    assert [(f.code, f.place.column) for f in faults] == [("heading-unknown", heading)]


def test_a_heading_that_stands_twice_on_the_roster_is_named(tmp_path: Path) -> None:
    people, faults = _roster(tmp_path, "athlete_id,name,name\nA01,Ada,Bram\n")
    assert [f.code for f in faults] == ["heading-twice"]
    assert people.athletes["A01"].name == "Ada"


def test_a_second_sheet_of_the_roster_is_not_dropped_in_silence(tmp_path: Path) -> None:
    people = book({"Girls": [["athlete_id"], ["A01"]], "Boys": [["athlete_id"], ["A02"]]})
    read_roster, faults = _roster(tmp_path, people, "roster.xlsx")
    assert "A02" in read_roster.athletes or faults


def test_a_row_that_belongs_to_nobody_is_never_charged_to_an_athlete(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": JUMPS + "B77,cmj,0.6\n,cmj,0.6\n"})
    assert {f.athlete_id for f in day.findings if f.code.startswith("athlete-") if f.place.row} == {
        ""
    }
    assert len(errors(day)) == 2
