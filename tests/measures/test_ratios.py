"""Ratios of results that the battery defines: what they are made of, and what they are not."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from pipeline import computing, reading
from pipeline.measures.spec import ESTIMATED, MEASURED
from tests import seasons
from tests.intake.small import read, season

HEAD = "athlete_id,lift,load_kg,reps,result,depth,side\n"
NAME = "power clean to back squat"
CLEAN, SQUAT = "A02,power clean,90,1,good,,\n", "A02,back squat,150,1,good,,\n"
SPRING = "2026-05-spring"


def rows(folder: Path, lifts: str, battery: str = "", **sheets: str) -> list[dict[str, Any]]:
    files = {"lifts.csv": HEAD + lifts, **{f"{name}.csv": text for name, text in sheets.items()}}
    table = computing.compute(read(folder, files, {"battery.toml": battery})).tables["results"]
    return [
        {str(k): v for k, v in row.items()}
        for row in table[table["measure"] == "ratio"].to_dict("records")
    ]


def test_the_default_battery_sets_the_clean_over_the_squat(tmp_path: Path) -> None:
    (row,) = rows(tmp_path, CLEAN + SQUAT)
    assert row["value"] == pytest.approx(0.6)
    assert (row["test"], row["unit"], row["basis"]) == (NAME, "", MEASURED)
    assert row["source"].count(";") == 3  # load and repetitions of both
    # one step of 1 kg either way: 90/149.5 - 90/150.5 and 90.5/150 - 89.5/150
    assert row["resolution"] == pytest.approx(90 / 149.5 - 90 / 150.5 + 1 / 150)


@pytest.mark.parametrize("lifts", [CLEAN, SQUAT, CLEAN + "A01,back squat,150,1,good,,\n"])
def test_it_needs_both_from_one_athlete(tmp_path: Path, lifts: str) -> None:
    assert rows(tmp_path, lifts) == []


def test_it_needs_both_on_one_day(tmp_path: Path) -> None:
    spring = {f"{SPRING}/day.toml": "date = 2026-05-12\n", f"{SPRING}/lifts.csv": HEAD + CLEAN}
    table = computing.check(season(tmp_path, {"lifts.csv": HEAD + SQUAT}, spring), None)
    assert "ratio" not in set(table.tables["results"]["measure"])


def test_it_is_estimated_as_soon_as_one_of_the_two_is(tmp_path: Path) -> None:
    (row,) = rows(tmp_path, CLEAN + "A02,back squat,120,3,good,,\n")
    assert row["value"] == pytest.approx(90 / (120 * 1.1))
    assert row["basis"] == ESTIMATED
    assert "epley equation" in row["flags"]
    assert "over=measured" in row["conditions"]
    assert "under=estimated" in row["conditions"]


def test_two_depths_give_two_ratios_and_neither_mixes_them(tmp_path: Path) -> None:
    lifts = "A02,back squat,150,1,good,parallel,\nA02,back squat,120,1,good,full,\n"
    made = {row["conditions"]: row["value"] for row in rows(tmp_path, CLEAN + lifts)}
    assert len(made) == 2
    for conditions, value in made.items():
        assert value == pytest.approx(90 / (150 if "parallel" in conditions else 120))


@pytest.mark.parametrize(
    ("then", "now", "compared"),
    [
        ("A02,back squat,140,1,good,,\n", SQUAT, True),
        ("A02,back squat,120,3,good,,\n", SQUAT, False),
        ("A02,back squat,140,1,good,full,\n", "A02,back squat,150,1,good,parallel,\n", False),
    ],
    ids=["like", "estimated before", "deeper before"],
)
def test_ratios_of_other_things_are_not_compared(
    tmp_path: Path, then: str, now: str, *, compared: bool
) -> None:
    spring = {
        f"{SPRING}/day.toml": "date = 2026-05-12\n", f"{SPRING}/lifts.csv": HEAD + CLEAN + then,
    }  # fmt: skip
    made = computing.check(season(tmp_path, {"lifts.csv": HEAD + CLEAN + now}, spring), None)
    changes = made.tables["changes"]
    (row,) = changes[changes["measure"] == "ratio"].to_dict("records")
    assert (row["verdict"] != "not comparable") == compared
    assert ("under" in str(row["reason"])) != compared


OF_SIDES = """\
[ratios."split to back squat"]
over = {test = "split squat", measure = "one_rep_max"}
under = {test = "back squat", measure = "one_rep_max"}
"""


def test_sides_are_kept_apart(tmp_path: Path) -> None:
    lifts = "A02,split squat,60,1,good,,left\nA02,split squat,75,1,good,,right\n"
    made = {r["part"]: r["value"] for r in rows(tmp_path, lifts + SQUAT, OF_SIDES)}
    assert made == {"left": pytest.approx(0.4), "right": pytest.approx(0.5)}


def test_left_is_never_set_over_right(tmp_path: Path) -> None:
    battery = OF_SIDES.replace("back squat", "single-leg press")
    battery += '[tests."single-leg press"]\nkind = "lift"\n'
    lifts = "A02,split squat,60,1,good,,left\nA02,single-leg press,120,1,good,,right\n"
    assert rows(tmp_path, lifts, battery) == []


def _ratio(over: str, under: str) -> str:
    return f"[ratios.own]\nover = {{{over}}}\nunder = {{{under}}}\n"


_SQUAT = 'test = "back squat", measure = "one_rep_max"'
_CLAEN = _SQUAT.replace("back squat", "power claen")
_MXA = _SQUAT.replace("max", "mxa")
_RELATIVE = _SQUAT.replace("one_rep_max", "relative_strength")


@pytest.mark.parametrize(
    ("over", "under", "key", "said"),
    [
        (_CLAEN, _SQUAT, "own.over", "“power clean”"),
        (_SQUAT, _MXA, "own.under", "“one_rep_max”"),
        (_RELATIVE, _SQUAT, "own.over", "no measure"),
        ('test = "60 m", measure = "time"', _SQUAT, "own", "s over kg"),
    ],
    ids=["test", "measure", "of a day's results", "units"],
)
def test_what_cannot_be_a_ratio_is_named_and_gives_none(
    tmp_path: Path, over: str, under: str, key: str, said: str
) -> None:
    files = {
        "battery.toml": _ratio(over, under), f"{seasons.DAY_FOLDER}/lifts.csv": HEAD + SQUAT,
    }  # fmt: skip
    intake = reading.read(seasons.write(tmp_path, files), None)
    (fault,) = (f for f in intake.findings if f.code.startswith("battery"))
    assert fault.place.column == f"ratios.{key}"
    assert said in fault.message
    assert "own" not in set(computing.compute(intake).tables["results"]["test"])


def test_an_unknown_word_in_a_ratio_is_named_with_the_nearest(tmp_path: Path) -> None:
    files: Mapping[str, str] = {"battery.toml": _ratio(_SQUAT, _SQUAT) + "oder = 1\n"}
    faults = [f for f in reading.read(seasons.write(tmp_path, files), None).findings
              if f.code == "battery-key"]  # fmt: skip
    assert [f.place.column for f in faults] == ["ratios.own.oder"]
    assert "“over”" in faults[0].message or "“under”" in faults[0].message
