"""Term against term: everything a day's comparison says, in one call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from pipeline.battery import Battery
from pipeline.compare import standing, summary, trends, typical_errors
from pipeline.compare.changes import Data, Judged, changes
from pipeline.compare.pairs import Days
from pipeline.compare.squad import Squad


@dataclass(frozen=True)
class Term:
    """What came of a comparison; ``reliability`` is the table of that name."""

    judged: Judged
    groups: tuple[summary.GroupChanges, ...]
    lines: tuple[trends.Line, ...]
    standings: tuple[standing.Standing, ...]
    reliability: pd.DataFrame


def compare(
    data: Data,
    day: str,
    battery: Battery,
    days: Days,
    squad: Squad,
    bands: Mapping[tuple[str, str], str],
) -> Term:
    """Compare a day with those before it.

    Args:
        data: results and attempts of the day and the days before.
        day: the ISO date.
        battery: the staff's choices.
        days: repeat days and tests taken easy.
        squad: the athletes as of the day.
        bands: age band by (athlete, day), for the references.
    """
    errors = typical_errors.learn(data.results, data.attempts, battery, days)
    judged = changes(data, day, battery, errors, days, squad)
    return Term(
        judged=judged,
        groups=tuple(summary.by_group(judged.judged, battery, squad)),
        lines=tuple(trends.lines(data.results, judged, battery, days)),
        standings=tuple(standing.standings(data.results, day, battery, days, squad, bands)),
        reliability=typical_errors.table(errors),
    )
