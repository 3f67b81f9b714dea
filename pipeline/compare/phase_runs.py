"""From attempts to the runs whose phases are judged, and how far one split of them wanders.

The error of a split is the battery's for the way it was timed, or what the squad's own pairs of
runs show, whichever is larger. Two runs of one athlete on one day differ in level and in shape.
The level is taken out: with p the phase times, T their sum and s the shares of the mean run,
g = p − s·T keeps the shape alone. With D the matrix of differences between gates and
H = I − s·1ᵀ, a pair's difference of shapes has the covariance 2σ²·HDDᵀHᵀ, of rank K − 1; so
dᵀ(HDDᵀHᵀ)⁺d ÷ 2(K − 1), its mean over all pairs, is σ². That a faster run gains more in some phases
than in others is left in: it makes the error a little larger, never smaller.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.compare.pairs import Days, records
from pipeline.compare.phase_gaps import error_covariance
from pipeline.compare.phase_table import SPRINT_COLUMNS
from pipeline.compare.squad import Squad, age_band
from pipeline.measures.spec import OVER_LIMIT, Array, key_fields, key_without

FEWEST_PAIRS = 10
"""Pairs of runs that a squad's own split error needs: with K − 1 figures each it is then known to
about a sixth. A convention, no source."""

_UNKNOWN_TIMING = "gates"


def sprints(
    attempts: pd.DataFrame,
    day: str,
    battery: Battery,
    days: Days,
    squad: Squad,
    reference: pd.DataFrame,
) -> pd.DataFrame:
    """Every run by phase up to a day, and those of the staff's own table.

    Runs taken easy and runs with the wind over the limit are left out: both tell of something else
    than the athlete's shape. Runs of earlier days and of repeat days serve as reference.

    Args:
        attempts: of ``registry.attempt_values``, of ``day`` and of the days before.
        day: the ISO date whose runs are judged.
        battery: the errors of splits.
        days: tests taken easy.
        squad: the events, as of the day.
        reference: of ``registry.attempt_values``, the runs of the staff's own table.

    Returns:
        ``phase_table.SPRINT_COLUMNS``.
    """
    own = _by_phase(attempts)
    easy = [
        days.easy(*(str(row[f]) for f in ("day", "athlete_id", "test"))) for row in records(own)
    ]
    own = own[~np.array(easy, dtype=bool)]
    runs = pd.concat([own.assign(listed=False), _by_phase(reference).assign(listed=True)])
    runs = runs[~runs["flags"].astype(str).str.contains(OVER_LIMIT, regex=False)]
    ends = [_ends(str(conditions)) for conditions in runs["conditions"]]
    runs = runs.assign(
        conditions=[key_without(str(c), "ends") for c in runs["conditions"]],
        from_m=[lower for lower, _ in ends],
        to_m=[upper for _, upper in ends],
        run=[f"{row['day']} {row['key']}" for row in records(runs)],
        current=(runs["day"] == day) & ~runs["listed"],
        phase=runs["part"],
        time=runs["value"].astype(float),
        event=[member.event if (member := squad.get(str(a))) else "" for a in runs["athlete_id"]],
        band=[age_band(None if pd.isna(age) else float(age)) for age in runs["age"]],
    )
    learned = split_errors(runs)
    errors = [_errors(row, battery, learned) for row in records(runs)]
    runs = runs.assign(
        split_error_s=[split for split, _ in errors], start_error_s=[start for _, start in errors]
    )
    return runs[list(SPRINT_COLUMNS)].reset_index(drop=True)


def _by_phase(attempts: pd.DataFrame) -> pd.DataFrame:
    """The phase times of whole runs, with the fade of the run where it has one."""
    rows = attempts[attempts["measure"] == "phase_time"]
    fades = attempts[attempts["measure"] == "fade"].drop_duplicates("key").set_index("key")
    return rows.assign(fade=rows["key"].map(fades["value"]).astype(float))


def _ends(conditions: str) -> tuple[float, float]:
    lower, _, upper = key_fields(conditions)["ends"].removesuffix(" m").partition("-")
    return float(lower), float(upper)


def _errors(
    row: Mapping[str, Any], battery: Battery, learned: Mapping[str, float]
) -> tuple[float, float]:
    """The SD of the error of a split of a run, and of its first movement, in s.

    A reaction is read off the block to a thousandth; from a gate or off film the start errs as
    every other split does.
    """
    fields = key_fields(str(row["conditions"]))
    timed = battery.split_errors[fields.get("timing") or _UNKNOWN_TIMING]
    split = max(timed, learned.get(str(row["test"]), 0.0))
    return split, 0.0 if _from_gun(str(row["conditions"])) else split


def _from_gun(conditions: str) -> bool:
    return key_fields(conditions).get("clock") == "gun"


def reactions(attempts: pd.DataFrame) -> dict[tuple[str, str], float]:
    """What the clock counted before first movement, mean of a day's runs by (athlete, test), s.

    Args:
        attempts: of ``registry.attempt_values``, of one day.
    """
    rows = attempts[attempts["measure"] == "reaction_time"]
    rows = rows[rows["conditions"].astype(str).map(_from_gun).astype(bool)]
    means = rows.groupby(["athlete_id", "test"])[["value"]].mean().reset_index()
    return {(str(r["athlete_id"]), str(r["test"])): float(r["value"]) for r in records(means)}


def split_errors(runs: pd.DataFrame) -> dict[str, float]:
    """What the squad's own pairs of runs say of the error of one split, by test, in s.

    Args:
        runs: one row a phase a run: ``athlete_id test day conditions run from_m listed time``.

    Returns:
        Tests with at least ``FEWEST_PAIRS`` pairs of runs of one person, day and comparison key.
    """
    squares: dict[str, list[float]] = {}
    same = ["athlete_id", "test", "day", "conditions"]
    for key, alike in runs[~runs["listed"].astype(bool)].groupby(same, sort=True):
        by_ends: dict[tuple[float, ...], list[Array]] = {}
        for _, run in alike.groupby("run", sort=True):
            ordered = run.sort_values("from_m")
            times = ordered["time"].to_numpy(dtype=float)
            if len(times) > 1 and (times > 0).all():
                by_ends.setdefault(tuple(ordered["from_m"]), []).append(times)
        start = 0.0 if _from_gun(str(key[3])) else 1.0
        for kind in by_ends.values():
            squares.setdefault(str(key[1]), []).extend(_apart(kind, start))
    return {
        test: math.sqrt(float(np.mean(found)))
        for test, found in squares.items()
        if len(found) >= FEWEST_PAIRS
    }


def _apart(runs: list[Array], start: float) -> Iterator[float]:
    """σ² in s² from each two runs of one athlete, day and kind; ``start`` 0: it errs not."""
    for first, second in combinations(runs, 2):
        mean = (first + second) / 2
        turned = np.eye(len(mean)) - np.outer(mean / mean.sum(), np.ones(len(mean)))
        apart = turned @ (first - second)
        unit = turned @ error_covariance(len(mean), 1.0, start) @ turned.T
        weighed = apart @ np.linalg.pinv(unit, hermitian=True) @ apart
        yield float(weighed) / (2 * (len(mean) - 1))
