"""The table ``phases`` and, for each athlete and test, what may be said of the whole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline import tables
from pipeline.compare import phase_gaps
from pipeline.compare.phase_reference import (
    FEWEST_IN_GROUP,
    Choice,
    choose,
    per_person,
)
from pipeline.measures.spec import Array, key_fields
from pipeline.measures.velocity import FADE_M

SPRINT_COLUMNS = (
    "athlete_id", "sex", "test", "conditions", "run", "current", "phase", "from_m", "to_m",
    "time", "fade", "split_error_s", "start_error_s",
)  # fmt: skip
"""One row for each phase of each run: ``run`` tells an athlete's runs apart, ``current`` says which
are judged (the others are reference only), ``time`` in s, ``fade`` of the run in s or missing,
SDs of the error of one split and of first movement in s."""

STATE_COLUMNS = (
    "athlete_id", "test", "conditions", "runs", "state", "hint", "reference", "reason",
    "sprints", "people", "group_people", "z_used",
)  # fmt: skip

_OF_RUN = ("athlete_id", "sex", "test", "current", "fade", "split_error_s", "start_error_s")


@dataclass(frozen=True, slots=True)
class GroupGaps:
    """Phase times beside a group's; arrays of shape (K,), missing where the group is too small.

    Attributes:
        mean: the group's mean time in s, a person counting once.
        gap: the athlete's mean time − ``mean``, in s; positive is lost time.
        z: the gap ÷ SD between people·√(1 + 1/n); the rank of 60–100 m is the smaller of this and
            the same for fade, since a slow end is no fade where top speed is low.
        measured: whether the gap is a loss beyond error of measurement and of the group's mean.
        people: how many others.
    """

    mean: Array
    gap: Array
    z: Array
    measured: Array
    people: int


def phases(sprints: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Judge every athlete's current runs of every test, phase by phase.

    Runs count together when test, phases and comparison key agree; where an athlete
    has current runs of several kinds in one test, the kind with most runs is judged.

    Args:
        sprints: ``SPRINT_COLUMNS``; ``conditions`` is the comparison key, whose ``ends`` are not
            looked at, since here they are the phases' own.

    Returns:
        The table ``phases``: ``own_gap``, ``low`` and ``high`` are the cost at the finish in s,
        ``expected`` the phase time expected at the athlete's own finish, ``z`` the own-time gap's
        where a line is in use, else the group gap's. And one row for each athlete and test,
        ``STATE_COLUMNS``: ``state`` is *stands out*, *most to gain*, *balanced* or *too thin*,
        ``hint`` whether it rests on one run, ``reference`` and ``reason`` as in ``Choice``,
        ``z_used`` the z beyond which any phase stands out (missing without a line).
    """
    runs = _runs(sprints)
    rows: list[dict[str, object]] = []
    states: list[dict[str, object]] = []
    current = runs[runs["current"].astype(bool)]
    for _, kinds in current.groupby(["athlete_id", "test"], sort=True):
        own = kinds[kinds["kind"] == kinds.groupby("kind", sort=True).size().idxmax()]
        alike = runs[runs["kind"] == own["kind"].iloc[0]]
        others = alike[alike["athlete_id"] != own["athlete_id"].iloc[0]]
        made, state = _judged(own, others)
        rows.extend(made)
        states.append(state)
    table = pd.DataFrame(rows, columns=list(tables.SCHEMAS["phases"].columns))
    return tables.shape("phases", table), pd.DataFrame(states, columns=list(STATE_COLUMNS))


def _runs(sprints: pd.DataFrame) -> pd.DataFrame:
    """One row a run: phase times as a tuple, its ends, and the comparison key without them.

    Left out is a run that lacks a time in any phase or whose phases do not join: its whole time
    would not be theirs.
    """
    ordered = sprints.sort_values(["athlete_id", "test", "conditions", "run", "from_m"])
    keys = ordered["conditions"].map(_without_ends)
    ordered = ordered.assign(key=keys, sex=ordered["sex"].fillna(""))
    rows = []
    for _, run in ordered.groupby(["athlete_id", "test", "key", "run"], sort=True):
        first = run.iloc[0]
        starts, ends = run["from_m"].tolist(), run["to_m"].tolist()
        times = run["time"].to_numpy(dtype=float)
        if starts[1:] != ends[:-1] or not (times > 0).all():
            continue
        names = tuple(run["phase"])
        alike = (first["test"], starts, ends[-1], names, first["key"])
        rows.append(
            {
                **{name: first[name] for name in _OF_RUN},
                "conditions": first["key"],
                "ends": (*starts, ends[-1]),
                "names": names,
                "times": tuple(times.tolist()),
                "kind": repr(alike),
            }
        )
    return pd.DataFrame(rows, columns=[*_OF_RUN, "conditions", "ends", "names", "times", "kind"])


def _without_ends(conditions: str) -> str:
    fields = key_fields(str(conditions))
    return "; ".join(f"{name}={text}" for name, text in fields.items() if name != "ends")


