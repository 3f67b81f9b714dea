"""What the pages say of jumps: digits, the step, sides, drop heights, rebounds, the ratio."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

import pytest

from pipeline import computing
from pipeline.report import athlete, squad
from pipeline.report.blocks import Chart, Section
from pipeline.units import STANDARD_GRAVITY
from tests import seasons
from tests.report.test_athlete import SPRING, SPRING_DAY, report, words
from tests.seasons import DAY_FOLDER

HEAD = "session,athlete_id,test,attempt,side,arms,height_cm,flight_time_s,fps\n"
DROP_HEAD = "session,athlete_id,attempt,drop_height_cm,contact_time_s,flight_time_s\n"


def drops(strengths: Mapping[int, tuple[float, float]]) -> str:
    """A sheet of drop jumps: height in cm and contact in s by drop height in cm."""
    lines = []
    for number, (drop, (height, contact)) in enumerate(strengths.items(), start=1):
        flight = math.sqrt(8 * height / 100 / STANDARD_GRAVITY)
        lines.append(f"gym,A02,{number},{drop},{contact:.3f},{flight:.3f}\n")
    return DROP_HEAD + "".join(lines)


SPRING_DROPS = drops({20: (30.0, 0.170), 30: (32.0, 0.170), 40: (31.0, 0.185)})
AUTUMN_DROPS = drops({20: (33.0, 0.170), 30: (32.0, 0.150), 40: (32.0, 0.260)})


def two_days(sheet: str, then: str, now: str) -> dict[str, str | bytes | None]:
    return {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/{sheet}": then,
        f"{DAY_FOLDER}/{sheet}": now,
    }


def charts(section: Section) -> list[Chart]:
    return [block for block in section.blocks if isinstance(block, Chart)]


def test_the_jump_table_shows_the_step_and_no_finer_digit(tmp_path: Path) -> None:
    jumps = (
        HEAD
        + "gym,A02,countermovement jump,1,,hips,,0.519,\n"
        + "gym,A02,squat jump,1,,hips,,0.521,240\n"
    )
    said = words(athlete.jumps(report(tmp_path, "A02", {f"{DAY_FOLDER}/jumps.csv": jumps})))
    assert "33.0 cm ± 0.06 cm" in said
    assert "33 cm ± 0.5 cm" in said


def test_estimated_power_is_named_so_with_no_step_and_no_day_beside_it(tmp_path: Path) -> None:
    jump = HEAD + "gym,A02,countermovement jump,1,,hips,40.0,,\n"
    made = report(tmp_path, "A02", two_days("jumps.csv", jump, jump.replace("40.0", "42.0")))
    (line,) = (r for r in words(athlete.jumps(made)).splitlines() if "peak power  " in r)
    assert "estimated, Sayers equation" in line
    assert "±" not in line
    assert "May 2026" not in line


def test_a_minors_page_tells_no_power(tmp_path: Path) -> None:
    said = words(athlete.jumps(report(tmp_path, "A01", {})))
    assert "Countermovement jump, jump height" in said
    assert "power" not in said


@pytest.mark.parametrize(("then", "alarm"), [("20.0", True), ("24.8", False)])
def test_a_word_on_the_sides_only_when_the_same_was_weaker_before(
    tmp_path: Path,
    then: str,
    alarm: bool,
) -> None:
    now = HEAD + (
        "gym,A02,single-leg jump,1,left,hips,20.0,,\ngym,A02,single-leg jump,1,right,hips,25.0,,\n"
    )
    made = report(tmp_path, "A02", two_days("jumps.csv", now.replace("20.0", then), now))
    said = words(athlete.jumps(made))
    assert "20 % 12 to 28 %" in said
    assert ("the left side was weaker by 20 %" in said) is alarm
    assert "injur" not in said


def test_one_sided_lifts_stand_side_by_side_on_the_page_of_strength(tmp_path: Path) -> None:
    lifts = (
        "session,athlete_id,lift,side,load_kg,reps,result,maximal\n"
        "gym,A02,split squat,left,80,1,good,yes\ngym,A02,split squat,right,72,1,good,yes\n"
    )
    said = words(athlete.strength(report(tmp_path, "A02", {f"{DAY_FOLDER}/lifts.csv": lifts})))
    (line,) = (r for r in said.splitlines() if r.startswith("Split squat  ") and "%" in r)
    assert " ".join(line.split()) == "Split squat 80.0 kg 72.0 kg 10 % 2 to 18 % right"


def test_each_drop_height_says_what_moved(tmp_path: Path) -> None:
    made = report(tmp_path, "A02", two_days("drop_jumps.csv", SPRING_DROPS, AUTUMN_DROPS))
    said = words(athlete.reactive(made))
    assert (
        "From 20 cm, against 15 May 2026: reactive strength 1.77 m/s to 1.94 m/s; height 30.0 cm "
        "to 33.0 cm, contact 0.170 s to 0.170 s. It was mostly the height that moved."
    ) in said
    assert "contact 0.170 s to 0.150 s. It was mostly the contact that moved." in said
    assert "From 40 cm the contact was 250 ms or more: slow stretch-shortening" in said
    assert "Greatest reactive strength from 30 cm, of 3 heights." in said
    assert "10 % from a box of 30 cm and 14 % from one of 40 cm" in said


def test_a_curve_that_still_rises_is_no_advice_to_go_higher(tmp_path: Path) -> None:
    rising = drops({20: (28.0, 0.18), 30: (31.0, 0.18), 40: (36.0, 0.18)})
    said = words(
        athlete.reactive(report(tmp_path, "A02", {f"{DAY_FOLDER}/drop_jumps.csv": rising}))
    )
    assert "this is no advice to go higher" in said
    flat = drops({20: (33.5, 0.18), 30: (34.0, 0.18), 40: (33.8, 0.18)})
    said = words(
        athlete.reactive(report(tmp_path / "b", "A02", {f"{DAY_FOLDER}/drop_jumps.csv": flat}))
    )
    assert "Heights 20\u201340 cm lie within 6 % of it: a plateau" in said


def test_two_heights_give_a_chart_and_no_best_one(tmp_path: Path) -> None:
    two = drops({20: (30.0, 0.17), 30: (32.0, 0.17)})
    section = athlete.reactive(report(tmp_path, "A02", {f"{DAY_FOLDER}/drop_jumps.csv": two}))
    assert "needs at least three heights; 2 had a result" in words(section)
    assert len(charts(section)) == 1


def test_the_chart_tells_both_days_in_words(tmp_path: Path) -> None:
    made = report(tmp_path, "A02", two_days("drop_jumps.csv", SPRING_DROPS, AUTUMN_DROPS))
    (chart,) = charts(athlete.reactive(made))
    assert "15 May 2026: 1.77 m/s from 20 cm (height 30.0 cm, contact 0.170 s)" in chart.alt
    assert "15 Sep 2026: 1.94 m/s from 20 cm (height 33.0 cm, contact 0.170 s)" in chart.alt
    assert chart.lettered.count("33.0 cm") == 1


def test_a_rebound_series_stands_with_its_height_contact_and_rule(tmp_path: Path) -> None:
    lines = [f"gym,A02,ten rebounds,1,{n},hips,0.190,0.{490 + n}\n" for n in range(1, 11)]
    sheet = "session,athlete_id,test,attempt,rep,arms,contact_time_s,flight_time_s\n"
    made = report(tmp_path, "A02", {f"{DAY_FOLDER}/rebounds.csv": sheet + "".join(lines)})
    said = words(athlete.reactive(made))
    (line,) = (r for r in said.splitlines() if r.startswith("Ten rebounds  "))
    assert "0.190 s" in line
    assert "1.60 m/s" in line  # by hand: g/8 · mean of 0.496² to 0.500² ÷ 0.19
    assert "Ten rebounds: mean of the 5 best contacts under 250 ms." in said
    assert "From" not in said  # no drop height


def test_coaches_see_the_ratio_with_its_error(tmp_path: Path) -> None:
    jumps = (
        HEAD + "gym,A02,countermovement jump,1,,hips,44.0,,\ngym,A02,squat jump,1,,hips,40.0,,\n"
    )
    season = seasons.write(tmp_path, {f"{DAY_FOLDER}/jumps.csv": jumps})
    said = words(squad.jump_ratio(computing.check(season, None)))
    assert "1.10 1.02 to 1.18" in said
    assert "judges nobody" in said
    for word in ("better", "worse", "weak"):
        assert word not in said
    without = seasons.write(tmp_path / "b", {})
    assert "Nobody has both jumps" in words(squad.jump_ratio(computing.check(without, None)))
