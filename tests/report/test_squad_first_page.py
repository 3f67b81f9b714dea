"""The coaches' first page: its words, its sums, and that it is one page for any size of squad."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from pipeline import bundle, computing
from pipeline.bundle import DayBundle
from pipeline.report import squad
from pipeline.report.blocks import Section, Table
from tests import squads

NEXT_HEADING = "Clear changes in full"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> DayBundle:
    """Twenty-four athletes of four groups."""
    return made(tmp_path_factory.mktemp("squad"), 24)


def made(folder: Path, count: int) -> DayBundle:
    day = computing.check(squads.write(folder / "season", count), None)
    bundle.write(folder / "data", day)
    return squad.load(str(folder / "data"))


def given(day: DayBundle, **facts: Any) -> DayBundle:
    return replace(day, day={**day.day, **facts})


def words(section: Section) -> str:
    return str(section._repr_mimebundle_()["text/plain"])


def table(section: Section) -> Table:
    (found,) = [block for block in section.blocks if isinstance(block, Table)]
    return found


# --- who was tested -----------------------------------------------------------------------------


def test_the_absent_are_named_where_they_are_few_and_counted_where_they_are_many(
    built: DayBundle,
) -> None:
    said = words(squad.tested(built))
    assert said.startswith("Who was tested. 24 on the roster, 22 tested, 2 without a result.")
    away = [built.day["roster"][n]["name"] for n in (5, 17)]
    assert said.endswith(f"Not tested: {away[0]} and {away[1]}.")
    more = [{"id": f"X{n}", "name": f"Nobody {n}", "groups": [], "status": []} for n in range(10)]
    said = words(squad.tested(given(built, roster=[*built.day["roster"], *more])))
    assert "34 on the roster, 22 tested, 12 without a result." in said
    assert said.endswith("Their names stand under “Missing tests”.")
    assert "Nobody" not in said


# --- sums ---------------------------------------------------------------------------------------


def test_every_pair_of_a_group_is_counted_once(built: DayBundle) -> None:
    shown = table(squad.at_a_glance(built))
    assert shown.columns[3:6] == ["clearly better", "clearly worse", "by chance"]
    assert len(shown.rows) == 4
    tested = on_roster = 0
    facts = {one["group"].capitalize(): one for one in built.day["group_changes"]}
    for group, people, pairs, *counts in shown.rows:
        used, whole = (int(n) for n in pairs.split(" of "))
        counts.pop(2)  # by chance
        assert sum(map(int, counts)) == used
        assert used + sum(facts[group]["apart"].values()) == whole == facts[group]["pairs"]
        here, there = (int(n) for n in people.split(" of "))
        tested, on_roster = tested + here, on_roster + there
    assert (tested, on_roster) == (22, 24)


def test_every_clear_change_counted_stands_in_full_on_the_next_page(built: DayBundle) -> None:
    section = squad.headline(built)
    listed = sum(len(block.rows) for block in section.blocks if isinstance(block, Table))
    counted = [int(n) for row in table(squad.at_a_glance(built)).rows for n in row[3:5]]
    assert listed == sum(counted) > 0


def test_each_athlete_tested_is_counted_once_by_phase(built: DayBundle) -> None:
    shown = table(squad.by_phase(built))
    people = {row[0]: row[1].split(" of ")[0] for row in table(squad.at_a_glance(built)).rows}
    for group, talk, *rest in shown.rows:
        named = [int(line.split(": ")[1].split()[0]) for line in talk.splitlines() if ":" in line]
        assert sum(named) + sum(map(int, rest)) == int(people[group])


# --- by phase -----------------------------------------------------------------------------------

WOMEN: dict[str, Any] = {
    "group": "women sprint",
    "athletes": 8,
    "phases": [
        {"from_m": 30.0, "to_m": 60.0, "phase": "maximum velocity", "stands_out": 2, "most": 1},
        {"from_m": 0.0, "to_m": 10.0, "phase": "start", "stands_out": 0, "most": 1},
        {"from_m": 10.0, "to_m": 30.0, "phase": "drive", "stands_out": 1, "most": 0},
    ],
    "balanced": 2,
    "too_thin": 1,
    "none": 0,
}


def of_women(built: DayBundle, **facts: Any) -> DayBundle:
    changes = {**built.day["group_changes"][0], "group": "women sprint"}
    roster = [{**person, "groups": ["women sprint"]} for person in built.day["roster"]]
    return given(built, **{"group_changes": [changes], "roster": roster, **facts})


def test_the_distance_stands_before_the_phase_and_balanced_and_too_thin_are_said(
    built: DayBundle,
) -> None:
    shown = table(squad.by_phase(of_women(built, phase_counts=[WOMEN])))
    assert shown.columns == ["group", "talk about", "balanced", "too thin", "no sprint"]
    assert shown.rows == [
        [
            "Women sprint",
            (
                "30–60 m, maximum velocity: 3 (2 stand out)\n0–10 m, start: 1\n"
                "10–30 m, drive: 1 (one stands out)"
            ),
            "2",
            "1",
            "0",
        ]
    ]
    nothing = {**WOMEN, "phases": [], "balanced": 0, "too_thin": 0, "none": 8}
    said = words(squad.by_phase(of_women(built, phase_counts=[nothing])))
    assert said == "By phase: nobody ran a sprint that can be looked at by phase."


def test_groups_without_room_stand_on_the_next_page_in_both_tables(built: DayBundle) -> None:
    names = [f"group {n}" for n in range(9)]
    one = built.day["group_changes"][0]
    day = given(
        built,
        group_changes=[{**one, "group": name, "clear": [], "front": []} for name in names],
        phase_counts=[{**WOMEN, "group": name} for name in names],
        roster=[{**person, "groups": names} for person in built.day["roster"]],
    )
    first, second = table(squad.at_a_glance(day)), table(squad.by_phase(day))
    assert [row[0] for row in first.rows] == [row[0] for row in second.rows]
    assert len(first.rows) < 6
    assert f"{9 - len(first.rows)} more groups on the next page." in words(squad.at_a_glance(day))
    rest = [block for block in squad.headline(day).blocks if isinstance(block, Table)][:2]
    for more in rest:
        assert [r[0] for r in (*first.rows, *more.rows)] == [n.capitalize() for n in names]


# --- check first --------------------------------------------------------------------------------


def shift(measure: str, part: str, ends: str = "", **more: Any) -> dict[str, Any]:
    conditions = "start=blocks; clock=gate" + (f"; ends={ends}" if ends else "")
    return {
        "test": "60 m", "part": part, "measure": measure, "conditions": conditions, "unit": "s",
        "from_day": "2025-09-16", "n": 7, "shift": -0.02, "se": 0.004, "gate": "", **more,
    }  # fmt: skip


def test_one_stretch_is_named_once_however_many_measures_time_it(built: DayBundle) -> None:
    shifts = [
        shift("split_time", "10 m"),
        shift("segment_time", "0-10 m"),
        shift("phase_time", "start", "0-10 m"),
        shift("time", "", n=9, shift=0.03),
    ]
    said = words(squad.check_first(given(built, shifts=shifts)))
    assert said == (
        "Check first: All 7 to 9 moved together in the 60 m since 16 Sep 2025: "
        "0–60 m −0.03 s and 0–10 m +0.02 s. "
        "Gate moved, wind, surface, new kit, or the whole group? "
        "Verdicts on those values are withheld."
    )


def test_a_moved_gate_is_one_sentence_and_asked_for_on_the_next_day(built: DayBundle) -> None:
    shifts = [
        shift("phase_time", "drive", "10-30 m", gate="30 m"),
        shift("phase_time", "maximum velocity", "30-60 m", gate="30 m"),
    ]
    day = given(built, shifts=shifts)
    assert words(squad.check_first(day)) == (
        "Check first: 60 m: the stretches before and after the 30 m gate moved against each other "
        "in all 7; was the gate moved? Verdicts on those values are withheld."
    )
    assert "Measure where they stand: the 30 m gate of the 60 m." in words(squad.next_time(day))


def test_two_kinds_of_one_test_are_told_apart_and_more_than_three_are_put_off(
    built: DayBundle,
) -> None:
    jumps = [
        shift(
            "rsi", f"{cm} cm", test="drop jump", unit="m/s", shift=0.05,
            conditions=f"drop_height_m={cm / 100:g}",
        )
        for cm in (20, 30, 40, 50, 60)
    ]  # fmt: skip
    day = given(built, shifts=jumps)
    said = words(squad.check_first(day))
    assert (
        "All 7 moved together in the drop jump (from 0.2 m) since 16 Sep 2025: "
        "reactive strength, 20 cm +0.05 m/s." in said
    )
    assert said.count("moved together") == 3
    assert "2 more warnings on the next page. New kit, another way of doing it" in said
    assert words(squad.headline(day)).count("moved together") == 2


# --- last time, next time -----------------------------------------------------------------------


def chosen(group: str, emphasis: str, **verdicts: int) -> Mapping[str, Any]:
    told = {name.replace("_", " "): count for name, count in verdicts.items()}
    count = sum(told.values())
    return {"group": group, "emphasis": emphasis, "athletes": count, "verdicts": told}


def test_what_was_chosen_last_time_says_that_it_proves_nothing(built: DayBundle) -> None:
    one = chosen("women sprint", "short contacts", cannot_tell=2, clearly_better=2)
    said = words(squad.last_time(given(built, followed=[one])))
    assert said == (
        "What was chosen last time. Short contacts for 4 of women sprint: clearly better 2, "
        "cannot tell 2. No proof it was the work."
    )
    many = [chosen(f"group {n}", "short contacts", steady=n + 1) for n in range(6)]
    said = words(squad.last_time(given(built, followed=many)))
    assert "for 6 of group 5: steady 6." in said
    assert "3 more under “What was chosen and what became of it”." in said
    assert "Nothing was noted (plan.csv)." in words(squad.last_time(given(built, followed=[])))


def again(*rows: tuple[int, str, str]) -> list[dict[str, str]]:
    return [{"athlete_id": f"A{n:03}", "test": test, "why": why} for n, test, why in rows]


def test_a_short_retest_list_has_names_and_a_long_one_counts(built: DayBundle) -> None:
    name = built.day["roster"][0]["name"]
    few = again((0, "60 m", "taken easy"), (0, "100 m", "taken easy"))
    said = words(squad.next_time(given(built, retest=few)))
    assert f"Taken easy, again when cleared: {name} (60 m and 100 m)." in said
    tests = ("60 m", "60 m", "60 m", "100 m", "200 m", "40 m", "drop jump")
    many = again(*((n, test, "short of attempts") for n, test in enumerate(tests)))
    said = words(squad.next_time(given(built, retest=many)))
    assert (
        "Short of attempts: 60 m (3 athletes), 100 m (one athlete), 200 m (one athlete), "
        "others (2 athletes)." in said
    )
    assert name not in said
    assert "For each athlete: 2 attempts in the 60 m, one attempt in the 100 m" in said


def test_the_next_day_is_asked_for_what_this_day_lacked_and_nothing_else(
    built: DayBundle,
) -> None:
    plain = [{**one, "apart": {}} for one in built.day["group_changes"]]
    day = given(built, retest=[], group_changes=plain, shifts=[])
    assert words(squad.next_time(day)) == (
        "Tests to take again. None: everything that was due was taken in full.\n\n"
        "Next day. The same tests, done the same way."
    )
    plain[0]["apart"] = {"start_distance_m": 3, "attempts": 1}
    short = again((0, "60 m", "short of attempts"), (1, "drop jump", "short of attempts"))
    said = words(squad.next_time(given(day, retest=short, group_changes=plain)))
    assert said.endswith(
        "Next day. Keep as before: distance behind the first gate. "
        "For each athlete: 2 attempts in the 60 m and 2 attempts in the drop jump."
    )


# --- one page -----------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("count", [8, 24, 120])
def test_it_is_one_page_for_a_squad_of(count: int, tmp_path: Path) -> None:
    day = made(tmp_path, count)
    pages = one_page(day)
    if count == 120:
        one_page(worst(day))
        for groups in (4, 7, 12):
            one_page(crowded(day, groups))
    else:
        whole = squads.pages(day)
        assert whole[0].splitlines()[:-1] == pages[0].splitlines()[:-1]  # all but the foot


def one_page(day: DayBundle) -> list[str]:
    pages = squads.pages(day, squads.FRONT)
    assert pages[0].startswith("Squad report")
    assert "Next day." in pages[0]
    assert pages[1].startswith(NEXT_HEADING)
    return pages


def crowded(day: DayBundle, count: int) -> DayBundle:
    """The day's own words, with so many groups of up to four phases to talk about."""
    names = [f"group {n}" for n in range(count)]
    four = [*WOMEN["phases"], WOMEN["phases"][0]]
    changes = day.day["group_changes"]
    return given(
        day,
        group_changes=[{**changes[n % len(changes)], "group": g} for n, g in enumerate(names)],
        headlines={name: [] for name in names},
        phase_counts=[{**WOMEN, "group": g, "phases": four[: n % 5]} for n, g in enumerate(names)],
        roster=[{**person, "groups": names} for person in day.day["roster"]],
    )


