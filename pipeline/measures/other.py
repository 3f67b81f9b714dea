"""Tests the staff define in the battery: the value as it was taken."""

from __future__ import annotations

import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.jumps import part_of
from pipeline.measures.registry import OWN, measure, view
from pipeline.measures.spec import Array, Trials


@view("own tests", "value")
def own_tests(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each value of a test of the battery's own."""
    used = trials.of_kind("value", "other")
    return used.assign(
        part=part_of(trials, used["key"]), own_resolution=used["resolution"], own=used["value"]
    )


@measure(
    key=OWN,
    label="",
    unit="",
    better="higher",
    decimals=2,
    plausible=(-1e6, 1e6),
    formula="as measured; unit, better and limits as the battery says",
    sources=("definition",),
    view="own tests",
    combine="best",
    section="other",
)
def value(own: Array) -> Array:
    """The value as it was taken, in the unit the battery names."""
    return own * 1.0