def _judged(
    own: pd.DataFrame, others: pd.DataFrame
) -> tuple[list[dict[str, object]], dict[str, object]]:
    choice = choose(own, others)
    times = np.array(own["times"].tolist(), dtype=float)
    count, width = times.shape
    errors = np.array(
        [
            phase_gaps.error_covariance(width, split, start)
            for split, start in zip(own["split_error_s"], own["start_error_s"], strict=True)
        ]
    )
    sex = own["sex"].iloc[0]
    known = others["sex"].isin({sex} - {""})  # of unknown sex there is no group
    group = against_group(own, others[known], errors)
    missing = np.full(width, np.nan)
    columns: dict[str, Array] = dict.fromkeys(("expected", "own_gap", "low", "high"), missing)
    said = np.full(width, "", dtype=object)
    z, used = group.z, float("nan")
    if choice.model is not None:
        gaps = phase_gaps.own_gaps(choice.model, times, errors)
        columns = {"expected": gaps.expected, "own_gap": gaps.cost}
        columns |= {"low": gaps.low, "high": gaps.high}
        said = phase_gaps.findings(gaps, count).astype(object)
        z, used = gaps.z, float(gaps.used.max())
    elif group.people >= FEWEST_IN_GROUP:
        said = np.where(_most(group), phase_gaps.MOST_TO_GAIN, "").astype(object)
    first = own.iloc[0]
    columns |= {
        "time": times.mean(axis=0),
        "group_reference": group.mean,
        "group_gap": group.gap,
        "z": z,
    }
    rows = [
        {
            "athlete_id": first["athlete_id"],
            "test": first["test"],
            "phase": name,
            "from_m": first["ends"][k],
            "to_m": first["ends"][k + 1],
            "runs": count,
            "finding": said[k],
            **{column: float(figures[k]) for column, figures in columns.items()},
        }
        for k, name in enumerate(first["names"])
    ]
    state = _state(said, count, choice, group)
    return rows, {
        "athlete_id": first["athlete_id"],
        "test": first["test"],
        "conditions": first["conditions"],
        "runs": count,
        "state": state,
        "hint": count < phase_gaps.ENOUGH_RUNS and state == phase_gaps.MOST_TO_GAIN,
        "reference": choice.origin,
        "reason": choice.reason,
        "sprints": choice.sprints,
        "people": choice.people,
        "group_people": group.people,
        "z_used": used,
    }


def _most(group: GroupGaps) -> Array:
    """The phase with the largest z, if it is a loss beyond error; of a tie the first."""
    ranks = np.where(np.isfinite(group.z), group.z, -np.inf)
    largest = np.arange(len(ranks)) == ranks.argmax()
    return np.asarray(largest & (ranks > 0) & group.measured)


def _state(said: Array, runs: int, choice: Choice, group: GroupGaps) -> str:
    """What is said of the whole; one run is too little to call anyone balanced."""
    for finding in (phase_gaps.STANDS_OUT, phase_gaps.MOST_TO_GAIN):
        if (said == finding).any():
            return finding
    held = choice.model is not None or group.people >= FEWEST_IN_GROUP
    return phase_gaps.BALANCED if held and runs >= phase_gaps.ENOUGH_RUNS else phase_gaps.TOO_THIN


def against_group(own: pd.DataFrame, others: pd.DataFrame, errors: Array) -> GroupGaps:
    """Phase times beside those of others of one sex, timed and started the same way.

    Args:
        own: the athlete's runs.
        others: the group's runs, the athlete's own not among them.
        errors: covariance of each own run's phase times in s², shape (R, K, K).

    Returns:
        Gaps and z; missing where fewer than ``FEWEST_IN_GROUP`` others ran.
    """
    times = np.array(own["times"].tolist(), dtype=float)
    runs, width = times.shape
    people = int(others["athlete_id"].nunique())
    if people < FEWEST_IN_GROUP:
        missing = np.full(width, np.nan)
        return GroupGaps(missing, missing, missing, np.zeros(width, dtype=bool), people)
    group = per_person(others)
    gap = times.mean(axis=0) - group.mean(axis=0)
    spread = group.std(axis=0, ddof=1)
    z = _standing(gap, spread, people)
    ends = own["ends"].iloc[0]
    fades = others.groupby("athlete_id")["fade"].mean().dropna()
    fade = own["fade"].mean()
    if tuple(ends[-2:]) == FADE_M and len(fades) >= FEWEST_IN_GROUP and np.isfinite(fade):
        faded = np.array([fade - fades.mean()])
        z[-1] = min(z[-1], _standing(faded, np.array([fades.std(ddof=1)]), len(fades))[0])
    known = np.diagonal(errors, axis1=-2, axis2=-1).sum(axis=0) / runs**2
    beyond = phase_gaps.simultaneous(width) * np.sqrt(known + spread**2 / people)
    return GroupGaps(group.mean(axis=0), gap, z, gap > beyond, people)


def _standing(gap: Array, spread: Array, people: int) -> Array:
    """A gap in SDs of one more person drawn beside ``people``; missing where all are equal."""
    with np.errstate(divide="ignore", invalid="ignore"):
        z = gap / (spread * np.sqrt(1 + 1 / people))
    return np.where(spread > 0, z, np.nan)
