"""Growth between testing days, and how far from the fastest growth: context, never a verdict."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures import maturity
from pipeline.measures.registry import day_view, measure, view
from pipeline.measures.spec import ADULT, Array, Trials, joined
from pipeline.units import CM_PER_M

GROWING_FAST = "growing fast"
"""The flag of a growth above ``maturity.FAST_GROWTH_CM_PER_MONTH``."""


@day_view("growth")
def growth_between(results: pd.DataFrame, _: Battery) -> pd.DataFrame:
    """Each height beside the last one taken at least ``GROWTH_FROM_DAYS`` before, both in cm."""
    heights = results[results["measure"] == "height"].sort_values("day", kind="stable")
    rows = []
    for _who, own in heights.groupby("athlete_id", sort=True):
        dates = pd.to_datetime(own["day"]).astype("datetime64[s]")
        for place in range(1, len(own)):
            days = (dates.iloc[place] - dates.iloc[:place]).dt.days
            before = np.flatnonzero(days >= maturity.GROWTH_FROM_DAYS)
            if not len(before):
                continue
            then, now = own.iloc[before[-1]], own.iloc[place]
            apart = float(days.iloc[before[-1]])
            fast = maturity.growth(then["value"], now["value"], np.array(apart))
            rows.append(
                {
                    **now.to_dict(),
                    "then_cm": then["value"],
                    "then_cm_resolution": then["resolution"],
                    "now_cm": now["value"],
                    "now_cm_resolution": now["resolution"],
                    "days": apart,
                    "source": joined(then["source"], now["source"]),
                    "flags": (GROWING_FAST if fast > maturity.FAST_GROWTH_CM_PER_MONTH else ""),
                }
            )
    return pd.DataFrame(rows)


@measure(
    key="growth",
    label="growth",
    unit="cm/month",
    better="neither",
    decimals=2,
    plausible=(-1, 2),
    formula="height now − height on the last day at least 60 days before, for a month of 30.4 days",
    sources=("definition", "practice"),
    view="growth",
    combine="day",
    section="body",
    compared=False,
)
def growth(then_cm: Array, now_cm: Array, days: Array) -> Array:
    """Growth in cm/month from two heights in cm, ``days`` apart."""
    return maturity.growth(then_cm, now_cm, days)


@view("maturity", "sitting_height")
def maturity_table(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each athlete under 18 measured sitting: heights in cm, mass in kg, age in years.

    The equations were made of ages 8 to 16 and say nothing of the grown. The interval is a year
    either way, wider than the paper's own standard error.
    """
    body = trials.attempts[trials.attempts["kind"] == "body"]
    columns = {}
    for name in ("height", "sitting_height", "body_mass"):
        used = trials.used(name).drop_duplicates("key").set_index("key")
        columns[name] = used["value"]
        columns[f"{name}_source"] = used["source"]
    table = body[["sex", "age"]].join(pd.DataFrame(columns)).rename_axis("key").reset_index()
    known = table[["height", "sitting_height", "body_mass", "age"]].notna().all(axis=1)
    table = table[known & table["sex"].isin(["F", "M"]) & (table["age"] < ADULT)]
    table = table.assign(
        female=(table["sex"] == "F").astype(float),
        height_cm=table["height"] * CM_PER_M,
        sitting_cm=table["sitting_height"] * CM_PER_M,
    )
    inputs = ("age", "height_cm", "sitting_cm", "body_mass", "female")
    offset = maturity_offset(**{name: table[name].to_numpy(dtype=float) for name in inputs})
    return table.assign(
        part="",
        maturity_offset_low=offset - maturity.OFFSET_ERROR_YEARS,
        maturity_offset_high=offset + maturity.OFFSET_ERROR_YEARS,
        source=[
            joined(*sources)
            for sources in zip(
                table["height_source"],
                table["sitting_height_source"],
                table["body_mass_source"],
                strict=True,
            )
        ],
    )


@measure(
    key="maturity_offset",
    label="years from the fastest growth",
    unit="y",
    better="neither",
    decimals=1,
    plausible=(-6, 6),
    formula="published equations from age, height, sitting height and mass; good to about a year "
    "either way, so nobody is classed by it",
    sources=("mirwald2002",),
    view="maturity",
    combine="first",
    section="body",
    staff_only=True,
    compared=False,
)
def maturity_offset(
    age: Array, height_cm: Array, sitting_cm: Array, body_mass: Array, female: Array
) -> Array:
    """Years from peak height velocity, negative before; heights in cm, mass in kg, age in years."""
    girls, boys = (
        maturity.offset_mirwald(sex, age, height_cm, sitting_cm, body_mass) for sex in ("F", "M")
    )
    return np.where(female == 1, girls, boys)
