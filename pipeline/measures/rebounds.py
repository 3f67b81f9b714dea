"""Rebound series: five or ten jumps on the spot, each averaged by its published rule."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.spec import Array, Trials, joined, once
from pipeline.units import STANDARD_GRAVITY

FAST_S = 0.250
"""A contact below it is a fast stretch-shortening cycle; from it on a slow one."""
SLOW = "slow stretch-shortening: contact of 250 ms or more"
BEST, FIRST, LAST = 5, 2, 5
"""Of ten the five best count; of five the second to the fifth."""
BEST_OF_TEN = "mean of the 5 best contacts under 250 ms"
AFTER_THE_FIRST = "mean of contacts 2 to 5"


@dataclass(frozen=True, slots=True)
class Short:
    """A series with fewer contacts to count than its rule needs; ``rows`` are all its contacts."""

    rows: pd.DataFrame
    usable: int
    needed: int


def reactive_strength(contact_time: Array, flight_time: Array) -> Array:
    """Reactive strength index in m/s from contact and flight in s."""
    return STANDARD_GRAVITY * flight_time**2 / 8 / contact_time


def _strength(rows: pd.DataFrame) -> Array:
    return reactive_strength(rows["contact_time"].to_numpy(), rows["flight_time"].to_numpy())


@once
def contacts(trials: Trials) -> pd.DataFrame:
    """Every rebound with contact and flight, in s.

    Columns: ``key rep source contact_time flight_time`` with their resolutions, and the attempt's
    ``day athlete_id test attempt conditions side``.
    """
    contact = trials.of_kind("contact_time", "rebound")
    flight = trials.of_kind("flight_time", "rebound")
    both = contact.merge(flight, on="key", suffixes=("", "_flight"))
    rep = trials.used("rep").drop_duplicates("key").set_index("key")["value"]
    own = ["day", "athlete_id", "test", "attempt", "conditions", "side"]
    made = pd.DataFrame(
        {
            "key": both["key"],
            "rep": both["key"].map(rep).astype(float),
            "source": [
                joined(a, b) for a, b in zip(both["source"], both["source_flight"], strict=True)
            ],
            "contact_time": both["value"],
            "contact_time_resolution": both["resolution"],
            "flight_time": both["value_flight"],
            "flight_time_resolution": both["resolution_flight"],
        }
    )
    return made.merge(trials.attempts[own], left_on="key", right_index=True)


def _series(trials: Trials) -> Iterator[tuple[str, pd.DataFrame]]:
    """Each series with its test, its contacts in order."""
    same = ["day", "athlete_id", "test", "conditions", "attempt"]
    for group, rows in contacts(trials).groupby(same, sort=False):
        yield str(group[2]), rows.sort_values(["rep", "key"], kind="stable")


def _counted(rows: pd.DataFrame, rule: int | None) -> tuple[pd.DataFrame, int, str]:
    """The contacts that count, how many the rule needs, and the rule in words."""
    if rule == LAST:
        own = rows[rows["rep"].between(FIRST, LAST)]
        return own.drop_duplicates("rep"), LAST - FIRST + 1, AFTER_THE_FIRST
    fast = rows[rows["contact_time"] < FAST_S]
    strength = _strength(fast)
    order = fast.assign(strength=strength).sort_values("strength", ascending=False, kind="stable")
    return order.head(BEST).drop(columns="strength"), BEST, BEST_OF_TEN


@once
def counted(trials: Trials, battery: Battery) -> pd.DataFrame:
    """The contacts that count of the best series of each day, test and set of conditions.

    Each is a row of its own, marked to be averaged, under the key of its series' first contact, so
    that height, contact and reactive strength are means over the same contacts. Of several series
    the one with the greatest mean reactive strength stands. A series with fewer contacts than its
    rule needs gives no row.
    """
    best: dict[tuple[object, ...], tuple[float, pd.DataFrame]] = {}
    for test, rows in _series(trials):
        own, needed, words = _counted(rows, battery.tests[test].rebounds)
        if len(own) < needed:
            continue
        first = own.iloc[0]
        mean = float(_strength(own).mean())
        slow = SLOW if own["contact_time"].mean() >= FAST_S else ""
        kept = own.assign(
            key=rows["key"].min(), part=own["side"], flags=joined(words, slow), average=True
        )
        same = tuple(first[name] for name in ("day", "athlete_id", "test", "conditions"))
        if same not in best or mean > best[same][0]:
            best[same] = (mean, kept)
    if not best:
        return pd.DataFrame()
    return pd.concat([kept for _, kept in best.values()]).assign(rank=np.nan)


def too_short(trials: Trials, battery: Battery) -> Iterator[Short]:
    """Series that have contacts and give no value."""
    for test, rows in _series(trials):
        own, needed, _ = _counted(rows, battery.tests[test].rebounds)
        if len(own) < needed:
            yield Short(rows, len(own), needed)


def repeated(trials: Trials) -> Iterator[pd.Series]:
    """Contacts whose number their series has already."""
    for _, rows in _series(trials):
        for _, row in rows[rows["rep"].notna() & rows.duplicated("rep")].iterrows():
            yield row
