"""Values no human reaches, times out of order, sets too long: set aside, with the likely cause.

The limits are those of the measures themselves, so a new measure is guarded the day it is added.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.measures import registry
from pipeline.measures.spec import USED, Measure, Trials

_SLIPS: tuple[tuple[float, str], ...] = (
    (1e-3, "thousandths written as whole units (ms as s?)"),
    (1e-2, "hundredths written as whole units (cm as m?)"),
    (1e-1, "the decimal point one place too far right"),
    (1e1, "the decimal point one place too far left"),
    (1e2, "whole units written as hundredths (m as cm?)"),
    (0.45359237, "pounds written as kilograms"),
)
"""Factor that would bring the value back, and the slip it betrays."""

_LOAD_SLIPS = tuple(pair for pair in reversed(_SLIPS) if pair[0] in (1e-1, 0.45359237))


def check(trials: Trials, battery: Battery) -> tuple[Trials, list[Finding]]:
    """Set aside what cannot be.

    Returns:
        The trials with those values' status changed, and a finding for each.
    """
    findings: list[Finding] = []
    aside: set[str] = set()
    for rule in (_too_many_repetitions, _loads_too_high, _splits_in_disorder, _out_of_limits):
        cleared = trials.set_aside(aside) if aside else trials
        for found, sources in rule(cleared, battery):
            findings.append(found)
            aside |= sources
    return (trials.set_aside(aside) if aside else trials), findings


def notice(trials: Trials, excused: set[tuple[str, str]], battery: Battery) -> list[Finding]:
    """What deserves a look though nothing is set aside.

    Args:
        trials: one day's, after ``check``.
        excused: (athlete, test) that staff marked limited or not done; a blank test means all.
        battery: how many attempts a test asks for.
    """
    return [
        *_hand_timed(trials, battery),
        *_missed_gates(trials),
        *_too_few_attempts(trials, excused, battery),
    ]


def _hand_timed(trials: Trials, battery: Battery) -> Iterator[Finding]:
    times = registry.VIEWS["finish"].build(trials, battery)
    for row in _records(times[times["by_hand"] == 1]):
        yield finding("hand-timed", Place.from_source(row["source"]), _who(trials, row["key"]))


def _missed_gates(trials: Trials) -> Iterator[Finding]:
    """Gates that most runs of a test and session have and a run lacks before its last."""
    gates = trials.of_kind("cumulative_time", "sprint").merge(
        trials.attempts[["athlete_id", "test", "session", "place"]],
        left_on="key",
        right_index=True,
    )
    for _, runs in gates.groupby(["test", "session"], sort=False):
        number = runs["key"].nunique()
        usual = runs.groupby("at_m")["key"].nunique()
        usual_gates = usual.index[2 * usual > number].tolist()
        for _, run in runs.groupby("key", sort=False):
            own = set(run["at_m"])
            first = run.iloc[0]
            place = Place.from_source(str(first["place"]))
            for at in usual_gates:
                if at not in own and at < max(own):
                    yield finding(
                        "gate-missed",
                        place.at(place.row, f"t{at:g}"),
                        str(first["athlete_id"]),
                        gate=f"{at:g} m",
                    )


def _too_few_attempts(
    trials: Trials, excused: set[tuple[str, str]], battery: Battery
) -> Iterator[Finding]:
    used = trials.with_results(USED)
    same = ["athlete_id", "test", "side", "drop_height_m"]
    for (who, test, *_), rows in trials.attempts.groupby(same, sort=False, dropna=False):
        plan = battery.tests.get(str(test))
        if plan is None or {(str(who), str(test)), (str(who), "")} & excused:
            continue
        count = sum(key in used for key in rows.index)
        if count < plan.attempts:
            # the sheet, not a row: nothing is wrong with the rows that are there
            place = Place.from_source(str(rows.iloc[-1]["place"])).at()
            details = {"test": test, "used": count, "planned": plan.attempts}
            yield finding("attempts-short", place, str(who), **details)


_Fault = tuple[Finding, set[str]]


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def _who(trials: Trials, key: int) -> str:
    return str(trials.attempts.loc[key, "athlete_id"])


def _row_sources(trials: Trials, key: int) -> set[str]:
    """Every value of one attempt, conditions of its session left out."""
    values = trials.values[trials.values["key"] == key]
    prefix = str(trials.attempts.loc[key, "place"])
    return {s for s in values["source"] if s.startswith(prefix)}


def _fault(code: str, trials: Trials, row: dict[str, Any], details: Mapping[str, object]) -> _Fault:
    """A finding at a value, with every value of its row."""
    place, who = Place.from_source(row["source"]), _who(trials, row["key"])
    return finding(code, place, who, **details), _row_sources(trials, row["key"])


def _too_many_repetitions(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    reps = trials.used("reps")
    for row in _records(reps[reps["value"] > battery.max_repetitions]):
        details = {"reps": f"{row['value']:g}", "limit": battery.max_repetitions}
        yield (
            finding(
                "repetitions-too-many",
                Place.from_source(row["source"]),
                _who(trials, row["key"]),
                **details,
            ),
            _row_sources(trials, row["key"]),
        )


def _loads_too_high(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    """A load over the limit of a one-rep max, also in a set that no maximum is taken from."""
    record = registry.MEASURES["one_rep_max"]
    low, high = record.limits(battery)
    loads = trials.used("load")
    for row in _records(loads[loads["value"] > high]):
        slips = (slip for factor, slip in _LOAD_SLIPS if low <= row["value"] * factor <= high)
        details = {
            "raw": row["raw"],
            "label": "a load of",
            "value": f"{row['value']:g}",
            "unit": record.unit,
            "low": f"{low:g}",
            "high": f"{high:g}",
            "guess": _clause(next(slips, "")),
        }
        yield (
            finding(
                "value-implausible",
                Place.from_source(row["source"]),
                _who(trials, row["key"]),
                **details,
            ),
            _row_sources(trials, row["key"]),
        )


def _clause(slip: str) -> str:
    return f"; likely {slip}" if slip else ""


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
            finding(
                "splits-disorder",
                Place.from_source(row["source"]),
                _who(trials, row["key"]),
                **details,
            ),
            _row_sources(trials, row["key"]),
        )


def _out_of_limits(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    values = registry.per_attempt(trials, battery)
    raws = trials.values.drop_duplicates("source").set_index("source")["raw"]
    seen: set[str] = set()
    for row in _records(values):
        test = str(trials.attempts.loc[row["key"], "test"])
        record = registry.record_of(row["measure"], battery.tests.get(test))
        low, high = record.limits(battery)
        sources = set(row["source"].split(";"))
        if low <= row["value"] <= high or sources & seen:
            continue
        seen |= sources
        last = row["source"].split(";")[-1]
        yield (
            finding(
                "value-implausible",
                Place.from_source(last),
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
    """The slip that would best explain this one attempt's value, as a closing clause.

    Of those that would make it plausible, the one that brings it nearest the middle of the limits.
    """
    low, high = record.limits(battery)
    only = trials.values[trials.values["key"] == key]
    one = pd.DataFrame(trials.attempts.loc[[key]])
    middle = np.sqrt(low * high) if low > 0 else high / 2
    best, distance = "", np.inf
    for factor, slip in _SLIPS:
        scaled = only.assign(value=only["value"] * factor)
        table = registry.VIEWS[record.view].build(Trials(one, scaled), battery)
        table = table[table["part"] == part] if len(table) else table
        if table.empty:
            continue
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        mended = float(np.nanmax(record.function(**inputs)))
        if low <= mended <= high and abs(np.log(mended / middle)) < distance:
            best, distance = slip, abs(np.log(mended / middle))
    return _clause(best)
