"""Rows held against each other: each trouble named where it stands, and honest rows left alone."""

from __future__ import annotations

from pathlib import Path

from pipeline import battery, reading
from pipeline.catalogue import CATALOGUE, Severity
from pipeline.intake import plausibility
from pipeline.measures.spec import SET_ASIDE
from pipeline.reading import Intake
from tests import finals, seasons
from tests.intake import small

ROSTER = "athlete_id,name,sex,birth_date\n" + "".join(
    f"A{n:02d},Person {n},F,2004-03-18\n" for n in range(1, 13)
)

SPRINTS = """\
athlete_id,test,attempt,t10_s,t20_s,t30_s,t40_s,t60_s,s0_10_s,s10_30_s,s30_60_s
A01,60 m,1,2.04,,4.28,,7.70,,,
A01,60 m,2,2.05,,4.31,,7.74,,,
A01,60 m,3,2.04,,4.29,,8.70,,,
A02,60 m,1,2.00,,4.60,,8.00,,,
A02,40 m,1,2.02,2.90,,4.70,,,,
A09,60 m,1,,,,,,2.04,4.28,7.70
"""

JUMPS = """\
athlete_id,test,attempt,side,flight_time_s,height_cm,distance_m
A03,cmj,1,,0.520,,
A03,single-leg jump,1,left,0.600,,
A03,single-leg jump,1,right,0.380,,
A04,cmj,1,,0.500,,
A04,sj,1,,0.560,,
A05,cmj,1,,0.500,44.0,
A06,cmj,1,,0.790,,
A10,cmj,1,,0.519,,
A10,cmj,2,,0.591,,
A10,cmj,3,,0.515,,
A01,standing long jump,1,,,,2.05
A01,standing long jump,2,,,,2.06
A02,standing long jump,1,,,,2.22
A02,standing long jump,2,,,,2.25
A03,standing long jump,1,,,,2.41
A03,standing long jump,2,,,,2.36
A04,standing long jump,1,,,,1.98
A04,standing long jump,2,,,,2.01
A05,standing long jump,1,,,,2.31
A06,standing long jump,1,,,,2.31
A07,standing long jump,1,,,,2.31
A08,standing long jump,1,,,,2.31
A09,standing long jump,1,,,,2.31
A10,standing long jump,1,,,,2.31
A11,standing long jump,1,,,,2.31
A12,standing long jump,1,,,,2.31
"""

DROP_JUMPS = """\
athlete_id,attempt,drop_height_cm,contact_time_s,flight_time_s
A07,1,40,0.450,0.200
A08,1,40,0.200,0.450
"""

LIFTS = """\
athlete_id,lift,load_kg,reps,result
A10,back squat,100,3,good
A10,back squat,130,2,good
A10,back squat,158,1,good
A10,back squat,117.5,1,good
A10,back squat,197.5,1,good
A11,power clean,90,1,good
A11,power clean,100,,good
A12,back squat,310,1,good
"""

BODY = "athlete_id,body_mass_kg\nA01,124.3\nA02,75.7\nA03,65.8\n"

EARLIER = {
    "2026-05-spring/day.toml": "date = 2026-05-12\n",
    "2026-05-spring/body.csv": "athlete_id,body_mass_kg\nA01,56.4\nA02,77.5\nA03,56.8\n",
    "2026-05-spring/lifts.csv": "athlete_id,lift,load_kg,reps\nA12,back squat,140,1\n",
}

EXPECTED = {
    ("attempt-far", "A01", 4, "t60_s"): "7.70, 7.74 s",
    ("farther-faster", "A02", 6, "t40_s"): "40 m in 4.70 s is hardly after 30 m in 4.60 s",
    ("cumulative-as-segments", "A09", 7, "s30_60_s"): "cumulative times under segment headings",
    ("one-leg-over-two", "A03", 3, "flight_time_s"): "single-leg jump left: 44.1 cm is higher",
    ("squat-over-counter", "A04", 6, "flight_time_s"): "jumps.csv, row 5",
    ("heights-apart", "A05", 7, "height_cm"): "height of 44.0 cm, and its flight time 30.6 cm",
    ("value-rare", "A06", 8, "flight_time_s"): "76.5 cm is over 75 cm",
    ("attempt-far", "A10", 10, "flight_time_s"): "two digits exchanged: 33.0 cm would fit",
    ("value-copied", "", 20, "distance_m"): "“2.31” stands in rows 20 to 27 for 8 athletes",
    ("times-exchanged", "A07", 2, "contact_time_s"): "each other's column",
    ("load-out-of-line", "A10", 5, "load_kg"): "117.5 kg stands between 158 and 197.5 kg",
    ("max-under-lift", "A11", 8, "load_kg"): "100 kg stands over the one-rep max of 90.0 kg",
    ("load-in-pounds", "A12", 9, "load_kg"): "likely this day is in pounds",
    ("body-mass-changed", "A01", 2, "body_mass_kg"): "pounds written as kilograms: 56.4 kg",
    ("body-mass-changed", "A03", 4, "body_mass_kg"): "two digits exchanged: 56.8 kg would fit",
}
"""(code, athlete, row, column) → a part of its sentence. Every other row is honest."""

CODES = {rule.code for rule in (*plausibility.UNLIKELY, *plausibility.IMPOSSIBLE)}


def _read(folder: Path, settings: str = "") -> Intake:
    sheets = {
        "sprints.csv": SPRINTS, "jumps.csv": JUMPS, "drop_jumps.csv": DROP_JUMPS,
        "lifts.csv": LIFTS, "body.csv": BODY, "day.toml": "date = 2026-09-15\n",
    }  # fmt: skip
    over = {**EARLIER, "roster.csv": ROSTER, "battery.toml": settings}
    return small.read(folder, sheets, over)


