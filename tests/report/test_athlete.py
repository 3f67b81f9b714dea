"""What an athlete's pages say, from small seasons through the tables, without notebooks."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from pipeline import bundle, computing
from pipeline.report import athlete
from pipeline.report.blocks import Section
from pipeline.report.facts import Report
from tests import seasons
from tests.seasons import DAY_FOLDER

SPRING = "2026-05-spring"
SPRING_DAY = seasons.DAY.replace("2026-09", "2026-05").replace("autumn", "spring")
SECTIONS = [getattr(athlete, name) for name in athlete.__all__ if name != "load"]


def report(folder: Path, key: str, files: Mapping[str, str | bytes | None]) -> Report:
    season = seasons.write(folder / "season", files)
    bundle.write(folder / "data", computing.check(season, None))
    return athlete.load(str(folder / "data" / "athletes" / f"{key}.json"))


def words(section: Section) -> str:
    return str(section._repr_mimebundle_()["text/plain"])


def test_every_section_says_something_whatever_was_tested(tmp_path: Path) -> None:
    for number, gone in enumerate(["sprints", "jumps", "lifts"]):
        files = {f"{DAY_FOLDER}/{gone}.csv": None}
        made = report(tmp_path / str(number), "A01" if gone == "lifts" else "A02", files)
        for section in SECTIONS:
            assert words(section(made)).strip(), section.__name__


def test_the_first_page_of_a_first_timer_has_no_trend_and_no_verdict(tmp_path: Path) -> None:
    made = report(tmp_path, "A01", {})
    assert "First testing day here." in words(athlete.title(made))
    said = words(athlete.summary(made))
    assert "First marks. This was your first testing day here" in said
    assert not any(word in said for word in ("clearly", "steady", "Steady", "wobble", "Best so"))
    table = words(athlete.first_table(made))
    assert table.count("first mark") == 5
    assert "a trend needs a second one" in words(athlete.trends(made))


def test_a_best_is_called_so_and_nothing_is_called_better(tmp_path: Path) -> None:
    slower = seasons.SPRINTS.replace("7.70", "7.80").replace("7.74", "7.84")
    earlier = {f"{SPRING}/day.toml": SPRING_DAY, f"{SPRING}/sprints.csv": slower}
    made = report(tmp_path, "A01", earlier)
    said = words(athlete.summary(made))
    assert "Best so far of the days we can compare: 60 m." in said
    assert "within that wobble or cannot be judged" in said
    assert "wobble hardly known" in words(athlete.first_table(made))
    table = words(athlete.first_table(made)).splitlines()
    assert table[1].split("  ")[0] == "test"
    assert "15 May 2026" in table[1]  # one earlier day: its date heads the column
    assert "7.80 s" in next(line for line in table if line.startswith("60 m "))
    for section in SECTIONS:
        assert "clearly" not in words(section(made))


FORTY = "session,athlete_id,test,attempt,wind_mps,t40_s\n"


def _forty(folder: Path, now: str, then: str, **more: str) -> Report:
    files: dict[str, str | bytes | None] = {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/sprints.csv": FORTY + then,
        f"{DAY_FOLDER}/sprints.csv": FORTY + now,
        f"{DAY_FOLDER}/jumps.csv": None,
        **{f"{DAY_FOLDER}/{name}.csv": text for name, text in more.items()},
    }
    return report(folder, "A01", files)


def _two(time: float, wind: str = "0.2") -> str:
    return f"track,A01,40 m,1,{wind},{time}\ntrack,A01,40 m,2,{wind},{time}\n"


def test_a_clear_change_is_said_with_its_error_in_the_same_sentence(tmp_path: Path) -> None:
    """40 m: 1.3 % of about 5.9 s on 20 degrees of freedom needs 1.7247 · √2 · 0.077 = 0.19 s."""
    said = words(athlete.summary(_forty(tmp_path, _two(5.70), _two(6.10))))
    assert (
        "What went well. 40 m: 5.70 s, clearly faster than on 15 May 2026, by 0.40 s (a "
        "change needs 0.19 s). That is more than the wobble of the test"
    ) in said
    worse = words(athlete.summary(_forty(tmp_path / "b", _two(6.10), _two(5.70))))
    assert "What your coach will look at with you. 40 m: 6.10 s, clearly slower" in worse
    assert "What went well" not in worse


def test_a_wind_not_known_is_said(tmp_path: Path) -> None:
    known = words(athlete.how_sure(_forty(tmp_path / "a", _two(5.7), _two(6.1))))
    assert "Wind not known" not in known
    now = words(athlete.how_sure(_forty(tmp_path / "b", _two(5.7, ""), _two(6.1))))
    then = words(athlete.how_sure(_forty(tmp_path / "c", _two(5.7), _two(6.1, ""))))
    assert "Wind not known: 40 m." in now
    assert "Wind not known: 40 m." in then


def test_winds_too_far_apart_are_said(tmp_path: Path) -> None:
    table = words(athlete.first_table(_forty(tmp_path, _two(5.7, "1.5"), _two(6.1))))
    assert "cannot tell: winds too far apart" in table


def test_a_test_taken_easy_is_no_news_and_left_to_the_medical_staff(tmp_path: Path) -> None:
    status = "athlete_id,test,status,reason\nA01,40 m,limited,hamstring\n"
    made = _forty(tmp_path, _two(5.70), _two(6.10), status=status)
    summary = words(athlete.summary(made))
    assert "went well" not in summary
    assert "clearly" not in summary
    assert "taken easy, not judged" in words(athlete.first_table(made))
    said = words(athlete.not_tested(made))
    assert "Taken easy: 40 m (hamstring). Not judged;" in said
    assert "medical staff" in said


def test_new_tests_of_somebody_tested_before_are_no_first_testing_day(tmp_path: Path) -> None:
    files: dict[str, str | bytes | None] = {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/lifts.csv": "session,athlete_id,lift,load_kg,reps\ngym,A01,back squat,60,3\n",
    }
    made = report(tmp_path, "A01", files)
    assert "Last tested" in words(athlete.title(made))
    said = words(athlete.summary(made))
    assert "first testing day" not in said
    assert "None of this was tested here before" in said


def test_a_wind_above_the_limit_makes_no_best(tmp_path: Path) -> None:
    slower = seasons.SPRINTS.replace("7.70", "7.80").replace("7.74", "7.84")
    blown = seasons.SPRINTS.replace("1,0.6,2.04", "1,2.3,2.04")
    files = {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/sprints.csv": slower,
        f"{DAY_FOLDER}/sprints.csv": blown,
    }
    made = report(tmp_path, "A01", files)
    assert "Best so far" not in words(athlete.summary(made))
    sure = words(athlete.how_sure(made))
    assert "+2.3 m/s, over the limit" in sure
    assert "Same conditions" not in sure


def test_other_conditions_are_named_and_not_set_side_by_side(tmp_path: Path) -> None:
    earlier = {
        f"{SPRING}/day.toml": SPRING_DAY.replace('"spikes"', '"flats"'),
        f"{SPRING}/sprints.csv": seasons.SPRINTS,
    }
    made = report(tmp_path, "A01", earlier)
    table = words(athlete.first_table(made))
    assert "not comparable: other footwear than before (flats, now spikes)" in table
    assert "May 2026" not in table


TWO_STARTS = """\
session,athlete_id,test,attempt,start,t10_s,t30_s,t60_s
track,A01,60 m,1,three-point,2.04,4.28,7.70
track,A01,60 m,2,blocks,1.99,4.22,7.64
"""


def test_two_starts_of_one_test_are_two_runs_each_whole(tmp_path: Path) -> None:
    made = report(tmp_path, "A01", {f"{DAY_FOLDER}/sprints.csv": TWO_STARTS})
    said = words(athlete.sprint(made))
    assert "60 m. Three-point start" in said
    assert "60 m. Blocks start" in said
    assert said.count("60 m by phase") == 2
    assert "60 m (blocks start)" in words(athlete.first_table(made)).replace("60 m (B", "60 m (b")


HAND = """\
session,athlete_id,test,attempt,timing,clock,start,reaction_s,t10_s,t20_s,t30_s,t40_s,t50_s,t60_s,t70_s,t80_s,t90_s,t100_s
track,A02,100 m,1,electronic,gun,blocks,0.146,1.88,2.88,3.78,4.64,5.47,6.29,7.10,7.92,8.74,9.58
track,A02,100 m,2,hand,gun,blocks,,,,,,,,,,,9.3
"""


def test_a_hand_race_never_mixes_with_the_electronic_one(tmp_path: Path) -> None:
    """The electronic splits are those of the 2009 WC final, 1st (seen)."""
    made = report(tmp_path, "A02", {f"{DAY_FOLDER}/sprints.csv": HAND})
    said = words(athlete.sprint(made))
    gates = [line for line in said.splitlines() if line.startswith(("20 m ", "100 m  "))]
    assert [line.split() for line in gates] == [
        ["20", "m", "2.88", "s", "1.00", "s", "10.00", "m/s"],
        ["100", "m", "9.58", "s", "0.84", "s", "11.90", "m/s"],
    ]
    first = words(athlete.first_table(made))
    assert "100 m (timed by hand)" in first
    assert "9.54 s" in first  # 9.3 + 0.24
    assert "rounded up to 0.1 s and given 0.24 s" in words(athlete.methods(made))


def test_what_was_not_finished_or_not_read_is_said(tmp_path: Path) -> None:
    files = {
        f"{DAY_FOLDER}/sprints.csv": seasons.SPRINTS.replace("7.74", "DNF"),
        f"{DAY_FOLDER}/jumps.csv": "name,flight_time_s\nA01,0.5\n",
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/jumps.csv": seasons.JUMPS,
    }
    said = words(athlete.not_tested(report(tmp_path, "A01", files)))
    assert "No mark: 60 m (DNF)" in said
    assert "countermovement jump (taken, but its sheet could not be read)" in said


def test_the_reason_of_the_staff_is_given_and_a_limited_test_is_not_judged(tmp_path: Path) -> None:
    status = "athlete_id,test,status,reason\nA01,back squat,not done,exam\nA01,60 m,limited,cold\n"
    made = report(tmp_path, "A01", {f"{DAY_FOLDER}/status.csv": status})
    said = words(athlete.not_tested(made))
    assert "back squat (exam)" in said
    assert "Taken easy: 60 m (cold)" in said
    assert "taken easy, not judged" in words(athlete.first_table(made))


def test_any_key_measure_has_a_sentence(tmp_path: Path) -> None:
    battery = '[[key_measures]]\ntest = "countermovement jump"\nmeasure = "takeoff_speed"\n'
    made = report(tmp_path, "A01", {"battery.toml": battery})
    assert "You reached 2.54 m/s (countermovement jump, take-off speed)." in words(
        athlete.summary(made)
    )


def test_no_more_than_six_drawings_a_report(tmp_path: Path) -> None:
    files = {f"{DAY_FOLDER}/sprints.csv": HAND, f"{SPRING}/day.toml": SPRING_DAY}
    files |= {f"{SPRING}/{n}.csv": t for n, t in (("sprints", HAND), ("jumps", seasons.JUMPS))}
    made = report(tmp_path, "A02", files)
    drawings = [
        block
        for section in SECTIONS
        for block in section(made).blocks
        if block.data()["type"] == "chart"
    ]
    assert 1 <= len(drawings) <= 6
    assert all(block.data()["alt"] for block in drawings)


@pytest.mark.parametrize("key", ["A01", "A02"])
def test_three_renderings_hold_the_same_sections(tmp_path: Path, key: str) -> None:
    made = report(tmp_path, key, {})
    for section in SECTIONS:
        bundle_of = section(made)._repr_mimebundle_()
        assert set(bundle_of) == {
            "text/html", "text/plain", "application/vnd.testing-reports.blocks+json",
        }  # fmt: skip
        assert all(bundle_of.values())


def test_sets_and_steps_under_two_conditions_do_not_lose_the_page(tmp_path: Path) -> None:
    sets = "session,athlete_id,test,surface,set,rep,t30_s\n" + "".join(
        f"track,A01,6 x 30 m,{surface},1,{n},5.{n}\n"
        for surface in ("grass", "wood")
        for n in range(6)
    )
    steps = (
        "session,athlete_id,test,attempt,zone_from_m,zone_to_m,contact_time_s,flight_time_s\n"
        "track,A01,60 m,1,30,60,0.105,0.124\ngym,A01,60 m,2,30,60,0.108,0.122\n"
    )
    files = {f"{DAY_FOLDER}/sprints.csv": sets, f"{DAY_FOLDER}/steps.csv": steps}
    made = report(tmp_path, "A01", files)
    assert words(athlete.sprint(made)).count("6 x 30 m, set 1") == 2
    assert words(athlete.steps(made)).count("60 m: steps by zone") == 2


def test_a_planned_joint_phase_is_not_called_a_missed_gate(tmp_path: Path) -> None:
    text = (
        "session,athlete_id,test,attempt,timing,clock,start,t30_s,t60_s,t100_s\n"
        "track,A02,100 m,1,electronic,gun,blocks,3.78,6.29,9.58\n"
    )
    said = words(athlete.sprint(report(tmp_path, "A02", {f"{DAY_FOLDER}/sprints.csv": text})))
    assert "start and drive, from gun" in said
    assert "A gate gave no time" not in said


def test_jumps_show_the_day_before_and_the_best_before(tmp_path: Path) -> None:
    higher, lower = (seasons.JUMPS.replace("0.519", t) for t in ("0.540", "0.500"))
    winter = seasons.DAY.replace("2026-09", "2026-01")
    files = {
        "2026-01-winter/day.toml": winter,
        "2026-01-winter/jumps.csv": higher,
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/jumps.csv": lower,
    }
    said = words(athlete.jumps(report(tmp_path, "A01", files)))
    row = next(line for line in said.splitlines() if line.endswith("measured") and "height" in line)
    assert "32.0 cm 15 May 2026" in row
    assert "35.7 cm 15 Jan 2026" in row
    assert "33.0 cm " in row


def test_a_known_test_without_a_day_a_year_before_is_no_first_mark(tmp_path: Path) -> None:
    """The earlier day is four months back: nothing stands a year before."""
    files: dict[str, str | bytes | None] = {
        "battery.toml": 'against = "last year"\n',
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/sprints.csv": FORTY + _two(6.10),
        f"{DAY_FOLDER}/sprints.csv": FORTY + _two(5.70),
    }
    table = words(athlete.first_table(report(tmp_path, "A01", files)))
    assert "no day to set it against" in table
