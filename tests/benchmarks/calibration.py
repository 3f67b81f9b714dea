"""How often the rules of change are right, on athletes whose truth is known.

Units of the first table: the published typical error of one attempt = 1. An attempt = level + day
+ attempt, with SDs 0.66 and 0.75 (jump height and sprints lie near that ratio, see
``tests/demo/form.py``); three attempts a day, judged by the mean of the best two. The squad's
within-day error is estimated from its own attempts, its day-to-day error from one repeat day where
it has one. A real change is four typical errors of the judged score, the squad's true one; beside
it stands one of four published errors, which differs where the squad's truth does.

The second table runs 40 m with gates every 10 m for a squad of eight, one gate moved 10 cm up the
track on the second day; the spread of form, start and beam is that of ``tests/demo/form.py``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from pipeline import tables
from pipeline.compare import reliability, verdicts
from pipeline.measures.spec import Array

Flags = NDArray[np.bool_]

ATTEMPTS, COUNTED = 3, 2
WITHIN = 0.75
DAY = float(np.sqrt(1 - WITHIN**2))
SCORE_ERROR = reliability.score_error(1.0, WITHIN, ATTEMPTS, COUNTED)
REAL_CHANGE = 4.0  # typical errors of the judged score
WORTHWHILE = 0.5 * SCORE_ERROR
LEVELS = 4.0
SEED = 20250914


@dataclass(frozen=True)
class Squad:
    """A kind of squad: who knows what of its error, and what that error really is."""

    name: str
    grade: str
    size: int = 12
    repeat_day: bool = False
    factor: float = 1.0
    spread_df: float | None = None


SQUADS = (
    Squad("published A, truth as published", "A"),
    Squad("published A, truth known to ±13 %", "A", spread_df=30),
    Squad("published B, truth as published", "B"),
    Squad("published B, truth known to ±16 %", "B", spread_df=20),
    Squad("own df 5 with published A, ±13 %", "A", 6, True, spread_df=30),
    Squad("own df 8 with published A, ±13 %", "A", 9, True, spread_df=30),
    Squad("own df 5 with published B, ±16 %", "B", 6, True, spread_df=20),
    Squad("own df 8 with published B, ±16 %", "B", 9, True, spread_df=20),
    Squad("own df 5 alone", "C", 6, True),
    Squad("own df 8 alone", "C", 9, True),
    Squad("published A, truth 1.25 times it", "A", factor=1.25),
    Squad("published A, truth 1.5 times it", "A", factor=1.5),
    Squad("own df 8 with A, truth 1.5 times it", "A", 9, True, factor=1.5),
)


def _scores(attempts: Array) -> Array:
    """Mean of the best two along the last axis."""
    return np.sort(attempts, axis=-1)[..., -COUNTED:].mean(axis=-1)


def _known(attempts: Array, scores: Array, squad: Squad) -> tuple[float, float]:
    """Typical error of the judged score and its df, as one squad would have it."""
    within = reliability.typical_error(attempts[:, :2].reshape(-1, ATTEMPTS))
    assert within is not None
    published = reliability.score_error(1.0, within.error, ATTEMPTS, COUNTED)
    own = reliability.typical_error(scores[:, [0, 2]]) if squad.repeat_day else None
    known = reliability.pooled(
        None if own is None else reliability.KnownError(own.error, own.df), published, squad.grade
    )
    assert known is not None
    return known.error, known.df


def judged(squad: Squad, change: float, athletes: int, *, published: bool = False) -> pd.DataFrame:
    """Rows of ``verdicts.judge``, and ``true``, for athletes who all changed by ``change``.

    ``change`` is in true typical errors of the squad's judged score, or in published ones.
    """
    rng = np.random.default_rng([SEED, *squad.name.encode(), int(change), published])
    squads = -(-athletes // squad.size)
    shape = (squads, squad.size)
    factor = np.full(squads, squad.factor)
    if squad.spread_df is not None:
        factor = np.sqrt(squad.spread_df / rng.chisquare(squad.spread_df, squads))
    factor = factor[:, np.newaxis, np.newaxis, np.newaxis]
    unit = SCORE_ERROR * (np.ones_like(factor) if published else factor)
    true = change * unit
    level = rng.normal(0, LEVELS, (*shape, 1, 1)) + true * np.array([0, 1, 0])[:, np.newaxis]
    day = rng.normal(0, DAY, (*shape, 3, 1))
    attempt = rng.normal(0, WITHIN, (*shape, 3, ATTEMPTS))
    attempts = level + factor * (day + attempt)
    scores = _scores(attempts)
    known = np.array([_known(a, s, squad) for a, s in zip(attempts, scores, strict=True)])
    error, df = np.repeat(known, squad.size, axis=0).T
    moved = (scores[..., 1] - scores[..., 0]).ravel()
    told = verdicts.judge(moved, error, df, WORTHWHILE)
    return told.assign(true=np.broadcast_to(true[..., 0, 0], shape).ravel())


def change_table(athletes: int, squads: tuple[Squad, ...] = SQUADS) -> pd.DataFrame:
    """One row a kind of squad, in %: verdicts without a change and with one, and coverage.

    ``false``: better or worse at no change. ``found`` and ``found, published``: better at a change
    of four typical errors, the true or the published one. ``wrong way``: worse at it. ``coverage``:
    intervals of the first two that hold the truth.
    """
    rows = []
    for squad in squads:
        still, moved = (judged(squad, change, athletes) for change in (0.0, REAL_CHANGE))
        printed = judged(squad, REAL_CHANGE, athletes, published=True)
        both = pd.concat([still, moved])
        rows.append(
            {
                "squad": squad.name,
                "false": still["verdict"].isin([tables.BETTER, tables.WORSE]).mean(),
                "found": (moved["verdict"] == tables.BETTER).mean(),
                "wrong way": (moved["verdict"] == tables.WORSE).mean(),
                "found, published": (printed["verdict"] == tables.BETTER).mean(),
                "coverage": both["true"].between(both["low"], both["high"]).mean(),
            }
        )
    return 100 * pd.DataFrame(rows).set_index("squad")


GATES_M = np.array([10.0, 20.0, 30.0, 40.0])
MOVED_M = 0.10
SECTION_ERROR = 0.02  # of a 10 m section's time, single run, day to day
TOP_SPEED, TIME_CONSTANT = 8.8, 1.2


@dataclass(frozen=True)
class Day:
    """A second day: which gate moved, how noisy the beam, how many runs, who got faster."""

    name: str
    moved_gate: int | None
    beam_s: float = 0.006
    runs: int = 3
    faster: float = 0.0


DAYS = (
    Day("no gate moved", None),
    Day("no gate moved, squad 2 % faster", None, faster=0.02),
    Day("10 m gate moved", 0),
    Day("20 m gate moved", 1),
    Day("30 m gate moved", 2),
    Day("30 m gate moved, squad 2 % faster", 2, faster=0.02),
    Day("30 m gate moved, two runs", 2, runs=2),
    Day("30 m gate moved, beam ±0.010 s", 2, beam_s=0.010),
    Day("30 m gate moved, beam ±0.015 s", 2, beam_s=0.015),
)


def _clock(distance: Array, speed: Array, constant: Array) -> Array:
    """Time in s at a distance in m of v·(1 − e^(−t/τ)), Lambert's W form."""
    along = 1 + distance / (speed * constant)
    return constant * (along + special.lambertw(-np.exp(-along)).real)


