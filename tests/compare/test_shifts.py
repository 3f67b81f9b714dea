"""A day on which everybody moved together, and a gate that stood elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from tests.compare.made import AUTUMN, CMJ, GATES, SPRING, World, result, tries

GATES_M = (10, 20, 30, 40)
PEOPLE = [f"B{n}" for n in range(8)]


def _clock(distance: float, speed: float, constant: float) -> float:
    """Time in s at a distance of v·(1 − e^(−t/τ)), found by bisection."""
    low, high = 0.0, 60.0
    for _ in range(80):
        middle = (low + high) / 2
        run = speed * (middle - constant * (1 - np.exp(-middle / constant)))
        low, high = (middle, high) if run < distance else (low, middle)
    return low


def _squad(moved_gate: int | None, moved_m: float, faster: float = 1.0, seed: int = 5) -> World:
    """Eight people, 40 m with gates every 10 m, three runs a day; one gate moved on the second."""
    rng = np.random.default_rng(seed)
    rows: list[dict[str, object]] = []
    attempts: list[dict[str, object]] = []
    for who in PEOPLE:
        speed, constant = 8.8 * (1 + rng.normal(0, 0.05)), 1.2 * (1 + rng.normal(0, 0.05))
        for day in (SPRING, AUTUMN):
            form = rng.normal(0, 0.0085)
            runs = []
            for _ in range(3):
                own = speed * (1 + form + rng.normal(0, 0.008)) * (faster if day == AUTUMN else 1)
                late = rng.normal(0, 0.02)
                places = [
                    g + (moved_m if day == AUTUMN and g == moved_gate else 0) for g in GATES_M
                ]
                runs.append(
                    [_clock(g, own, constant) + late + rng.normal(0, 0.006) for g in places]
                )
            rows += _rows(day, who, runs)
            attempts += _attempts(day, who, runs)
    return World(rows, attempts=attempts)


def _sections(run: Sequence[float]) -> dict[str, float]:
    ends = [0.0, *run]
    return {
        f"{a}-{b} m": ends[n + 1] - ends[n]
        for n, (a, b) in enumerate(zip((0, *GATES_M), GATES_M, strict=False))
    }


def _values(run: Sequence[float]) -> list[tuple[str, str, float]]:
    """Measure, part, value of one run."""
    values = [("time", "", run[-1])]
    values += [("split_time", f"{g} m", t) for g, t in zip(GATES_M, run, strict=True)]
    return values + [("segment_time", part, t) for part, t in _sections(run).items()]


CELLS: dict[str, Any] = {"test": "40 m", "conditions": GATES}


def _rows(day: str, who: str, runs: list[list[float]]) -> list[dict[str, object]]:
    best = sorted(runs, key=lambda run: run[-1])[:2]
    both = zip(*(_values(run) for run in best), strict=True)
    return [
        result(day, one[2], **CELLS, athlete_id=who, measure=one[0], part=one[1],
               score=(one[2] + other[2]) / 2, n_attempts=3)
        for one, other in both
    ]  # fmt: skip


def _attempts(day: str, who: str, runs: list[list[float]]) -> list[dict[str, object]]:
    made = []
    for measure, part, _ in _values(runs[0]):
        found = [next(v for m, p, v in _values(run) if (m, p) == (measure, part)) for run in runs]
        made += tries(day, *found, **CELLS, athlete_id=who, measure=measure, part=part)
    return made


@pytest.mark.parametrize("gate", [20, 30])
@pytest.mark.parametrize("seed", [6, 7, 8])
def test_a_gate_moved_by_ten_centimetres_is_seen_and_no_verdict_on_it_survives(
    gate: int, seed: int
) -> None:
    judged = _squad(gate, 0.10, seed=seed).judged()
    assert {shift.gate for shift in judged.shifts if shift.gate} == {f"{gate} m"}
    table = judged.table
    beside = {f"{gate} m", f"{gate - 10}-{gate} m", f"{gate}-{gate + 10} m"}
    on_it = table[table["part"].isin(beside)]
    known = on_it[on_it["reason"] == "everybody moved together"]
    assert set(on_it["verdict"]) <= {"cannot tell", ""}
    # A section between gates has no published error: the split at the gate carries the verdict.
    assert not known.empty or set(on_it["verdict"]) == {""}


def test_a_day_like_the_other_moves_no_gate() -> None:
    assert [s for s in _squad(None, 0.0).judged().shifts if s.gate] == []


def test_a_squad_that_got_faster_moves_its_times_and_no_gate() -> None:
    judged = _squad(None, 0.0, faster=1.06).judged()
    assert judged.shifts
    assert [s for s in judged.shifts if s.gate] == []
    time = next(s for s in judged.shifts if s.measure == "time")
    assert time.n == 8
    assert time.shift > 0  # better
    table = judged.table
    assert set(table[table["measure"] == "time"]["verdict"]) == {"cannot tell"}
    assert set(table[table["measure"] == "time"]["reason"]) == {"everybody moved together"}


def _jumps(gains: Sequence[float]) -> World:
    rows = []
    for n, gain in enumerate(gains):
        cells: dict[str, Any] = {**CMJ, "athlete_id": f"B{n}"}
        rows += [result(SPRING, 40.0, **cells), result(AUTUMN, 40.0 + gain, **cells)]
    return World(rows)


def test_a_group_that_jumped_six_higher_has_no_verdict_and_its_shift_joins_the_interval() -> None:
    gains = [5.0, 5.5, 6.0, 6.5, 7.0, 6.0]
    judged = _jumps(gains).judged()
    (shift,) = judged.shifts
    assert (shift.n, shift.shift, shift.gate) == (6, pytest.approx(6.0), "")
    assert set(judged.table["verdict"]) == {"cannot tell"}
    assert set(judged.table["reason"]) == {"everybody moved together"}
    wide = judged.table["high"] - judged.table["low"]
    alone = _jumps(gains[:1]).judged().table
    narrow = alone["high"] - alone["low"]
    assert wide.iloc[0] > 2 * narrow.iloc[0]


def test_four_people_are_too_few_to_say_so() -> None:
    judged = _jumps([6.0] * 4).judged()
    assert judged.shifts == ()


def test_one_who_jumped_higher_among_others_who_did_not_keeps_the_verdict() -> None:
    judged = _jumps([12.0, 0.5, -0.5, 0.0, 1.0, -1.0, 0.2, -0.2]).judged()
    assert judged.shifts == ()
    own = judged.table.set_index("athlete_id")["verdict"]
    assert own["B0"] == "clearly better"
