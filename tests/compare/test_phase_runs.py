"""From attempts to runs by phase: what counts, what stands aside, and how far a split wanders."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd
import pytest

from pipeline.compare import phase_runs, phase_table, shape_model
from pipeline.compare.pairs import Days
from pipeline.compare.phase_gaps import error_covariance
from pipeline.compare.published_shape import MEN
from pipeline.compare.squad import Member
from tests.compare.made import AUTUMN, BATTERY, NO_DAYS, SPRING
from tests.compare.published_phases import phase_times

ENDS = (0, 10, 30, 60, 100)
NAMES = ("start", "drive", "maximum velocity", "maintenance")
GATES = "start=three-point; clock=gate; timing=gates"
GUN = "start=blocks; clock=gun; timing=electronic"
SQUAD = {"A": Member("A", "M", "100/200 m", 20, ()), "B": Member("B", "M", "hockey", 15, ())}

Rows = list[dict[str, object]]


def _attempt(key: int, times: Iterable[float], **cells: object) -> Rows:
    common: dict[str, object] = {
        "key": key, "day": AUTUMN, "athlete_id": "A", "sex": "M", "age": 20, "test": "100 m",
        "flags": "", "conditions": GATES, **cells,
    }  # fmt: skip
    stretches = zip(NAMES, ENDS[:-1], ENDS[1:], times, strict=True)
    rows: Rows = [
        common
        | {
            "measure": "phase_time", "part": name, "value": time,
            "conditions": f"{common['conditions']}; ends={lower}-{upper} m",
        }
        for name, lower, upper, time in stretches
    ]  # fmt: skip
    fade = {"measure": "fade", "part": "", "value": 0.07}
    return [*rows, common | fade]


TIMES = shape_model.expected(MEN, np.array(10.6))
NOBODY = pd.DataFrame(_attempt(0, TIMES)).head(0)


def _sprints(*rows: Rows, days: Days = NO_DAYS, reference: Rows | None = None) -> pd.DataFrame:
    own = pd.DataFrame([row for part in rows for row in part])
    listed = NOBODY if reference is None else pd.DataFrame(reference)
    return phase_runs.sprints(own, AUTUMN, BATTERY, days, SQUAD, listed)


def test_a_run_is_one_row_a_phase_with_its_ends_apart_from_the_key() -> None:
    made = _sprints(_attempt(1, TIMES))
    assert made[["from_m", "to_m"]].to_numpy().tolist() == [[0, 10], [10, 30], [30, 60], [60, 100]]
    assert made["time"].to_numpy() == pytest.approx(TIMES)
    assert set(made["conditions"]) == {GATES}
    assert set(made["fade"]) == {0.07}
    assert set(made["event"]) == {"100/200 m"}
    assert set(made["band"]) == {"18 and over"}
    assert made["current"].all()
    assert not made["listed"].any()


def test_earlier_days_are_reference_and_the_day_itself_is_judged() -> None:
    made = _sprints(_attempt(1, TIMES), _attempt(2, TIMES, day=SPRING))
    assert made.groupby("run")["current"].first().tolist() == [False, True]


def test_runs_taken_easy_and_runs_blown_over_the_limit_are_left_out() -> None:
    """+2.0 m/s is the limit for records: World Athletics, Technical Rules."""
    easy = Days({}, frozenset({(AUTUMN, "A", "100 m")}))
    assert _sprints(_attempt(1, TIMES), days=easy).empty
    blown = _attempt(1, TIMES, flags="wind +2.1 m/s, over the limit")
    kept = _attempt(2, TIMES, flags="wind +2.0 m/s")
    assert set(_sprints(blown, kept)["run"]) == {f"{AUTUMN} 2"}


@pytest.mark.parametrize(
    ("conditions", "split", "start"),
    [(GATES, 0.010, 0.010), (GUN, 0.010, 0.0), ("start=standing; timing=hand", 0.08, 0.08)],
)
def test_the_error_of_a_split_is_the_batterys_for_its_timing(
    conditions: str, split: float, start: float
) -> None:
    made = _sprints(_attempt(1, TIMES, conditions=conditions))
    assert set(made["split_error_s"]) == {split}
    assert set(made["start_error_s"]) == {start}


def test_no_sprint_at_all_gives_no_row() -> None:
    made = phase_runs.sprints(NOBODY, AUTUMN, BATTERY, NO_DAYS, SQUAD, NOBODY)
    assert made.empty
    assert list(made.columns) == list(phase_table.SPRINT_COLUMNS)


# --- the squad's own split error ---------------------------------------------------------------


def _pairs(people: int, error: float, levels: float = 0.0, seed: int = 3) -> pd.DataFrame:
    """Two runs each; gates err by ``error``, the second run is better or worse by ``levels``."""
    rng = np.random.default_rng(seed)
    rows = []
    for person in range(people):
        line = shape_model.expected(MEN, np.array(10.4 + 0.1 * rng.random()))
        for number in range(2):
            gates = rng.normal(0, error, 5)
            times = line * (1 + levels * rng.standard_normal()) + np.diff(gates)
            rows += _attempt(2 * person + number, times, athlete_id=f"P{person:03}")
    return pd.DataFrame(rows)


def _learned(attempts: pd.DataFrame) -> float | None:
    runs = attempts[attempts["measure"] == "phase_time"].assign(
        run=lambda d: d["key"].astype(str), listed=False, time=lambda d: d["value"].astype(float),
        from_m=lambda d: d["part"].map(dict(zip(NAMES, ENDS[:-1], strict=True))),
        conditions=GATES,
    )  # fmt: skip
    return phase_runs.split_errors(runs).get("100 m")


@pytest.mark.parametrize("error", [0.005, 0.010, 0.020])
def test_the_split_error_is_found_again_from_pairs_of_runs(error: float) -> None:
    """Known truth: gates err by a normal SD; 600 pairs know it to about 2 %."""
    assert _learned(_pairs(600, error)) == pytest.approx(error, rel=0.05)


def test_a_better_or_worse_second_run_is_level_and_hardly_moves_the_error() -> None:
    """A level that moves by 1 % from run to run would be .10 s if it counted in full."""
    found = _learned(_pairs(600, 0.010, levels=0.01))
    assert found is not None
    assert 0.010 * 0.97 < found < 0.015


def test_few_pairs_teach_nothing_and_a_small_error_does_not_replace_the_batterys() -> None:
    assert _learned(_pairs(9, 0.02)) is None
    assert _learned(_pairs(10, 0.02)) is not None
    calm = phase_runs.sprints(_pairs(40, 0.002), AUTUMN, BATTERY, NO_DAYS, {}, NOBODY)
    assert set(calm["split_error_s"]) == {0.010}
    shaky = phase_runs.sprints(_pairs(40, 0.03), AUTUMN, BATTERY, NO_DAYS, {}, NOBODY)
    assert shaky["split_error_s"].min() > 0.02


def test_the_whitening_is_that_of_the_error_of_gates() -> None:
    """A pair's shape difference has covariance 2σ²·HDDᵀHᵀ: checked against 20,000 drawn pairs."""
    rng = np.random.default_rng(8)
    line = np.asarray(TIMES)
    gates = rng.normal(0, 0.01, (2, 20_000, 5))
    first, second = (line + np.diff(g, axis=-1) for g in gates)
    turned = np.eye(4) - np.outer(line / line.sum(), np.ones(4))
    apart = (first - second) @ turned.T
    expected = 2 * turned @ error_covariance(4, 0.01, 0.01) @ turned.T
    assert np.cov(apart.T) == pytest.approx(expected, abs=6e-6)


