"""What changed since the last comparable day.

Two values are compared only when every condition of the comparison key agrees. Whether a change
is real is not judged here: a verdict needs the error of measurement, and stays empty until then.
"""

from __future__ import annotations

import pandas as pd

from pipeline import tables
from pipeline.battery import Battery
from pipeline.measures.registry import MEASURES, record_of
from pipeline.measures.spec import key_fields

PREVIOUS = "previous"
UNKNOWN = "not recorded"


def changes(results: pd.DataFrame, day: str, battery: Battery) -> pd.DataFrame:
    """Each value of ``day`` beside the athlete's last comparable earlier value.

    Args:
        results: results of ``day`` and of earlier days (``registry.RESULT_COLUMNS``).
        day: the ISO date whose values are looked at.
        battery: says which way is better in a test of the staff's own.

    Returns:
        The table ``changes``. ``change`` is positive when better. A value with earlier values but
        none comparable gets the verdict *not comparable* and the fields that differ from the
        latest of them; a first mark has no row.
    """
    earlier = results[results["day"] < day].sort_values("day", kind="stable")
    histories: dict[tuple[object, ...], list[dict[str, object]]] = {}
    for then in _records(earlier):
        histories.setdefault(_same(then), []).append(then)
    rows = []
    for now in _records(results[results["day"] == day]):
        history = histories.get(_same(now))
        if history is None or not MEASURES[str(now["measure"])].compared:
            continue
        agreeing = [then for then in history if _comparable(then, now)]
        plan = battery.tests.get(str(now["test"]))
        better = record_of(str(now["measure"]), plan).better
        rows.append(_row(now, (agreeing or history)[-1], better))
    columns = list(tables.SCHEMAS["changes"].columns)
    return pd.DataFrame(rows, columns=columns)


def _same(row: dict[str, object]) -> tuple[object, ...]:
    """What makes two results values of one measure."""
    return tuple(row[name] for name in ("athlete_id", "test", "part", "measure"))


def _comparable(then: dict[str, object], now: dict[str, object]) -> bool:
    return then["conditions"] == now["conditions"] and then["basis"] == now["basis"]


def _records(frame: pd.DataFrame) -> list[dict[str, object]]:
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def _row(now: dict[str, object], then: dict[str, object], better: str) -> dict[str, object]:
    differing = differences(then, now)
    after, before = float(str(now["value"])), float(str(then["value"]))
    sign = -1.0 if better == "lower" else 1.0
    row: dict[str, object] = dict.fromkeys(tables.SCHEMAS["changes"].columns)
    row |= {c: now[c] for c in ("athlete_id", "test", "part", "measure", "unit", "conditions")}
    row |= {
        "against": PREVIOUS,
        "from_day": then["day"],
        "to_day": now["day"],
        "before": before,
        "after": after,
    }
    if differing:
        return row | {"verdict": tables.NOT_COMPARABLE, "reason": "; ".join(differing)}
    return row | {"change": sign * (after - before)}


def differences(then: dict[str, object], now: dict[str, object]) -> list[str]:
    """The conditions in which two results differ, each as ``field: then → now``."""
    before, after = key_fields(str(then["conditions"])), key_fields(str(now["conditions"]))
    before["basis"], after["basis"] = str(then["basis"]), str(now["basis"])
    return [
        f"{name}: {before.get(name, UNKNOWN)} → {after.get(name, UNKNOWN)}"
        for name in dict.fromkeys([*before, *after])
        if before.get(name) != after.get(name)
    ]