def worst(day: DayBundle) -> DayBundle:
    """A day with as much to say as may be, in as many groups."""
    names = [f"development group {n}, second year" for n in range(9)]
    phases = [
        {"from_m": 10.0 * n, "to_m": 10.0 * n + 10, "phase": "maximum velocity and maintenance",
         "stands_out": 3, "most": 4}
        for n in range(4)
    ]  # fmt: skip
    apart = dict.fromkeys(("start", "start_distance_m", "attempts", "timing", "surface"), 9)
    changes = day.day["group_changes"]
    front = next(one["front"] for one in changes if one["front"])
    shifts = [
        shift(
            "rsi", f"{cm} cm", test="drop jump", unit="m/s",
            conditions=f"drop_height_m={cm / 100:g}",
        )
        for cm in range(20, 60, 5)
    ]  # fmt: skip
    whys = ("not tested", "not done", "taken easy", "short of attempts", "set aside")
    tests = list(day.day["tests"])[:9]
    rows = [(n, tests[n % 9], why) for why in whys for n in range(60)]
    return given(
        day,
        group_changes=[
            {**changes[0], "group": name, "apart": apart, "front": front, "clear": front}
            for name in names
        ],
        headlines={name: [] for name in names},
        phase_counts=[{**WOMEN, "group": name, "phases": phases} for name in names],
        roster=[{**person, "groups": names} for person in day.day["roster"]],
        followed=[
            chosen(name, "single-leg strength and Olympic lifts", clearly_better=3, cannot_tell=9,
                   not_comparable=4, steady=2, clearly_worse=1)
            for name in names
        ],
        retest=again(*rows),
        shifts=shifts,
    )  # fmt: skip
