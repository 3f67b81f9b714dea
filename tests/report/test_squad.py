"""The coaches' report and the check report."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pipeline import build, bundle
from pipeline.bundle import DayBundle
from pipeline.report import squad, testing_day
from pipeline.report.blocks import Section
from tests import seasons
from tests.seasons import DAY_FOLDER

PEOPLE = [f"P{n}" for n in range(1, 8)]
ROSTER = "athlete_id,name,sex,birth_date,groups\n" + "".join(
    f"{key},Person {key},F,2004-03-18,sprint\n" for key in PEOPLE
)
HEAD = "session,athlete_id,test,attempt,timing,clock,t60_s\n"


def day(folder: Path, files: Mapping[str, str | bytes | None]) -> DayBundle:
    whole = {f"{DAY_FOLDER}/{name}.csv": None for name in ("jumps", "lifts", "body")}
    season = seasons.write(folder / "season", {**whole, "roster.csv": ROSTER, **files})
    bundle.write(folder / "data", build.check(season, None))
    return squad.load(str(folder / "data"))


def words(section: Section) -> str:
    return str(section._repr_mimebundle_()["text/plain"])


def sprints(*times: float, extra: str = "") -> str:
    rows = (f"track,{k},60 m,1,gates,gate,{t}\n" for k, t in zip(PEOPLE, times, strict=False))
    return HEAD + "".join(rows) + extra


def test_a_group_of_five_has_a_mean_and_one_of_four_has_none(tmp_path: Path) -> None:
    five = day(tmp_path / "5", {f"{DAY_FOLDER}/sprints.csv": sprints(7.0, 7.1, 7.2, 7.3, 7.9)})
    mean = [line for line in words(squad.groups(five)).splitlines() if "Mean of the group" in line]
    assert mean[0].split()[-1] == "7.30"
    four = day(tmp_path / "4", {f"{DAY_FOLDER}/sprints.csv": sprints(7.0, 7.1, 7.2, 7.3)})
    assert "Mean of the group" not in words(squad.groups(four))


def test_an_athlete_with_two_kinds_of_timing_counts_once_by_the_measured_one(
    tmp_path: Path,
) -> None:
    hand = "track,P1,60 m,2,hand,gun,6.1\n"
    text = sprints(7.0, 7.1, 7.2, 7.3, 7.9, extra=hand)
    made = day(tmp_path, {f"{DAY_FOLDER}/sprints.csv": text})
    mean = [line for line in words(squad.groups(made)).splitlines() if "Mean of the group" in line]
    assert mean[0].split()[-1] == "7.30"


def test_who_was_not_tested_is_named_with_the_reason(tmp_path: Path) -> None:
    status = "athlete_id,test,status,reason\nP6,,not done,exam\n"
    files = {
        f"{DAY_FOLDER}/sprints.csv": sprints(7.0, 7.1, 7.2, 7.3, 7.9),
        f"{DAY_FOLDER}/status.csv": status,
    }
    said = words(squad.tested(day(tmp_path, files)))
    assert "7 on the roster, 5 tested, 2 without a result." in said
    assert "Person P6: exam" in said
    assert "Person P7: no reason was noted" in said
    assert "5 values; 0 can be set beside an earlier day, 0 cannot, 5 are first marks" in said


def test_a_change_stands_below_its_value_and_what_cannot_be_compared_says_so(
    tmp_path: Path,
) -> None:
    spring = seasons.DAY.replace("2026-09", "2026-05")
    files = {
        "2026-05-spring/day.toml": spring,
        "2026-05-spring/sprints.csv": sprints(7.1, 7.1, 7.2, 7.3, 7.9),
        f"{DAY_FOLDER}/sprints.csv": sprints(7.0, 7.1, 7.2, 7.3, 7.9).replace(
            "P2,60 m,1,gates,gate", "P2,60 m,1,video,movement"
        ),
    }
    made = day(tmp_path, files)
    lines = {line.split("  ")[0]: line for line in words(squad.groups(made)).splitlines()}
    assert lines["Person P1"].split()[-2:] == ["7.00", "\u22120.10"]
    assert lines["Person P2"].split()[-3:] == ["7.10", "not", "comp."]
    assert "4 can be set beside an earlier day, 1 cannot" in words(squad.tested(made))


def test_the_account_of_the_day_adds_up_and_names_what_is_wrong(tmp_path: Path) -> None:
    text = sprints(7.0, 7.1, extra="track,Z9,60 m,1,gates,gate,7.0\n")
    made = day(tmp_path, {f"{DAY_FOLDER}/sprints.csv": text})
    said = words(testing_day.account(made))
    assert "10 rows were read: 9 used, 0 used and flagged, 1 set aside." in said
    found = words(testing_day.findings(made))
    assert "“Z9” is not on the roster" in found
    assert f"{DAY_FOLDER}/sprints.csv, row 4, athlete_id" in found


def test_no_force_and_velocity_without_what_it_needs(tmp_path: Path) -> None:
    made = day(tmp_path, {f"{DAY_FOLDER}/sprints.csv": sprints(7.0)})
    assert "at least five gates" in words(squad.force_and_velocity(made))
