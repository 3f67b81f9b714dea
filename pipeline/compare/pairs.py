"""Which two results stand against each other, and whether they may.

Two values are compared only when every condition of the comparison key agrees. What may still
differ between two comparable days (the wind, how many attempts there were) is told beside them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.battery import BLOWN, PREVIOUS, Battery
from pipeline.measures.lifts import MANY_REPETITIONS
from pipeline.measures.registry import BEST_OF, MEASURES, record_of, scored_attempts
from pipeline.measures.spec import key_fields

UNKNOWN = "not recorded"
WIND_APART_MPS = 1.0
"""Two sprints whose winds differ by more are not judged on the clock. +2.0 m/s is a rule for
records, and makes nothing comparable."""

_YEAR, _SEASON = dt.timedelta(days=365), dt.timedelta(days=60)
_STILL_AIR = "time_still_air"


@dataclass(frozen=True, slots=True)
class Days:
    """What is known of the testing days.

    Attributes:
        repeats: a repeat day's date → the day it repeats; such a day serves reliability only.
        eased: (day, athlete, test) the staff marked limited; a blank test means all of them.
    """

    repeats: Mapping[str, str]
    eased: frozenset[tuple[str, str, str]]

    def easy(self, day: str, athlete_id: str, test: str) -> bool:
        """Whether an athlete took a test easy on a day."""
        return bool({(day, athlete_id, test), (day, athlete_id, "")} & self.eased)


def pairs(results: pd.DataFrame, day: str, battery: Battery, days: Days) -> pd.DataFrame:
    """Each value of ``day`` beside the one it is set against.

    Args:
        results: of ``day`` and of earlier days (``registry.RESULT_COLUMNS``).
        day: the ISO date whose values are looked at.
        battery: whether that is the last comparable day or the one a year before.
        days: repeat days stand aside, and so do tests taken easy before.

    Returns:
        One row a value that has a history: ``athlete_id test part measure unit conditions basis
        from_day to_day``, ``then`` and ``now`` (the best of the day), ``before`` and ``after``
        (the judged scores), ``n_before n_after``, ``wind`` (before, after; NaN where not known),
        ``differing`` (the fields in which they differ, empty where comparable), ``corrected``
        (before and after are times in still air) and ``uncertain`` (a one-rep max estimated from
        too many repetitions to be judged).
    """
    earlier = results[
        (results["day"] < day) & ~results["day"].isin({*days.repeats, days.repeats.get(day, "")})
    ].sort_values("day", kind="stable")
    histories: dict[tuple[object, ...], list[dict[str, Any]]] = {}
    for then in records(earlier):
        if not days.easy(str(then["day"]), str(then["athlete_id"]), str(then["test"])):
            histories.setdefault(_same(then), []).append(then)
    stills: dict[tuple[object, ...], float] = {
        (row["day"], row["athlete_id"], row["test"], row["conditions"]): float(row["score"])
        for row in records(results[results["measure"] == _STILL_AIR])
    }
    rows = []
    for now in records(results[results["day"] == day]):
        history = histories.get(_same(now))
        if history is None or not MEASURES[str(now["measure"])].compared:
            continue
        found = _against(now, history, battery)
        if found is not None:
            rows.append(_pair(now, found, battery, stills))
    return pd.DataFrame(rows, columns=list(_COLUMNS))


_COLUMNS = (
    "athlete_id", "test", "part", "measure", "unit", "conditions", "basis", "flags", "from_day",
    "to_day", "then", "now", "before", "after", "n_before", "n_after", "wind_before", "wind_after",
    "differing", "corrected", "uncertain",
)  # fmt: skip


def _against(
    now: dict[str, Any], history: list[dict[str, Any]], battery: Battery
) -> dict[str, Any] | None:
    """The earlier result a value is set against: comparable before not, later before earlier."""
    alike = [then for then in history if _comparable(then, now)]
    agreeing = [then for then in alike if not _attempts_differ(then, now, battery)] or alike
    if battery.against == PREVIOUS:
        return (agreeing or history)[-1]
    aim = dt.date.fromisoformat(str(now["day"])) - _YEAR
    near = [
        then
        for then in (agreeing or history)
        if abs(dt.date.fromisoformat(str(then["day"])) - aim) <= _SEASON
    ]
    return min(near, key=lambda t: abs(dt.date.fromisoformat(t["day"]) - aim), default=None)


def _pair(
    now: dict[str, Any],
    then: dict[str, Any],
    battery: Battery,
    stills: Mapping[tuple[object, ...], float],
) -> dict[str, Any]:
    differing = differences(then, now) or _attempts_differ(then, now, battery)
    own = {name: now[name] for name in _COLUMNS[:8]}
    before, after = float(then["score"]), float(now["score"])
    still = [
        stills.get((row["day"], row["athlete_id"], row["test"], row["conditions"]))
        for row in (then, now)
    ]
    corrected = False
    if now["measure"] == "time" and None not in still and winds_apart(then["wind"], now["wind"]):
        before, after, corrected = float(still[0] or 0), float(still[1] or 0), True
    return own | {
        "from_day": then["day"],
        "to_day": now["day"],
        "then": float(then["value"]),
        "now": float(now["value"]),
        "before": before,
        "after": after,
        "n_before": int(then["n_attempts"]),
        "n_after": int(now["n_attempts"]),
        "wind_before": float(then["wind"]),
        "wind_after": float(now["wind"]),
        "differing": "; ".join(differing),
        "corrected": corrected,
        "uncertain": any(MANY_REPETITIONS in str(row["flags"]) for row in (then, now)),
    }


def winds_apart(before: float, after: float) -> bool:
    """Whether two winds in m/s differ by too much; an unknown one does not count as different."""
    return bool(abs(after - before) > WIND_APART_MPS + 1e-9)


def is_sprint(test: str, battery: Battery) -> bool:
    """Whether wind may move a test."""
    plan = battery.tests.get(test)
    return plan is not None and plan.kind in BLOWN


def _attempts_differ(then: dict[str, Any], now: dict[str, Any], battery: Battery) -> list[str]:
    """A single attempt has no score of two: it is set against nothing but a single attempt."""
    wanted = counted(now, battery)
    counts = [min(int(row["n_attempts"]), wanted) for row in (then, now)]
    if counts[0] == counts[1]:
        return []
    return [f"attempts: {int(then['n_attempts'])} → {int(now['n_attempts'])}"]


def counted(row: Mapping[Any, Any], battery: Battery) -> int:
    """How many attempts make the judged score of ``row`` (its ``test`` and ``measure``)."""
    plan = battery.tests.get(str(row["test"]))
    planned = 1 if plan is None else plan.attempts
    return scored_attempts(record_of(str(row["measure"]), plan), planned)


def chosen_among(row: Mapping[Any, Any], battery: Battery) -> bool:
    """Whether the score of ``row`` is the best of attempts alike, so that more of them flatter it.

    The sets of a lift rise to the heaviest: their number says nothing.
    """
    plan = battery.tests.get(str(row["test"]))
    lifted = plan is not None and plan.kind == "lift"
    return record_of(str(row["measure"]), plan).combine in BEST_OF and not lifted


def _same(row: dict[str, Any]) -> tuple[object, ...]:
    """What makes two results values of one measure."""
    return tuple(row[name] for name in ("athlete_id", "test", "part", "measure"))


def _comparable(then: dict[str, Any], now: dict[str, Any]) -> bool:
    return bool(then["conditions"] == now["conditions"] and then["basis"] == now["basis"])


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a table as plain dictionaries."""
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def differences(then: Mapping[str, object], now: Mapping[str, object]) -> list[str]:
    """The conditions in which two results differ, each as ``field: then → now``."""
    before, after = key_fields(str(then["conditions"])), key_fields(str(now["conditions"]))
    before["basis"], after["basis"] = str(then["basis"]), str(now["basis"])
    return [
        f"{name}: {before.get(name, UNKNOWN)} → {after.get(name, UNKNOWN)}"
        for name in dict.fromkeys([*before, *after])
        if before.get(name) != after.get(name)
    ]


def gain(frame: pd.DataFrame, battery: Battery) -> list[float]:
    """The change of each pair, positive when better."""
    gains = []
    for row in records(frame):
        better = record_of(row["measure"], battery.tests.get(row["test"])).better
        moved = float(row["after"] - row["before"])
        gains.append(-moved if better == "lower" else moved)
    return gains
