"""Phase times of the published finalists, from first movement."""

from __future__ import annotations

import numpy as np

from pipeline.compare.published_shape import MEN
from pipeline.measures.spec import Array
from tests.finals import GUN, finalists


def phase_times(sex: str) -> tuple[Array, list[str]]:
    """Phase times in s, shape (n, 4), of the published rows of one sex, and their races."""
    rows = finalists()
    rows = rows[rows["sex"] == sex]
    reaction = rows["reaction_s"].where(rows["clock"] == GUN, 0)
    ends = rows[[f"t{end:g}" for end in MEN.ends_m[1:]]].sub(reaction, axis="index")
    return np.diff(ends.to_numpy(dtype=float), axis=1, prepend=0), rows["race"].tolist()
