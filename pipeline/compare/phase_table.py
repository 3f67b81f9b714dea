"""The table ``phases`` and, for each athlete and test, what may be said of the whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline import tables
from pipeline.compare import phase_gaps, shape_model
from pipeline.compare.norms import OWN_BAND, OWN_EVENT
from pipeline.compare.pairs import records
from pipeline.compare.phase_reference import (
    FEWEST_IN_GROUP,
    Choice,
    choose,
    per_person,
    serves,
)
from pipeline.compare.squad import YOUTH_BANDS
from pipeline.measures.spec import Array, key_fields
from pipeline.measures.velocity import FADE_M

SPRINT_COLUMNS = (
    "athlete_id", "sex", "event", "band", "test", "conditions", "run", "current", "listed", "phase",
    "from_m", "to_m", "time", "fade", "split_error_s", "start_error_s",
)  # fmt: skip
"""One row for each phase of each run: ``run`` tells an athlete's runs apart, ``band`` is the age
band on the day of the run, ``current`` says which runs are judged (the others are reference only),
``listed`` which come from the staff's own table, where a condition left blank fits any; ``time``
in s, ``fade`` of the run in s or missing, SDs of the error of one split and of first movement."""

STATE_COLUMNS = (
    "athlete_id", "test", "conditions", "runs", "state", "hint", "reference", "reason",
    "sprints", "people", "listed_people", "group", "group_people", "z_used",
)  # fmt: skip

_OWN_TIME = ("expected", "usual_low", "usual_high", "own_gap", "low", "high")
"""What a row has only where a line of own-time shape is in use."""

OWN_AGE, OWN_SEX = "own age", "own sex"
"""Rungs of the group's ladder besides those of ``norms``."""

_OF_RUN = (
    "athlete_id", "sex", "event", "band", "test", "current", "listed", "fade", "split_error_s",
    "start_error_s",
)  # fmt: skip


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
        ``expected`` the phase time expected at the athlete's own finish, ``usual_low`` and
        ``usual_high`` how far runners of that finish and the error of these runs reach, ``z`` the
        own-time gap's where a line is in use, else the group gap's. And one row for each athlete
        and test, ``STATE_COLUMNS``: ``state`` is *stands out*, *most to gain*, *balanced* or *too
        thin*, ``hint`` whether it rests on one run, ``reference`` and ``reason`` as in ``Choice``,
        ``listed_people`` how many of its people are of the staff's table, ``group`` and
        ``group_people`` who the others are and how many,
        ``z_used`` the z beyond which any phase stands out (missing without a line).
    """
    runs = _runs(sprints)
    rows: list[dict[str, object]] = []
    states: list[dict[str, object]] = []
    current = runs[runs["current"].astype(bool)]
    for _, kinds in current.groupby(["athlete_id", "test"], sort=True):
        own = _main_kind(kinds)
        others = runs[runs["athlete_id"] != own["athlete_id"].iloc[0]]
        others = others[_alike(others, own.iloc[0])]
        made, state = _judged(own, others)
        rows.extend(made)
        states.append(state)
    table = pd.DataFrame(rows, columns=list(tables.SCHEMAS["phases"].columns))
    return tables.shape("phases", table), pd.DataFrame(states, columns=list(STATE_COLUMNS))


@dataclass(frozen=True, slots=True)
class AtTarget:
    """One phase of a sprint now and as it usually is at a target time, in s."""

    athlete_id: str
    test: str
    target: float
    by: str
    phase: str
    from_m: float
    to_m: float
    now: float
    then: float


def at_targets(
    sprints: pd.DataFrame, aims: pd.DataFrame, reactions: Mapping[tuple[str, str], float]
) -> Iterator[AtTarget]:
    """The phase times that usually make a target time, where a line of own time holds it.

    Args:
        sprints: as of ``phases``.
        aims: targets of whole times: ``athlete_id test target by``.
        reactions: what an athlete's clock counts before first movement in a test, in s.
    """
    runs = _runs(sprints)
    for (athlete_id, test), wanted in aims.groupby(["athlete_id", "test"], sort=True):
        current = runs[runs["current"].astype(bool) & (runs["test"] == test)]
        own = _main_kind(current[current["athlete_id"] == athlete_id])
        if own.empty:
            continue
        others = runs[runs["athlete_id"] != athlete_id]
        model = choose(own, others[_alike(others, own.iloc[0])]).model
        for aim in records(wanted):
            whole = float(aim["target"]) - reactions.get((str(athlete_id), str(test)), 0.0)
            if model is None or not serves(model, whole):
                continue
            then = shape_model.expected(model, np.array(whole))
            now = np.array(own["times"].tolist(), dtype=float).mean(axis=0)
            ends = own["ends"].iloc[0]
            for k, name in enumerate(own["names"].iloc[0]):
                yield AtTarget(
                    athlete_id=str(athlete_id),
                    test=str(test),
                    target=float(aim["target"]),
                    by=str(aim["by"]),
                    phase=name,
                    from_m=ends[k],
                    to_m=ends[k + 1],
                    now=float(now[k]),
                    then=float(then[k]),
                )


def _main_kind(runs: pd.DataFrame) -> pd.DataFrame:
    """Of several kinds of runs of one athlete and test the kind with most of them."""
    if runs.empty:
        return runs
    return runs[runs["kind"] == runs.groupby("kind", sort=True).size().idxmax()]


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


def _alike(runs: pd.DataFrame, own: pd.Series) -> Array:
    """Which runs may be held beside an athlete's: one kind, or of the table and nowhere apart."""
    fields = key_fields(own["conditions"])
    cut = [own["test"], own["ends"], own["names"]]
    fits = (runs["kind"] == own["kind"]).to_numpy(dtype=bool, copy=True)
    for place in np.flatnonzero(runs["listed"].to_numpy(dtype=bool)):
        run = runs.iloc[place]
        named = key_fields(run["conditions"]).items()
        same = [run["test"], run["ends"], run["names"]] == cut
        fits[place] = same and all(fields.get(name) == word for name, word in named)
    return np.asarray(fits)


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
    rung, beside = _group(own.iloc[0], others)
    group = against_group(own, beside, errors)
    missing = np.full(width, np.nan)
    columns: dict[str, Array] = dict.fromkeys(_OWN_TIME, missing)
    said = np.full(width, "", dtype=object)
    z, used = group.z, float("nan")
    if choice.model is not None:
        gaps = phase_gaps.own_gaps(choice.model, times, errors)
        columns = {"expected": gaps.expected, "own_gap": gaps.cost}
        columns |= {"usual_low": gaps.usual_low, "usual_high": gaps.usual_high}
        columns |= {"low": gaps.low, "high": gaps.high}
        said = phase_gaps.findings(gaps, count).astype(object)
        z, used = gaps.z, float(gaps.used.max())
    elif group.people >= FEWEST_IN_GROUP:
        said = np.where(_most(group), tables.MOST_TO_GAIN, "").astype(object)
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
        "hint": count < phase_gaps.ENOUGH_RUNS and state == tables.MOST_TO_GAIN,
        "reference": choice.origin,
        "reason": choice.reason,
        "sprints": choice.sprints,
        "people": choice.people,
        "listed_people": choice.listed_people,
        "group": rung,
        "group_people": group.people,
        "z_used": used,
    }


