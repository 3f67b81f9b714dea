"""Times at the gates and between them, and the reaction to the gun."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.phase_sets import chosen
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import ESTIMATED, MEASURED, Array, Trials, TypicalError, joined, once

_GUN = "gun"
_UNFINISHED_S = 1e4
HAND_STEP_S = 0.30
"""A stopwatch in training is good to 0.15 s either way: common practice, no source."""
HAND_RACES_M = (60.0, 200.0)
HAND_OFFSET_S = 0.24
HAND_TIMED = "timed by hand, rounded up to 0.1 s, +0.24 s"

_TEN = (2.0, "%", "A", "<= 1.36, 1.6, 3.1; single beams nearer 3")
_TWENTY = (1.7, "%", "A", "<= 1.36, 1.8")
_THIRTY = (1.7, "%", "A", "1.34-2.24, 2.0")
_FORTY = (1.3, "%", "B", "one between-day study 1.3; within a day 0.7-1.0")

_SPRINT_ERRORS = (
    TypicalError(*_TEN, tests=("10 m",)),
    TypicalError(*_TWENTY, tests=("20 m",)),
    TypicalError(*_THIRTY, tests=("30 m",)),
    TypicalError(*_FORTY, tests=("40 m",)),
    TypicalError(1.3, "%", "C", "carried over from 40 m; no published value seen", ("60 m",)),
)
SPLIT_ERRORS = (
    TypicalError(*_TEN, parts=("10 m", "0-10 m")),
    TypicalError(*_TWENTY, parts=("20 m", "0-20 m")),
    TypicalError(*_THIRTY, parts=("30 m", "0-30 m")),
    TypicalError(*_FORTY, parts=("40 m", "0-40 m")),
)
"""Times from the start to a gate; a part is the gate, or the ends of a phase that begins at 0."""


@once
def gate_table(trials: Trials, *kinds: str) -> pd.DataFrame:
    """Every timed gate of sprints (or of other ``kinds``), sorted by attempt and distance.

    Columns: ``key test clock timing at_m time time_resolution source reaction
    reaction_resolution reaction_source``.
    ``time`` is what the clock showed; ``reaction`` is NaN where none was taken or the clock did
    not run from the gun.
    """
    gates = trials.of_kind("cumulative_time", *(kinds or ("sprint",))).merge(
        trials.attempts[["test", "kind", "clock", "timing"]], left_on="key", right_index=True
    )
    gates = gates.rename(columns={"value": "time", "resolution": "time_resolution"})
    coarse = gates["time_resolution"].clip(lower=HAND_STEP_S)
    gates["time_resolution"] = gates["time_resolution"].where(gates["timing"] != "hand", coarse)
    gates = gates.sort_values(["key", "at_m"], kind="stable").reset_index(drop=True)
    reactions = trials.used("reaction").set_index("key")
    from_gun = gates["clock"] == _GUN
    gates["reaction"] = gates["key"].map(reactions["value"]).where(from_gun)
    gates["reaction_resolution"] = gates["key"].map(reactions["resolution"]).where(from_gun)
    gates["reaction_source"] = gates["key"].map(reactions["source"]).where(from_gun)
    return gates


def finish_time(gates: pd.DataFrame, battery: Battery) -> pd.Series:
    """The time at each attempt's full distance, by attempt; absent where it was not timed."""
    distance = gates["test"].map({t.name: t.distance_m for t in battery.tests.values()})
    finish = gates[np.isclose(gates["at_m"], distance.astype(float))]
    return finish.set_index("key")["time"]


def run_rank(gates: pd.DataFrame, battery: Battery) -> pd.Series:
    """For each gate row, its run's place in “best whole run”, one for every table of the run.

    First the finer phases, then more gates, then the shorter time: a run that lacks a gate goes
    behind one that has them all, however fast, and its time still counts.
    """
    finish = gates["key"].map(finish_time(gates, battery)).fillna(_UNFINISHED_S)
    sets: dict[object, float] = {}
    for key, run in gates.groupby("key", sort=False):
        phase_sets = battery.phases.get(str(run["test"].iloc[0]), ())
        found = chosen(phase_sets, set(run["at_m"]))
        sets[key] = float(found[0] if found else 2 * len(phase_sets))
    fineness = gates["key"].map(sets) * _UNFINISHED_S**2
    number = gates.groupby("key")["key"].transform("size")
    return finish - _UNFINISHED_S * number + fineness