# --- what a gun counts before first movement ---------------------------------------------------


def test_reactions_are_means_of_the_guns_runs_alone() -> None:
    rows = pd.DataFrame(
        [
            {"athlete_id": "A", "test": "100 m", "measure": "reaction_time", "value": value,
             "conditions": conditions}
            for value, conditions in ((0.14, GUN), (0.16, GUN), (0.9, GATES))
        ]
    )  # fmt: skip
    assert phase_runs.reactions(rows) == pytest.approx({("A", "100 m"): 0.15})
    assert phase_runs.reactions(rows.head(0)) == {}


# --- the finals go through the same door -------------------------------------------------------


def test_the_published_finals_as_attempts_give_the_published_phase_times() -> None:
    """Phase times of the finals 1987–2024, retyped in tests/reference."""
    times = np.asarray(phase_times("M")[0])
    rows: Rows = []
    for key, line in enumerate(times):
        rows += _attempt(key, line, athlete_id=f"R{key:02}", conditions=GUN)
    made = phase_runs.sprints(pd.DataFrame(rows), AUTUMN, BATTERY, NO_DAYS, {}, NOBODY)
    order = made.sort_values(["athlete_id", "from_m"])["time"].to_numpy().reshape(-1, 4)
    assert order == pytest.approx(times)
