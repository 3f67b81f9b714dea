"""The smallest change worth having: a fifth of the true spread, or what the staff say."""

from __future__ import annotations

import math

import pandas as pd

from pipeline.battery import Battery
from pipeline.compare.reliability import smallest_worthwhile
from pipeline.compare.squad import Squad


def worthwhile(found: pd.DataFrame, battery: Battery, squad: Squad) -> list[float]:
    """The smallest worthwhile change of each pair, in its unit; NaN where nobody says.

    From the day's own people of one sex where at least twelve did the same thing, else the
    battery's value.

    Args:
        found: pairs of one day with ``after``, ``error`` and ``easy``: a test taken easy says
            nothing of the spread.
        battery: the staff's values.
        squad: who is of which sex.
    """
    sexes = found["athlete_id"].map({key: member.sex for key, member in squad.items()}).fillna("")
    spread: dict[object, float] = {}
    same = [found["test"], found["part"], found["measure"], found["conditions"], sexes]
    for key, rows in found.groupby(same, sort=False):
        own = smallest_worthwhile(
            rows["after"].mask(rows["easy"]).to_numpy(dtype=float), float(rows["error"].median())
        )
        if key[-1] and own is not None and math.isfinite(own):
            spread[key] = own
    given = battery.smallest_worthwhile
    return [
        spread.get(
            key, given.get((key[0], key[2], key[1]), given.get((key[0], key[2], ""), math.nan))
        )
        for key in zip(*same, strict=True)
    ]
