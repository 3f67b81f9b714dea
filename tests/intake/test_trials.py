"""From rows to trials: numbers, people, marks, conditions, and what is said of the rest."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import computing, tables
from pipeline.intake.amounts import last_digit, number
from pipeline.intake.conditions import clock_of
from pipeline.measures.spec import FAILED, NO_MARK, SET_ASIDE, USED
from tests import seasons
from tests.intake.small import (
    Content,
    adds_up,
    book,
    codes,
    conditions,
    errors,
    found,
    message,
    read,
    recorded,
    season,
    states,
)

JUMPS = "athlete_id,test,attempt,flight_time_s\n"
SPRINTS = "athlete_id,test,attempt,wind_mps,t10_s,t30_s,t60_s\n"
LIFTS = "athlete_id,lift,load_kg,reps,result\n"


# --- numbers --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value", "step"),
    [
        ("1.80", 1.80, 0.01),
        ("1,80", 1.80, 0.01),
        (" 7.70 ", 7.70, 0.01),
        ("\u00a07.70\u00a0", 7.70, 0.01),
        ("7.700", 7.70, 0.001),
        ("-0.3", -0.3, 0.1),
        ("+0,6", 0.6, 0.1),
        ("74", 74.0, 1.0),
        ("0", 0.0, 1.0),
        (".5", 0.5, 0.1),
        ("1.805,00", 1805.0, 0.01),
        ("1,805.00", 1805.0, 0.01),
        ("1 805,00", 1805.0, 0.01),
        ("1,234,567.8", 1234567.8, 0.1),
    ],
)
def test_a_number_is_read_as_people_write_it_with_its_last_digit(
    text: str, value: float, step: float
) -> None:
    assert number(text) == value
    assert last_digit(text) == pytest.approx(step, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "DNF", "1.2.3", "1,2,3", "1.805.00", "7.70 s", "*7.70", "7:42", "6-2", "2-Jun",
        "1e5", "inf", "nan", "NaN", "--1", "1_000", "0x1F", "½", "²", "=7.7", "#N/A", "None",
    ],
)  # fmt: skip
def test_what_is_no_number_is_none(text: str) -> None:
    assert number(text) is None


@pytest.mark.parametrize("text", ["1,80.5", "7.7,0.1", "12 5", "7 70", "7,7.0", "1.80,5"])
def test_digits_that_no_thousands_mark_explains_are_no_number(text: str) -> None:
    assert number(text) is None


@settings(derandomize=True, database=None, max_examples=200)
@given(st.text(max_size=12))
def test_no_text_makes_the_number_reader_raise(text: str) -> None:
    value = number(text)
    assert value is None or value == float(value)
    assert last_digit(text) > 0


@settings(derandomize=True, database=None, max_examples=200)
@given(st.integers(-(10**7), 10**7), st.integers(0, 4))
def test_point_comma_and_thousands_marks_read_alike(digits: int, places: int) -> None:
    value = digits / 10**places
    plain = f"{value:.{places}f}"
    swapped = f"{value:,.{places}f}".translate({ord(","): ".", ord("."): ","})
    assert number(plain) == value
    assert number(plain.replace(".", ",")) == value
    if places:
        assert number(f"{value:,.{places}f}") == value
        assert number(swapped) == value


def test_a_number_of_hundreds_of_digits_is_not_taken_for_infinity(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,cmj,1,{'9' * 400}\n"})
    assert [row for _, row, _ in errors(day)] == [2]
    assert day.trials.used("flight_time").empty


# --- people, tests, copies ------------------------------------------------------------------


@pytest.mark.parametrize("name", ["countermovement jump", "CMJ", " cmj ", "Counter Movement Jump"])
def test_a_test_is_known_by_name_and_alias_whatever_case_and_blanks(
    tmp_path: Path, name: str
) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,{name},1,0.5\n"})
    assert not found(day)
    assert day.trials.attempts["test"].tolist() == ["countermovement jump"]


@pytest.mark.parametrize("name", ["", "40 yd", "60m hurdles", "back squat"])
def test_an_unknown_test_sets_the_row_aside(tmp_path: Path, name: str) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,{name},1,0.5\n"})
    assert found(day) == [("test-unknown", 2, "test")]
    assert states(day, "jumps.csv") == (1, 0, 0, 1)


def test_an_unknown_test_is_named_with_the_nearest(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,countermovment jump,1,0.5\n"})
    assert "“countermovement jump”" in message(day, "test-unknown")


def test_a_copy_of_a_row_is_set_aside_and_names_the_first(tmp_path: Path) -> None:
    row = "A01,cmj,1,0.511\n"
    day = read(tmp_path, {"jumps.csv": JUMPS + row + "A01,cmj,2,0.519\n" + row})
    assert found(day) == [("row-twice", 4, "")]
    assert "row 2" in message(day, "row-twice")
    assert states(day, "jumps.csv") == (3, 2, 0, 1)
    assert day.trials.used("flight_time")["value"].tolist() == [0.511, 0.519]


def test_a_copy_with_the_id_in_another_letter_case_is_a_copy(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,cmj,1,0.511\na01,cmj,1,0.511\n"})
    assert found(day) == [("row-twice", 3, "")]


def test_the_same_attempt_of_another_athlete_is_no_copy(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,cmj,1,0.511\nA02,cmj,1,0.511\n"})
    assert not found(day)


def test_equal_sets_without_attempt_numbers_are_two_sets(tmp_path: Path) -> None:
    day = read(
        tmp_path,
        {"lifts.csv": LIFTS + "A02,back squat,130,1,good\n" * 2},
    )
    assert not found(day)
    assert recorded(day, "load") == [("130", USED), ("130", USED)]


def test_rows_that_stand_in_two_sheets_of_one_workbook_count_once(tmp_path: Path) -> None:
    rows = [
        ["athlete_id", "test", "attempt", "flight_time_s"],
        ["A01", "cmj", 1, 0.511],
        ["A01", "cmj", 2, 0.519],
    ]
    day = read(tmp_path, {"jumps.xlsx": book({"Day": rows, "All": rows})})
    assert len(day.trials.used("flight_time")) == 2
    assert states(day, "jumps.xlsx") == (4, 2, 0, 2)


def test_attempts_without_numbers_are_counted_in_the_order_of_the_sheet(tmp_path: Path) -> None:
    text = "athlete_id,test,flight_time_s\nA01,cmj,0.50\nA02,cmj,0.60\nA01,cmj,0.51\n"
    day = read(tmp_path, {"jumps.csv": text})
    assert day.trials.attempts["attempt"].tolist() == [1, 1, 2]


def test_attempts_without_numbers_are_counted_for_each_side(tmp_path: Path) -> None:
    text = (
        "athlete_id,test,side,flight_time_s\n"
        "A01,cmj,left,0.40\nA01,cmj,right,0.41\nA01,cmj,left,0.42\nA01,cmj,right,0.43\n"
    )
    day = read(tmp_path, {"jumps.csv": text})
    assert day.trials.attempts["attempt"].tolist() == [1, 1, 2, 2]


@pytest.mark.parametrize("attempt", ["99999999999999999999", "9" * 400, "-1", "1.5", "first"])
def test_no_attempt_number_breaks_the_tables(tmp_path: Path, attempt: str) -> None:
    made = computing.check(season(tmp_path, {"jumps.csv": f"{JUMPS}A01,cmj,{attempt},0.5\n"}), None)
    for name, frame in made.tables.items():
        assert tables.to_csv(name, tables.shape(name, frame))


# --- marks ----------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["DNF", "DNS", "dq", "NT", "NM", "x", "-", "–", "n/a", "failed"])
def test_a_no_mark_entry_is_kept_as_what_it_is_and_only_noted(tmp_path: Path, word: str) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,0.1,2.04,4.28,{word}\n"})
    assert found(day) == [("row-no-mark", 2, "t60_s")]
    assert recorded(day, "cumulative_time")[-1] == (word, NO_MARK)
    assert states(day, "sprints.csv") == (1, 1, 0, 0)


def test_a_dnf_as_the_last_attempt_leaves_the_best_of_the_others(tmp_path: Path) -> None:
    text = f"{JUMPS}A01,cmj,1,0.50\nA01,cmj,2,0.52\nA01,cmj,3,0.51\nA01,cmj,4,DNF\n"
    results = computing.check(season(tmp_path, {"jumps.csv": text}), None).tables["results"]
    (best,) = results[results["measure"] == "jump_height"].to_dict("records")
    assert (best["attempt"], best["n_attempts"]) == (2, 3)


@pytest.mark.parametrize("cell", ["7.x0", "7:70", "7.70?", "seven", "#DIV/0!", "None"])
def test_an_unreadable_cell_is_set_aside_and_the_rest_of_its_row_is_used(
    tmp_path: Path, cell: str
) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,0.1,2.04,4.28,{cell}\n"})
    assert found(day) == [("value-unreadable", 2, "t60_s")]
    assert [s for _, s in recorded(day, "cumulative_time")] == [USED, USED, SET_ASIDE]
    assert states(day, "sprints.csv") == (1, 0, 1, 0)


@pytest.mark.parametrize("cell", ["", " ", "nan", "NaN", "\u00a0"])
def test_a_blank_cell_is_no_value_and_no_fault(tmp_path: Path, cell: str) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,0.1,2.04,4.28,{cell}\n"})
    assert not found(day)
    assert len(recorded(day, "cumulative_time")) == 2


@pytest.mark.parametrize("word", ["failed", "Failed", "x", "NM"])
def test_a_failed_lift_is_never_used(tmp_path: Path, word: str) -> None:
    text = f"{LIFTS}A02,back squat,140,1,good\nA02,back squat,147.5,1,{word}\n"
    day = read(tmp_path, {"lifts.csv": text})
    assert recorded(day, "load") == [("140", USED), ("147.5", FAILED)]
    results = computing.compute(day).tables["results"]
    assert results[results["measure"] == "one_rep_max"]["value"].tolist() == [140.0]
    assert not errors(day)


def test_a_row_with_no_value_is_flagged(tmp_path: Path) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,0.4,,,\n"})
    assert found(day) == [("row-no-value", 2, "")]
    assert states(day, "sprints.csv") == (1, 0, 1, 0)


def test_an_athlete_whose_planned_rows_hold_nothing_was_not_tested(tmp_path: Path) -> None:
    text = f"{SPRINTS}A01,60 m,1,0.1,2.04,4.28,7.70\nA02,60 m,1,,,,\nA03,60 m,1,,,,\n"
    made = computing.check(season(tmp_path, {"sprints.csv": text}), None)
    assert list(made.day["athletes"]) == ["A01"]
    absent = made.tables["findings"].query("code == 'athlete-not-tested'")
    assert absent["athlete_id"].tolist() == ["A02", "A03"]


def test_cells_beyond_the_headings_are_named_and_the_row_is_flagged(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,cmj,1,0,519\nA01,cmj,2,0.511,,\n"})
    assert ("cells-beyond-headings", 2, "") in found(day)
    assert "“519”" in message(day, "cells-beyond-headings")
    assert {row for _, row, _ in found(day)} == {2}


@pytest.mark.parametrize(
    ("sheet", "text"),
    [
        ("lifts.csv", "athlete_id,lift,load_kg,reps,result\nA02,back squat,150,1,missed\n"),
        ("lifts.csv", "athlete_id,lift,load_kg,reps,maximal\nA02,back squat,150,1,perhaps\n"),
        ("lifts.csv", "athlete_id,lift,load_kg,reps\nA02,back squat,150,\n"),
        ("lifts.csv", "athlete_id,lift,load_kg,reps\nA02,back squat,150,0\n"),
        ("jumps.csv", "athlete_id,test,attempt,flight_time_s\nA01,cmj,first,0.5\n"),
        ("jumps.csv", "athlete_id,test,date,flight_time_s\nA01,cmj,2026-09-99,0.5\n"),
    ],
    ids=["result", "maximal", "no repetitions", "zero repetitions", "attempt", "date"],
)
def test_what_is_not_understood_is_not_passed_over_in_silence(
    tmp_path: Path, sheet: str, text: str
) -> None:
    assert [row for _, row, _ in found(read(tmp_path, {sheet: text}))] == [2]


# --- files ----------------------------------------------------------------------------------


def test_a_file_of_another_name_is_noted(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": f"{JUMPS}A01,cmj,1,0.5\n", "weather.txt": "fair"})
    assert codes(day) == {"file-not-used"}


def test_a_sheet_in_a_format_that_is_not_read_is_an_error(tmp_path: Path) -> None:
    assert codes(read(tmp_path, {"jumps.pages": "…"})) == {"file-format"}


def test_a_damaged_sheet_is_an_error_and_the_others_are_read(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.xlsx": b"PK", "lifts.csv": f"{LIFTS}A02,back squat,130,1,good\n"})
    assert codes(day) == {"file-unreadable"}
    assert len(day.trials.attempts) == 1


def test_a_sheet_that_is_there_twice_is_read_once_and_the_other_is_named(tmp_path: Path) -> None:
    rows = [["athlete_id", "test", "attempt", "flight_time_s"], ["A01", "cmj", 1, 0.519]]
    sheets: dict[str, Content] = {
        "jumps.csv": f"{JUMPS}A01,cmj,1,0.511\n",
        "jumps.xlsx": book({"Day": rows}),
    }
    day = read(tmp_path, sheets)
    assert codes(day) == {"sheet-twice"}
    assert day.trials.used("flight_time")["value"].tolist() == [0.511]


@pytest.mark.parametrize("text", [JUMPS, ""])
def test_a_sheet_without_rows_is_noted(tmp_path: Path, text: str) -> None:
    assert codes(read(tmp_path, {"jumps.csv": text})) == {"sheet-empty"}


def test_hidden_and_lock_files_are_passed_over(tmp_path: Path) -> None:
    sheets: dict[str, Content] = {
        "jumps.csv": f"{JUMPS}A01,cmj,1,0.5\n",
        ".hidden": "x",
        "~$jumps.xlsx": b"\x00",
    }
    assert not found(read(tmp_path, sheets))


# --- conditions -----------------------------------------------------------------------------

DAY = """\
date = 2026-09-15
surface = "grass"
footwear = "flats"
timing = "hand"
[session.track]
surface = "synthetic track"
timing = "electronic"
[session.hall]
indoor = true
"""


def _sprint(folder: Path, **cells: str) -> dict[str, str]:
    headings, row = ",".join(cells), ",".join(cells.values())
    text = f"athlete_id,test,t60_s,{headings}\nA01,60 m,7.70,{row}\n"
    return conditions(read(folder, {"sprints.csv": text}, {f"{seasons.DAY_FOLDER}/day.toml": DAY}))


def test_a_session_overrides_its_day_and_inherits_the_rest(tmp_path: Path) -> None:
    key = _sprint(tmp_path, session="track")
    assert (key["surface"], key["footwear"], key["timing"]) == (
        "synthetic track", "flats", "electronic",
    )  # fmt: skip


def test_a_row_overrides_its_session_and_inherits_the_rest(tmp_path: Path) -> None:
    key = _sprint(tmp_path, session="track", surface="cinder", timing="video")
    assert (key["surface"], key["footwear"], key["timing"]) == ("cinder", "flats", "video")


def test_a_row_without_a_session_has_the_conditions_of_the_day(tmp_path: Path) -> None:
    key = _sprint(tmp_path, session="")
    assert (key["surface"], key["timing"]) == ("grass", "hand")


def test_a_row_without_a_session_belongs_to_the_only_one_there_is(tmp_path: Path) -> None:
    toml = 'date = 2026-09-15\n[session.hall]\nsurface = "wood"\n'
    text = "athlete_id,test,t60_s\nA01,60 m,7.70\n"
    day = read(tmp_path, {"sprints.csv": text}, {f"{seasons.DAY_FOLDER}/day.toml": toml})
    assert conditions(day)["surface"] == "wood"


def test_an_unknown_session_is_named_and_the_row_has_the_conditions_of_the_day(
    tmp_path: Path,
) -> None:
    text = "athlete_id,test,t60_s,session\nA01,60 m,7.70,tarck\n"
    day = read(tmp_path, {"sprints.csv": text}, {f"{seasons.DAY_FOLDER}/day.toml": DAY})
    assert ("value-unusual", 2, "session") in found(day)
    assert "“tarck”" in message(day, "value-unusual")
    assert conditions(day)["surface"] == "grass"


@pytest.mark.parametrize("column", ["timing", "beams", "clock", "start"])
def test_a_condition_of_another_word_counts_as_not_known_and_is_named(
    tmp_path: Path, column: str
) -> None:
    day = read(tmp_path, {"sprints.csv": f"athlete_id,test,t60_s,{column}\nA01,60 m,7.7,odd\n"})
    assert found(day) == [("value-unusual", 2, column)]


@pytest.mark.parametrize("written", ["TRUE", "true", "yes", "Yes"])
def test_indoor_in_a_row_is_the_same_as_indoor_in_the_day_file(
    tmp_path: Path, written: str
) -> None:
    assert _sprint(tmp_path, session="track", indoor=written)["indoor"] == "yes"


def test_a_length_that_is_a_condition_is_converted(tmp_path: Path) -> None:
    assert _sprint(tmp_path, start_distance_cm="50")["start_distance_m"] == "0.5"


@pytest.mark.parametrize(
    ("timing", "start", "clock"),
    [
        ("electronic", "blocks", "gun"),
        ("hand", "blocks", "gun"),
        ("gates", "three-point", "gate"),
        ("gates", "standing", "gate"),
        ("electronic", "flying", "gate"),
        ("video", "standing", "movement"),
        ("video", "flying", "gate"),
    ],
)
def test_the_clock_follows_from_timing_and_start(
    tmp_path: Path, timing: str, start: str, clock: str
) -> None:
    assert clock_of(timing, start) == clock
    key = _sprint(tmp_path, session="hall", timing=timing, start=start)
    assert key["clock"] == clock


def test_without_a_timing_the_clock_is_not_known() -> None:
    assert clock_of("", "blocks") == ""


def test_a_clock_that_was_written_stands(tmp_path: Path) -> None:
    assert (
        _sprint(tmp_path, session="track", start="blocks", clock="movement")["clock"] == "movement"
    )


@pytest.mark.parametrize(("wind", "over"), [("2.0", False), ("2.1", True), ("-3.0", False)])
def test_more_wind_than_a_record_allows_is_a_warning_and_the_mark_is_kept(
    tmp_path: Path, wind: str, *, over: bool
) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,{wind},2.04,4.28,7.70\n"})
    assert codes(day) == ({"wind-over"} if over else set())
    assert f"wind {float(wind):+.1f} m/s" in day.trials.attempts["flags"].iloc[0]
    assert len(day.trials.used("cumulative_time")) == 3


# --- units, once ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "heading", "raw", "quantity", "si", "step"),
    [
        # 0.45359237 kg and 0.0254 m: international yard and pound agreement of 1959 (memory)
        ("lifts.csv", "load_lb", "310", "load", 140.6136347, 0.45359237),
        ("lifts.csv", "load_kg", "147.5", "load", 147.5, 0.1),
        ("jumps.csv", "flight_time_ms", "511", "flight_time", 0.511, 0.001),
        ("jumps.csv", "height_in", "14,5", "height", 0.3683, 0.00254),
        ("body.csv", "body_mass_lb", "124.0", "body_mass", 56.24545388, 0.045359237),
        ("body.csv", "height_cm", "168.0", "height", 1.680, 0.001),
    ],
)
def test_a_value_is_converted_once_and_its_last_digit_with_it(
    tmp_path: Path, sheet: str, heading: str, raw: str, quantity: str, si: float, step: float
) -> None:
    test = {"lifts.csv": "lift", "jumps.csv": "test"}.get(sheet)
    named = {"lift": "back squat", "test": "cmj"}
    headings = ["athlete_id", *([test] if test else []), heading]
    row = ["A01", *([named[test]] if test else []), f'"{raw}"']
    day = read(tmp_path, {sheet: ",".join(headings) + "\n" + ",".join(row) + "\n"})
    values = day.trials.values
    (value,) = values[values["quantity"] == quantity].to_dict("records")
    assert value["value"] == pytest.approx(si, rel=1e-12)
    assert value["resolution"] == pytest.approx(step, rel=1e-12)
    assert (value["raw"], value["status"]) == (raw, USED)


def test_pounds_in_spring_and_kilograms_in_autumn_compare_as_masses(tmp_path: Path) -> None:
    spring = {
        "2026-05-spring/day.toml": "date = 2026-05-12\n",
        "2026-05-spring/lifts.csv": "athlete_id,lift,load_lb,reps\nA02,back squat,310,5\n",
    }
    autumn = {"lifts.csv": "athlete_id,lift,load_kg,reps\nA02,back squat,145,5\n"}
    changes = computing.check(season(tmp_path, autumn, spring), None).tables["changes"]
    (row,) = changes[changes["measure"] == "one_rep_max"].to_dict("records")
    assert row["before"] == pytest.approx(310 * 0.45359237 * (1 + 5 / 30))
    assert row["change"] > 0


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_nought_that_a_spreadsheet_dropped_does_not_make_a_time_coarser(
    tmp_path: Path, kind: str
) -> None:
    """7.70 beside 7.74 was read to 0.01 s, though a spreadsheet shows and saves 7.7."""
    rows: list[list[object]] = [
        ["athlete_id", "test", "attempt", "t60_s"],
        ["A01", "60 m", 1, 7.7],
        ["A01", "60 m", 2, 7.74],
    ]
    text = "".join(",".join(str(cell) for cell in row) + "\n" for row in rows)
    content = text if kind == "csv" else book({"Day": rows})
    day = read(tmp_path, {f"sprints.{kind}": content})
    steps = day.trials.used("cumulative_time")["resolution"].tolist()
    assert steps == pytest.approx([0.01, 0.01])


def test_a_formula_that_was_saved_without_its_value_is_not_a_blank_cell(tmp_path: Path) -> None:
    rows = [
        ["athlete_id", "test", "t30_s", "first", "second", "t60_s"],
        ["A01", "60 m", 4.28, 7.70, 7.74, "=MIN(D2:E2)"],
    ]
    day = read(tmp_path, {"sprints.xlsx": book({"Day": rows})})
    assert any(row == 2 for _, row, _ in found(day))


# --- where a value stands -------------------------------------------------------------------


def test_every_value_names_its_file_sheet_row_and_column(tmp_path: Path) -> None:
    rows = [[], ["athlete_id", "test", "flight_time_s"], [], ["A01", "cmj", 0.5]]
    day = read(tmp_path, {"jumps.xlsx": book({"Day": rows})})
    (value,) = day.trials.values.query("quantity == 'flight_time'").to_dict("records")
    assert value["source"] == f"{seasons.DAY_FOLDER}/jumps.xlsx!Day!4!flight_time_s"


BAD_ROWS = "A01,cmj,1,511\nA01,cmj,2,bad\nA01,cmj,3,0.5\n"


@pytest.mark.parametrize("sheet", ["Day!", "Day;1", "Day!1", "a;b!c", "5!6!7", "Day, the first"])
def test_a_sheet_may_be_called_anything(tmp_path: Path, sheet: str) -> None:
    lines = (JUMPS + BAD_ROWS).splitlines()
    day = read(tmp_path, {"jumps.xlsx": book({sheet: (line.split(",") for line in lines)})})
    assert found(day) == [
        ("value-implausible", 2, "flight_time_s"),
        ("value-unreadable", 3, "flight_time_s"),
    ]
    assert {f.place.sheet for f in day.findings if f.place.row} == {sheet}
    assert states(day, "jumps.xlsx") == (3, 1, 0, 2)


@pytest.mark.parametrize("folder", ["autumn!", "autumn; again", "1!2!3", "härbst (zwei)"])
def test_a_day_s_folder_may_be_called_anything(tmp_path: Path, folder: str) -> None:
    over = {
        f"{seasons.DAY_FOLDER}/day.toml": None,
        f"{folder}/day.toml": seasons.DAY,
        f"{folder}/jumps.csv": JUMPS + BAD_ROWS,
    }
    day = read(tmp_path, {}, over)
    assert {f.place.file for f in day.findings if f.place.row} == {f"{folder}/jumps.csv"}
    assert found(day) == [
        ("value-implausible", 2, "flight_time_s"),
        ("value-unreadable", 3, "flight_time_s"),
    ]
    (line,) = day.account.query("file != 'roster.csv'").to_dict("records")
    assert (line["rows"], line["used"], line["flagged"], line["set_aside"]) == (3, 1, 0, 2)


def test_every_order_of_the_rows_gives_the_same_best(tmp_path: Path) -> None:
    rows = ["A01,60 m,1,0.1,2.04,4.28,7.70", "A01,60 m,2,0.1,2.05,4.31,7.74", "A01,60 m,3,,,,DNF"]
    best = set()
    for place, order in enumerate(itertools.permutations(rows)):
        text = SPRINTS + "\n".join(order) + "\n"
        day = read(tmp_path / str(place), {"sprints.csv": text})
        assert adds_up(day)
        results = computing.compute(day).tables["results"]
        best.add(results[results["measure"] == "time"]["value"].item())
    assert best == {7.70}
