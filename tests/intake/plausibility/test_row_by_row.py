"""What cannot be is set aside, with the likely cause."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline import computing
from pipeline.measures.spec import SET_ASIDE
from tests.intake.small import ONE_ATTEMPT, errors, found, message, read, recorded, states

SPRINTS = "athlete_id,test,attempt,wind_mps,t10_s,t30_s,t60_s\n"


@pytest.mark.parametrize(
    ("sheet", "text", "cause"),
    [
        ("jumps.csv", "athlete_id,test,flight_time_s\nA01,cmj,511\n", "ms as s"),
        ("jumps.csv", "athlete_id,test,height_m\nA01,cmj,34.1\n", "cm as m"),
        ("body.csv", "athlete_id,height_m\nA01,168\n", "cm as m"),
        ("body.csv", "athlete_id,height_cm\nA01,1.68\n", "m as cm"),
        ("lifts.csv", "athlete_id,lift,load_kg,reps\nA02,back squat,1400,1\n", "too far right"),
        ("lifts.csv", "athlete_id,lift,load_kg,reps\nA02,back squat,365,1\n", "pounds"),
    ],
)
def test_an_implausible_value_is_set_aside_with_the_likely_cause(
    tmp_path: Path, sheet: str, text: str, cause: str
) -> None:
    day = read(tmp_path, {sheet: text})
    column = text.splitlines()[0].split(",")
    place = next(c for c in column if c.endswith(("_s", "_m", "_cm", "_kg")))
    assert found(day) == [("value-implausible", 2, place)]
    assert cause in message(day, "value-implausible")
    assert computing.compute(day).tables["results"].empty


@pytest.mark.parametrize("height", ["22.0", "34.1", "61.5"])
def test_a_jump_height_is_not_judged_by_the_height_of_a_body(tmp_path: Path, height: str) -> None:
    day = read(tmp_path, {"jumps.csv": f"athlete_id,test,height_cm\nA01,cmj,{height}\n"})
    assert not found(day)
    results = computing.compute(day).tables["results"]
    assert results[["measure", "value"]].values.tolist() == [
        ["jump_height", pytest.approx(float(height))]
    ]


def test_an_implausible_value_says_what_it_was_and_where_the_limits_lie(tmp_path: Path) -> None:
    day = read(tmp_path, {"jumps.csv": "athlete_id,test,flight_time_s\nA01,cmj,0.95\n"})
    said = message(day, "value-implausible")
    for part in ("“0.95”", "110.6 cm", "3 to 90 cm"):
        assert part in said


def test_the_limits_of_the_battery_come_before_the_measure_s_own(tmp_path: Path) -> None:
    text = "athlete_id,test,flight_time_s\nA01,cmj,0.511\nA02,cmj,0.62\n"
    limits = {"battery.toml": ONE_ATTEMPT + "[limits]\njump_height = [5, 40]\n"}
    day = read(tmp_path, {"jumps.csv": text}, limits)
    assert found(day) == [("value-implausible", 3, "flight_time_s")]


def test_a_value_on_the_limit_is_plausible(tmp_path: Path) -> None:
    text = "athlete_id,body_mass_kg\nA01,25\nA02,200\n"
    assert not found(read(tmp_path, {"body.csv": text}))


@pytest.mark.parametrize(
    ("splits", "column", "proposed"),
    [
        ("2.04,4.28,4.28", "t60_s", ""),
        ("2.04,4.28,0.00", "t60_s", ""),
        ("2.04,1.98,7.70", "t30_s", "counted from the gate before: 4.02 s"),
        ("2.04,4.28,3.42", "t60_s", "counted from the gate before: 7.70 s"),
        ("2.04,2.24,1.90", "t60_s", ""),
        ("4.28,2.04,7.70", "t30_s", "the times at 10 and 30 m exchanged"),
    ],
)
def test_splits_out_of_order_set_the_whole_run_aside(
    tmp_path: Path, splits: str, column: str, proposed: str
) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,0.6,{splits}\n"})
    assert found(day) == [("splits-disorder", 2, column)]
    said = message(day, "splits-disorder")
    assert ("; likely" in said) is bool(proposed)
    assert proposed in said
    assert {status for _, status in recorded(day, "cumulative_time")} == {SET_ASIDE}
    assert states(day, "sprints.csv") == (1, 0, 0, 1)
    assert computing.compute(day).tables["results"].empty


def test_splits_are_ordered_by_distance_not_by_column(tmp_path: Path) -> None:
    text = "athlete_id,test,t60_s,t10_s,t30_s\nA01,60 m,7.70,2.04,4.28\n"
    assert not found(read(tmp_path, {"sprints.csv": text}))


def test_a_run_out_of_order_leaves_the_athlete_s_other_runs(tmp_path: Path) -> None:
    text = f"{SPRINTS}A01,60 m,1,,2.04,4.28,0.00\nA01,60 m,2,,2.05,4.31,7.74\n"
    results = computing.compute(read(tmp_path, {"sprints.csv": text})).tables["results"]
    assert results[results["measure"] == "time"]["value"].tolist() == [7.74]


def test_an_impossible_first_gate_costs_that_gate_and_no_other(tmp_path: Path) -> None:
    day = read(tmp_path, {"sprints.csv": f"{SPRINTS}A01,60 m,1,0.6,0.00,4.28,7.70\n"})
    assert found(day) == [("value-implausible", 2, "t10_s")]
    results = computing.compute(day).tables["results"]
    splits = results[results["measure"] == "split_time"]
    assert dict(zip(splits["part"], splits["value"], strict=True)) == {"30 m": 4.28, "60 m": 7.70}
    assert states(day, "sprints.csv") == (1, 0, 1, 0)


@pytest.mark.parametrize(("reps", "refused"), [("10", False), ("11", True), ("30", True)])
def test_more_repetitions_than_the_battery_allows_set_the_set_aside(
    tmp_path: Path, reps: str, *, refused: bool
) -> None:
    text = f"athlete_id,lift,load_kg,reps\nA02,back squat,80,{reps}\n"
    day = read(tmp_path, {"lifts.csv": text})
    assert found(day) == ([("repetitions-too-many", 2, "reps")] if refused else [])
    assert states(day, "lifts.csv") == ((1, 0, 0, 1) if refused else (1, 1, 0, 0))


def test_a_value_set_aside_is_named_once(tmp_path: Path) -> None:
    text = "athlete_id,test,attempt,flight_time_s\nA01,cmj,1,511\nA01,cmj,2,519\nA01,cmj,3,0.5\n"
    day = read(tmp_path, {"jumps.csv": text})
    assert errors(day) == [
        ("value-implausible", 2, "flight_time_s"),
        ("value-implausible", 3, "flight_time_s"),
    ]


def test_a_finding_belongs_to_the_athlete_of_its_row(tmp_path: Path) -> None:
    text = "athlete_id,test,flight_time_s\nA02,cmj,0.5\na01,cmj,511\n"
    day = read(tmp_path, {"jumps.csv": text})
    assert [f.athlete_id for f in day.findings if f.code == "value-implausible"] == ["A01"]


# --- what deserves a look though nothing is set aside ---------------------------------------


def test_a_gate_that_most_runs_have_and_one_lacks_is_named_in_that_run(tmp_path: Path) -> None:
    text = f"{SPRINTS}A01,60 m,1,,2.04,4.28,7.70\nA02,60 m,1,,1.87,,6.90\nA03,60 m,1,,2.1,4.4,8.0\n"
    day = read(tmp_path, {"sprints.csv": text})
    (missed,) = (f for f in day.findings if f.code == "gate-missed")
    assert (missed.place.row, missed.athlete_id) == (3, "A02")
    assert "30 m" in missed.message
    assert states(day, "sprints.csv") == (3, 2, 1, 0)


def test_a_gate_that_few_runs_have_is_not_missed_by_the_others(tmp_path: Path) -> None:
    text = f"{SPRINTS}A01,60 m,1,,2.04,4.28,7.70\nA02,60 m,1,,,,6.90\nA03,60 m,1,,,,8.0\n"
    assert not found(read(tmp_path, {"sprints.csv": text}))


def test_a_run_that_was_broken_off_misses_no_gate_beyond_its_last(tmp_path: Path) -> None:
    text = f"{SPRINTS}A01,60 m,1,,2.04,4.28,7.70\nA02,60 m,1,,1.87,3.95,\n"
    assert not found(read(tmp_path, {"sprints.csv": text}))


@pytest.mark.parametrize(
    ("rows", "used"),
    [
        ("A01,60 m,1,,2.04,4.28,7.70\n", 1),
        ("A01,60 m,1,,2.04,4.28,7.70\nA01,60 m,2,,DNF,DNF,DNF\n", 1),
        ("A01,60 m,1,,2.04,4.28,7.70\nA01,60 m,2,0.6,DNF,DNF,DNF\n", 1),
        ("A01,60 m,1,,2.04,4.28,7.70\nA01,60 m,2,0.6,,,\n", 1),
        ("A01,60 m,1,,2.04,4.28,7.70\nA01,60 m,2,,2.04,4.28,1.00\n", 1),
        ("A01,60 m,1,0.1,2.04,4.28,\nA01,60 m,2,0.1,fast,fast,fast\n", 1),
        ("A01,60 m,1,,DNF,,\n", 0),
        ("A01,60 m,1,,2.04,4.28,7.70\nA01,60 m,2,,2.05,4.31,7.74\n", 2),
    ],
)
def test_an_attempt_counts_if_it_has_a_result_of_its_own(
    tmp_path: Path, rows: str, used: int
) -> None:
    two = {"battery.toml": 'tests."60 m".attempts = 2\n'}
    day = read(tmp_path, {"sprints.csv": SPRINTS + rows}, two)
    said = [f.message for f in day.findings if f.code == "attempts-short"]
    assert [f"{used} of 2" in sentence for sentence in said] == ([True] if used < 2 else [])


def test_a_time_taken_by_hand_is_noted(tmp_path: Path) -> None:
    text = "athlete_id,test,timing,clock,t60_s\nA01,60 m,hand,gun,7.6\nA02,60 m,gates,,6.90\n"
    assert found(read(tmp_path, {"sprints.csv": text})) == [("hand-timed", 2, "t60_s")]


def test_a_measure_that_may_be_below_zero_is_refused_without_a_cause(tmp_path: Path) -> None:
    """Its slips lead below zero too, of which no share can be taken; a warning would fail this."""
    body = "athlete_id,body_mass_kg,height_cm,sitting_height_cm\nA01,56.4,168.0,88.0\n"
    limits = {"battery.toml": ONE_ATTEMPT + "[limits]\nmaturity_offset = [-6, 1]\n"}
    day = read(tmp_path, {"body.csv": body}, limits)
    assert [code for code, *_ in found(day)] == ["value-implausible"]
    assert "fastest growth 3.4 y, outside -6 to 1 y" in message(day, "value-implausible")
