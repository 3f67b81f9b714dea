"""The score a change is judged by, beside the best that is shown."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pipeline import battery as batteries
from pipeline import computing
from pipeline.measures.registry import MEASURES, scored_attempts
from tests import seasons

BATTERY, _ = batteries.load(Path("no season of its own"))


def _results(folder: Path, **sheets: str) -> list[dict[Any, Any]]:
    files: dict[str, str | bytes | None] = {
        f"{seasons.DAY_FOLDER}/{name}.csv": None for name in ("sprints", "jumps", "lifts", "body")
    }
    files |= {f"{seasons.DAY_FOLDER}/{name}.csv": text for name, text in sheets.items()}
    return computing.check(seasons.write(folder, files), None).tables["results"].to_dict("records")


def _one(rows: list[dict[Any, Any]], measure: str, part: str = "") -> dict[Any, Any]:
    (row,) = [r for r in rows if (r["measure"], r["part"]) == (measure, part)]
    return row


RUNS = "session,athlete_id,test,attempt,wind_mps,t10_s,t30_s,t60_s\n"


def test_the_best_is_shown_and_the_mean_of_the_best_two_is_judged(tmp_path: Path) -> None:
    text = RUNS + "".join(
        f"track,A01,60 m,{n},{wind},2.04,4.28,{t}\n"
        for n, wind, t in ((1, 0.4, 7.80), (2, 1.0, 7.70), (3, 0.6, 7.74))
    )
    row = _one(_results(tmp_path, sprints=text), "time")
    assert (row["value"], row["score"]) == (7.70, pytest.approx(7.72))
    assert (row["scored"], row["attempt"], row["n_attempts"]) == ("2;3", 2, 3)
    assert row["wind"] == pytest.approx(0.8)  # of the two runs, not of all


def test_one_attempt_is_its_own_score(tmp_path: Path) -> None:
    row = _one(_results(tmp_path, sprints=RUNS + "track,A01,60 m,1,0.4,2.04,4.28,7.80\n"), "time")
    assert (row["value"], row["score"], row["scored"], row["n_attempts"]) == (7.80, 7.80, "1", 1)


def test_phases_come_from_whole_runs_and_never_the_best_of_each(tmp_path: Path) -> None:
    """The slowest run has the best start and the best end; neither is used."""
    text = RUNS + (
        "track,A01,60 m,1,0.4,2.10,4.30,7.70\n"  # 2.20 and 3.40
        "track,A01,60 m,2,0.4,2.06,4.34,7.74\n"  # 2.28 and 3.40
        "track,A01,60 m,3,0.4,1.90,4.60,7.90\n"  # 2.70 and 3.30
    )
    rows = _results(tmp_path, sprints=text)
    end = [r for r in rows if r["measure"] == "phase_time" and "ends=30-60 m" in r["conditions"]]
    drive = [r for r in rows if r["measure"] == "phase_time" and "ends=10-30 m" in r["conditions"]]
    assert [(r["value"], r["score"], r["scored"]) for r in drive] == [
        (pytest.approx(2.20), pytest.approx(2.24), "1;2")
    ]
    assert [(r["value"], r["score"], r["scored"]) for r in end] == [
        (pytest.approx(3.40), pytest.approx(3.40), "1;2")
    ]


def test_a_wind_not_known_of_one_run_is_not_known_of_their_mean(tmp_path: Path) -> None:
    text = RUNS + "track,A01,60 m,1,0.4,2.04,4.28,7.70\ntrack,A01,60 m,2,,2.05,4.31,7.74\n"
    row = _one(_results(tmp_path, sprints=text), "time")
    assert row["wind"] != row["wind"]  # NaN


def test_there_is_no_wind_in_a_hall(tmp_path: Path) -> None:
    text = RUNS + "gym,A01,60 m,1,,2.04,4.28,7.70\ngym,A01,60 m,2,,2.05,4.31,7.74\n"
    assert _one(_results(tmp_path, sprints=text), "time")["wind"] == 0.0


def test_the_best_jump_is_shown_and_the_best_two_are_judged(tmp_path: Path) -> None:
    text = "session,athlete_id,test,attempt,arms,flight_time_s\n" + "".join(
        f"gym,A01,countermovement jump,{n},hips,{t}\n" for n, t in enumerate((0.50, 0.52, 0.51), 1)
    )
    row = _one(_results(tmp_path, jumps=text), "jump_height")
    # g·t²/8 with g = 9.80665: 33.146, 31.884 cm
    assert row["value"] == pytest.approx(33.146, abs=1e-3)
    assert row["score"] == pytest.approx((33.146 + 31.884) / 2, abs=1e-3)
    assert row["scored"] == "2;3"


def test_a_lift_and_a_race_are_judged_by_the_one() -> None:
    assert scored_attempts(MEASURES["one_rep_max"], BATTERY.tests["back squat"].attempts) == 1
    assert scored_attempts(MEASURES["time"], BATTERY.tests["100 m"].attempts) == 1
    assert scored_attempts(MEASURES["time"], BATTERY.tests["60 m"].attempts) == 2
    assert scored_attempts(MEASURES["jump_height"], 3) == 2
    assert scored_attempts(MEASURES["mean_time"], 6) == 1


def test_a_season_without_anything_to_judge_has_its_tables(tmp_path: Path) -> None:
    rows = _results(tmp_path, body="athlete_id,body_mass_kg\nA01,56\n")
    assert {row["measure"] for row in rows} == {"body_mass"}
