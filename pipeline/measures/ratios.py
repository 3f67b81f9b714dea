"""One result of a day over another, as the battery defines them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from pipeline.battery import Battery, KeyMeasure, nearest
from pipeline.errors import Finding, Place, finding
from pipeline.measures.registry import MEASURES, day_view, measure, record_of
from pipeline.measures.spec import ESTIMATED, MEASURED, Array, joined, key_word


@day_view("ratios")
def ratios(results: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """One row for each pair of results a ratio is made of: ``over`` and ``under``, in one unit.

    Results of one athlete and day are paired where their parts agree or one has none. The
    comparison key names the basis and the conditions of both, so that ratios made of other
    things are never compared; the basis is estimated as soon as one of the two is.
    """
    pieces = [_pairs(results, name, r.over, r.under) for name, r in battery.ratios.items()]
    pieces = [piece for piece in pieces if not piece.empty]
    return pd.concat(pieces, ignore_index=True) if pieces else pd.DataFrame()


def _pairs(results: pd.DataFrame, name: str, over: KeyMeasure, under: KeyMeasure) -> pd.DataFrame:
    above, below = (
        results[(results["test"] == side.test) & (results["measure"] == side.measure)]
        for side in (over, under)
    )
    both = above.merge(below, on=["day", "athlete_id"], suffixes=("", "_under"))
    fits = (both["part"] == both["part_under"]) | (both["part"] == "") | (both["part_under"] == "")
    both = both[fits & (both["unit"] == both["unit_under"])].reset_index(drop=True)
    estimated = (both["basis"] == ESTIMATED) | (both["basis_under"] == ESTIMATED)
    return both.assign(
        test=name,
        part=both["part"].where(both["part"] != "", both["part_under"]),
        over=both["value"],
        over_resolution=both["resolution"],
        under=both["value_under"],
        under_resolution=both["resolution_under"],
        n_attempts=both[["n_attempts", "n_attempts_under"]].min(axis=1),
        attempt=np.nan,
        basis=np.where(estimated, ESTIMATED, MEASURED),
        conditions=[
            f"over={a}; under={b}"
            for a, b in zip(_made_of(both, ""), _made_of(both, "_under"), strict=True)
        ],
        source=_joined(both, "source"),
        flags=_joined(both, "flags"),
    )


def _made_of(both: pd.DataFrame, side: str) -> list[str]:
    """Basis and conditions of one side, as one word of the comparison key."""
    pairs = zip(both[f"basis{side}"], both[f"conditions{side}"], strict=True)
    return [key_word(f"{basis}; {conditions.replace('=', ': ')}") for basis, conditions in pairs]


def _joined(both: pd.DataFrame, column: str) -> list[str]:
    return [joined(a, b) for a, b in zip(both[column], both[f"{column}_under"], strict=True)]


def faults(battery: Battery) -> Iterator[Finding]:
    """What only those who know the measures can say against a battery's ratios.

    A test or measure that is none, a measure itself computed from a day's results, or two units.
    """
    for name, ratio in battery.ratios.items():
        sides = {"over": ratio.over, "under": ratio.under}
        reasons = {f"{name}.{side}": _unusable(battery, one) for side, one in sides.items()}
        if not any(reasons.values()):
            units = [record_of(s.measure, battery.tests[s.test]).unit for s in sides.values()]
            if units[0] != units[1]:
                reasons[name] = f"it sets {units[0]} over {units[1]}"
        for where, why in reasons.items():
            if why:
                key = f"ratios.{where}"
                place = Place("battery.toml", column=key)
                yield finding("battery-value", place, key=key, why=why)


def _unusable(battery: Battery, side: KeyMeasure) -> str:
    """Why nothing can be read for one side of a ratio; empty if it can."""
    known = [key for key, record in MEASURES.items() if record.combine != "day"]
    if side.test not in battery.tests:
        return f"“{side.test}” is no test{nearest(side.test, list(battery.tests))}"
    if side.measure not in known:
        return f"“{side.measure}” is no measure of a test{nearest(side.measure, known)}"
    return ""


@measure(
    key="ratio",
    label="ratio of two results",
    unit="",
    better="neither",
    decimals=2,
    plausible=(0.01, 100),
    formula="one result of the day over another, both as the battery names them",
    sources=("definition",),
    view="ratios",
    combine="day",
    section="strength",
)
def ratio(over: Array, under: Array) -> Array:
    """One result over another in the same unit."""
    return over / under