@view("finish", "cumulative_time")
def finish(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each finished run: ``finish_time`` in s by the clock used, ``by_hand`` 0 or 1.

    ``by_hand`` is 1 for a race from the gun over 60 to 200 m that a stopwatch timed.
    """
    gates = gate_table(trials, "sprint", "flying")
    done = gates[gates["key"].isin(finish_time(gates, battery).index)]
    last = done.groupby("key", sort=False).tail(1)
    by_hand = (
        (last["timing"] == "hand")
        & (last["clock"] == _GUN)
        & last["at_m"].between(*HAND_RACES_M)
        & (last["kind"] == "sprint")
    )
    return last.assign(
        part="",
        finish_time=last["time"],
        finish_time_resolution=last["time_resolution"],
        by_hand=by_hand.astype(float),
        basis=np.where(by_hand, ESTIMATED, MEASURED),
        flags=np.where(by_hand, HAND_TIMED, ""),
    )


@view("gates", "cumulative_time")
def gates(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each timed gate: ``gate_time`` in s by the clock used."""
    table = gate_table(trials)
    return table.assign(
        gate_time=table["time"],
        gate_time_resolution=table["time_resolution"],
        rank=run_rank(table, battery),
    )


def segment_table(gates: pd.DataFrame) -> pd.DataFrame:
    """Stretches between neighbouring gates, the first from the line: ``from_… to_…``."""
    before = gates.groupby("key", sort=False)
    first = before.cumcount() == 0
    return gates.assign(
        from_m=before["at_m"].shift().fillna(0.0),
        from_time=before["time"].shift().fillna(0.0),
        from_time_resolution=before["time_resolution"].shift().fillna(0.0),
        to_m=gates["at_m"],
        to_time=gates["time"],
        to_time_resolution=gates["time_resolution"],
        source=[
            joined(a, b) for a, b in zip(before["source"].shift(), gates["source"], strict=True)
        ],
        flags=np.where(first & (gates["clock"] == _GUN), "reaction included", ""),
    )


def stretch(from_m: float, to_m: float) -> str:
    """The part of a segment, ``"10-20 m"``."""
    return f"{from_m:g}-{to_m:g} m"


@view("segments", "cumulative_time")
def segments(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each stretch between neighbouring gates."""
    table = gate_table(trials)
    rows = segment_table(table)
    return rows.assign(
        part=[stretch(a, b) for a, b in zip(rows["from_m"], rows["to_m"], strict=True)],
        rank=run_rank(table, battery),
    )


@view("reactions", "reaction")
def reactions(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each reaction time taken."""
    used = trials.used("reaction")
    return used.assign(part="", reaction=used["value"], reaction_resolution=used["resolution"])


@measure(
    key="time",
    label="time",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(0.5, 120),
    formula="the clock at the full distance; a race timed by hand is rounded up to the next "
    "0.1 s, and 0.24 s are added",
    sources=("definition", "haugen2012", "hand2009"),
    typical_errors=_SPRINT_ERRORS,
    view="finish",
    combine="best",
    section="sprint",
)
def time(finish_time: Array, by_hand: Array) -> Array:
    """Time over the full distance in s, by the clock used.

    A gun-to-finish race by stopwatch (``by_hand`` 1) goes up to the next 0.1 s (competition
    rule) and gets 0.24 s (the usual hand-to-electronic difference for 100 m and 200 m).
    """
    tenths = np.ceil(np.round(finish_time * 10, 6)) / 10
    return np.where(by_hand == 1, tenths + HAND_OFFSET_S, finish_time + 0 * by_hand)


@measure(
    key="split_time",
    label="time at the gate",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(0.5, 120),
    formula="the clock at the gate",
    sources=("definition", "darralljones2016"),
    typical_errors=SPLIT_ERRORS,
    view="gates",
    combine="best run",
    section="sprint",
)
def split_time(gate_time: Array) -> Array:
    """Cumulative time at a gate in s, by the clock used."""
    return gate_time * 1.0


@measure(
    key="segment_time",
    label="time between gates",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(0.1, 60),
    formula="clock at the later gate − clock at the earlier gate",
    sources=("definition",),
    typical_errors=SPLIT_ERRORS,
    view="segments",
    combine="best run",
    section="sprint",
)
def segment_time(from_time: Array, to_time: Array) -> Array:
    """Time between two neighbouring gates in s; the first stretch is counted from clock zero."""
    return to_time - from_time


@measure(
    key="segment_speed",
    label="mean speed between gates",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(1, 13),
    formula="distance between the gates ÷ time between them",
    sources=("definition", "graubner2011"),
    view="segments",
    combine="best run",
    section="sprint",
)
def segment_speed(from_m: Array, to_m: Array, from_time: Array, to_time: Array) -> Array:
    """Mean speed between two neighbouring gates in m/s; distances in m, times in s."""
    return (to_m - from_m) / (to_time - from_time)


@measure(
    key="reaction_time",
    label="reaction to the gun",
    unit="s",
    better="lower",
    decimals=3,
    plausible=(0.05, 0.6),
    formula="as the start system gave it",
    sources=("definition",),
    view="reactions",
    combine="first",
    section="sprint",
)
def reaction_time(reaction: Array) -> Array:
    """Reaction time in s, as recorded."""
    return reaction * 1.0


@view("flying", "cumulative_time")
def flying(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each flying sprint: ``distance_m`` in m and ``flying_time`` in s."""
    gates = gate_table(trials, "flying")
    done = gates[gates["key"].isin(finish_time(gates, battery).index)]
    last = done.groupby("key", sort=False).tail(1)
    return last.assign(
        part="",
        distance_m=last["at_m"],
        flying_time=last["time"],
        flying_time_resolution=last["time_resolution"],
    )


@measure(
    key="speed",
    label="speed",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(3, 13),
    formula="distance ÷ time between the two gates",
    sources=("definition",),
    typical_errors=(
        TypicalError(2.0, "%", "C", "within a day only; order in the source uncertain"),
    ),
    view="flying",
    combine="best",
    section="sprint",
)
def speed(distance_m: Array, flying_time: Array) -> Array:
    """Mean speed of a flying sprint in m/s."""
    return distance_m / flying_time