def _named(intake: Intake) -> dict[tuple[str, str, int | None, str], str]:
    return {
        (f.code, f.athlete_id, f.place.row, f.place.column): f.message
        for f in intake.findings
        if f.code in CODES
    }


def _every(action: str) -> str:
    default, _ = battery.load(Path("nowhere"))
    return "[checks]\n" + "".join(f'"{code}" = "{action}"\n' for code in default.checks)


def test_each_trouble_is_named_once_where_it_stands_with_its_likely_cause(tmp_path: Path) -> None:
    intake = _read(tmp_path)
    named = _named(intake)
    assert set(named) == set(EXPECTED)
    for place, words in EXPECTED.items():
        assert words in named[place], named[place]
    assert small.adds_up(intake)
    by_default = {f.code for f in intake.findings if f.severity is Severity.ERROR}
    assert by_default == {"cumulative-as-segments"}
    # a value that would fit is proposed and never used
    jumps = intake.trials.values[intake.trials.values["raw"] == "0.591"]
    assert jumps[["value", "status"]].values.tolist() == [[0.591, "used"]]


def test_the_battery_has_all_of_it_set_aside(tmp_path: Path) -> None:
    intake = _read(tmp_path, _every("set aside"))
    named = {place for place in _named(intake) if place[0] != "value-copied"}
    assert named == {place for place in EXPECTED if place[0] != "value-copied"}
    aside = {f.place.row for f in intake.findings if f.code == "value-copied"}
    assert aside == set(range(20, 28))
    assert {f.severity for f in intake.findings if f.code in CODES} == {Severity.ERROR}
    assert small.adds_up(intake)
    values = intake.trials.values
    lost = values[values["status"] == SET_ASIDE]["source"]
    for code, _, row, column in named:
        assert lost.str.endswith(f"!{row}!{column}").any(), code
    assert small.states(intake, "body.csv") == (3, 1, 0, 2)


def test_the_battery_has_none_of_it_looked_for(tmp_path: Path) -> None:
    intake = _read(tmp_path, _every("off"))
    assert not _named(intake)
    assert not (intake.trials.values["status"] == SET_ASIDE).any()


def test_a_check_or_an_action_the_battery_does_not_know_is_named(tmp_path: Path) -> None:
    (tmp_path / "battery.toml").write_text('[checks]\n"attempt-fa" = "off"\n"value-rare" = "no"\n')
    made, faults = battery.load(tmp_path)
    assert [(f.code, f.place.column) for f in faults] == [
        ("battery-key", "checks.attempt-fa"),
        ("battery-value", "checks.value-rare"),
    ]
    assert "attempt-far" in faults[0].message
    assert made.checks["value-rare"] == battery.FLAG


def test_every_check_that_holds_rows_together_has_a_line_in_the_battery() -> None:
    made, _ = battery.load(Path("nowhere"))
    judged = {rule.code for rule in plausibility.UNLIKELY}
    assert judged <= set(made.checks)
    assert set(made.checks) <= CODES
    known = CATALOGUE
    for code, action in made.checks.items():
        assert (known[code].severity is Severity.ERROR) is (action == battery.SET_ASIDE), code


def test_published_finals_raise_no_false_alarm(tmp_path: Path) -> None:
    """42 finals as printed, equal neighbouring splits and all, each race a session of one day."""
    finals.write_finals_season(tmp_path / "season")
    intake = reading.read(tmp_path / "season", None)
    assert len(intake.trials.attempts) > 40
    assert not _named(intake)


LOADS: dict[str, tuple[list[float], int | None]] = {
    "A01": ([100, 120, 158, 117.5, 197.5], 3),
    "A02": ([60, 100, 80, 90], 1),  # a typing error upwards: the sets after it rise again
    "A03": ([60, 80, 100, 90], None),  # a lighter last set
    "A04": ([60, 80, 100, 90, 90], None),
    "A05": ([100, 60, 80, 100], None),  # a heavy first set
    "A06": ([60, 80, 75, 90], None),  # a plate less on the way
    "A07": ([60, 80, 100, 60, 85, 110], None),  # two series
    "A08": ([140], None),
}
"""By athlete: the loads of a lift in order, and which of them is out of line."""


def test_one_load_out_of_a_rising_series(tmp_path: Path) -> None:
    lines = [(who, load) for who, (loads, _) in LOADS.items() for load in loads]
    rows = "".join(f"{who},back squat,{load},1\n" for who, load in lines)
    sheet = {"lifts.csv": f"athlete_id,lift,load_kg,reps\n{rows}"}
    day = small.read(tmp_path, sheet, {"roster.csv": ROSTER})
    found = [
        (f.athlete_id, lines[(f.place.row or 0) - 2][1])
        for f in day.findings
        if f.code == "load-out-of-line"
    ]
    assert found == [
        (who, loads[stray]) for who, (loads, stray) in LOADS.items() if stray is not None
    ]


def test_of_two_attempts_the_one_far_from_the_athlete_s_last_day_is_named(tmp_path: Path) -> None:
    head = "athlete_id,test,attempt,flight_time_s\n"
    two = head + "A01,cmj,1,0.591\nA01,cmj,2,0.500\nA02,cmj,1,0.591\nA02,cmj,2,0.500\n"
    earlier = {
        "2026-05-spring/day.toml": seasons.DAY.replace("2026-09", "2026-05"),
        "2026-05-spring/jumps.csv": head + "A01,cmj,1,0.497\n",
    }
    day = small.read(tmp_path, {"jumps.csv": two}, earlier)
    found = [(f.athlete_id, f.place.row) for f in day.findings if f.code == "attempt-far"]
    # nothing is known of A02: one of the two is wrong, and nobody can say which
    assert found == [("A01", 2), ("A02", 4), ("A02", 5)]
