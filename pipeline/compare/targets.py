"""Where an athlete stands against a target: what is needed a term, beside the best term so far."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import pandas as pd

from pipeline import tables
from pipeline.battery import Battery
from pipeline.compare.pairs import Days, counted, is_sprint, records, winds_apart
from pipeline.measures.registry import record_of
from pipeline.tables import LATE, NO_VALUE, OPEN, REACHED


def targets(
    aims: pd.DataFrame, results: pd.DataFrame, day: str, battery: Battery, days: Days
) -> pd.DataFrame:
    """Each target beside the athlete's last value and best term.

    A term is the median time between the season's testing days so far; what is left is counted in
    whole ones, at least one. Nothing is extrapolated: what is needed stands beside what was.

    Args:
        aims: ``athlete_id test measure target by``; ``by`` an ISO date or empty.
        results: of ``day`` and the days before.
        day: the ISO date.
        battery: the directions of the staff's own tests.
        days: repeat days are no terms; tests taken easy are none either.

    Returns:
        The table ``targets``. ``now`` is the best of the last day that has a value. ``gap``,
        ``needed_per_term`` and ``best_term`` are positive towards better, ``gap`` for what is
        still missing; of a measure without a better side the gap is the distance. ``best_term``
        is the largest gain of the judged score from one day to the next comparable one.
    """
    results = results[results["day"] <= day]
    length = _term_days(sorted(set(results["day"]) - set(days.repeats)))
    rows = []
    for aim in records(aims):
        own = results
        for column in ("athlete_id", "test", "measure"):
            own = own[own[column] == aim[column]]
        rows.append(aim | _stand(aim, records(own), day, length, battery, days))
    columns = list(tables.SCHEMAS["targets"].columns)
    return tables.shape("targets", pd.DataFrame(rows, columns=columns))


def _term_days(days: Sequence[str]) -> float | None:
    """The median number of days between testing days; ``None`` for fewer than two days."""
    apart = [(_date(b) - _date(a)).days for a, b in pairwise(days)]
    return float(pd.Series(apart).median()) if apart else None


def _date(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def _stand(
    aim: Mapping[str, Any],
    own: list[dict[str, Any]],
    day: str,
    length: float | None,
    battery: Battery,
    days: Days,
) -> dict[str, object]:
    record = record_of(str(aim["measure"]), battery.tests.get(str(aim["test"])))
    if not own:
        return {"unit": record.unit, "state": NO_VALUE}
    sign = -1.0 if record.better == "lower" else 1.0
    last = max(row["day"] for row in own)
    now = max((row for row in own if row["day"] == last), key=lambda row: sign * row["value"])
    gap = sign * (aim["target"] - now["value"])
    if record.better == "neither":
        gap = abs(gap)
    stood: dict[str, object] = {
        "unit": record.unit,
        "now": now["value"],
        "now_day": last,
        "part": now["part"],
        "conditions": now["conditions"],
        "gap": gap,
    }
    left = _terms_left(str(aim["by"]), day, length)
    reached = gap <= 10.0 ** -(record.decimals + 1)  # a value shown as the target is the target
    if reached or not left:
        past = bool(aim["by"]) and str(aim["by"]) < day
        state = REACHED if reached else LATE if past else OPEN
    else:
        state = OPEN
        stood |= {"terms_left": left, "needed_per_term": gap / left}
    best = max(_terms(own, sign, battery, days), default=None)
    if best is not None and best[0] > 0:
        stood |= {"best_term": best[0], "best_from": best[1], "best_to": best[2]}
    return stood | {"state": state}


def _terms_left(by: str, day: str, length: float | None) -> int:
    """Whole terms until a date, at least one; 0 where there is no date, or it is past."""
    if not by or length is None or by < day:
        return 0
    return max(1, math.floor((_date(by) - _date(day)).days / length))


def _terms(
    own: list[dict[str, Any]], sign: float, battery: Battery, days: Days
) -> Iterator[tuple[float, str, str]]:
    """Gains between neighbouring comparable days: how much, from which day, to which."""
    series: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for row in sorted(own, key=lambda row: str(row["day"])):
        if row["day"] in days.repeats or days.easy(row["day"], row["athlete_id"], row["test"]):
            continue
        key = (str(row["part"]), str(row["conditions"]), str(row["basis"]))
        series.setdefault(key, []).append(row)
    for same in series.values():
        for then, now in pairwise(same):
            few = counted(now, battery)
            alike = min(then["n_attempts"], few) == min(now["n_attempts"], few)
            blown = is_sprint(str(now["test"]), battery) and winds_apart(then["wind"], now["wind"])
            if alike and not blown:
                yield sign * (now["score"] - then["score"]), str(then["day"]), str(now["day"])
