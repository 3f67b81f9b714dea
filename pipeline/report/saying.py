"""What can be said of a change, in words: the verdict with the error in the same sentence."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, Decimal
from typing import Any

import pandas as pd

from pipeline import tables
from pipeline.measures.spec import Measure
from pipeline.report import wording
from pipeline.report.wording import say

CLEAR = (tables.BETTER, tables.WORSE)

_WAYS: dict[str, tuple[str, str]] = {
    "jump_height": ("higher", "lower"),
    "distance": ("further", "shorter"),
    "one_rep_max": ("stronger", "weaker"),
    "speed": ("faster", "slower"),
    "top_speed": ("faster", "slower"),
    "contact_time": ("shorter", "longer"),
}
_RUN = ("time", "phase_time", "split_time", "segment_time", "best_time", "mean_time")


def way(change: Any, record: Measure) -> str:
    """Which way a clear change went: faster, higher, better."""
    better = change["verdict"] == tables.BETTER
    ways = ("faster", "slower") if record.key in _RUN else _WAYS.get(record.key)
    return (ways or ("better", "worse"))[not better]


def needed(change: Any, record: Measure) -> str:
    """What a change needs before it counts: beyond its error and worth having, with its unit.

    Rounded up where the change falls short of it, so that it never looks reached; to the nearest
    where the change is clear, so that it never looks missed.
    """
    reach = (float(change["high"]) - float(change["low"])) / 2
    worth = change["smallest_worthwhile"]
    least = reach if pd.isna(worth) else max(reach, float(worth))
    if change["verdict"] in CLEAR:
        return wording.value(least, record)
    return wording.with_unit(_up(least, record.decimals), record)


def one_day(change: Any) -> float:
    """How far a single day's score may lie from the athlete's level, 90 %; NaN where not known.

    A change carries the error of two days.
    """
    return (float(change["high"]) - float(change["low"])) / 2 / math.sqrt(2)


def amount(change: Any, record: Measure) -> str:
    """The size of a change without its sign, with its unit."""
    return wording.value(abs(float(change["change"])), record)


def _up(value: float, decimals: int) -> str:
    """Rounded away from nothing: what is needed may not be told too small."""
    if math.isnan(value):
        return wording.NOTHING
    step = Decimal(1).scaleb(-decimals)
    return str(Decimal(repr(round(value, decimals + 3))).quantize(step, ROUND_CEILING))


def said(change: Any, record: Measure) -> str:
    """The cell *what we can say* of one change."""
    verdict, reason = str(change["verdict"]), first_reason(change)
    if verdict == tables.NOT_COMPARABLE:
        return say("verdict different", reason=wording.apart(change["reason"]))
    if verdict == tables.STEADY:
        worth = wording.value(float(change["smallest_worthwhile"]), record)
        return say("verdict steady", worth=worth)
    if verdict in CLEAR:
        return say(
            "verdict clear",
            way=way(change, record),
            amount=amount(change, record),
            needs=needed(change, record),
        )
    if verdict == tables.CANNOT_TELL and reason == tables.WITHIN_ERROR:
        moved = amount(change, record)
        return say("verdict cannot", amount=moved, needs=needed(change, record))
    if not reason:
        return say("verdict neither")
    key = "verdict cannot why" if verdict else "verdict none"
    return say(key, why=say(f"why {reason}"))


def first_reason(change: Any) -> str:
    """Why a change has the verdict it has; what it rests on besides is left out."""
    reason = str(change["reason"]).split("; ", maxsplit=1)[0]
    return reason if reason in tables.REASONS else ""


def rests_on(change: Any) -> list[str]:
    """What a verdict rests on besides the values: still air, unknown wind, unequal attempts."""
    return [part for part in str(change["reason"]).split("; ") if part in BASES]


BASES = (tables.STILL_AIR, tables.WIND_UNKNOWN, tables.ATTEMPTS_CORRECTED)
