"""The coaches' report and the check report."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pipeline import bundle, computing
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
    bundle.write(folder / "data", computing.check(season, None))
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
    made = day(tmp_path, files)
    said = words(squad.tested(made))
    assert "7 on the roster, 5 tested, 2 without a result." in said
    assert "Not tested: Person P6 (exam) and Person P7." in said
    said = words(squad.groups(made))
    assert "5 values; 0 can be set beside an earlier day, 0 cannot, 5 are first marks" in said


def test_who_was_weighed_alone_is_not_tested_and_who_got_no_mark_is(tmp_path: Path) -> None:
    no_mark = "track,P7,60 m,1,gates,gate,DNF\n"
    files = {
        f"{DAY_FOLDER}/sprints.csv": sprints(7.0, 7.1, 7.2, 7.3, 7.9, extra=no_mark),
        f"{DAY_FOLDER}/body.csv": "athlete_id,body_mass_kg\nP6,60.0\n",
    }
    made = day(tmp_path, files)
    assert made.day["tested"] == ["P1", "P2", "P3", "P4", "P5", "P7"]
    said = words(squad.tested(made))
    assert "7 on the roster, 6 tested, 1 without a result." in said
    assert "Not tested: Person P6." in said
    counts = made.day["phase_counts"]
    assert sum(group["athletes"] for group in counts) == 6


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
    assert "4 can be set beside an earlier day, 1 cannot" in words(squad.groups(made))


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


# --- change ---------------------------------------------------------------------------------

FORTY = "session,athlete_id,test,attempt,timing,clock,t40_s\n"
TEN = [f"P{n}" for n in range(10)]
ROSTER_OF_TEN = "athlete_id,name,sex,birth_date,groups,event\n" + "".join(
    f"{key},Person {key},F,2004-03-18,sprint,100 m\n" for key in TEN
)


def forties(gains: list[float], base: float = 6.0) -> str:
    """Two runs each, the same time twice, so much faster than ``base``."""
    return FORTY + "".join(
        f"track,P{n},40 m,{k},gates,gate,{base + n / 20 - gain:.2f}\n"
        for n, gain in enumerate(gains)
        for k in (1, 2)
    )


def two_days(folder: Path, gains: list[float], more: str = "") -> DayBundle:
    files: dict[str, str | bytes | None] = {
        "roster.csv": ROSTER_OF_TEN,
        "2026-05-spring/day.toml": seasons.DAY.replace("2026-09", "2026-05"),
        "2026-05-spring/sprints.csv": forties([0.0] * len(gains)),
        f"{DAY_FOLDER}/sprints.csv": forties(gains),
    }
    if more:
        files |= {
            "2026-05-repeat/day.toml": (
                seasons.DAY.replace("date = 2026-09-15\nterm", "repeat_of = 2026-05-15\nterm", 1)
            ).replace("2026-09-15", "2026-05-22").replace("2026-09-17", "2026-05-24")
            .replace("repeat_of", "date = 2026-05-22\nrepeat_of"),
            "2026-05-repeat/sprints.csv": more,
        }  # fmt: skip
    return day(folder, files)


GAINS = [0.60, -0.60, 0.02, -0.02, 0.01, -0.01, 0.03, -0.03, 0.0, 0.01]


def test_the_headline_says_how_many_are_clear_and_how_many_chance_alone_would_give(
    tmp_path: Path,
) -> None:
    said = words(squad.headline(two_days(tmp_path, GAINS)))
    assert "One key measure, 10 pairs: 10 comparable, 0 not." in said
    # At 90 %, ten changes give one clear by chance: half of it each way.
    assert "1 better, 1 worse; chance alone would give about 0.5 each way." in said
    assert "Steady 0, cannot tell 8." in said
    rows = {line.split("  ")[0]: line.split() for line in said.splitlines()}
    assert rows["Person P0"][2:9] == ["40", "m", "clearly", "faster", "(by", "0.60", "s;"]
    assert rows["Person P1"][2:9] == ["40", "m", "clearly", "slower", "(by", "0.60", "s;"]
    assert [rows[f"Person P{n}"][-1] for n in (0, 1)] == ["held", "held"]


def test_a_day_on_which_all_moved_is_said_first_and_nobody_is_named(tmp_path: Path) -> None:
    made = two_days(tmp_path, [0.30] * 9 + [0.31])
    said = words(squad.check_first(made))
    assert "Check first:" in said
    together = "All 10 moved together in the 40 m since 15 May 2026: 0–40 m \u22120.30 s."
    assert together in said
    assert "Verdicts on those values are withheld." in said
    assert "0 better, 0 worse" in words(squad.headline(made))
    still = words(squad.check_first(two_days(tmp_path / "still", GAINS)))
    assert "no group moved together" in still


def test_the_spread_of_true_changes_has_its_interval(tmp_path: Path) -> None:
    said = words(squad.spreads(two_days(tmp_path, GAINS)))
    assert "Sprint" in said
    assert "40 m" in said
    flat = words(squad.spreads(two_days(tmp_path / "flat", [0.01, -0.01] * 5)))
    assert "no wider than error" in flat


def test_who_stands_where_says_who_the_others_are(tmp_path: Path) -> None:
    said = words(squad.standings(two_days(tmp_path, GAINS)))
    lines = [line for line in said.splitlines() if line.startswith("Person P")]
    assert len(lines) == 10
    assert all("9 of own sex, event and age" in line for line in lines)
    assert lines[0].split()[-1] == "100"  # the fastest


def test_without_a_repeat_day_published_errors_are_said_to_be_used(tmp_path: Path) -> None:
    said = words(squad.reliability(two_days(tmp_path, GAINS)))
    assert "published errors are used" in said


def test_a_repeat_day_tells_how_much_a_test_wobbles(tmp_path: Path) -> None:
    wobble = [0.05, -0.05, 0.02, -0.02, 0.04, -0.04, 0.03, -0.03, 0.01, -0.01]
    made = two_days(tmp_path, GAINS, more=forties(wobble))
    said = words(squad.reliability(made))
    line = next(line for line in said.splitlines() if line.startswith("40 m"))
    assert line.split()[2] == "10"
    changes = made.tables["changes"]
    assert set(changes["from_day"]) == {"2026-05-15"}  # never the repeat
    assert set(changes[changes["measure"] == "time"]["error_source"]) == {
        "repeat days and published"
    }
