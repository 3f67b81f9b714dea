"""Which physical measures go with which phase times across a squad; no cause, no advice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd
from scipy import stats

from pipeline import tables
from pipeline.battery import Battery
from pipeline.compare.squad import Squad
from pipeline.measures.spec import key_fields

FEWEST_PEOPLE = 20
"""Below it the interval of a correlation says next to nothing: at n = 20 one of 0 reaches from
−.44 to .44 already. Common practice, no source."""

LEVEL = 0.95

_PHASE = "phase_time"
_RUN = ("sprint", "flying", "repeated")
"""Kinds of tests whose measures are no physical ones here: what is computed from the sprint itself
goes with its phases by arithmetic alone."""

_ALWAYS = (("relative_strength", ""), ("jump_height", ""), ("distance", ""), ("rsi", ""))
"""Measures looked at whether or not a sign names them; an empty test means any."""


@dataclass(frozen=True, slots=True)
class Relation:
    """Pearson's correlation of a physical measure with the time of a phase, people once each.

    ``low`` and ``high`` are the 95 % interval by Fisher's z. A negative r: more of the measure
    goes with a faster phase.
    """

    sex: str
    test: str
    phase: str
    from_m: float
    to_m: float
    measure: str
    measure_test: str
    part: str
    n: int
    r: float
    low: float
    high: float


def relations(
    results: pd.DataFrame, day: str, battery: Battery, squad: Squad
) -> tuple[Relation, ...]:
    """Every pair that at least ``FEWEST_PEOPLE`` of one sex have under one comparison key each.

    Args:
        results: the table; the day's judged scores are taken, one a person.
        day: the ISO date.
        battery: tests, in whose order the pairs come, and the emphases' signs.
        squad: by id, for the sex.

    Returns:
        One for each pair looked at, in the order of tests, phases and measures; where one of the
        two is the same for everybody there is nothing to correlate and no row.
    """
    now = results[(results["day"] == day) & results["athlete_id"].isin(list(squad))]
    now = now.assign(
        sex=[squad[str(key)].sex for key in now["athlete_id"]],
        score=pd.to_numeric(now["score"]).fillna(pd.to_numeric(now["value"])),
        order=[battery.order(str(test)) for test in now["test"]],
    )
    now = now[(now["sex"] != "") & now["score"].notna()]
    found: list[Relation] = []
    for sex, people in now.groupby("sex", sort=True):
        physical = list(_columns(people[_physical(people, battery)]))
        for phase in _columns(people[people["measure"] == _PHASE]):
            for column in physical:
                found += _related(str(sex), phase, column)
    return tuple(sorted(found, key=lambda one: (one.sex, battery.order(one.test), one.from_m)))


def _physical(rows: pd.DataFrame, battery: Battery) -> list[bool]:
    """Whether a result is a physical measure to be looked at."""
    wanted = {*_ALWAYS}
    wanted |= {(sign.measure, sign.test) for one in battery.emphases.values() for sign in one.signs}
    kinds = {name: plan.kind for name, plan in battery.tests.items()}
    return [
        kinds.get(test, "") not in (*_RUN, "") and bool({(measure, test), (measure, "")} & wanted)
        for test, measure in zip(rows["test"], rows["measure"], strict=True)
    ]


def _columns(rows: pd.DataFrame) -> Iterator[pd.DataFrame]:
    """The rows of one value each, as many people as are needed under one comparison key."""
    ordered = rows.sort_values(["order", "test", "measure", "part", "conditions"], kind="stable")
    for _, same in ordered.groupby(["test", "measure", "part", "conditions"], sort=False):
        once = same.drop_duplicates("athlete_id")
        if len(once) >= FEWEST_PEOPLE:
            yield once


def _related(sex: str, phase: pd.DataFrame, column: pd.DataFrame) -> list[Relation]:
    pairs = phase[["athlete_id", "score"]].merge(column[["athlete_id", "score"]], on="athlete_id")
    x, y = (pairs[side].to_numpy(dtype=float) for side in ("score_y", "score_x"))
    if len(pairs) < FEWEST_PEOPLE or min(x.max() - x.min(), y.max() - y.min()) <= 0:
        return []
    made = stats.pearsonr(x, y)
    reach = made.confidence_interval(LEVEL)
    run, taken = phase.iloc[0], column.iloc[0]
    start, _, end = key_fields(str(run["conditions"]))["ends"].removesuffix(" m").partition("-")
    return [
        Relation(
            sex=sex,
            test=str(run["test"]),
            phase=str(run["part"]),
            from_m=float(start),
            to_m=float(end),
            measure=str(taken["measure"]),
            measure_test=str(taken["test"]),
            part=str(taken["part"]),
            n=len(pairs),
            **{
                name: round(float(value), _DIGITS)
                for name, value in (("r", made.statistic), ("low", reach.low), ("high", reach.high))
            },
        )
    ]


_DIGITS = 2 + tables.EXTRA_DECIMALS
