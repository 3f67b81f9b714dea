"""Values no human reaches, and values few do.

The limits are those of the measures themselves, so a new measure is guarded the day it is added.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from pipeline.errors import Place
from pipeline.intake.plausibility.causes import SLIPS, Cause, belongs
from pipeline.intake.plausibility.rules import (
    Context,
    Rule,
    Suspect,
    measured,
    measured_suspect,
    records,
    who,
    whole_row,
)
from pipeline.measures import rebounds, registry
from pipeline.measures.spec import Measure, Trials


def _odd_angles(now: Context) -> Iterator[Suspect]:
    """Angles no joint has, each by itself: averaged first, one would take the good ones along."""
    record = registry.MEASURES["angle"]
    low, high = record.limits(now.battery)
    angles = now.trials.used("degrees")
    for row in records(angles[~angles["value"].between(low, high)]):
        details = {
            "raw": row["raw"], "label": record.label, "value": f"{row['value']:g}",
            "unit": record.unit, "low": f"{low:g}", "high": f"{high:g}", "guess": "",
        }  # fmt: skip
        yield whole_row(now.trials, row, details)


def _rebounds_twice(now: Context) -> Iterator[Suspect]:
    for row in rebounds.repeated(now.trials):
        place = {"source": row["source"], "key": row["key"]}
        yield whole_row(now.trials, place, {"rep": f"{row['rep']:g}"})


def _odd_rebounds(now: Context) -> Iterator[Suspect]:
    """Contacts no jumper has, each by itself: a series picks its best, and those would be wrong."""
    table = rebounds.contacts(now.trials)
    table["device_height"] = np.nan
    aside: set[int] = set()
    for key in ("contact_time", "jump_height", "rsi"):
        record = registry.MEASURES[key]
        low, high = record.limits(now.battery)
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        odd = table.assign(amount=record.function(**inputs))
        for row in records(odd[~odd["amount"].between(low, high) & ~odd["key"].isin(aside)]):
            aside.add(int(row["key"]))
            details = {
                "raw": f"{row['contact_time']:g} s, {row['flight_time']:g} s",
                "label": record.label, "value": f"{row['amount']:.{record.decimals}f}",
                "unit": record.unit, "low": f"{low:g}", "high": f"{high:g}", "guess": "",
            }  # fmt: skip
            place, sources = Place.last_of(row["source"]), frozenset(row["source"].split(";"))
            yield Suspect(place, str(row["athlete_id"]), details, sources)


def _out_of_limits(now: Context) -> Iterator[Suspect]:
    trials, battery = now.trials, now.battery
    values = registry.per_attempt(trials, battery)
    values = values.assign(test=values["key"].map(trials.attempts["test"]).astype(str))
    raws = trials.values.drop_duplicates("source").set_index("source")["raw"]
    records_of = {
        (measure, test): registry.record_of(measure, battery.tests.get(test))
        for measure, test in set(zip(values["measure"], values["test"], strict=True))
    }
    bounds = [
        records_of[pair].limits(battery)
        for pair in zip(values["measure"], values["test"], strict=True)
    ]
    low, high = np.array(bounds, dtype=float).reshape(-1, 2).T
    odd = values.assign(low=low, high=high)[~values["value"].between(low, high)]
    seen: set[str] = set()
    for row in records(odd):
        sources = frozenset(row["source"].split(";"))
        if sources & seen:
            continue
        seen |= sources
        record = records_of[row["measure"], row["test"]]
        last = row["source"].split(";")[-1]
        cause = _cause(now, record, row["key"], row["part"])
        shown = f"{cause.value:.{record.decimals}f} {record.unit}" if cause else ""
        details = {
            "raw": raws.get(last, ""),
            "label": record.label,
            "value": f"{row['value']:.{record.decimals}f}",
            "unit": record.unit,
            "low": f"{row['low']:g}",
            "high": f"{row['high']:g}",
            "guess": cause.clause(shown) if cause else "",
        }
        yield Suspect(Place.last_of(last), who(trials, row["key"]), details, sources)


def _cause(now: Context, record: Measure, key: int, part: str) -> Cause | None:
    """The slip that would best explain this one attempt's value, and what the value would be.

    Of those that would make it plausible, the one that brings it nearest the middle of the limits.
    """
    low, high = record.limits(now.battery)
    only = now.trials.values[now.trials.values["key"] == key]
    one = pd.DataFrame(now.trials.attempts.loc[[key]])
    middle = np.sqrt(low * high) if low > 0 else high / 2
    best, distance = None, np.inf
    units = set(only["unit"])
    for factor, slip in SLIPS:
        if not belongs(slip, units):
            continue
        scaled = only.assign(value=only["value"] * factor)
        table = registry.VIEWS[record.view].build(Trials(one, scaled), now.battery)
        table = table[table["part"] == part] if len(table) else table
        if table.empty:
            continue
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        made = record.function(**inputs)
        mended = float(np.max(made, where=np.isfinite(made), initial=-np.inf))
        if mended <= 0 or not low <= mended <= high:  # far and near are shares: none of below zero
            continue
        if abs(np.log(mended / middle)) < distance:
            best, distance = Cause(slip, mended), abs(np.log(mended / middle))
    return best


RARE: dict[str, dict[str, float]] = {
    "jump_height": {"": 75.0, "single-leg jump": 45.0},
    "distance": {"standing long jump": 3.3},
    "rsi": {"": 3.5},
}
"""Values few squads ever see, by measure and test (blank: any other): slips that stay inside the
limits. Common practice, no source."""


def _rare(now: Context) -> Iterator[Suspect]:
    """A value inside its limits that few ever reach."""
    for row in records(measured(now, tuple(RARE))):
        bounds = RARE[row["measure"]]
        bound = bounds.get(row["test"], bounds.get("", np.inf))
        if row["average"] or row["value"] <= bound:
            continue
        record = registry.MEASURES[row["measure"]]
        details = {
            "label": record.label,
            "value": f"{row['value']:.{record.decimals}f} {record.unit}",
            "bound": f"{bound:g} {record.unit}",
        }
        yield measured_suspect(row, details)


RULES = (
    Rule("value-implausible", _odd_angles),
    Rule("rebound-twice", _rebounds_twice),
    Rule("value-implausible", _odd_rebounds),
    Rule("value-implausible", _out_of_limits),
)
RARITIES = (Rule("value-rare", _rare, across=True),)
