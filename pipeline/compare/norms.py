"""Where an athlete stands among others, and who those others may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from scipy import stats

AGGREGATE_FROM: Final = 5
"""People behind any mean or SD: fewer give a squad-mate away."""
RANK_FROM: Final = 8
"""People behind any percentile or range, for the same reason."""

OWN_BAND, OWN_EVENT, STAFF_TABLE, NO_REFERENCE = "own band", "own event", "staff table", "none"
"""The rungs of the reference ladder, as the catalogue of sentences names them."""

_SIGN = {"higher": 1.0, "lower": -1.0}


@dataclass(frozen=True, slots=True)
class Person:
    """Whom a reference is sought for; a word not known is empty and matches nobody."""

    athlete_id: str
    sex: str
    event: str
    age_band: str


@dataclass(frozen=True, slots=True)
class Reference:
    """The rung used, the mean, SD and number of its people, and their values by athlete id.

    ``others`` never leaves the staff's side; it is empty for the staff's table.
    """

    rung: str
    mean: float | None
    sd: float | None
    n: int | None
    others: pd.Series[float]


def reference(
    candidates: pd.DataFrame, person: Person, staff: Mapping[str, float] | None = None
) -> Reference:
    """Climb down the ladder: sex × event × age band, sex × event, the staff's table, none.

    Args:
        candidates: one measure, comparable values of all days: ``athlete_id``, ``day`` (ISO),
            ``sex``, ``event``, ``age_band`` (on that day), ``value``. The athlete's own rows may
            be there and are left out, of whatever day.
        person: the athlete.
        staff: ``mean`` and ``sd`` of the staff's table for this person, if there is one.

    Returns:
        The first rung with at least ``AGGREGATE_FROM`` others, each once with the latest value on
        that rung.
    """
    others = candidates[
        (candidates["athlete_id"] != person.athlete_id) & candidates["value"].notna()
    ]
    rungs = {
        OWN_BAND: ("sex", "event", "age_band"),
        OWN_EVENT: ("sex", "event"),
    }
    for rung, fields in rungs.items():
        wanted = {field: getattr(person, field) for field in fields}
        if not all(wanted.values()):
            continue
        alike = others[np.logical_and.reduce([others[f] == word for f, word in wanted.items()])]
        once = alike.sort_values(["athlete_id", "day"], kind="stable").drop_duplicates(
            "athlete_id", keep="last"
        )
        latest = once.set_index("athlete_id")["value"].astype(float)
        if len(latest) >= AGGREGATE_FROM:
            return Reference(
                rung, float(latest.mean()), float(latest.std(ddof=1)), len(latest), latest
            )
    nobody = pd.Series(np.array([], dtype=np.float64))
    if staff is not None:
        return Reference(STAFF_TABLE, staff["mean"], staff["sd"], None, nobody)
    return Reference(NO_REFERENCE, None, None, None, nobody)


def percentile(
    value: float, others: pd.Series[float], athlete_id: str, better: str
) -> float | None:
    """Percentile rank among others, a tie counted half, 100 the best.

    ``scipy.stats.percentileofscore`` with ``kind="mean"``.

    Args:
        value: the athlete's.
        others: one value a person, indexed by athlete id; NaN left out.
        athlete_id: the athlete's, who must not be among them.
        better: ``higher`` or ``lower``.

    Returns:
        0 to 100, or ``None`` for fewer than ``RANK_FROM`` others or no value.

    Raises:
        ValueError: the athlete is among the others, or someone is there twice.
    """
    known = _strangers(others, athlete_id)
    if len(known) < RANK_FROM or pd.isna(value):
        return None
    sign = _SIGN[better]
    return float(stats.percentileofscore(sign * known.to_numpy(), sign * value, kind="mean"))


def value_range(others: pd.Series[float], athlete_id: str) -> tuple[float, float] | None:
    """Lowest and highest value of at least ``RANK_FROM`` others, else ``None``.

    Raises:
        ValueError: the athlete is among the others, or someone is there twice.
    """
    known = _strangers(others, athlete_id)
    return (float(known.min()), float(known.max())) if len(known) >= RANK_FROM else None


def t_score(value: float, found: Reference, better: str) -> float | None:
    """50 + 10·z against a reference, more is better; ``None`` without a spread."""
    if found.mean is None or not found.sd or pd.isna(value):
        return None
    return 50 + 10 * _SIGN[better] * (value - found.mean) / found.sd


def _strangers(others: pd.Series[float], athlete_id: str) -> pd.Series[float]:
    if athlete_id in others.index or others.index.has_duplicates:
        raise ValueError("a reference holds each other person once, and never the athlete")
    return others.dropna()
