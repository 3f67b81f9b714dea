"""Who an athlete's phases may be held against, and the line fitted to them.

A run is one row of ``phase_table``. Two runs may be held together when test, phases and comparison
key agree. Nobody is in their own reference.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pipeline.compare import published_shape, shape_model
from pipeline.compare.shape_model import ShapeModel
from pipeline.measures.phases import FROM_GUN
from pipeline.measures.spec import Array, key_fields
from pipeline.tables import PUBLISHED_LINE, SQUAD_LINE

FEWEST_SPRINTS, FEWEST_PEOPLE = 20, 10
"""Sprints, and people who ran them, that a line of a squad's own needs: a convention, no source.
With ten people the spread of style is known to about a quarter, 1/√(2·8)."""

FEWEST_IN_GROUP = 5
"""Other people a group's mean needs, so that no page gives away one of them."""

LEAST_RANGE = 0.002
"""SD of ln T that a line needs: less, .02 s in ten, is as much error of timing as speed."""

NO_SEX = "sex not recorded"
TOO_FEW = "too few sprints of that sex"
OUTSIDE = "whole time outside the reference"
NOT_FROM_MOVEMENT = "not counted from first movement"
ONE_PHASE = "a single phase"
NO_RANGE = "reference all of one time"
"""Why no line is in use: keys of the words for it."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The line in use for one athlete, or why there is none.

    Attributes:
        model: the line; ``None`` where none may serve.
        origin: ``PUBLISHED_LINE``, ``SQUAD_LINE`` or empty.
        reason: one of the keys above where there is no line, else empty.
        sprints: sprints by others of that sex that could be used, published ones not counted.
        people: how many people ran them.
        listed_people: how many of these are of the staff's own table.
    """

    model: ShapeModel | None
    origin: str
    reason: str
    sprints: int
    people: int
    listed_people: int


def per_person(reference: pd.DataFrame) -> Array:
    """Phase times in s, one row a person: the geometric mean of that person's runs, (people, K).

    Each person counts once, so that the one who ran most does not stand for the squad's style.
    """
    logs = np.log(np.array(reference["times"].tolist(), dtype=float))
    people = pd.DataFrame(logs).groupby(reference["athlete_id"].to_numpy(), sort=True).mean()
    return np.asarray(np.exp(people.to_numpy(dtype=float)))


def choose(own: pd.DataFrame, others: pd.DataFrame) -> Choice:
    """The line an athlete's runs are held against.

    A line of the squad's own (its history or the staff's table) takes over as soon as it stands
    on ``FEWEST_SPRINTS`` sprints by ``FEWEST_PEOPLE`` other people of the athlete's sex, as it was
    timed and started the same way. It is a switch, no blend: published finalists and a squad
    differ in more than slope, and a reader can be told which of two lines was used. Before, the
    published line serves men alone, over its own range of times, from blocks, not timed by hand.

    Args:
        own: the athlete's runs, one comparison key, phases and ends alike; at least one row.
        others: runs by others with the same test, ends and comparison key, of any sex.
    """
    first = own.iloc[0]
    sex = str(first["sex"])
    alike = others[(others["sex"] == sex) & (others["athlete_id"] != first["athlete_id"])]
    sprints, people = len(alike), int(alike["athlete_id"].nunique())
    listed = int(alike.loc[alike["listed"].astype(bool), "athlete_id"].nunique())
    none = Choice(None, "", "", sprints, people, listed)
    if len(first["names"]) == 1:
        return replace(none, reason=ONE_PHASE)
    if first["ends"][0] != 0 or str(first["names"][0]).endswith(FROM_GUN):
        return replace(none, reason=NOT_FROM_MOVEMENT)
    if not sex:
        return replace(none, reason=NO_SEX)
    whole = float(np.mean([sum(times) for times in own["times"]]))
    reason = TOO_FEW
    if sprints >= FEWEST_SPRINTS and people >= FEWEST_PEOPLE:
        model = _of_squad(alike, first["ends"])
        if model is None:
            reason = NO_RANGE
        elif serves(model, whole):
            return replace(none, model=model, origin=SQUAD_LINE)
        else:
            reason = OUTSIDE
    if _published_serves(first, whole):
        return replace(none, model=published_shape.MEN, origin=PUBLISHED_LINE)
    return replace(none, reason=reason)


def _of_squad(alike: pd.DataFrame, ends: tuple[float, ...]) -> ShapeModel | None:
    """The squad's line, or ``None`` where whole times differ too little, whoever is left out."""
    times = per_person(alike)
    logs = np.sort(np.log(times.sum(axis=1)))
    if min(logs[1:].std(ddof=1), logs[:-1].std(ddof=1)) < LEAST_RANGE:
        return None
    return shape_model.fit(times, np.arange(len(times)), ends, sprints=len(alike))


def serves(model: ShapeModel, whole: float) -> bool:
    """Whether a line holds a whole time in s."""
    return model.range_s[0] <= whole <= model.range_s[1]


def _published_serves(first: pd.Series, whole: float) -> bool:
    key = key_fields(str(first["conditions"]))
    return (
        first["sex"] == published_shape.SEX
        and tuple(first["ends"]) == published_shape.MEN.ends_m
        and key.get("start", "blocks") == "blocks"
        and key.get("timing", "") != "hand"
        and serves(published_shape.MEN, whole)
    )
