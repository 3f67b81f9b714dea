"""What is told of a force trace: its measures, for each kind of test."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures.force_traces import DROP_JUMP, ISOMETRIC, JUMP, SQUAT_JUMP, Trace
from pipeline.measures.jumps import part_of
from pipeline.measures.registry import day_view, measure, view
from pipeline.measures.spec import (
    FORCE_TRACE,
    USED,
    Array,
    Trials,
    TypicalError,
    joined,
    key_fields,
)
from pipeline.units import CM_PER_M, STANDARD_GRAVITY

DIP_FLAG = "dip before the push"


def _traces(trials: Trials) -> list[tuple[int, str, str, Trace]]:
    """Every used trace: key, source, part, trace."""
    values = trials.values
    used = values[(values["quantity"] == FORCE_TRACE) & (values["status"] == USED)]
    used = used[used["key"].isin(list(trials.traces))]
    parts = part_of(trials, used["key"])
    rows = zip(used["key"], used["source"], parts, strict=True)
    return [(int(key), str(source), part, trials.traces[int(key)]) for key, source, part in rows]


def _rank(trace: Trace) -> float:
    """Downwards: speed of a jump, peak of a pull for each kg, RSI of a drop jump."""
    found = trace.reading
    return {
        JUMP: -found.impulse / found.mass_kg,
        ISOMETRIC: -found.peak_n / found.mass_kg,
        DROP_JUMP: -(found.flight_s**2) / found.time_s,
    }[trace.kind]


@view("force traces", FORCE_TRACE)
def force_traces(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each used trace; times in s, force in N, impulse in N·s, mass in kg.

    Newtons of a trace in body weights are not told where nobody weighed the athlete; the rest
    needs only their ratio to the mass.
    """
    nothing, tests = np.nan, trials.attempts["test"]
    rows = []
    for key, source, part, trace in _traces(trials):
        found, step = trace.reading, 1 / trace.rate_hz
        jumped, dropped = trace.kind == JUMP, trace.kind == DROP_JUMP
        rows.append(
            {
                "key": key,
                "part": part,
                "source": source,
                "rank": _rank(trace),
                "flags": DIP_FLAG if found.dip and tests[key] == SQUAT_JUMP else "",
                "absolute_impulse": found.impulse if trace.absolute else nothing,
                "absolute_peak": found.peak_n if trace.absolute else nothing,
                "impulse": found.impulse,
                "takeoff_impulse": found.impulse if jumped else nothing,
                "contact_impulse": found.impulse if dropped else nothing,
                "mass": found.mass_kg,
                "peak": found.peak_n,
                "push_time": found.time_s if jumped else nothing,
                "push_time_resolution": 2 * step,
                "plate_contact": found.time_s if dropped else nothing,
                "plate_contact_resolution": 2 * step,
                "plate_flight": found.flight_s,
                "plate_flight_resolution": 2 * step,
            }
        )
    return pd.DataFrame(rows)


@view("force windows", FORCE_TRACE)
def force_windows(trials: Trials, _: Battery) -> pd.DataFrame:
    """One row for each window of a used trace: ``rise`` in N, ``window`` in s, ``mass`` in kg."""
    rows = [
        {
            "key": key,
            "part": ", ".join(text for text in (part, name) if text),
            "source": source,
            "rank": _rank(trace),
            "rise": gained,
            "window": seconds,
            "mass": trace.reading.mass_kg,
        }
        for key, source, part, trace in _traces(trials)
        for name, gained, seconds in trace.reading.rises
    ]
    return pd.DataFrame(rows)


