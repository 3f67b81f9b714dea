"""Body mass and height."""

from __future__ import annotations

import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials
from pipeline.units import CM_PER_M


@view("body", "body_mass", "height")
def body(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each recorded body value: ``body_mass`` kg, ``height`` m."""
    rows = []
    for quantity in ("body_mass", "height"):
        used = trials.of_kind(quantity, "body")
        rows.append(
            pd.DataFrame(
                {
                    "key": used["key"],
                    "part": "",
                    "source": used["source"],
                    quantity: used["value"],
                    f"{quantity}_resolution": used["resolution"],
                }
            )
        )
    columns = ["body_mass", "body_mass_resolution", "height", "height_resolution"]
    return pd.concat(rows).reindex(columns=["key", "part", "source", *columns])


@measure(
    key="body_mass",
    label="body mass",
    unit="kg",
    better="neither",
    decimals=1,
    plausible=(25, 200),
    formula="as weighed",
    sources=("definition",),
    view="body",
    combine="first",
    section="body",
    staff_only=True,
)
def body_mass(body_mass: Array) -> Array:
    """Body mass in kg, as weighed."""
    return body_mass * 1.0


@measure(
    key="height",
    label="height",
    unit="cm",
    better="neither",
    decimals=1,
    plausible=(110, 230),
    formula="as measured",
    sources=("definition",),
    view="body",
    combine="first",
    section="body",
)
def height(height: Array) -> Array:
    """Standing height in cm from metres."""
    return height * CM_PER_M
