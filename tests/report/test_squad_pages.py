"""The coaches' pages after the first: phases, emphases, plan, then and now, targets, lists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from pipeline import bundle, computing, tables
from pipeline.bundle import DayBundle
from pipeline.report import squad
from pipeline.report.blocks import Chart, Section, Table
from tests import squads

KEY = "start=blocks; clock=gate; timing=gates"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> DayBundle:
    """Eight athletes of one group; the sixth was away, the fifth did not squat."""
    folder = tmp_path_factory.mktemp("squad")
    bundle.write(folder / "data", computing.check(squads.write(folder / "season", 8), None))
    return squad.load(str(folder / "data"))


def given(day: DayBundle, rows: Mapping[str, list[dict[str, Any]]], **facts: Any) -> DayBundle:
    """The day with some tables written by hand, a missing column empty, and some facts."""
    made = {
        name: tables.shape(
            name, pd.DataFrame(own, columns=list(tables.SCHEMAS[name].columns), dtype=object)
        )
        for name, own in rows.items()
    }
    return replace(day, tables={**day.tables, **made}, day={**day.day, **facts})


def words(section: Section) -> str:
    return str(section._repr_mimebundle_()["text/plain"])


def sheets(section: Section) -> list[Table]:
    return [block for block in section.blocks if isinstance(block, Table)]


def name(day: DayBundle, place: int) -> str:
    return str(day.day["roster"][place]["name"])


# --- phase by phase -----------------------------------------------------------------------------

PARTS = (("start", 0, 10, 2.04), ("drive", 10, 30, 2.24), ("maximum velocity", 30, 60, 3.42))


def phases(who: str, finding: str = "", **gaps: float) -> list[dict[str, Any]]:
    return [
        {
            "athlete_id": who, "test": "60 m", "phase": phase, "from_m": start, "to_m": end,
            "runs": 2, "time": time, "finding": finding if end == 60 else "", **gaps,
        }
        for phase, start, end, time in PARTS
    ]  # fmt: skip


def state(who: str, said: str, **more: Any) -> dict[str, Any]:
    return {
        "athlete_id": who, "test": "60 m", "conditions": KEY, "runs": 2, "state": said,
        "hint": False, "reference": "", "reason": "", "sprints": 0, "people": 0,
        "listed_people": 0, "group_people": 0, "z_used": None, "main": True, **more,
    }  # fmt: skip


def test_a_phase_has_its_cost_with_limits_its_line_and_the_z_used(built: DayBundle) -> None:
    own = {"own_gap": 0.083, "low": 0.021, "high": 0.145, "z": 2.9}
    group = {"group_gap": 0.05, "group_reference": 3.37, "z": 1.2}
    day = given(
        built,
        {
            "phases": [
                *phases("A000", "stands out", **own),
                *phases("A001", "most to gain", **group),
                *phases("A002"),
            ]
        },
        phase_states=[
            state("A000", "stands out", reference="squad", sprints=24, people=12, z_used=2.13),
            state("A001", "most to gain", reason="too few sprints of that sex", group_people=6),
            state("A002", "too thin", reason="sex not recorded"),
            {**state("A000", "balanced"), "test": "100 m", "main": False},
        ],
    )
    (shown,) = sheets(squad.phase_by_phase(day))
    assert shown.columns[1:4] == [
        "0–10 m, start", "10–30 m, drive", "30–60 m, maximum velocity",
    ]  # fmt: skip
    assert shown.rows[0][0] == name(built, 0)
    assert shown.rows[0][3:] == [
        "3.42\n+0.08\n+0.02 to\n+0.15",
        (
            "stands out: 30–60 m, maximum velocity\n"
            "line: the squad's own: 24 sprints by 12; z used 2.13"
        ),
    ]
    assert shown.rows[1][3:] == [
        "3.42\n(+0.05)",
        ("most to gain: 30–60 m, maximum velocity\nno line: too few sprints of that sex; 6 others"),
    ]
    assert shown.rows[2][3:] == ["3.42", "too thin to say\nno line: sex not recorded; 0 others"]


def test_what_rests_on_one_run_is_a_hint_and_the_published_line_is_named(
    built: DayBundle,
) -> None:
    one = state("A000", "most to gain", hint=True, runs=1, reference="published", z_used=2.2)
    rows = phases("A000", "most to gain", own_gap=0.05, low=-0.02, high=0.12)
    (shown,) = sheets(squad.phase_by_phase(given(built, {"phases": rows}, phase_states=[one])))
    assert shown.rows[0][-1] == (
        "a hint, from one run: 30–60 m, maximum velocity\nline: published men's finals; z used 2.20"
    )
    assert words(squad.phase_by_phase(given(built, {}, phase_states=[]))) == (
        "Nobody ran a sprint that can be looked at by phase."
    )


def test_people_of_the_staffs_table_are_counted_apart(built: DayBundle) -> None:
    one = state(
        "A000", "balanced", reference="squad", sprints=80, people=21, listed_people=15, z_used=1.98
    )
    day = given(built, {"phases": phases("A000")}, phase_states=[one])
    (shown,) = sheets(squad.phase_by_phase(day))
    assert shown.rows[0][-1].endswith(
        "80 sprints by 21, 15 of them of the staff's table; z used 1.98"
    )


# --- emphasis -----------------------------------------------------------------------------------


def sign(who: str, says: str, emphasis: str, *found: str, phase: bool = True) -> dict[str, Any]:
    told, test, measure = found or ("", "", "")
    return {
        "athlete_id": who, "says": says, "emphasis": emphasis, "sign": told, "sign_test": test,
        "sign_measure": measure, "sign_part": "30 cm" if test == "drop jump" else "",
        "test": "60 m" if phase else "", "phase": "maximum velocity" if phase else "",
        "finding": "most to gain" if phase else "",
    }  # fmt: skip


def test_a_sign_of_the_same_runs_says_that_it_is(built: DayBundle) -> None:
    rows = [
        sign("A000", "suggested", "short contacts", "lags", test, "theoretical_speed")
        for test in ("60 m", "100 m")
    ]
    (shown,) = sheets(squad.emphases(given(built, {"phases": phases("A000"), "emphasis": rows})))
    of_100, of_60 = sorted(shown.rows[0][2].split("\n"))
    assert of_60.endswith("lags behind the others (of the same runs)")
    assert of_100.endswith("lags behind the others")


def test_two_signs_suggest_one_is_talked_about_and_the_cautions_stand_beside_it(
    built: DayBundle,
) -> None:
    short = "short contacts"
    rows = [
        sign("A001", "talk about", ""),
        sign("A002", "talk about", "", "off", "100 m", "angle", phase=False),
        sign("A000", "suggested", short, "lags", "drop jump", "rsi"),
        sign("A000", "suggested", short, "fell", "60 m", "contact_time"),
    ]
    day = given(built, {"phases": phases("A000"), "emphasis": rows})
    section = squad.emphases(day)
    (shown,) = sheets(section)
    assert shown.rows == [
        [
            name(built, 0),
            "60 m, 30–60 m, maximum velocity: most to gain",
            (
                "60 m, ground contact: fell since last time\n"
                "drop jump, reactive strength, 30 cm: lags behind the others"
            ),
            "suggested: short contacts",
        ],
        [name(built, 1), "60 m, maximum velocity: most to gain", "no sign", "talk about it"],
        [
            name(built, 2), "no phase",
            "100 m, angle: off the staff's reference", "talk about it",
        ],
    ]  # fmt: skip
    said = words(section)
    families = built.day["emphases"][short]["families"]
    assert f"Exercise families: {families}." in said
    assert "They train: contacts of 0.08 to 0.12 s." in said
    assert "Retest: drop jump, flying 20 m, 60 m and 100 m." in said
    assert "Common practice, no source" in said
    assert "It suggests, never prescribes." in said
    for caution in ("under supervision", "growing", "hurt", "licensed staff", "painful joint"):
        assert caution in said
    assert "Long-impulse" not in said  # only what was named is described


# --- what was chosen ----------------------------------------------------------------------------


def plan(who: str, **more: str) -> dict[str, Any]:
    return {
        "athlete_id": who, "chosen": "2025-10-01", "sprint_phase": "drive",
        "emphasis": "short contacts", "kind": "phase", **more,
    }  # fmt: skip


def test_what_was_chosen_stands_beside_what_became_of_it(built: DayBundle) -> None:
    taken = {"test": "60 m", "part": "drive", "measure": "phase_time",
             "conditions": f"{KEY}; ends=10-30 m", "from_day": "2025-09-16"}  # fmt: skip
    sign = {"kind": "sign", "test": "drop jump", "part": "30 cm", "measure": "rsi",
            "conditions": "drop_height_m=0.3"}  # fmt: skip
    away = {"verdict": "not comparable", "reason": "start: blocks → standing"}
    rows = [
        plan("A000", reason="not run", note="hills"),
        plan("A000", **sign, verdict="steady", note="hills"),
        plan("A001", verdict="cannot tell", reason="within the error", **taken),
        plan("A001", **sign, verdict="clearly better"),
        plan("A001", **sign, verdict="cannot tell"),
        plan("A001", **sign),
        plan("A002", **away, **taken),
    ]
    (shown,) = sheets(squad.chosen(given(built, {"plan": rows})))
    assert shown.rows == [
        [
            name(built, 0), "short contacts for the drive (1 Oct 2025)\nhills", "phase not run",
            "none of 1 clear",
        ],
        [
            name(built, 1), "short contacts for the drive (1 Oct 2025)",
            "60 m, 10–30 m, drive: cannot tell: less than the test's own wobble",
            "Drop jump, reactive strength, 30 cm: clearly better\nof 2 more none clear",
        ],
        [
            name(built, 2), "short contacts for the drive (1 Oct 2025)",
            "60 m, 10–30 m, drive: not comparable: other start than before (blocks, now standing)",
            "–",
        ],
    ]  # fmt: skip
    assert "No proof it was the work" in words(squad.chosen(given(built, {"plan": rows})))


# --- then and now -------------------------------------------------------------------------------


def test_the_panels_and_their_numbers_are_of_the_same_people(built: DayBundle) -> None:
    section = squad.then_and_now(built)
    (shown,) = sheets(section)
    changes = built.tables["changes"]
    own = changes[
        (changes["test"] == "flying 20 m")
        & (changes["measure"] == "speed")
        & (changes["verdict"] != "not comparable")
    ]
    row = next(row for row in shown.rows if row[0] == "Flying 20 m (m/s)")
    assert row[1] == str(len(own))
    for cell, column in ((row[2], "before"), (row[3], "after")):
        low, middle, high = np.percentile(own[column].astype(float), (25, 50, 75))
        assert cell == f"{middle:.2f}\n({low:.2f} to {high:.2f})"
    assert row[4] == f"{int((own['after'] > own['before']).sum())} of {len(own)}"
    (chart,) = [block for block in section.blocks if isinstance(block, Chart)]
    assert "Flying 20 m (m/s), 7 people: median then" in chart.alt
    assert not any(person["name"] in chart.outlined for person in built.day["roster"])
    assert len(shown.rows) <= 6


def test_four_people_are_too_few_for_a_panel(built: DayBundle) -> None:
    few = [{**p, "groups": p["groups"] if n < 4 else ["x"]}
           for n, p in enumerate(built.day["roster"])]  # fmt: skip
    said = words(squad.then_and_now(given(built, {}, roster=few)))
    assert said == "No key measure of a group has 5 comparable pairs."


# --- targets ------------------------------------------------------------------------------------


def test_a_target_says_what_is_needed_beside_the_best_term_so_far(built: DayBundle) -> None:
    rows = [
        {
            "athlete_id": "A000", "test": "60 m", "measure": "time", "target": 7.6,
            "by": "2027-02-01", "unit": "s", "now": 7.74, "now_day": "2026-02-03", "gap": 0.14,
            "terms_left": 2, "needed_per_term": 0.07, "best_term": 0.05,
            "best_from": "2025-09-16", "best_to": "2026-02-03", "state": "open",
        },
        {
            "athlete_id": "A001", "test": "60 m", "measure": "time", "target": 8.0, "unit": "s",
            "now": 7.9, "now_day": "2026-02-03", "gap": -0.1, "state": "reached",
        },
        {"athlete_id": "A002", "test": "60 m", "measure": "time", "target": 8.0, "unit": "s",
         "state": "no value"},
    ]  # fmt: skip
    (shown,) = sheets(squad.targets(given(built, {"targets": rows})))
    assert shown.rows == [
        [
            name(built, 0), "60 m: 7.60 s, by 1 Feb 2027", "7.74 s\n3 Feb 2026", "0.14 s",
            "needs 0.07 s a term, 2 left\nbest term 0.05 s (16 Sep 2025 to 3 Feb 2026)", "open",
        ],
        [
            name(built, 1), "60 m: 8.00 s", "7.90 s\n3 Feb 2026", "passed by 0.10 s",
            "no term to compare with", "reached",
        ],
        [name(built, 2), "60 m: 8.00 s", "–", "–", "no term to compare with", "no value yet"],
    ]  # fmt: skip


# --- quality and missing ------------------------------------------------------------------------


def test_the_quality_of_the_data_adds_up(built: DayBundle) -> None:
    section = squad.quality(built)
    account = built.tables["account"]
    rows, used, flagged, aside = (
        int(account[c].sum()) for c in ("rows", "used", "flagged", "set_aside")
    )
    assert used + flagged + aside == rows
    said = words(section)
    assert f"{rows} rows were read: {used} used, {flagged} used and flagged, {aside} set" in said
    (shown,) = sheets(section)
    assert sum(int(row[2]) for row in shown.rows) == len(built.tables["findings"])
    # Every fifth from the third jumps once: two of the eight.
    assert (
        "One attempt where more were asked for, athletes by test: "
        "countermovement jump (2 athletes), standing long jump (2 athletes)." in said
    )


def test_who_misses_what_stands_with_the_reason(built: DayBundle) -> None:
    section = squad.missing(built)
    assert f"Not tested at all: {name(built, 5)}." in words(section)
    (shown,) = sheets(section)
    assert shown.columns == [
        "athlete", "countermovement jump", "standing long jump", "back squat",
    ]  # fmt: skip
    short = "short of attempts"
    assert shown.rows == [
        [name(built, 2), short, short, "–"],
        [name(built, 4), "–", "–", "not done (exam)"],
        [name(built, 7), short, short, "–"],
    ]
    assert words(squad.missing(given(built, {}, retest=[]))).startswith("Nobody lacks a test")


# --- correlations -------------------------------------------------------------------------------


def test_correlations_say_how_many_were_looked_at_and_that_they_are_no_cause(
    built: DayBundle,
) -> None:
    assert words(squad.relations(built)) == (
        "No measure has 20 people of one sex under the same conditions."
    )
    one = {
        "sex": "F", "test": "60 m", "phase": "drive", "from_m": 10.0, "to_m": 30.0,
        "measure": "rsi", "measure_test": "drop jump", "part": "30 cm", "n": 31, "r": -0.61,
        "low": -0.79, "high": -0.33,
    }  # fmt: skip
    other = {**one, "measure": "relative_strength", "measure_test": "back squat", "part": ""}
    pairs = [one, {**one, "phase": "start", "from_m": 0.0, "to_m": 10.0}, other] * 10
    section = squad.relations(given(built, {}, relations=pairs))
    (shown,) = sheets(section)
    assert shown.columns == ["measure", "10–30 m, drive", "0–10 m, start"]
    assert shown.rows[0] == [
        "drop jump, reactive strength, 30 cm", *["−0.61 (31)\n−0.79 to −0.33"] * 2,
    ]  # fmt: skip
    assert shown.rows[1][2] == "–"
    said = words(section)
    assert "30 pairs were looked at; of so many intervals about 2 miss" in said
    assert "A correlation is no cause" in said
