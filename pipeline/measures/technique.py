"""Body angles off video, by checkpoint."""

from __future__ import annotations

import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, joined


@view("angles", "degrees")
def angles(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each angle at a checkpoint: the mean ``degrees`` of those who measured it.

    Two observers who measured the same show how far apart they are, which is the least error an
    angle has.
    """
    used = trials.used("degrees")
    table = used.merge(
        trials.attempts[["day", "athlete_id", "test"]], left_on="key", right_index=True
    )
    observers = trials.values[trials.values["quantity"] == "observer"]
    names = dict(zip(observers["key"], observers["raw"], strict=True))
    table = table.assign(observer=[names.get(key, "").casefold() for key in table["key"]])
    rows = []
    for group, same in table.groupby(["day", "athlete_id", "test", "part"], sort=False):
        means = same.groupby("observer", sort=True)["value"].mean()
        spread = means.max() - means.min()
        apart = f"{len(means)} observers, {spread:.0f}° apart" if len(means) > 1 else ""
        rows.append(
            {
                "key": int(same["key"].iloc[0]),
                "part": group[-1],
                "degrees": means.mean(),
                "degrees_resolution": max(spread, same["resolution"].max()),
                "source": joined(*same["source"]),
                "flags": apart,
            }
        )
    return pd.DataFrame(rows)


@measure(
    key="angle",
    label="angle",
    unit="°",
    better="neither",
    decimals=0,
    plausible=(0, 200),
    formula="as read off the video, the mean of the observers",
    sources=("practice",),
    view="angles",
    combine="first",
    section="technique",
)
def angle(degrees: Array) -> Array:
    """An angle in degrees, as read."""
    return degrees * 1.0
