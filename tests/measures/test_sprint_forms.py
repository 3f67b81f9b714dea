"""The forms a sprint comes in: segments, frames, missed gates, sets, stopwatches, slips."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import brentq

from pipeline import computing, reading
from pipeline.measures import air
from pipeline.reading import Intake
from tests import seasons
from tests.intake.small import found, message, read, season

HEAD = "athlete_id,test,attempt,clock,reaction_s,t10_s,t30_s,t60_s,t100_s\n"
GATES = "athlete_id,test,attempt,t10_s,t30_s,t60_s\n"


EARLIER = f"{GATES}A01,60 m,1,2.05,4.40,7.80\nA02,60 m,1,1.9,4.0,6.95\n"


def results(day: Intake) -> pd.DataFrame:
    return computing.compute(day).tables["results"]


def values(frame: pd.DataFrame, measure: str) -> dict[str, float]:
    rows = frame[frame["measure"] == measure]
    return dict(zip(rows["part"], rows["value"], strict=True))


# --- segments, frames, missed gates -----------------------------------------------------------


def test_segment_times_are_added_up_from_the_line(tmp_path: Path) -> None:
    text = "athlete_id,test,s0_10_s,s10_30_s,s30_60_s\nA01,60 m,2.04,2.24,3.42\n"
    made = results(read(tmp_path, {"sprints.csv": text}))
    assert values(made, "split_time") == pytest.approx({"10 m": 2.04, "30 m": 4.28, "60 m": 7.70})
    whole = made[(made["measure"] == "time")].iloc[0]
    place = f"{seasons.DAY_FOLDER}/sprints.csv!!2!"
    assert whole["source"].split(";") == [
        f"{place}s0_10_s", f"{place}s10_30_s", f"{place}s30_60_s",
    ]  # fmt: skip
    assert whole["resolution"] == pytest.approx(0.03)


def test_segments_beyond_a_gap_make_no_cumulative_time(tmp_path: Path) -> None:
    text = "athlete_id,test,s0_10_s,s10_30_s,s30_60_s\nA01,60 m,2.04,,3.42\n"
    made = results(read(tmp_path, {"sprints.csv": text}))
    assert values(made, "split_time") == {"10 m": 2.04}


def test_frames_are_worth_what_their_rate_says(tmp_path: Path) -> None:
    """One frame at 240 a second is 1/240 s; a contact is known to one frame either way."""
    text = (
        "athlete_id,test,attempt,fps,zone_from_m,zone_to_m,contact_time_frames,flight_time_frames,"
        "step_length_m\nA01,60 m,1,240,30,60,24,29,2.10\n"
    )
    day = read(tmp_path, {"steps.csv": text})
    assert not found(day)
    made = results(day)
    contact = made[made["measure"] == "contact_time"].iloc[0]
    assert contact["part"] == "30-60 m"
    assert contact["flags"] == ""
    assert contact["value"] == pytest.approx(0.1)
    assert contact["resolution"] == pytest.approx(2 / 240)
    assert values(made, "step_frequency")["30-60 m"] == pytest.approx(240 / 53)
    assert values(made, "mean_vertical_force")["30-60 m"] == pytest.approx(53 / 24)


def test_frames_without_a_rate_are_set_aside(tmp_path: Path) -> None:
    text = "athlete_id,drop_height_cm,contact_time_frames,flight_time_s\nA01,30,40,0.5\n"
    day = read(tmp_path, {"drop_jumps.csv": text})
    assert ("frames-without-rate", 2, "contact_time_frames") in found(day)


def test_contacts_filmed_too_slowly_say_that_they_allow_no_verdict(tmp_path: Path) -> None:
    text = (
        "athlete_id,test,attempt,fps,zone_from_m,zone_to_m,contact_time_frames,flight_time_frames,"
        "step_length_m\nA01,60 m,1,60,30,60,6,7,2.10\n"
    )
    made = results(read(tmp_path, {"steps.csv": text}))
    flags = made[made["measure"] == "contact_time"]["flags"].iloc[0]
    assert "no verdict" in flags


def test_a_missed_gate_joins_its_neighbours_and_the_finish_still_counts(tmp_path: Path) -> None:
    day = read(tmp_path, {"sprints.csv": GATES + "A01,60 m,1,2.04,,7.70\n"})
    made = results(day)
    assert values(made, "phase_time") == pytest.approx(
        {"start": 2.04, "drive and maximum velocity": 5.66}
    )
    assert values(made, "time") == {"": 7.70}


def test_the_next_whole_run_serves_for_the_phases(tmp_path: Path) -> None:
    text = GATES + "A01,60 m,1,2.04,,7.60\nA01,60 m,2,2.05,4.31,7.74\n"
    made = results(read(tmp_path, {"sprints.csv": text}))
    phases = made[made["measure"] == "phase_time"]
    assert set(phases["attempt"]) == {2}
    assert values(made, "time") == {"": 7.60}


# --- stopwatch, sets, still air ---------------------------------------------------------------


@pytest.mark.parametrize(("shown", "time"), [("12.3", 12.54), ("12.31", 12.64), ("10.11", 10.44)])
def test_a_race_by_stopwatch_goes_up_a_tenth_and_gets_its_offset(
    tmp_path: Path, shown: str, time: float
) -> None:
    """Competition rule, up to the next 0.1 s: 10.11 is 10.2 (seen); +0.24 s (seen, secondary)."""
    text = f"athlete_id,test,timing,clock,t100_s\nA01,100 m,hand,gun,{shown}\n"
    day = read(tmp_path, {"sprints.csv": text})
    assert ("hand-timed", 2, "t100_s") in found(day)
    row = results(day).query("measure == 'time'").iloc[0]
    assert row["value"] == pytest.approx(time)
    assert row["basis"] == "estimated"


def test_a_hand_split_in_training_is_neither_rounded_nor_converted(tmp_path: Path) -> None:
    text = "athlete_id,test,timing,clock,t40_s\nA01,40 m,hand,movement,5.43\n"
    assert values(results(read(tmp_path, {"sprints.csv": text})), "time") == {"": 5.43}


def test_a_set_of_repeated_sprints_is_fatigue_and_no_attempts(tmp_path: Path) -> None:
    """5.1 5.2 5.3 5.4 5.5 5.6 gives 4.902 %: published example (SOURCES)."""
    rows = "".join(f"A01,6 x 30 m,1,{n},{5 + n / 10:.1f}\n" for n in range(1, 7))
    day = read(tmp_path, {"sprints.csv": "athlete_id,test,set,rep,t30_s\n" + rows})
    made = results(day)
    assert values(made, "repeat_decrement")["set 1"] == pytest.approx(4.902, abs=5e-4)
    assert values(made, "best_time")["set 1"] == 5.1
    assert values(made, "last_time")["set 1"] == 5.6
    assert values(made, "time") == {}


def test_a_100_m_is_brought_to_still_air_where_wind_and_altitude_are_known(tmp_path: Path) -> None:
    """10.00 s at +2.0 m/s, sea level: 10.101 (Mureika, arXiv physics/0006057; recomputed)."""
    day = (
        "date = 2026-09-15\naltitude_m = 0\nindoor = false\ntiming = 'electronic'\nclock = 'gun'\n"
    )
    text = "athlete_id,test,wind_mps,t100_s\nA02,100 m,2.0,10.00\nA02,100 m,,10.20\n"
    made = results(read(tmp_path, {"sprints.csv": text}, {f"{seasons.DAY_FOLDER}/day.toml": day}))
    assert values(made, "time_still_air")[""] == pytest.approx(10.101, abs=5e-4)


# --- slips, each with its likely cause ---------------------------------------------------------


@pytest.mark.parametrize("factor", [4, 8])
def test_a_slow_motion_clip_is_set_aside_and_named(tmp_path: Path, factor: int) -> None:
    splits = ",".join(f"{t * factor:.2f}" for t in (2.04, 4.28, 7.70))
    day = read(tmp_path, {"sprints.csv": f"{GATES}A01,60 m,1,{splits}\n"})
    assert found(day) == [("run-too-slow", 2, "t60_s")]
    assert f"slow-motion clip, its times {factor} times too long" in message(day, "run-too-slow")
    assert results(day).empty


def test_a_reaction_taken_off_twice_is_set_aside_and_named(tmp_path: Path) -> None:
    """1997 WC, 1st: splits from movement, reaction .134; with clock gun it would start in 1.58."""
    text = f"{HEAD}A02,100 m,1,gun,0.180,1.71,3.67,6.27,9.73\n"
    day = read(tmp_path, {"sprints.csv": text})
    assert found(day) == [("start-too-fast", 2, "t10_s")]
    assert "taken off twice" in message(day, "start-too-fast")


@pytest.mark.parametrize(("reaction", "early"), [("0.099", True), ("0.100", False)])
def test_a_reaction_under_a_tenth_is_flagged_and_kept(
    tmp_path: Path, reaction: str, *, early: bool
) -> None:
    text = f"{HEAD}A02,100 m,1,gun,{reaction},1.88,3.78,6.29,9.58\n"
    day = read(tmp_path, {"sprints.csv": text})
    assert (("reaction-early", 2, "reaction_s") in found(day)) is early
    assert values(results(day), "reaction_time")[""] == float(reaction)


def test_segment_times_under_cumulative_headings_are_found(tmp_path: Path) -> None:
    day = read(tmp_path, {"sprints.csv": f"{GATES}A01,60 m,1,2.04,2.24,3.42\n"})
    assert found(day) == [("segments-as-cumulative", 2, "t30_s")]
    assert results(day).empty


def test_a_segment_faster_than_any_human_is_set_aside(tmp_path: Path) -> None:
    day = read(tmp_path, {"sprints.csv": f"{GATES}A01,60 m,1,2.04,3.40,7.70\n"})
    assert [code for code, _, _ in found(day)] == ["value-implausible"]


def test_two_runs_that_changed_places_are_named(tmp_path: Path) -> None:
    spring = {
        "2026-05-spring/day.toml": "date = 2026-05-12\n",
        "2026-05-spring/sprints.csv": EARLIER,
    }
    autumn = f"{GATES}A01,60 m,1,1.89,3.97,6.93\nA02,60 m,1,2.06,4.38,7.81\n"
    day = reading.read(season(tmp_path, {"sprints.csv": autumn}, spring), None)
    named = {f.athlete_id: f.message for f in day.findings if f.code == "runs-swapped"}
    assert set(named) == {"A01", "A02"}
    assert "near that of A02" in named["A01"]


def test_two_athletes_who_both_improved_are_not_named(tmp_path: Path) -> None:
    spring = {
        "2026-05-spring/day.toml": "date = 2026-05-12\n",
        "2026-05-spring/sprints.csv": EARLIER,
    }
    autumn = f"{GATES}A01,60 m,1,2.0,4.3,7.30\nA02,60 m,1,1.85,3.8,6.60\n"
    day = reading.read(season(tmp_path, {"sprints.csv": autumn}, spring), None)
    assert "runs-swapped" not in {f.code for f in day.findings}


# --- angles -----------------------------------------------------------------------------------


def test_an_angle_is_the_mean_of_its_observers_and_says_how_far_apart_they_are(
    tmp_path: Path,
) -> None:
    text = (
        "athlete_id,test,checkpoint,angle,degrees,observer\n"
        "A01,60 m,block exit,body,44,coach A\nA01,60 m,block exit,body,47,coach B\n"
        "A01,60 m,block exit,shin,40,coach A\n"
    )
    made = results(read(tmp_path, {"technique.csv": text}))
    assert values(made, "angle") == {"block exit: body": 45.5, "block exit: shin": 40.0}
    flags = dict(zip(made["part"], made["flags"], strict=True))
    assert flags["block exit: body"] == "2 observers, 3° apart"
    assert flags["block exit: shin"] == ""


def test_a_stopwatch_is_good_to_fifteen_hundredths_either_way(tmp_path: Path) -> None:
    """Common practice, no source."""
    text = "athlete_id,test,timing,clock,t40_s\nA01,40 m,hand,movement,5.43\n"
    row = results(read(tmp_path, {"sprints.csv": text})).query("measure == 'time'").iloc[0]
    assert (row["low"], row["high"]) == pytest.approx((5.28, 5.58))


def test_a_time_written_to_a_tenth_is_never_read_as_a_hundredth(tmp_path: Path) -> None:
    text = "athlete_id,test,attempt,t10_s\nA01,60 m,1,1.8\n"
    made = results(read(tmp_path, {"sprints.csv": text}))
    row = made.query("measure == 'split_time'").iloc[0]
    assert (row["low"], row["high"]) == pytest.approx((1.75, 1.85))


def test_a_lead_behind_the_first_gate_is_part_of_the_curve(tmp_path: Path) -> None:
    """Left out, half a metre reads the force 75 % too high (SOURCES, recomputed).

    Synthetic: V 9.0 m/s, T 1.2 s, the clock starting 0.5 m into the run.
    """

    def at(distance: float) -> float:
        return float(brentq(lambda t: 9 * t - 10.8 * (1 - np.exp(-t / 1.2)) - distance, 0, 20))

    gates = (5, 10, 20, 30, 40)
    cells = ",".join(f"{at(g + 0.5) - at(0.5):.4f}" for g in gates)
    head = "athlete_id,test,attempt,start_distance_m," + ",".join(f"t{g}_s" for g in gates)
    day = "date = 2026-09-15\ntiming = 'gates'\nclock = 'gate'\nindoor = true\n"
    made = results(
        read(
            tmp_path,
            {"sprints.csv": f"{head}\nA01,40 m,1,0.5,{cells}\n"},
            {f"{seasons.DAY_FOLDER}/day.toml": day},
        )
    )
    assert values(made, "model_top_speed")[""] == pytest.approx(9.0, abs=0.01)
    assert values(made, "model_time_constant")[""] == pytest.approx(1.2, abs=0.01)


def test_force_and_velocity_come_only_with_what_they_need(tmp_path: Path) -> None:
    gates = "1.30,2.02,3.25,4.38,5.47"
    head = "athlete_id,test,attempt,start_distance_m,t5_s,t10_s,t20_s,t30_s,t40_s\n"
    two = head + f"A01,40 m,1,0,{gates}\nA01,40 m,2,0,{gates[:-1]}8\n"
    body = "athlete_id,body_mass_kg,height_cm\nA01,60.0,170.0\n"
    day = (
        "date = 2026-09-15\ntiming = 'gates'\nclock = 'gate'\nindoor = true\n"
        "temperature_c = 20\npressure_hpa = 1013.25\n"
    )
    over = {f"{seasons.DAY_FOLDER}/day.toml": day}
    whole = {"sprints.csv": two, "body.csv": body}
    made = results(read(tmp_path / "whole", whole, over))
    (row,) = made[made["measure"] == "relative_force"].to_dict("records")
    assert row["n_attempts"] == 2
    lacking = [
        ({**whole, "body.csv": None}, over),
        ({**whole, "sprints.csv": two.replace(f"A01,40 m,2,0,{gates[:-1]}8\n", "")}, over),
        ({**whole, "sprints.csv": two.replace(",0,1.30", ",,1.30")}, over),
        ({**whole, "sprints.csv": two.replace("1.30", "")}, over),
        (whole, {f"{seasons.DAY_FOLDER}/day.toml": day.replace("temperature_c = 20\n", "")}),
    ]
    for number, (sheets, above) in enumerate(lacking):
        made = results(read(tmp_path / str(number), sheets, above))
        assert made[made["measure"] == "relative_force"].empty, number


# --- what a second reading found ---------------------------------------------------------------

RACE = "athlete_id,test,attempt,reaction_s,t10_s,t30_s,t60_s,t100_s\n"
ELECTRONIC = (
    "date = 2026-09-15\ntiming = 'electronic'\nclock = 'gun'\nstart = 'blocks'\nindoor = false\n"
    "altitude_m = 0\ntemperature_c = 20\npressure_hpa = 1013.25\n"
)
BODY = "athlete_id,body_mass_kg,height_cm\nA01,60.0,170.0\nA02,80.0,180.0\n"
OVER = {f"{seasons.DAY_FOLDER}/day.toml": ELECTRONIC}


def test_a_curve_says_nothing_of_phases_beyond_its_gates(tmp_path: Path) -> None:
    """10/30/60/100 gates: the curve is that of 10 to 60 m, so 60-100 m has no impulse."""
    text = f"{RACE}A02,100 m,1,0.146,1.88,3.78,6.29,9.58\n"
    made = results(read(tmp_path, {"sprints.csv": text, "body.csv": BODY}, OVER))
    assert set(values(made, "phase_impulse")) == {"start", "drive", "maximum velocity"}
    assert set(values(made, "phase_time")) == {
        "start", "drive", "maximum velocity", "maintenance",
    }  # fmt: skip


def test_no_curve_for_a_stopwatch_nor_for_three_gun_gates_without_reaction(tmp_path: Path) -> None:
    hand = "athlete_id,test,timing,clock,t10_s,t20_s,t30_s,t40_s\nA01,40 m,hand,gun,2,3.3,4.5,5.6\n"
    made = results(read(tmp_path / "hand", {"sprints.csv": hand}))
    assert values(made, "model_top_speed") == {}
    gun = "athlete_id,test,t10_s,t30_s,t60_s\nA01,60 m,2.20,4.44,7.86\n"
    made = results(read(tmp_path / "gun", {"sprints.csv": gun}, OVER))
    assert values(made, "model_top_speed") == {}


def test_still_air_belongs_to_the_run_that_is_shown(tmp_path: Path) -> None:
    head = "athlete_id,test,attempt,wind_mps,reaction_s,t10_s,t30_s,t60_s,t100_s\n"
    rows = "A02,100 m,1,2.3,0.15,1.88,3.78,6.29,10.00\nA02,100 m,2,-1.0,0.15,1.88,3.78,6.29,10.05\n"
    made = results(read(tmp_path, {"sprints.csv": head + rows}, OVER))
    shown = made.set_index("measure")["attempt"]
    assert shown["time_still_air"] == shown["time"] == 1


def test_an_indoor_wind_counts_for_nothing(tmp_path: Path) -> None:
    text = "athlete_id,test,attempt,indoor,wind_mps,t60_s\nA01,60 m,1,yes,2.5,7.70\n"
    day = read(tmp_path, {"sprints.csv": text})
    assert "wind-over" not in {f.code for f in day.findings}
    assert set(results(day)["flags"]) == {""}


def test_the_last_of_a_set_is_the_last_run_and_a_missing_one_withholds_the_decrement(
    tmp_path: Path,
) -> None:
    head = "athlete_id,test,set,rep,t30_s\n"
    upward = "".join(f"A01,6 x 30 m,1,{n},{5 + n / 10:.1f}\n" for n in range(6, 0, -1))
    made = results(read(tmp_path / "all", {"sprints.csv": head + upward}))
    assert values(made, "last_time")["set 1"] == 5.6
    lacking = upward.replace("A01,6 x 30 m,1,3,5.3\n", "")
    made = results(read(tmp_path / "five", {"sprints.csv": head + lacking}))
    assert values(made, "repeat_decrement") == {}
    assert "5 of 6 sprints" in made.query("measure == 'best_time'")["flags"].iloc[0]


def test_steps_without_a_length_still_have_a_contact(tmp_path: Path) -> None:
    text = (
        "athlete_id,test,attempt,zone_from_m,zone_to_m,contact_time_s,flight_time_s\n"
        "A01,60 m,1,30,60,0.105,0.124\nA01,60 m,2,,,0.110,0.120\n"
    )
    made = results(read(tmp_path, {"steps.csv": text}))
    assert values(made, "contact_time") == pytest.approx({"30-60 m": 0.105, "": 0.110})


def test_one_odd_angle_takes_no_good_one_along(tmp_path: Path) -> None:
    text = (
        "athlete_id,test,checkpoint,angle,degrees,observer\n"
        "A01,60 m,block exit,body,450,coach A\nA01,60 m,block exit,body,45,Coach a\n"
    )
    day = read(tmp_path, {"technique.csv": text})
    assert found(day) == [("value-implausible", 2, "degrees")]
    assert values(results(day), "angle") == {"block exit: body": 45.0}


def test_all_tables_of_a_sprint_are_of_one_run(tmp_path: Path) -> None:
    head = "athlete_id,test,attempt,t5_s,t10_s,t20_s,t30_s,t40_s,t60_s\n"
    rows = "A01,60 m,1,1.30,2.04,3.20,,5.40,7.60\nA01,60 m,2,,2.05,,4.31,,7.74\n"
    made = results(read(tmp_path, {"sprints.csv": head + rows}))
    of_the_run = made[made["measure"].isin(["phase_time", "split_time", "segment_time"])]
    assert set(of_the_run["attempt"]) == {2}


def test_a_gate_past_the_end_of_the_test_is_set_aside(tmp_path: Path) -> None:
    text = "athlete_id,test,t10_s,t40_s,t60_s\nA01,40 m,2.04,5.40,7.70\n"
    day = read(tmp_path, {"sprints.csv": text})
    assert found(day) == [("gate-beyond", 2, "t60_s")]
    assert values(results(day), "time") == {"": 5.40}


def test_a_short_flying_sprint_is_no_typing_error(tmp_path: Path) -> None:
    battery = '[tests."flying 10 m"]\nkind = "flying"\ndistance_m = 10\nattempts = 1\n'
    text = "athlete_id,test,run_in_m,t10_s\nA02,flying 10 m,30,1.02\n"
    day = read(tmp_path, {"sprints.csv": text}, {"battery.toml": battery})
    assert not found(day)
    assert values(results(day), "speed") == pytest.approx({"": 9.80392})


def test_a_curve_that_misses_its_gates_says_so(tmp_path: Path) -> None:
    text = "athlete_id,test,t5_s,t10_s,t20_s,t30_s,t40_s\nA01,40 m,1.30,2.20,3.30,4.60,5.60\n"
    made = results(
        read(tmp_path, {"sprints.csv": text}, {f"{seasons.DAY_FOLDER}/day.toml": GATE_DAY})
    )
    flags = made.query("measure == 'model_top_speed'")["flags"]
    assert all("poor fit" in text for text in flags)
    assert len(flags) == 1


def test_a_run_still_far_from_its_top_speed_says_so(tmp_path: Path) -> None:
    """Synthetic: V 10 m/s, T 2 s; 95 % is reached beyond 40 m."""
    text = "athlete_id,test,t5_s,t10_s,t20_s,t30_s\nA01,40 m,1.5811,2.3393,3.5393,4.6066\n"
    made = results(
        read(tmp_path, {"sprints.csv": text}, {f"{seasons.DAY_FOLDER}/day.toml": GATE_DAY})
    )
    (row,) = made.query("measure == 'model_top_speed'").to_dict("records")
    assert "lies beyond the last gate" in row["flags"]


GATE_DAY = "date = 2026-09-15\ntiming = 'gates'\nclock = 'gate'\nindoor = true\n"


def test_a_200_m_is_brought_to_still_air_by_its_lane_and_only_with_it(tmp_path: Path) -> None:
    head = "athlete_id,test,attempt,wind_mps,lane,t200_s\n"
    made = {}
    for name, lane in (("lane", "4"), ("none", "")):
        text = f"{head}A02,200 m,1,1.0,{lane},20.50\n"
        made[name] = results(read(tmp_path / name, {"sprints.csv": text}, OVER))
    expected = air.still_air_200(*(np.array([v]) for v in (20.5, 1.0, 0.0, 4.0, 0.0)))[0]
    assert values(made["lane"], "time_still_air") == pytest.approx({"": expected})
    assert expected > 20.55
    assert values(made["none"], "time_still_air") == {}
