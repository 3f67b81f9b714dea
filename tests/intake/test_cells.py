"""Cells: the signs beside a number, minutes, doubtful thousands, dates that were heights."""

from __future__ import annotations

import math
from pathlib import Path

import pandas as pd
import pytest

from pipeline import computing
from pipeline.intake import amounts, marks
from pipeline.intake.cells import is_no_mark
from pipeline.intake.marks import Marked
from pipeline.measures.spec import NO_MARK, SET_ASIDE, USED
from pipeline.units import HEADING_UNITS
from tests import seasons
from tests.intake import small
from tests.intake.sheets import Door, keys, said, states

SECONDS = HEADING_UNITS["s"]


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Door:
    """The tidy season, without sheets."""
    return Door.at(tmp_path_factory.mktemp("door") / "season")


# --- numbers ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "seconds", "step"),
    [
        ("1:02.35", 62.35, 0.01),
        ("0:10.94", 10.94, 0.01),
        ("1:02,35", 62.35, 0.01),
        ("00:00:07.700000", 7.7, 0.001),
        ("00:01:02.350000", 62.35, 0.001),
        ("00:00:07", 7.0, 1.0),
        ("\uff17.\uff17\uff10", 7.70, 0.01),
        ("\u22120.3", -0.3, 0.1),
        ("\u20130.3", -0.3, 0.1),
        ("+0.6", 0.6, 0.1),
        ("\u20097.70\u00a0", 7.70, 0.01),
    ],
)
def test_a_time_is_read_as_people_and_programs_write_it(
    text: str, seconds: float, step: float
) -> None:
    amount = amounts.read(text, SECONDS)
    assert amount is not None
    assert amount.value == pytest.approx(seconds, abs=1e-12)
    assert amount.step == pytest.approx(step, rel=1e-12)


@pytest.mark.parametrize("text", ["1:02.35", "0:10.94", "0:59.99", "12:00.5"])
def test_minutes_are_those_of_pandas(text: str) -> None:
    amount = amounts.read(text, HEADING_UNITS["ms"])
    assert amount is not None
    assert amount.unit == SECONDS  # it names its own unit
    assert amount.value == pytest.approx(pd.Timedelta(f"00:{text}").total_seconds(), abs=1e-9)


@pytest.mark.parametrize("text", ["1.02,35", "7:42", "1:60.0", "1:2.35", ":7.7", "1:02:35.1.2"])
def test_what_may_be_hours_or_two_marks_is_no_time(text: str) -> None:
    assert amounts.read(text, SECONDS) is None


def test_minutes_are_no_length_and_no_count_of_frames() -> None:
    assert amounts.read("1:02.35", HEADING_UNITS["m"]) is None
    assert amounts.read("1:02.35", HEADING_UNITS["frames"]) is None


@pytest.mark.parametrize(
    ("texts", "doubtful"),
    [
        (["1,80", "1,79", "1.805,00"], set()),
        (["1,80", "1,79", "1.805"], {2}),
        (["1.80", "1,805"], {1}),
        (["1.805", "2.100"], set()),
        (["1,805", "2.100"], set()),
        (["1,80", "0.511"], set()),
        (["1,80", "1.79", "1.805", "1,805"], {2, 3}),
        (["1,80", "DNF", "", "12.345 s"], set()),
    ],
)
def test_the_column_says_which_thousands_are_in_doubt(texts: list[str], doubtful: set[int]) -> None:
    assert amounts.doubtful(texts) == doubtful


def test_one_thousands_mark_leaves_the_others_what_they_are(door: Door) -> None:
    head = "athlete_id;test;attempt;distance_cm\n"
    text = f"{head}A01;standing long jump;1;180,5\nA01;standing long jump;2;1.805,00\n"
    taken = door.read("jumps", f"{text}A01;standing long jump;3;1.805\n")
    assert taken.trials.used("distance")["value"].tolist() == pytest.approx([1.805, 18.05])
    assert said(taken) == [("number-doubtful", 4, "distance_cm")]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("0.0000891", 7.698), ("0,089953704", 7772.0), ("0.0899537037037037", 7772.0)],
)
def test_a_part_of_a_day_is_known_by_its_decimals(text: str, seconds: float) -> None:
    found = amounts.as_part_of_day(text)
    assert found == pytest.approx(seconds, abs=0.001)
    assert found == pytest.approx(
        pd.to_timedelta(float(text.replace(",", ".")), unit="D").total_seconds(), abs=1e-4
    )


