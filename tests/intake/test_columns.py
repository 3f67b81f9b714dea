"""Which heading means what."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import Finding, Place
from pipeline.intake import columns
from pipeline.intake.columns import SHEETS, Column
from pipeline.intake.readers import RawSheet
from tests.intake.small import codes, errors, found, read, states


def _recognise(kind: str, *headings: str) -> tuple[dict[tuple[str, str], Column], list[Finding]]:
    sheet = RawSheet("", ("athlete_id", *headings), ())
    found, faults = columns.recognise(sheet, SHEETS[kind], Place("sheet.csv"))
    return found, [f for f in faults if f.code != "heading-missing"]


@pytest.mark.parametrize(
    ("kind", "heading", "field", "factor"),
    [
        ("jumps", "flight_time_s", "flight_time", 1.0),
        ("jumps", "flight_time_ms", "flight_time", 0.001),
        ("jumps", "height_cm", "height", 0.01),
        ("jumps", "height_m", "height", 1.0),
        ("jumps", "height_mm", "height", 0.001),
        ("jumps", "height_in", "height", 0.0254),
        ("body", "height_ft", "height", 0.3048),
        ("body", "body_mass_lb", "body_mass", 0.45359237),
        ("lifts", "load_kg", "load", 1.0),
        ("lifts", "load_lb", "load", 0.45359237),
        ("sprints", "wind_mps", "wind", 1.0),
        ("sprints", "reaction_ms", "reaction", 0.001),
    ],
)
def test_the_ending_of_a_heading_is_its_unit(
    kind: str, heading: str, field: str, factor: float
) -> None:
    recognised, faults = _recognise(kind, heading)
    column = recognised[field, ""]
    assert not faults
    assert column.unit is not None
    assert column.unit.factor == pytest.approx(factor, rel=1e-12)
    assert column.heading == heading


@pytest.mark.parametrize(
    "heading",
    [
        "Flight_Time_MS",
        "flight time ms",
        "flight-time-ms",
        "  flight_time_ms  ",
        "flight\u00a0time_ms\u00a0",
        "flight_time_ms\t",
        "Flight  time  ms",
    ],
)
def test_case_blanks_and_joining_marks_of_a_heading_do_not_matter(heading: str) -> None:
    recognised, faults = _recognise("jumps", heading)
    assert ("flight_time", "") in recognised
    assert not faults


@pytest.mark.parametrize(
    "heading", ["flight time [ms]", "flight time [ms] ", "flight_time[ms]\u00a0"]
)
def test_a_unit_in_square_brackets_is_a_unit(heading: str) -> None:
    recognised, faults = _recognise("jumps", heading)
    assert ("flight_time", "") in recognised
    assert not faults


@pytest.mark.parametrize(
    ("kind", "heading", "nearest"),
    [
        ("jumps", "flihgt_time_s", "flight_time_s"),
        ("lifts", "lood_kg", "load_kg"),
        ("body", "bdymass_kg", "body_mass_kg"),
        ("sprints", "timming", "timing"),
    ],
)
def test_an_unknown_heading_is_named_with_the_nearest_known_one(
    kind: str, heading: str, nearest: str
) -> None:
    recognised, (fault,) = _recognise(kind, heading)
    assert (fault.code, fault.place.column) == ("heading-unknown", heading)
    assert f"“{nearest}”" in fault.message
    assert set(recognised) == {("athlete_id", "")}


def test_a_field_without_its_unit_is_asked_for_it() -> None:
    recognised, (fault,) = _recognise("jumps", "flight_time")
    assert (fault.code, fault.place.column) == ("heading-unit", "flight_time")
    assert "“flight_time_s”" in fault.message
    assert set(recognised) == {("athlete_id", "")}


def test_a_heading_like_no_other_gets_no_guess() -> None:
    _, (fault,) = _recognise("jumps", "weather in words")
    assert "did you mean" not in fault.message


@pytest.mark.parametrize("heading", ["flight_time_cm", "load_s", "height_kg", "t10_s", "reps_kg"])
def test_a_heading_whose_unit_or_sheet_is_another_is_unknown(heading: str) -> None:
    _, faults = _recognise("jumps", heading)
    assert [f.code for f in faults] == ["heading-unknown"]


@pytest.mark.parametrize(
    ("kind", "first", "second"),
    [
        ("jumps", "flight_time_s", "flight_time_s"),
        ("jumps", "flight_time_s", "Flight time ms"),
        ("sprints", "t10_s", "T10.0_s"),
    ],
)
def test_of_one_heading_twice_the_first_counts_and_the_second_is_named(
    kind: str, first: str, second: str
) -> None:
    recognised, (fault,) = _recognise(kind, first, second)
    assert (fault.code, fault.place.column) == ("heading-twice", second)
    assert first in {column.heading for column in recognised.values()}


def test_splits_are_known_by_their_distance() -> None:
    recognised, faults = _recognise("sprints", "t5_s", "t10_s", "t36.5_s", "T100_ms")
    parts = {part for field, part in recognised if field == "cumulative_time"}
    assert parts == {"5 m", "10 m", "36.5 m", "100 m"}
    assert not faults


@pytest.mark.parametrize("kind", sorted(SHEETS))
def test_every_heading_a_finding_may_offer_is_known(kind: str) -> None:
    unit = {"time": "_s", "length": "_m", "mass": "_kg", "speed": "_mps", "": "", "count": ""}
    headings = [
        f"{field.name}{unit[field.dimension]}"
        for field in SHEETS[kind].fields.values()
        if field.name != "athlete_id"
    ]
    _, faults = _recognise(kind, *headings)
    assert not faults


def test_a_blank_heading_over_a_blank_column_is_no_fault(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": "athlete_id,test,,flight_time_s,\nA01,cmj,,0.511,\n"})
    assert not found(day)


def test_values_under_a_blank_heading_are_not_dropped_in_silence(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": "athlete_id,test,,flight_time_s\nA01,cmj,0.499,0.511\n"})
    assert found(day)


@pytest.mark.parametrize(
    ("sheet", "text", "missing"),
    [
        ("jumps.csv", "who,test,flight_time_s\nA01,cmj,0.511\nA02,cmj,0.5\n", "athlete_id"),
        ("jumps.csv", "athlete_id,flight_time_s\nA01,0.511\nA02,0.5\n", "test"),
        ("lifts.csv", "athlete_id,load_kg,reps\nA02,130,1\nA02,140,1\n", "lift"),
        ("sprints.csv", "t60_s\n7.70\n6.90\n", "athlete_id"),
    ],
)
def test_without_a_required_column_every_row_is_set_aside_with_one_error_each(
    tmp_path: Path, sheet: str, text: str, missing: str
) -> None:
    day = read(tmp_path, {sheet: text})
    rows = [(code, column) for code, row, column in errors(day) if row is not None]
    assert rows == [("heading-missing", missing)] * 2
    assert ("heading-missing", None, missing) in errors(day)
    assert states(day, sheet) == (2, 0, 0, 2)
    assert day.trials.attempts.empty


def test_an_unknown_column_does_not_keep_the_others_from_being_read(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": "athlete_id,test,mood,flight_time_s\nA01,cmj,good,0.511\n"})
    assert codes(day) == {"heading-unknown"}
    assert day.trials.used("flight_time")["value"].tolist() == [0.511]
