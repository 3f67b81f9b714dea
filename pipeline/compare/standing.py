"""Where an athlete stands among others in the headline measures: the ladder's first rung."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.battery import Battery
from pipeline.battery import Reference as StaffLine
from pipeline.compare import norms
from pipeline.compare.pairs import Days, records
from pipeline.compare.squad import Squad
from pipeline.measures.registry import record_of


@dataclass(frozen=True, slots=True)
class Standing:
    """One athlete's place in one measure.

    ``mean`` and ``sd`` are of at least five others (None: nobody to stand beside), ``percentile``
    of at least eight, 100 the best; ``rung`` says who the others are.
    """

    athlete_id: str
    test: str
    part: str
    measure: str
    conditions: str
    rung: str
    n: int | None
    mean: float | None
    sd: float | None
    percentile: float | None
    t_score: float | None


def standings(
    results: pd.DataFrame,
    day: str,
    wanted: Mapping[tuple[str, str], str],
    battery: Battery,
    days: Days,
    squad: Squad,
    bands: Mapping[tuple[str, str], str],
) -> Iterator[Standing]:
    """Each wanted value of the day among comparable values of others.

    Args:
        results: of all days (``registry.RESULT_COLUMNS``).
        day: whose values are placed.
        wanted: (test, measure) to place, with the better direction where the record takes no side.
        battery: the staff's reference table.
        days: tests taken easy count for nobody.
        squad: sex, event and groups, as of the day.
        bands: age band by (athlete, day).
    """
    same = ["test", "part", "measure", "conditions", "basis"]
    for key, rows in results.groupby(same, sort=False):
        test, part, measure, conditions, _ = (str(k) for k in key)
        if (test, measure) not in wanted:
            continue
        better = record_of(measure, battery.tests.get(test)).better
        if better == "neither":
            better = wanted[test, measure]
        if not better:
            continue
        candidates = _candidates(rows, days, squad, bands)
        for row in records(candidates[candidates["day"] == day]):
            member = squad[row["athlete_id"]]
            staff = _staff(battery, (test, part, measure), member.sex, member.event)
            found = norms.reference(candidates, member.person, staff)
            yield Standing(
                athlete_id=member.athlete_id,
                test=test,
                part=part,
                measure=measure,
                conditions=conditions,
                rung=found.rung,
                n=found.n,
                mean=found.mean,
                sd=found.sd,
                percentile=norms.percentile(row["value"], found.others, member.athlete_id, better),
                t_score=norms.t_score(row["value"], found, better),
            )


def headline_measures(battery: Battery, squad: Squad) -> dict[tuple[str, str], str]:
    """What ``standings`` is to place for the headlines of everybody's groups."""
    return {
        (key.test, key.measure): ""
        for member in squad.values()
        for group in member.groups or ("",)
        for key in battery.headline(group)
    }


def _candidates(
    rows: pd.DataFrame, days: Days, squad: Squad, bands: Mapping[tuple[str, str], str]
) -> pd.DataFrame:
    """The values that may be a reference, with whose they are."""
    kept: list[dict[str, Any]] = [
        {
            "athlete_id": row["athlete_id"],
            "day": row["day"],
            "sex": squad[row["athlete_id"]].sex,
            "event": squad[row["athlete_id"]].event,
            "age_band": bands.get((row["athlete_id"], row["day"]), ""),
            "value": row["value"],
        }
        for row in records(rows)
        if not days.easy(row["day"], row["athlete_id"], row["test"])
    ]
    columns = ["athlete_id", "day", "sex", "event", "age_band", "value"]
    return pd.DataFrame(kept, columns=columns)


def _staff(
    battery: Battery, key: tuple[str, str, str], sex: str, event: str
) -> Mapping[str, float] | None:
    """The staff's line for a test, part and measure: of the event before one for all events."""
    lines: list[StaffLine] = [
        line
        for line in battery.references
        if (line.test, line.part, line.measure, line.sex) == (*key, sex)
        and line.event in ("", event)
    ]
    best = max(lines, key=lambda line: line.event != "", default=None)
    return None if best is None else {"mean": best.mean, "sd": best.sd}