def test_few_plain_times_look_like_a_part_of_a_day() -> None:
    plain = [f"{n / 1000:.3f}" for n in range(1, 1000)]
    plain += [f"{n / 240:.8f}" for n in range(1, 240)]  # seconds worked out from frames
    assert [text for text in plain if amounts.as_part_of_day(text)] == []


# --- signs --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "marked"),
    [
        ("7.70", Marked("7.70")),
        ("7.70 PB", Marked("7.70", best=True)),
        ("7.70SB", Marked("7.70", best=True)),
        ("7,70 (pb)", Marked("7,70", best=True)),
        ("PB 7.70", Marked("7.70", best=True)),
        ("*7.70", Marked("7.70", star=True)),
        ("7.70*", Marked("7.70", star=True)),
        ("7.5h", Marked("7.5", hand=True)),
        ("7.5 H", Marked("7.5", hand=True)),
        ("7.70w", Marked("7.70", windy=True)),
        ("7.5hw", Marked("7.5", hand=True, windy=True)),
        ("7.70w PB *", Marked("7.70", windy=True, best=True, star=True)),
        ("7.70 s", Marked("7.70 s")),
        ("DNF", Marked("DNF")),
        ("*", Marked("*")),
        ("h", Marked("h")),
    ],
)
def test_signs_are_parted_from_the_number(text: str, marked: Marked) -> None:
    assert marks.read(text, run=True) == marked


def test_h_and_w_mean_something_beside_a_run_only() -> None:
    assert marks.read("33.1h", run=False) == Marked("33.1h")
    assert marks.read("33.1 PB", run=False) == Marked("33.1", best=True)


SIGNED = """\
athlete_id,test,attempt,wind_mps,t10_s,t60_s
A01,60 m,1,0.1,2.04,7.70
A01,60 m,2,,,7.5h
A01,60 m,3,0.1,2.04,7.70 PB
A01,60 m,4,,2.04,7.70w
A01,60 m,5,,2.04,*7.40
A01,60 m,6,,2.0h,7.70
A02,60 m,1,,1.87,N.M.
A02,60 m,2,,1.87,6.90 m
A02,60 m,3,,1.87,h
"""


def test_signs_beside_times_are_said_and_kept_apart(door: Door) -> None:
    taken = door.read("sprints", SIGNED)
    assert said(taken) == sorted(
        [
            ("mark-hand", 3, "t60_s"), ("mark-best", 4, "t60_s"), ("mark-wind", 5, "t60_s"),
            ("mark-source", 6, "t60_s"), ("mark-hand", 7, "t10_s"),
            ("hand-among-others", 7, "t10_s"), ("row-no-mark", 8, "t60_s"),
            ("unit-other", 9, "t60_s"), ("value-unreadable", 10, "t60_s"),
        ],
        key=str,
    )  # fmt: skip
    attempts = taken.trials.attempts
    assert attempts["timing"].tolist() == ["", "hand", *[""] * 7]
    assert ["over the limit" in flag for flag in attempts["flags"]] == [
        False, False, False, True, *[False] * 5,
    ]  # fmt: skip
    assert [key.get("mark", "") for key in keys(taken)] == ["", "", "", "", "*", "", "", "", ""]
    ends = taken.trials.values.query("part == '60 m'")
    assert ends["value"].tolist()[:6] == [7.70, 7.5, 7.70, 7.70, 7.40, 7.70]
    assert ends["status"].tolist() == [USED] * 6 + [NO_MARK, SET_ASIDE, SET_ASIDE]
    # a note leaves a row what it is: used are the plain one, the hand's, the best's, the no-mark's
    assert states(taken, door.season.path) == (4, 5, 0)


def test_a_starred_time_is_no_result_twice(door: Door) -> None:
    taken = door.read("sprints", "athlete_id,test,t60_s\nA01,60 m,*7.7\n")
    steps = taken.trials.values.set_index("quantity")["resolution"]
    assert math.isnan(steps["mark"])
    assert steps["cumulative_time"] == pytest.approx(0.1)