def _runs(rng: np.random.Generator, day: Day, days: int, n: int) -> Array:
    """Gate times, days × athletes × two days × runs × gates, in s."""
    shape = (days, n, 2, day.runs, 1)
    each_day, each_run = (days, n, 2, 1, 1), shape

    def form(between: float, within: float) -> Array:
        return rng.normal(0, between, each_day) + rng.normal(0, within, each_run)

    level = rng.normal(0, 0.05, (days, n, 1, 1, 1))
    second = np.array([0.0, 1.0])[:, np.newaxis, np.newaxis]
    speed = TOP_SPEED * (1 + level + form(0.0085, 0.008) + day.faster * second)
    constant = TIME_CONSTANT * (1 + rng.normal(0, 0.05, (days, n, 1, 1, 1)) + form(0.01, 0.01))
    moved = np.zeros((2, 1, len(GATES_M)))
    if day.moved_gate is not None:
        moved[1, 0, day.moved_gate] = MOVED_M
    clock = _clock(GATES_M + moved, speed, constant)
    beam = rng.normal(0, day.beam_s, clock.shape)
    return clock + form(0.02, 0.02) + beam


def _one_day(times: Array) -> tuple[Flags, Flags, Flags]:
    """Which inner gates fire, which sections do, and which sections hold a clear verdict."""
    n, _, runs, _ = times.shape
    sections = np.diff(times, axis=-1, prepend=0.0)
    mean = sections.mean(axis=(0, 1, 2))
    share = mean[1:] / (mean[:-1] + mean[1:])
    balance = verdicts.gate_balance(sections[..., :-1], sections[..., 1:], share)
    gate_change = np.diff(balance.mean(axis=2), axis=1)[:, 0]
    errors, freedoms = [], []
    for gate in range(len(share)):
        within = reliability.typical_error(balance[..., gate].reshape(-1, runs))
        assert within is not None
        errors.append(np.sqrt(2 / runs) * within.error)
        freedoms.append(within.df)
    order = np.argsort(times[..., -1], axis=-1)[..., :COUNTED, np.newaxis]
    scores = np.take_along_axis(sections, order, axis=2).mean(axis=2)
    better = scores[:, 0] - scores[:, 1]
    error = SECTION_ERROR * mean
    gates = verdicts.day_shift(gate_change, np.array(errors), np.array(freedoms))["fired"]
    values = verdicts.day_shift(better, np.sqrt(2) * error, reliability.PRIOR_DF["A"])["fired"]
    told = verdicts.judge(
        better.ravel(), np.tile(error, n), reliability.PRIOR_DF["A"], 0.01 * np.tile(mean, n)
    )
    clear = told["verdict"].isin([tables.BETTER, tables.WORSE]).to_numpy().reshape(better.shape)
    return gates.to_numpy(), values.to_numpy(), clear.any(axis=0)


