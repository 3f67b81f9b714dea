"""What the strength section says of a lift besides its kilograms."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.report import athlete, wording
from pipeline.report.wording import say
from tests.report.test_athlete import SECTIONS, SPRING, SPRING_DAY, report, words
from tests.seasons import DAY_FOLDER

LIFTS = """\
athlete_id,lift,load_kg,reps,result,depth,load_is,leg,side
A02,back squat,150,1,good,parallel,,,
A02,back squat,120,3,good,full,,,
A02,power clean,90,1,good,,,,
A02,split squat,30,8,good,,each,front,left
A02,split squat,32,8,good,,each,front,right
"""


def lines(folder: Path, lifts: str = LIFTS, **files: str | None) -> list[str]:
    day = {f"{DAY_FOLDER}/lifts.csv": lifts}
    day |= {f"{DAY_FOLDER}/{name}.csv": text for name, text in files.items()}
    spring = {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/body.csv": "athlete_id,body_mass_kg\nA02,76\n",
    }
    return words(athlete.strength(report(folder, "A02", {**spring, **day}))).splitlines()


def line(rows: list[str], start: str) -> str:
    (found,) = (row for row in rows if row.startswith(start))
    return found


def test_a_row_says_how_it_was_lifted(tmp_path: Path) -> None:
    rows = lines(tmp_path)
    assert line(rows, "Back squat (parallel) ").endswith("measured, parallel")
    assert "estimated, full, epley equation" in line(rows, "Back squat (full) ")
    assert "front leg, load of each hand" in line(rows, "Split squat, left ")
    assert not [row for row in rows if row.startswith("Split squat, one-rep max for body mass")]


def test_many_repetitions_are_flagged_and_the_page_says_why(tmp_path: Path) -> None:
    rows = lines(tmp_path)
    assert "more than 5 repetitions" in line(rows, "Split squat, left ")
    assert rows[0] == say("strength many")
    assert "10 kg in 100" in rows[0]


def test_few_repetitions_need_no_warning(tmp_path: Path) -> None:
    few = "".join(row for row in LIFTS.splitlines(keepends=True) if ",8,good" not in row)
    assert say("strength many") not in lines(tmp_path, few)


def test_an_old_body_mass_tells_its_age_even_under_a_measured_lift(tmp_path: Path) -> None:
    rows = lines(tmp_path, body=None)
    told = line(rows, "Back squat, one-rep max for body mass (parallel)")
    assert told.endswith("measured, parallel, body mass taken 123 days before")
    assert "days before" not in line(rows, "Power clean  ")


def test_a_ratio_stands_among_the_lifts_with_what_it_is_made_of(tmp_path: Path) -> None:
    rows = lines(tmp_path)
    measured, estimated = (row for row in rows if row.startswith("Power clean to back squat"))
    if "below: estimated" in measured:
        measured, estimated = estimated, measured
    assert "0.60" in measured
    assert "0.68" in estimated  # 90 over 120 · 1.1
    assert "depth: full" in estimated


def test_a_ratio_may_be_a_key_measure(tmp_path: Path) -> None:
    battery = '[[key_measures]]\ntest = "power clean to back squat"\nmeasure = "ratio"\n'
    files = {"battery.toml": battery, f"{DAY_FOLDER}/lifts.csv": LIFTS}
    made = report(tmp_path, "A02", files)
    for section in SECTIONS:
        assert words(section(made)).strip()
    assert "Power clean to back squat" in words(athlete.first_table(made))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"depth": "box 40 cm"}, "box 40 cm"),
        ({"load_is": "each", "leg": "rear"}, "load of each hand, rear leg"),
        ({"load_is": "total"}, "load of both hands"),
        ({"body_mass": "counted"}, "body mass counted"),
    ],
)
def test_the_conditions_of_a_lift_have_words(fields: dict[str, str], said: str) -> None:
    assert wording.conditions(fields) == said


@pytest.mark.parametrize("name", ["leg", "depth", "load_is", "body_mass", "over", "under"])
def test_the_fields_of_a_lift_have_names(name: str) -> None:
    told = wording.apart(f"{name}: a → b")
    assert "_" not in told
    assert told != wording.apart("nobody knows: a → b")
