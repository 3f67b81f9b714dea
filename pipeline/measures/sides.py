"""Left against right: how much the weaker side lacks, and when that is worth a word."""

from __future__ import annotations

import math

import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.registry import MEASURES, day_view, measure
from pipeline.measures.spec import Array, joined, key_without

LEFT, RIGHT = "left", "right"
WEAKER = "weaker side: "
COMPARED_SIDES = ("jump_height", "distance", "one_rep_max")
_NORMAL_90 = 1.6448536269514722
"""Standard errors of a 90 % interval."""


def side_error(key: str, test: str) -> float:
    """The typical error of one side in %: the test's own, else the greatest of the measure's.

    No between-day error of a one-legged jump, hop or lift was seen, so it is carried over.
    """
    errors = [e for e in MEASURES[key].typical_errors if e.unit == "%"]
    own = [e.value for e in errors if test in e.tests]
    return own[0] if own else max(e.value for e in errors)


@day_view("sides")
def sides(results: pd.DataFrame, _: Battery) -> pd.DataFrame:
    """One row for each pair of sides taken alike: ``stronger weaker`` and the 90 % interval in %.

    Both sides must agree in every condition but the side, and be measured or estimated alike.
    """
    taken = results[results["measure"].isin(COMPARED_SIDES) & results["part"].isin([LEFT, RIGHT])]
    taken = taken.assign(base=[key_without(c, "side") for c in taken["conditions"]])
    made = []
    same = ["day", "athlete_id", "test", "measure", "base", "basis"]
    for group, rows in taken.groupby(same, sort=False):
        pair = rows.drop_duplicates("part").sort_values(["value", "part"], kind="stable")
        if len(pair) < 2:  # noqa: PLR2004  # a pair
            continue
        low, high = pair.iloc[0], pair.iloc[1]
        ratio = low["value"] / high["value"]
        half = _NORMAL_90 * math.sqrt(2) * side_error(str(group[3]), str(group[2])) * ratio
        equal = low["value"] == high["value"]
        row = low.to_dict()
        row |= {
            "part": "",
            "conditions": low["base"],
            "attempt": math.nan,
            "n_attempts": int(pair["n_attempts"].sum()),
            "source": joined(*pair["source"]),
            "flags": joined("" if equal else f"{WEAKER}{low['part']}", *pair["flags"]),
            "stronger": high["value"],
            "stronger_resolution": high["resolution"],
            "weaker": low["value"],
            "weaker_resolution": low["resolution"],
            "asymmetry_low": 100 * (1 - ratio) - half,
            "asymmetry_high": 100 * (1 - ratio) + half,
        }
        made.append(row)
    return pd.DataFrame(made)


def weaker_side(flags: str) -> str:
    """``left``, ``right`` or nothing, from the flags of an asymmetry."""
    named = (f.removeprefix(WEAKER) for f in flags.split(";") if f.startswith(WEAKER))
    return next(named, "")


def lasting(now: pd.Series, earlier: pd.DataFrame) -> pd.Series | None:
    """The earlier day that makes a difference between sides worth a word, or nothing.

    It is so only if the difference is beyond its error (a 90 % interval above 0) on this day and
    on the last comparable one, with the same side weaker on both.

    Args:
        now: an asymmetry, a row of the results.
        earlier: the same athlete's asymmetries of earlier days, of any test and conditions.
    """
    same = earlier[earlier["day"] < now["day"]]
    for column in ("test", "conditions", "basis"):
        same = same[same[column] == now[column]]
    if same.empty:
        return None
    last = same.sort_values("day", kind="stable").iloc[-1]
    beyond = bool(now["low"] > 0) and bool(last["low"] > 0)
    side = weaker_side(str(now["flags"]))
    return last if beyond and side and side == weaker_side(str(last["flags"])) else None


@measure(
    key="asymmetry",
    label="difference between the sides",
    unit="%",
    better="neither",
    decimals=0,
    plausible=(0, 100),
    formula="100 · (stronger − weaker) ÷ stronger, so 25 and 20 differ by 20 % (of the weaker it "
    "would be 25 %: several equations are in print); the interval (90 %) follows from the typical "
    "errors of both sides; the side may change from day to day, so days are not set side by side",
    sources=("bishop2016",),
    view="sides",
    combine="day",
    section="sides",
    compared=False,
)
def asymmetry(stronger: Array, weaker: Array) -> Array:
    """What the weaker side lacks of the stronger, in %; both in one unit."""
    return 100 * (stronger - weaker) / stronger
