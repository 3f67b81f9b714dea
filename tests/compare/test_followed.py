"""What was chosen, beside what became of it; counts are of people."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from pipeline import tables
from pipeline.compare.followed import PLAN_COLUMNS, by_emphasis, followed
from pipeline.compare.pairs import Days
from pipeline.compare.squad import Member
from tests.compare.made import AUTUMN, BATTERY, NO_DAYS, SPRING, SUMMER, result, results

Row = dict[str, Any]
FAST, SPRINGY = "maximum velocity", "short contacts"


def _plan(*rows: dict[str, str]) -> pd.DataFrame:
    common = {
        "athlete_id": "A01", "chosen": SUMMER, "sprint_phase": FAST, "emphasis": SPRINGY,
        "note": "",
    }  # fmt: skip
    return pd.DataFrame([common | row for row in rows], columns=list(PLAN_COLUMNS))


def _changes(*rows: dict[str, object]) -> pd.DataFrame:
    common = dict.fromkeys(tables.SCHEMAS["changes"].columns)
    phase = {
        "athlete_id": "A01", "test": "60 m", "measure": "phase_time", "part": FAST,
        "from_day": SUMMER, "conditions": "ends=30-60 m", "verdict": tables.BETTER, "reason": "",
    }  # fmt: skip
    return pd.DataFrame([{**common, **phase, **row} for row in rows], columns=list(common))


def _phase_results(*days: str, part: str = FAST) -> pd.DataFrame:
    return results(*(result(d, 3.3, measure="phase_time", part=part) for d in days))


TESTED = _phase_results(SPRING, SUMMER, AUTUMN)


def _made(plan: pd.DataFrame, judged: pd.DataFrame, **more: Any) -> list[Row]:
    ran = more.get("ran", TESTED)
    table = followed(plan, ran, judged, AUTUMN, BATTERY, more.get("days", NO_DAYS))
    return [{str(k): v for k, v in row.items()} for row in table.to_dict("records")]


def test_a_choice_stands_beside_its_phase_and_the_measures_of_its_emphasis() -> None:
    judged = _changes(
        {},
        {"test": "drop jump", "measure": "rsi", "part": "30 cm", "verdict": tables.CANNOT_TELL},
        {"test": "back squat", "measure": "relative_strength", "part": ""},
        {"part": "start"},
        {"athlete_id": "B02"},
    )
    rows = _made(_plan({"note": "flying runs"}), judged)
    assert [(r["kind"], r["test"], r["measure"], r["verdict"]) for r in rows] == [
        ("phase", "60 m", "phase_time", tables.BETTER),
        ("sign", "drop jump", "rsi", tables.CANNOT_TELL),
    ]
    assert {r["note"] for r in rows} == {"flying runs"}


@pytest.mark.parametrize(
    ("chosen", "counts"),
    [("2026-06-30", False), (SUMMER, True), ("2026-09-14", True), (AUTUMN, False)],
)
def test_only_choices_since_the_last_testing_day_count(chosen: str, *, counts: bool) -> None:
    assert bool(_made(_plan({"chosen": chosen}), _changes({}))) is counts


def test_a_repeat_day_is_no_testing_day_of_its_own() -> None:
    days = Days({SUMMER: SPRING}, frozenset())
    assert _made(_plan({"chosen": "2026-05-20"}), _changes({}), days=days)
    assert not _made(_plan({"chosen": "2026-05-20"}), _changes({}))


@pytest.mark.parametrize(
    ("plan", "ran", "reason"),
    [
        ({}, _phase_results(SUMMER), "not run"),
        ({}, TESTED, "first mark"),
        ({"sprint_phase": ""}, TESTED, "no phase named"),
    ],
)
def test_where_nothing_can_stand_beside_a_choice_the_row_says_why(
    plan: dict[str, str], ran: pd.DataFrame, reason: str
) -> None:
    (row,) = _made(_plan(plan), _changes().head(0), ran=ran)
    assert (row["kind"], row["reason"], row["verdict"], row["test"]) == ("phase", reason, "", "")


def test_a_joined_phase_is_either_of_its_names() -> None:
    judged = _changes({"part": "start and drive"})
    for phase in ("start", "drive", "start and drive"):
        (row,) = _made(_plan({"sprint_phase": phase}), judged)
        assert row["verdict"] == tables.BETTER


def test_a_choice_of_a_joined_phase_is_of_either_of_its_names() -> None:
    """It was joined only where a gate was missed; the next day may have that gate again."""
    plan = _plan({"sprint_phase": f"drive and {FAST}"})
    rows = _made(plan, _changes({"part": "drive"}, {}, {"part": "start"}))
    assert [row["part"] for row in rows] == ["drive", FAST]
    (row,) = _made(plan, _changes().head(0))
    assert row["reason"] == "first mark"


def test_counts_are_of_people_by_group_and_emphasis() -> None:
    squad = {
        key: Member(key, "F", "", 20, groups)
        for key, groups in {
            "A01": ("sprint", "under 18"), "B02": ("sprint",), "C03": ("sprint",), "D04": (),
        }.items()
    }  # fmt: skip
    plan = _plan(*({"athlete_id": key} for key in squad))
    judged = _changes(
        {"verdict": tables.CANNOT_TELL},
        {"test": "100 m", "verdict": ""},  # no verdict there: the 60 m counts
        {"athlete_id": "B02", "test": "100 m"},
        {"athlete_id": "B02", "verdict": tables.WORSE},  # the first in the battery's order counts
    )
    table = followed(plan, TESTED, judged, AUTUMN, BATTERY, NO_DAYS)
    found = {one.group: one for one in by_emphasis(table, BATTERY, squad)}
    assert found["sprint"].athletes == 3
    assert found["sprint"].verdicts == {"": 1, tables.CANNOT_TELL: 1, tables.BETTER: 1}
    assert found["under 18"].verdicts == {tables.CANNOT_TELL: 1}
    assert found[""].verdicts == {"": 1}
    assert all(sum(one.verdicts.values()) == one.athletes for one in found.values())
    assert {one.emphasis for one in found.values()} == {SPRINGY}


def test_no_plan_gives_an_empty_table() -> None:
    assert _made(_plan(), _changes({})) == []
    assert list(by_emphasis(tables.empty("plan"), BATTERY, {})) == []
