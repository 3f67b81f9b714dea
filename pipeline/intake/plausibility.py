"""Values no human reaches, times out of order, sets too long: set aside, with the likely cause.

The limits are those of the measures themselves, so a new measure is guarded the day it is added.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.measures import registry
from pipeline.measures.spec import Measure, Trials

_SLIPS: tuple[tuple[float, str], ...] = (
    (1e-3, "thousandths written as whole units (ms as s?)"),
    (1e-2, "hundredths written as whole units (cm as m?)"),
    (1e-1, "the decimal point one place too far right"),
    (1e1, "the decimal point one place too far left"),
    (1e2, "whole units written as hundredths (m as cm?)"),
    (0.45359237, "pounds written as kilograms"),
)
"""Factor that would bring the value back, and the slip it betrays."""


def check(trials: Trials, battery: Battery) -> tuple[Trials, list[Finding]]:
    """Set aside what cannot be.

    Returns:
        The trials with those values' status changed, and a finding for each.
    """
    findings: list[Finding] = []
    aside: set[str] = set()
    for rule in (_too_many_repetitions, _splits_in_disorder, _out_of_limits):
        cleared = trials.set_aside(aside) if aside else trials
        for found, sources in rule(cleared, battery):
            findings.append(found)
            aside |= sources
    return (trials.set_aside(aside) if aside else trials), findings


_Fault = tuple[Finding, set[str]]


def _place(source: str) -> Place:
    file, sheet, row, column = source.split("!", 3)
    return Place(file, sheet, int(row) if row else None, column)


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def _who(trials: Trials, key: int) -> str:
    return str(trials.attempts.loc[key, "athlete_id"])


def _row_sources(trials: Trials, key: int) -> set[str]:
    """Every value of one attempt, conditions of its session left out."""
    values = trials.values[trials.values["key"] == key]
    prefix = str(trials.attempts.loc[key, "place"])
    return {s for s in values["source"] if s.startswith(prefix)}


def _too_many_repetitions(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    reps = trials.used("reps")
    for row in _records(reps[reps["value"] > battery.max_repetitions]):
        details = {"reps": f"{row['value']:g}", "limit": battery.max_repetitions}
        yield (
            finding(
                "repetitions-too-many", _place(row["source"]), _who(trials, row["key"]), **details
            ),
            _row_sources(trials, row["key"]),
        )


def _splits_in_disorder(trials: Trials, _: Battery) -> Iterator[_Fault]:
    gates = trials.used("cumulative_time").sort_values(["key", "at_m"], kind="stable")
    before = gates.groupby("key").shift()
    wrong = gates[gates["value"] <= before["value"]]
    wrong = wrong.assign(from_m=before["at_m"], from_s=before["value"]).groupby("key").head(1)
    for row in _records(wrong):
        details = {
            "to_m": f"{row['at_m']:g}",
            "to_s": f"{row['value']:g}",
            "from_m": f"{row['from_m']:g}",
            "from_s": f"{row['from_s']:g}",
        }
        yield (
            finding("splits-disorder", _place(row["source"]), _who(trials, row["key"]), **details),
            _row_sources(trials, row["key"]),
        )


def _out_of_limits(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    values = registry.per_attempt(trials, battery)
    raws = trials.values.drop_duplicates("source").set_index("source")["raw"]
    seen: set[str] = set()
    for row in _records(values):
        record = registry.MEASURES[row["measure"]]
        low, high = record.limits(battery)
        sources = set(row["source"].split(";"))
        if low <= row["value"] <= high or sources & seen:
            continue
        seen |= sources
        last = row["source"].split(";")[-1]
        yield (
            finding(
                "value-implausible",
                _place(last),
                _who(trials, row["key"]),
                raw=raws.get(last, ""),
                label=record.label,
                value=f"{row['value']:.{record.decimals}f}",
                unit=record.unit,
                low=f"{low:g}",
                high=f"{high:g}",
                guess=_guess(trials, battery, record, row["key"], row["part"]),
            ),
            sources,
        )


def _guess(trials: Trials, battery: Battery, record: Measure, key: int, part: str) -> str:
    """The slip that would make this one attempt's value plausible, as a closing clause."""
    low, high = record.limits(battery)
    only = trials.values[trials.values["key"] == key]
    one = pd.DataFrame(trials.attempts.loc[[key]])
    for factor, slip in _SLIPS:
        scaled = only.assign(value=only["value"] * factor)
        table = registry.VIEWS[record.view].build(Trials(one, scaled), battery)
        if table.empty:
            continue
        table = table[table["part"] == part]
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        mended = record.function(**inputs)
        if len(mended) and np.all((low <= mended) & (mended <= high)):
            return f"; likely {slip}"
    return ""
