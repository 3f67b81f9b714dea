"""The main sprint of an athlete, and a group's counts by phase: they add up to the tested."""

from __future__ import annotations

import pandas as pd

from pipeline import tables
from pipeline.compare.phase_summary import by_group, with_main
from pipeline.compare.squad import Member
from tests.compare.made import BATTERY


def _states(*rows: tuple[str, str, str, str, int]) -> pd.DataFrame:
    columns = ["athlete_id", "test", "state", "reference", "runs"]
    return with_main(pd.DataFrame(list(rows), columns=columns), BATTERY)


def test_the_main_sprint_has_a_line_then_two_runs_then_the_batterys_order() -> None:
    states = _states(
        ("A", "100 m", "too thin", "", 1),
        ("A", "60 m", "balanced", "", 2),
        ("B", "100 m", "balanced", "", 2),
        ("B", "60 m", "stands out", "squad", 2),
        ("C", "60 m", "balanced", "", 2),
        ("C", "100 m", "balanced", "", 2),
        ("D", "100 m", "most to gain", "published", 1),
        ("D", "60 m", "balanced", "", 3),
    )
    main = states[states["main"]].set_index("athlete_id")["test"]
    assert main.to_dict() == {"A": "60 m", "B": "60 m", "C": "100 m", "D": "100 m"}


def _phase(
    athlete: str, phase: str, finding: str, z: float, test: str = "60 m"
) -> dict[str, object]:
    ends = {"start": (0.0, 10.0), "drive": (10.0, 30.0), "maximum velocity": (30.0, 60.0)}[phase]
    return {
        "athlete_id": athlete, "test": test, "phase": phase, "from_m": ends[0], "to_m": ends[1],
        "runs": 2, "z": z, "finding": finding,
    }  # fmt: skip


def test_counts_add_up_and_an_athlete_counts_once() -> None:
    states = _states(
        ("A", "60 m", "stands out", "squad", 2),
        ("B", "60 m", "most to gain", "", 2),
        ("C", "60 m", "balanced", "", 2),
        ("D", "60 m", "too thin", "", 1),
        ("A", "100 m", "most to gain", "", 2),
    )
    rows = [
        _phase("A", "start", "stands out", 3.0),
        _phase("A", "drive", "stands out", 4.0),  # the larger z
        _phase("A", "maximum velocity", "most to gain", 9.0, test="100 m"),  # not the main sprint
        _phase("B", "drive", "most to gain", 1.2),
        _phase("C", "drive", "", 0.1),
    ]
    table = pd.DataFrame(rows, columns=list(tables.SCHEMAS["phases"].columns))
    squad = {k: Member(k, "F", "", 20, ("sprint",)) for k in "ABCDE"} | {
        "F": Member("F", "F", "", 20, ("field",)), "G": Member("G", "F", "", 20, ("sprint",)),
    }  # fmt: skip
    groups = list(by_group(table, states, frozenset("ABCDEF"), squad))
    sprint, field = groups
    assert (sprint.group, sprint.athletes) == ("sprint", 5)  # G was not tested
    (drive,) = sprint.phases
    assert (drive.phase, drive.from_m, drive.to_m) == ("drive", 10.0, 30.0)
    assert (drive.stands_out, drive.most) == (1, 1)
    assert (sprint.balanced, sprint.too_thin, sprint.none) == (1, 1, 1)
    assert (field.athletes, field.none, field.phases) == (1, 1, ())
    for group in groups:
        named = sum(one.stands_out + one.most for one in group.phases)
        assert named + group.balanced + group.too_thin + group.none == group.athletes
