"""One test of a day against another of the same athlete."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pandas as pd

from pipeline.intake.plausibility.rules import (
    Context,
    Rule,
    Suspect,
    in_row,
    measured,
    measured_suspect,
    records,
    whole_row,
)
from pipeline.measures import registry
from pipeline.measures.jumps import COUNTERMOVEMENT, SQUAT
from pipeline.measures.spec import key_fields
from pipeline.measures.splits import gate_table

WANDER = 0.05
"""Share of a time by which two good runs of one day may differ: four typical errors of a sprint."""

_CLOCKED = ("start", "start_distance_m", "clock", "timing", "beams", "indoor")
"""What must agree before times of two tests are set side by side."""


def _farther_and_faster(now: Context) -> Iterator[Suspect]:
    """A best time too near the one to an earlier gate in another run: 40 m as fast as 30 m."""
    _, fastest = registry.MEASURES["segment_speed"].limits(now.battery)
    gates = gate_table(now.trials)
    own = now.trials.attempts[["athlete_id", "conditions"]]
    gates = gates.merge(own, left_on="key", right_index=True)
    gates["clocked"] = [_clocked(text) for text in gates["conditions"]]
    best = gates.sort_values(["time", "key"], kind="stable")
    best = best.groupby(["athlete_id", "clocked", "at_m"], sort=False).head(1)
    for _, rows in best.groupby(["athlete_id", "clocked"], sort=False):
        order = records(rows.sort_values("at_m"))
        for near, far in itertools.pairwise(order):
            least = (far["at_m"] - near["at_m"]) / fastest - WANDER * near["time"]
            if near["key"] == far["key"] or far["time"] - near["time"] >= max(least, 0.0):
                continue
            details = {
                "far": f"{far['at_m']:g}", "far_s": f"{far['time']:.2f}",
                "near": f"{near['at_m']:g}", "near_s": f"{near['time']:.2f}",
                "where": in_row(near["source"]),
            }  # fmt: skip
            yield whole_row(now.trials, far, details)


def _clocked(conditions: str) -> tuple[str, ...]:
    fields = key_fields(conditions)
    return tuple(fields.get(name, "") for name in _CLOCKED)


def _best_jumps(now: Context) -> pd.DataFrame:
    """Each athlete's highest jump of each test, part and way of holding the arms, in cm."""
    rows = measured(now, ("jump_height",))
    rows = rows[rows["kind"] == "jump"]
    rows = rows.assign(
        arms=[key_fields(str(c)).get("arms", "") for c in rows["conditions"]],
        device=[key_fields(str(c)).get("device", "") for c in rows["conditions"]],
    )
    order = rows.sort_values("value", kind="stable")
    return order.groupby(["athlete_id", "test", "part", "arms", "device"], sort=False).tail(1)


def _one_leg_over_two(now: Context) -> Iterator[Suspect]:
    jumps = _best_jumps(now)
    one_leg = jumps[jumps["part"].isin(("left", "right"))]
    two = jumps[jumps["test"] == COUNTERMOVEMENT]
    yield from _higher(one_leg, two, 1.0)


FAR_ABOVE = 1.15
"""A squat jump over a countermovement jump: twice the error of their ratio, 7 %."""


def _squat_over_counter(now: Context) -> Iterator[Suspect]:
    jumps = _best_jumps(now)
    two = jumps[(jumps["test"] == COUNTERMOVEMENT)]
    squat = jumps[jumps["test"] == SQUAT].merge(
        two[["athlete_id", "arms", "device"]], on=["athlete_id", "arms", "device"]
    )
    yield from _higher(squat, two, FAR_ABOVE)


def _higher(jumps: pd.DataFrame, two: pd.DataFrame, times: float) -> Iterator[Suspect]:
    """Jumps that are higher than so many times the athlete's best countermovement jump."""
    best = two.sort_values("value", kind="stable").groupby("athlete_id").tail(1)
    both = jumps.merge(
        best[["athlete_id", "value", "source"]], on="athlete_id", suffixes=("", "_two")
    )
    for row in records(both[both["value"] > times * both["value_two"]]):
        details = {
            "test": " ".join(text for text in (row["test"], row["part"]) if text),
            "height": f"{row['value']:.1f}",
            "two": f"{row['value_two']:.1f}",
            "where": in_row(row["source_two"]),
        }
        yield measured_suspect(row, details)


RULES = (
    Rule("farther-faster", _farther_and_faster, "the run", across=True),
    Rule("one-leg-over-two", _one_leg_over_two, "the jump", across=True),
    Rule("squat-over-counter", _squat_over_counter, "the jump", across=True),
)
