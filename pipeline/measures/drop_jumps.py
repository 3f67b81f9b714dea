"""Drop jumps: reactive strength from each height, and the height that gives the most of it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures import rebounds
from pipeline.measures.jumps import part_of
from pipeline.measures.registry import day_view, measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined, key_fields, key_without
from pipeline.units import CM_PER_M

HEIGHT, CONTACT, BOTH, NEITHER = "height", "contact", "both", "neither"
"""What moved between two days, by ``moved``."""
MOSTLY = 2.0
"""How many times the one change must be the other to be called the one that moved."""

FEWEST_HEIGHTS = 3
RISING = "still rising at the highest box"


@view("drop jumps", "contact_time")
def drop_jumps(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each drop jump, and each rebound that counts: ``contact_time flight_time`` in s.

    A contact of 250 ms or more is flagged as slow stretch-shortening.
    """
    contact = trials.of_kind("contact_time", "drop jump")
    flight = trials.of_kind("flight_time", "drop jump")
    both = contact.merge(flight, on="key", suffixes=("", "_flight"))
    dropped = pd.DataFrame(
        {
            "key": both["key"],
            "part": part_of(trials, both["key"]),
            "source": [
                joined(a, b) for a, b in zip(both["source"], both["source_flight"], strict=True)
            ],
            "contact_time": both["value"],
            "contact_time_resolution": both["resolution"],
            "flight_time": both["value_flight"],
            "flight_time_resolution": both["resolution_flight"],
            "flags": np.where(both["value"] >= rebounds.FAST_S, rebounds.SLOW, ""),
            "average": False,
            "rank": -(both["value_flight"] ** 2) / both["value"],
        }
    )
    series = rebounds.counted(trials, battery)
    if series.empty:
        return dropped
    return pd.concat([dropped, series[list(dropped.columns)]], ignore_index=True)


def moved(before: dict[str, float], now: dict[str, float]) -> str:
    """Which of height and contact made reactive strength move, of one drop height on two days.

    Reactive strength is height over contact, so the logarithms of their changes add up to its own
    exactly. The one that makes twice the other's share, or more, is named; a change inside the
    instrument's step counts as none.

    Args:
        before: ``height`` and ``contact`` in any unit, with ``height_step`` and ``contact_step``,
            the resolutions (NaN where not known).
        now: the same of the later day.
    """
    share = {}
    for name in (HEIGHT, CONTACT):
        step = np.nan_to_num((before[f"{name}_step"] + now[f"{name}_step"]) / 2)
        still = abs(now[name] - before[name]) <= step * (1 + 1e-9)
        share[name] = 0.0 if still else abs(float(np.log(now[name] / before[name])))
    if not any(share.values()):
        return NEITHER
    if share[HEIGHT] >= MOSTLY * share[CONTACT]:
        return HEIGHT
    return CONTACT if share[CONTACT] >= MOSTLY * share[HEIGHT] else BOTH


@day_view("drop heights")
def drop_heights(results: pd.DataFrame, _: Battery) -> pd.DataFrame:
    """The drop height in m of the greatest RSI, from a day with at least three heights.

    Neighbouring heights whose RSI is within its typical error of the greatest are one plateau with
    it, and flagged so. The error of two jumps within a day, 1.645 · √2 · 2.6 % (Markwick 2015: 2.1
    to 3.1 %), is 6 %, the typical error the record of the RSI has.
    """
    strength = results[(results["measure"] == "rsi") & (results["part"] != "")]
    drops = [key_fields(c).get("drop_height_m") for c in strength["conditions"]]
    strength = strength.assign(
        drop=[float(d) if d else np.nan for d in drops],
        base=[key_without(c, "drop_height_m") for c in strength["conditions"]],
    ).dropna(subset="drop")
    made = []
    same = ["day", "athlete_id", "test", "base"]
    for _group, rows in strength.groupby(same, sort=False):
        if rows["drop"].nunique() < FEWEST_HEIGHTS:
            continue
        order = rows.sort_values("drop", kind="stable").reset_index(drop=True)
        best = int(order["value"].to_numpy().argmax())
        row: dict[str, object] = {str(k): v for k, v in order.iloc[best].items()}
        row |= {
            "part": "",
            "conditions": row["base"],
            "drop_height": row["drop"],
            "attempt": np.nan,
            "n_attempts": int(order["n_attempts"].sum()),
            "source": joined(*order["source"]),
            "flags": _plateau(order, best),
        }
        made.append(row)
    return pd.DataFrame(made)


def _plateau(order: pd.DataFrame, best: int) -> str:
    """The flag of a curve: its plateau, or that it still rises at the highest box, or nothing."""
    values, drops = order["value"].to_numpy(), order["drop"].to_numpy() * CM_PER_M
    near = values >= values[best] * (1 - _TRAINED.value / 100)
    first = last = best
    while first > 0 and near[first - 1]:
        first -= 1
    while last + 1 < len(near) and near[last + 1]:
        last += 1
    if first < last:
        return f"plateau {drops[first]:g}\u2013{drops[last]:g} cm"
    return RISING if best == len(values) - 1 else ""


_TRAINED = TypicalError(6.0, "%", "B", "trained: Byrne 4.2 (48 h), Markwick 2.1-3.1; widened")


@measure(
    key="rsi",
    label="reactive strength",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(0.1, 5),
    formula="RSI = jump height ÷ contact = (g ÷ 8) · flight² ÷ contact; of ten rebounds the mean "
    "of the five best with contacts under 250 ms, of five the mean of the second to the fifth; a "
    "contact of 250 ms or more is slow stretch-shortening",
    sources=("young1995", "healy2018", "gravity", "schmidtbleicher1992", "harper2011", "lloyd2009"),
    typical_errors=(
        TypicalError(15.0, "%", "B", "youth: 13.4-20.5, open file, same day", youth=True),
        _TRAINED,
    ),
    view="drop jumps",
    combine="best RSI",
    section="reactive",
)
def rsi(contact_time: Array, flight_time: Array) -> Array:
    """Reactive strength index in m/s: height in m over contact in s."""
    return rebounds.reactive_strength(contact_time, flight_time)


@measure(
    key="flight_contact_ratio",
    label="flight ÷ contact",
    unit="",
    better="higher",
    decimals=2,
    plausible=(0.3, 8),
    formula="flight time ÷ contact",
    sources=("young1995",),
    view="drop jumps",
    combine="best RSI",
    section="reactive",
)
def flight_contact_ratio(contact_time: Array, flight_time: Array) -> Array:
    """Flight time over contact, both in s."""
    return flight_time / contact_time


@measure(
    key="best_drop_height",
    label="drop height with the greatest reactive strength",
    unit="cm",
    better="neither",
    decimals=0,
    plausible=(5, 120),
    formula="of at least three drop heights the one with the greatest RSI; neighbours within 6 % "
    "of it are one plateau with it, so it is not set beside another day's. Heights are the box's: "
    "the drop itself was 10 % less from 30 cm and 14 % less from 40 cm",
    sources=("byrne2017", "markwick2015", "mcmahon2021"),
    view="drop heights",
    combine="day",
    section="reactive",
    compared=False,
)
def best_drop_height(drop_height: Array) -> Array:
    """Drop height in cm from m."""
    return drop_height * CM_PER_M
