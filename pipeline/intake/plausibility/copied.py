"""One value copied down a column.

Ranked lists and coarse clocks repeat values honestly, so a value is held against how often this
column, at its own step and spread, would show it, whatever the order of its rows.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from scipy import stats

from pipeline.errors import Place
from pipeline.intake.plausibility.rules import Context, Rule, Suspect
from pipeline.measures.spec import Array

_QUANTITIES = (
    "cumulative_time", "segment_time", "flight_time", "contact_time", "height", "distance",
    "body_mass", "value",
)  # fmt: skip
"""Results of a body. Loads, bodies' heights, lanes and winds repeat by their nature."""

FEWEST_PEOPLE = 4
"""So many athletes in neighbouring rows must share a value before it is looked at."""

ONCE_IN = 300
"""In so many honest columns one may be named, by a bound that is far from tight: of 8,000 simulated
ones none was (``tests/intake/plausibility/test_copied.py``)."""

_NEAR_STEPS = 5
_SD_OF_MAD = 1.4826


def copied(values: Array, people: Array, step: float) -> tuple[int, int] | None:
    """The run of rows that share a value too often for their column, as (first, after the last).

    Args:
        values: the column in the order of its rows, n.
        people: who each belongs to, n.
        step: what the instrument can tell apart, in the same unit.

    Returns:
        None where every value may be honest. A value of which the column itself is made (all
        equal, or fewer than three others) cannot be judged and is not named.
    """
    best: tuple[int, int] | None = None
    changes = np.flatnonzero(np.diff(values) != 0) + 1
    starts = np.concatenate([[0], changes])
    ends = np.concatenate([changes, [len(values)]])
    order = np.argsort(starts - ends, kind="stable")
    for first, last in zip(starts[order], ends[order], strict=True):
        shared = len(set(people[first:last].tolist()))
        if shared < FEWEST_PEOPLE:
            break  # the others are shorter still, in rows
        if best is None and _rare(values, values[first], shared, step):
            best = int(first), int(last)
    return best


def _rare(values: Array, value: float, shared: int, step: float) -> bool:
    """Whether so many people would share a value by chance less than once in so many columns."""
    others = values[values != value]
    distinct = np.unique(others)
    if len(distinct) < _NEAR_STEPS:
        return False
    step = max(step, float(np.diff(distinct).min()))
    quarter, middle, third = np.quantile(others, [0.25, 0.5, 0.75])
    spread = max((third - quarter) / 1.349, _SD_OF_MAD * float(np.median(abs(others - middle))))
    if spread <= 0:
        return False
    # the densest a smooth column can be here: a bell as wide as the others, or its neighbourhood
    bell = len(values) * step / (spread * np.sqrt(2 * np.pi))
    near = float((abs(others - value) < (_NEAR_STEPS + 0.5) * step).sum()) + 1
    expected = max(bell, near / (2 * _NEAR_STEPS))
    chance = float(stats.poisson.sf(shared - 1, expected)) * (len(distinct) + 1)
    return bool(chance < 1 / ONCE_IN)


def _copied_down(now: Context) -> Iterator[Suspect]:
    values = now.trials.values
    used = values[values["quantity"].isin(_QUANTITIES) & (values["status"] == "used")]
    used = used[used["raw"] != ""].join(now.trials.attempts[["athlete_id", "test"]], on="key")
    used = used.assign(column=used["source"].str.replace(r"![^!]*!([^!]*)$", r"!\1", regex=True))
    for _, rows in used.groupby(["column", "test", "part"], sort=False):
        found = copied(
            rows["value"].to_numpy(dtype=float),
            rows["athlete_id"].to_numpy(),
            float(rows["resolution"].max()),
        )
        if found is None:
            continue
        run = rows.iloc[found[0] : found[1]]
        yield _suspect(rows, run)


def _suspect(rows: pd.DataFrame, run: pd.DataFrame) -> Suspect:
    places = [Place.last_of(source) for source in run["source"]]
    details = {
        "raw": run["raw"].iloc[0],
        "count": len(run),
        "people": run["athlete_id"].nunique(),
        "first": places[0].row,
        "last": places[-1].row,
        "others": len(rows) - len(run),
    }
    return Suspect(places[0], "", details, frozenset(run["source"]), tuple(places[1:]))


RULES = (Rule("value-copied", _copied_down, "the value", across=True),)