@pytest.mark.parametrize(
    "word",
    ["DNS", "d.n.f.", "DQ", "NT", "n.m.", "-", "–", "—", "n/a", "N.A.", "x", "XXX", "did not start",
     "No mark", "foul"],
)  # fmt: skip
def test_words_for_no_result_are_known_in_any_case_with_dots(word: str) -> None:
    assert is_no_mark(word)


@pytest.mark.parametrize("word", ["", "7.70", ".", "?", "?x", "h", "PB"])
def test_other_words_are_no_word_for_no_result(word: str) -> None:
    assert not is_no_mark(word)


# --- heights and loads --------------------------------------------------------------------------


def test_heights_a_spreadsheet_turned_into_dates_are_told_apart(tmp_path: Path) -> None:
    cells = {"A01": "2-Jun", "A02": "6-2", "A03": "188", "A04": "74", "A05": "2026-06-02"}
    roster = seasons.ROSTER + "".join(f"{who},N {who},F,,,,,,full\n" for who in ("A04", "A05"))
    rows = "".join(f"{who},{cell}\n" for who, cell in cells.items())
    day = small.read(
        tmp_path, {"body.csv": f"athlete_id,height_cm\n{rows}"}, {"roster.csv": roster}
    )
    assert day.trials.used("height")["value"].tolist() == pytest.approx([1.88])
    assert small.errors(day) == [
        ("cell-as-date", 2, "height_cm"), ("value-unreadable", 3, "height_cm"),
        ("value-implausible", 5, "height_cm"), ("cell-as-date", 6, "height_cm"),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["2-Jun", "Jun-02", "2026-06-02", "02.06.2026", "2 Jun 2026"])
def test_a_date_is_known_as_one(text: str) -> None:
    assert amounts.looks_like_date(text)


@pytest.mark.parametrize("text", ["6-2", "74", "10.12", "1:02.35", "6'2\"", "DNF", "5/3/1", "x 12"])
def test_other_entries_are_no_dates(text: str) -> None:
    assert not amounts.looks_like_date(text)


# --- the list of troubles: measuring --------------------------------------------------------------


def test_310_pounds_and_then_145_kilograms_are_a_gain(tmp_path: Path) -> None:
    """310 lb × 5 is 140.61 kg × 5: by w (1 + r/30) 164.05 kg, and 169.17 kg from 145."""
    head = "session,athlete_id,lift,load_{unit},reps,result\n"
    later = seasons.DAY.replace("2026-09", "2026-12").replace("autumn", "winter")
    season = small.season(
        tmp_path,
        {"lifts.csv": head.format(unit="lb") + "gym,A02,back squat,310,5,good\n"},
        {
            "2026-12-winter/day.toml": later,
            "2026-12-winter/lifts.csv": head.format(unit="kg") + "gym,A02,back squat,145,5,good\n",
        },
    )
    changes = computing.check(season, None).tables["changes"]
    (one,) = changes[changes["measure"] == "one_rep_max"].to_dict("records")
    assert one["before"] == pytest.approx(310 * 0.45359237 * (1 + 5 / 30), rel=1e-5)
    assert one["after"] == pytest.approx(145 * (1 + 5 / 30), rel=1e-5)
    assert one["change"] > 0


def test_the_best_is_the_best_whatever_stands_last_and_a_failed_gate_gives_no_split(
    tmp_path: Path,
) -> None:
    sprints = """\
athlete_id,test,attempt,t30_s,t40_s
A01,40 m,1,4.28,5.62
A01,40 m,2,4.30,5.55
A01,40 m,3,4.29,5.70
A02,40 m,1,3.95,
A02,40 m,2,3.96,0.00
A02,40 m,3,3.97,3.97
"""
    jumps = "athlete_id,CMJ 1 (cm),CMJ 2 (cm),CMJ 3 (cm),CMJ 4 (cm)\nA01,30,33,31,DNF\n"
    season = small.season(tmp_path, {"sprints.csv": sprints, "jumps.csv": jumps})
    results = computing.check(season, None).tables["results"]
    of = results.set_index(["athlete_id", "test", "measure"])["value"]
    assert of["A01", "40 m", "time"] == 5.55
    assert of["A01", "countermovement jump", "jump_height"] == 33
    assert ("A02", "40 m", "time") not in of.index
    segments = results[results["measure"] == "segment_time"]
    assert (segments["value"] > 0.5).all()
