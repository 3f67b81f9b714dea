"""The published shape of a men's 100 m: figures only, the races stay with their reports."""

from __future__ import annotations

import numpy as np

from pipeline.compare.shape_model import ShapeModel

SOURCE = (
    "42 men in the finals of eight championships, 1987 to 2024, reaction removed: Moravec et al. "
    "1988; Brüggemann & Glad 1990; Ritzdorf et al. 1997; Ferro et al. 2001; Grosser 2007; "
    "Graubner & Nixdorf 2011; Hayato 2019; Paris 2024 official Results Book"
)

SEX = "M"
OFFICIAL_S = (9.5, 10.4)
"""Official times in s, from the gun, the model serves."""

REACTION_S = 0.150
"""Mean reaction of the 42 in s: an official time less this is a time from first movement."""

MEN = ShapeModel(
    ends_m=(0, 10, 30, 60, 100),
    centre=np.array(2.28303594399),
    squares=np.array(0.00915932967230),
    level=np.array([0.556384254872, 0.676713044398, 0.957457156075, 1.24958798735]),
    slope=np.array([0.430248427584, 0.698356030935, 1.11210626314, 1.36966769492]),
    style=1e-6
    * np.array(
        [
            [273.0941534, -11.36945954, -27.06420015, -109.4506526],
            [-11.36945954, 162.6755764, -32.03105809, -61.9194621],
            [-27.06420015, -32.03105809, 54.55130211, -9.122751483],
            [-109.4506526, -61.9194621, -9.122751483, 96.13926308],
        ]
    ),
    rows=42,
    sprints=42,
    range_s=(OFFICIAL_S[0] - REACTION_S, OFFICIAL_S[1] - REACTION_S),
)