def gate_table(days: int, n: int = 8, kinds: tuple[Day, ...] = DAYS) -> pd.DataFrame:
    """One row a kind of day, in % of days: what fired, what a section's own test saw.

    ``stands`` is the share of days on which a section beside the moved gate keeps a clear verdict.
    """
    inner = len(GATES_M) - 1
    rows = []
    for kind in kinds:
        rng = np.random.default_rng([SEED, *kind.name.encode()])
        gate_fired = section_fired = stands = 0
        moved = range(inner) if kind.moved_gate is None else [kind.moved_gate]
        beside = sorted({s for gate in moved for s in (gate, gate + 1)})
        for times in _runs(rng, kind, days, n):
            gates, sections, clear = _one_day(times)
            gate_fired += bool(gates[list(moved)].any())
            section_fired += bool(sections[beside].any())
            withheld = sections.copy()
            withheld[:-1] |= gates
            withheld[1:] |= gates
            stands += bool((clear & ~withheld)[beside].any())
        rows.append(
            {
                "day": kind.name,
                "gate fires": 100 * gate_fired / days,
                "section fires": 100 * section_fired / days,
                "stands": 100 * stands / days,
            }
        )
    return pd.DataFrame(rows).set_index("day")


def printed(changes: pd.DataFrame, gates: pd.DataFrame, athletes: int, days: int) -> str:
    """Both tables in words and %."""
    return "\n\n".join(
        [
            f"{athletes} athletes a row, three attempts, mean of the best two; % of athletes",
            changes.to_string(float_format="{:.1f}".format),
            f"{days} days a row, eight athletes, 40 m with gates every 10 m; % of days",
            gates.to_string(float_format="{:.1f}".format),
        ]
    )


def table(athletes: int = 20_000, days: int = 1000) -> str:
    """Both tables, simulated and printed."""
    return printed(change_table(athletes), gate_table(days), athletes, days)