def _group(own: pd.Series, others: pd.DataFrame) -> tuple[str, pd.DataFrame]:
    """The squad's runs an athlete's are set beside, and whose they are.

    Of the athlete's sex: own event and age band, own age band, and for adults own event and all.
    The young are set beside nobody of another age: what they lack there is years. Of unknown sex
    there is no group, and the staff's table is none.
    """
    squad = others[~others["listed"].astype(bool) & others["sex"].isin({own["sex"]} - {""})]
    aged = squad[squad["band"] == own["band"]]
    rungs = {
        OWN_BAND: aged[aged["event"] == own["event"]],
        OWN_AGE: aged,
        OWN_EVENT: squad[squad["event"] == own["event"]],
        OWN_SEX: squad,
    }
    if own["band"] in YOUTH_BANDS:
        rungs = {rung: rungs[rung] for rung in (OWN_BAND, OWN_AGE)}
    found = {k: v for k, v in rungs.items() if v["athlete_id"].nunique() >= FEWEST_IN_GROUP}
    return next(iter(found.items()), ("", squad.head(0)))


def _most(group: GroupGaps) -> Array:
    """The phase with the largest z, if it is a loss beyond error; of a tie the first."""
    ranks = np.where(np.isfinite(group.z), group.z, -np.inf)
    largest = np.arange(len(ranks)) == ranks.argmax()
    return np.asarray(largest & (ranks > 0) & group.measured)


def _state(said: Array, runs: int, choice: Choice, group: GroupGaps) -> str:
    """What is said of the whole; one run is too little to call anyone balanced."""
    for finding in (tables.STANDS_OUT, tables.MOST_TO_GAIN):
        if (said == finding).any():
            return finding
    held = choice.model is not None or group.people >= FEWEST_IN_GROUP
    return tables.BALANCED if held and runs >= phase_gaps.ENOUGH_RUNS else tables.TOO_THIN


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
