"""The times of one run: their order, what they count from, and whether anybody is so fast."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from pipeline.errors import Place
from pipeline.intake.kinds import SEGMENT
from pipeline.intake.plausibility.causes import SLOW_SLIPS, Cause, clause
from pipeline.intake.plausibility.rules import Context, Rule, Suspect, records, who, whole_row
from pipeline.measures import registry
from pipeline.measures.splits import gate_table

_RUNS = ("sprint", "flying", "repeated")

QUICKEST_START_S = {10.0: 1.55, 30.0: 3.50}
"""Nobody has run them faster from movement: the 42 finals begin at 1.65 and 3.63 s."""

SLOWEST_MPS, USUAL_MPS = 4.0, (5.0, 12.5)
"""A sprint slower than the first over its whole distance is a jog or a slow-motion clip."""


def _in_disorder(now: Context) -> Iterator[Suspect]:
    gates = now.trials.used("cumulative_time").sort_values(["key", "at_m"], kind="stable")
    before = gates.groupby("key").shift()
    wrong = gates[gates["value"] <= before["value"]]
    wrong = wrong.assign(from_m=before["at_m"], from_s=before["value"]).groupby("key").head(1)
    for row in records(wrong):
        details = {
            "to_m": f"{row['at_m']:g}",
            "to_s": f"{row['value']:g}",
            "from_m": f"{row['from_m']:g}",
            "from_s": f"{row['from_s']:g}",
            "guess": _why_not_after(row),
        }
        yield whole_row(now.trials, row, details)


def _why_not_after(row: Mapping[str, Any]) -> str:
    """The closing clause for a time that does not come after the one at the gate before.

    Two equal times are a gate that failed, and nothing is proposed for it.
    """
    (near, first), (far, second) = (row["from_m"], row["from_s"]), (row["at_m"], row["value"])
    low, high = USUAL_MPS
    if not 0 < second < first:
        return ""
    if near / second <= high and low <= (far - near) / (first - second) <= high:
        return clause(f"the times at {near:g} and {far:g} m exchanged")
    if low <= (far - near) / second <= high:
        mended = Cause("counted from the gate before", first + second)
        return mended.clause(f"{mended.value:.2f} s")
    return ""


def _beyond_the_end(now: Context) -> Iterator[Suspect]:
    """Times at gates that lie past the end of the test: another test, or a slip of the heading."""
    gates = gate_table(now.trials, *_RUNS)
    whole = gates["test"].map({t.name: t.distance_m for t in now.battery.tests.values()})
    for row in records(gates.assign(whole=whole)[gates["at_m"] > whole]):
        details = {"at": f"{row['at_m']:g}", "test": row["test"]}
        place, athlete = Place.last_of(row["source"]), who(now.trials, row["key"])
        yield Suspect(place, athlete, details, frozenset({row["source"]}))


def _segments_as_cumulative(now: Context) -> Iterator[Suspect]:
    """Runs that cannot be as cumulative times, and can as the times between the gates."""
    low, high = registry.MEASURES["segment_speed"].limits(now.battery)
    gates = gate_table(now.trials, "sprint", "repeated")
    before = gates.groupby("key", sort=False)[["at_m", "time"]].shift().fillna(0.0)
    length = gates["at_m"] - before["at_m"]
    gates = gates.assign(
        wrong=length / (gates["time"] - before["time"]).where(lambda gap: gap > 0) > high,
        right=(length / gates["time"]).between(low, high),
    )
    runs = gates.groupby("key", sort=False)
    later = runs.cumcount() > 0
    all_later = (gates["wrong"] | ~later).groupby(gates["key"]).transform("all")
    mixed = all_later & runs["wrong"].transform("any") & runs["right"].transform("all")
    for row in records(gates[mixed & gates["wrong"]].groupby("key", sort=False).head(1)):
        yield whole_row(now.trials, row, {"at": f"{row['at_m']:g}"})


SLOW_SEGMENT_MPS = 5.5
"""Slower than anybody sprints once under way; common practice, no source."""


def _cumulative_as_segments(now: Context) -> Iterator[Suspect]:
    """Runs too slow as times between the gates, and right as times from the start."""
    _, high = registry.MEASURES["segment_speed"].limits(now.battery)
    segments = now.trials.used(SEGMENT)
    for key, run in segments.groupby("key", sort=False):
        ends = [tuple(map(float, part.removesuffix(" m").split("-"))) for part in run["part"]]
        order = np.argsort([end[1] for end in ends], kind="stable")
        length = np.array([ends[i][1] - ends[i][0] for i in order])
        times = run["value"].to_numpy(dtype=float)[order]
        follow = all(ends[a][1] == ends[b][0] for a, b in itertools.pairwise(order))
        gaps = np.diff(times)
        if not len(gaps) or not follow or ends[order[0]][0] != 0 or (gaps <= 0).any():
            continue
        as_read, as_meant = length[1:] / times[1:], length[1:] / gaps
        low = USUAL_MPS[0]
        if (as_read < SLOW_SEGMENT_MPS).all() and ((as_meant >= low) & (as_meant <= high)).all():
            last = records(run.iloc[[order[-1]]])[0]
            yield whole_row(now.trials, {**last, "key": key}, {"part": last["part"]})


def _too_slow(now: Context) -> Iterator[Suspect]:
    gates = gate_table(now.trials, "sprint", "repeated")
    last = gates.groupby("key", sort=False).tail(1)
    last = last[last["at_m"] >= 20]  # noqa: PLR2004  # over less the start rules the mean
    speed = last["at_m"] / last["time"]
    for row in records(last[speed < SLOWEST_MPS]):
        mean = row["at_m"] / row["time"]
        low, high = USUAL_MPS
        slip = next((slip for f, slip in SLOW_SLIPS if low <= mean / f <= high), "")
        details = {"at": f"{row['at_m']:g}", "seconds": f"{row['time']:g}", "guess": clause(slip)}
        yield whole_row(now.trials, row, details)


def _too_fast_a_start(now: Context) -> Iterator[Suspect]:
    """Gun times whose first 10 m cannot be: the reaction was in no split, and is taken off."""
    gates = gate_table(now.trials)
    gates = gates[gates["reaction"].notna()]
    own = gates["time"] - gates["reaction"]
    quick = gates.assign(own=own)[own < gates["at_m"].map(QUICKEST_START_S)]
    for row in records(quick.groupby("key", sort=False).head(1)):
        details = {"at": f"{row['at_m']:g}", "seconds": f"{row['own']:.2f}"}
        yield whole_row(now.trials, row, details)


EARLY_S = 0.100
"""A reaction under it is a false start (competition rule)."""


def _early_reactions(now: Context) -> Iterator[Suspect]:
    reactions = now.trials.used("reaction")
    for row in records(reactions[reactions["value"] < EARLY_S]):
        yield whole_row(now.trials, row, {"reaction": f"{row['value']:.3f}"})


RULES = (
    Rule("splits-disorder", _in_disorder),
    Rule("gate-beyond", _beyond_the_end),
    Rule("segments-as-cumulative", _segments_as_cumulative),
    Rule("cumulative-as-segments", _cumulative_as_segments, "the run"),
    Rule("run-too-slow", _too_slow, "the run"),
    Rule("start-too-fast", _too_fast_a_start, "the run"),
)
REACTIONS = (Rule("reaction-early", _early_reactions, "the run"),)