@day_view("strength index")
def strength_indices(results: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """Peak force of the battery's first jump over that of its first isometric test, a day each.

    The row stands under the isometric test; its part names the jump, its conditions are those of
    both.
    """
    peaks = results[(results["measure"] == "peak_relative_force") & (results["part"] == "")]
    kinds = peaks["test"].map({t.name: t.kind for t in battery.tests.values()})
    peaks = peaks.assign(kind=kinds, order=[battery.order(str(t)) for t in peaks["test"]])
    first = peaks.sort_values("order", kind="stable").drop_duplicates(["day", "athlete_id", "kind"])
    pairs = first[first["kind"] == ISOMETRIC].merge(
        first[first["kind"] == JUMP], on=["day", "athlete_id"], suffixes=("", "_jump")
    )
    both = zip(pairs["conditions_jump"], pairs["conditions"], strict=True)
    merged = [key_fields(jump) | key_fields(pull) for jump, pull in both]
    return pairs.assign(
        part=pairs["test_jump"],
        jump_peak=pairs["value_jump"],
        isometric_peak=pairs["value"],
        n_attempts=pairs["n_attempts"] + pairs["n_attempts_jump"],
        attempt=np.nan,
        source=[joined(a, b) for a, b in zip(pairs["source_jump"], pairs["source"], strict=True)],
        flags=[joined(a, b) for a, b in zip(pairs["flags_jump"], pairs["flags"], strict=True)],
        conditions=["; ".join(f"{k}={v}" for k, v in fields.items()) for fields in merged],
    )


@measure(
    key="net_impulse",
    label="net impulse",
    unit="N.s",
    better="higher",
    decimals=1,
    plausible=(15, 1200),
    formula="∫ (force − weight) dt from the onset to take-off, by trapezoids; weight from 1 s of "
    "quiet standing, onset 30 ms before the force leaves it by 5 SD, take-off under "
    "max(10 N, 5 SD of flight); of a drop jump, over the contact",
    sources=("linthorne2001", "owen2014"),
    view="force traces",
    combine="best trace",
    section="force",
    staff_only=True,  # with the take-off speed it tells the body mass
)
def net_impulse(absolute_impulse: Array) -> Array:
    """Net impulse in N·s, as integrated."""
    return absolute_impulse * 1.0


@measure(
    key="relative_impulse",
    label="net impulse for each kg",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(0.4, 9),
    formula="net impulse ÷ mass; of a jump this is the take-off speed, of a drop jump the speed "
    "gained over the contact",
    sources=("linthorne2001", "owen2014"),
    view="force traces",
    combine="best trace",
    section="force",
)
def relative_impulse(impulse: Array, mass: Array) -> Array:
    """Net impulse in N·s over mass in kg: m/s."""
    return impulse / mass


@measure(
    key="impulse_jump_height",
    label="jump height by impulse",
    unit="cm",
    better="higher",
    decimals=1,
    plausible=(3, 90),
    formula="h = v² ÷ 2g with v = net impulse ÷ mass",
    sources=("linthorne2001", "owen2014", "gravity"),
    view="force traces",
    combine="best trace",
    section="force",
)
def impulse_jump_height(takeoff_impulse: Array, mass: Array) -> Array:
    """Height in cm from net impulse in N·s and mass in kg: v² / 2g."""
    return CM_PER_M * (takeoff_impulse / mass) ** 2 / (2 * STANDARD_GRAVITY)


@measure(
    key="flight_jump_height",
    label="jump height by the plate's flight time",
    unit="cm",
    better="higher",
    decimals=1,
    plausible=(3, 90),
    formula="h = g · t² ÷ 8 with t from take-off to landing on the plate",
    sources=("bosco1983", "linthorne2001", "gravity"),
    view="force traces",
    combine="best trace",
    section="force",
)
def flight_jump_height(plate_flight: Array) -> Array:
    """Height in cm from the plate's flight time in s: g t² / 8."""
    return CM_PER_M * STANDARD_GRAVITY * plate_flight**2 / 8


@measure(
    key="time_to_takeoff",
    label="time to take-off",
    unit="s",
    better="neither",
    decimals=3,
    plausible=(0.1, 2.5),
    formula="onset to take-off",
    sources=("owen2014", "mcmahon2018"),
    view="force traces",
    combine="best trace",
    section="force",
)
def time_to_takeoff(push_time: Array) -> Array:
    """Onset to take-off in s."""
    return push_time * 1.0


@measure(
    key="rsi_modified",
    label="reactive strength, modified",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(0.05, 2),
    formula="jump height by impulse ÷ time to take-off",
    sources=("ebben2010", "mcmahon2018"),
    typical_errors=(
        TypicalError(7.0, "%", "B", "open file 6.1-6.7; McMahon 2018, interval up to 9.2"),
    ),
    view="force traces",
    combine="best trace",
    section="force",
)
def rsi_modified(takeoff_impulse: Array, mass: Array, push_time: Array) -> Array:
    """Height by impulse in m over the time to take-off in s."""
    return (takeoff_impulse / mass) ** 2 / (2 * STANDARD_GRAVITY) / push_time


_PULLS = ("isometric mid-thigh pull", "isometric squat")


@measure(
    key="peak_force",
    label="peak force",
    unit="N",
    better="higher",
    decimals=0,
    plausible=(250, 12000),
    formula="greatest force of push, pull or contact, body weight included (gross)",
    sources=("definition",),
    typical_errors=(
        TypicalError(5.0, "%", "A", "median 4.9 (16 studies), 3.6, <= 7.3", _PULLS[:1]),
    ),
    view="force traces",
    combine="best trace",
    section="force",
    staff_only=True,  # with the force for each kg it tells the body mass
)
def peak_force(absolute_peak: Array) -> Array:
    """Greatest force in N, body weight included."""
    return absolute_peak * 1.0


@measure(
    key="peak_relative_force",
    label="peak force for each kg",
    unit="N/kg",
    better="higher",
    decimals=1,
    plausible=(10, 150),
    formula="peak force, body weight included (gross), ÷ mass of the quiet stance",
    sources=("definition", "owen2014"),
    typical_errors=(
        TypicalError(5.0, "%", "A", "median 4.9 (16 studies), 3.6, <= 7.3", _PULLS[:1]),
    ),
    view="force traces",
    combine="best trace",
    section="force",
)
def peak_relative_force(peak: Array, mass: Array) -> Array:
    """Peak force in N over mass in kg."""
    return peak / mass


@measure(
    key="rate_of_force",
    label="rate of force",
    unit="N/s/kg",
    better="higher",
    decimals=0,
    plausible=(0, 1000),
    formula="force gained ÷ time ÷ mass: in a countermovement over its braking, from the "
    "greatest speed down to the lowest point; else over 100 and 200 ms from where the force "
    "leaves quiet standing by 5 SD",
    sources=("owen2014", "dossantos2017"),
    view="force windows",
    combine="best trace",
    section="force",
)
def rate_of_force(rise: Array, window: Array, mass: Array) -> Array:
    """Force gained in N over its window in s and the mass in kg."""
    return rise / window / mass


@measure(
    key="plate_contact_time",
    label="ground contact on the plate",
    unit="s",
    better="neither",
    decimals=3,
    plausible=(0.08, 1.0),
    formula="touchdown to take-off of a drop jump, at max(10 N, 5 SD of flight)",
    sources=("owen2014",),
    view="force traces",
    combine="best trace",
    section="force",
)
def plate_contact_time(plate_contact: Array) -> Array:
    """Contact of a drop jump in s."""
    return plate_contact * 1.0


@measure(
    key="drop_height_real",
    label="real drop height",
    unit="cm",
    better="neither",
    decimals=1,
    plausible=(2, 150),
    formula="h = v² ÷ 2g with v = contact impulse ÷ mass − take-off speed, that from flight time",
    sources=("mcmahon2021", "gravity"),
    view="force traces",
    combine="best trace",
    section="force",
)
def drop_height_real(contact_impulse: Array, mass: Array, plate_flight: Array) -> Array:
    """Height in cm somebody really fell: speed at touchdown is what the contact took away."""
    speed = contact_impulse / mass - STANDARD_GRAVITY * plate_flight / 2
    return CM_PER_M * np.maximum(speed, 0.0) ** 2 / (2 * STANDARD_GRAVITY)


@measure(
    key="strength_index",
    label="jump force ÷ isometric force",
    unit="",
    better="neither",
    decimals=2,
    plausible=(0.2, 1.5),
    formula="peak force of the first jump of the battery that has a trace ÷ peak force of its "
    "first isometric test, both gross and for each kg",
    sources=("sheppard2011",),
    view="strength index",
    combine="day",
    section="force",
)
def strength_index(jump_peak: Array, isometric_peak: Array) -> Array:
    """Ballistic over isometric peak force, both in N/kg."""
    return jump_peak / isometric_peak
