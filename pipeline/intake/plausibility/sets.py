"""Sets of a lift: loads and repetitions that cannot be, or that do not go together."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from pipeline.intake.plausibility.causes import (
    LOAD_SLIPS,
    POUND_KG,
    clause,
    likely,
    one_digit,
)
from pipeline.intake.plausibility.rules import (
    Context,
    Rule,
    Suspect,
    records,
    whole_row,
)
from pipeline.measures import registry
from pipeline.measures.spec import COUNTED, Array, Trials

_SAME = ["athlete_id", "test", "conditions"]
_SERIES = ["session", *_SAME]


def _too_many_repetitions(now: Context) -> Iterator[Suspect]:
    reps, limit = now.trials.used("reps"), now.battery.max_repetitions
    for row in records(reps[reps["value"] > limit]):
        yield whole_row(now.trials, row, {"reps": f"{row['value']:g}", "limit": limit})


def _over_their_best(now: Context) -> Iterator[Suspect]:
    """Loads over the best that the sheet itself gives: failed, and not marked so."""
    loads, bests = (
        now.trials.used(name).join(now.trials.attempts[_SAME], on="key")
        for name in ("load", "best")
    )
    bests = bests.assign(best=bests["value"], most=bests["value"] + bests["resolution"] / 2)
    loads = loads.join(bests.groupby(_SAME)[["best", "most"]].max(), on=_SAME)
    for row in records(loads[loads["value"] > loads["most"]]):
        details = {"load": f"{row['value']:g}", "best": f"{row['best']:g}"}
        yield whole_row(now.trials, row, details)


def _loads_too_high(now: Context) -> Iterator[Suspect]:
    """A load over the limit of a one-rep max, also in a set that no maximum is taken from."""
    record = registry.MEASURES["one_rep_max"]
    low, high = record.limits(now.battery)
    loads = now.trials.used("load")
    for row in records(loads[loads["value"] > high]):
        slips = (slip for factor, slip in LOAD_SLIPS if low <= row["value"] * factor <= high)
        details = {
            "raw": row["raw"],
            "label": "a load of",
            "value": f"{row['value']:g}",
            "unit": record.unit,
            "low": f"{low:g}",
            "high": f"{high:g}",
            "guess": clause(next(slips, "")),
        }
        yield whole_row(now.trials, row, details)


STEP_OUT = 0.15
"""Share of its neighbours by which one load of a rising series must fall out of it: a lighter set
on the way up is rarely more than a plate or two. Common practice, no source."""


def _out_of_line(now: Context) -> Iterator[Suspect]:
    """One load of a rising series that fits neither the one before nor the one after."""
    loads = now.trials.used("load").join(now.trials.attempts[_SERIES], on="key")
    for _, rows in loads.groupby(_SERIES, sort=False):
        values = rows["value"].to_numpy(dtype=float)
        at = _stray(values)
        if at is None:
            continue
        before, after = float(values[at - 1]), float(values[at + 1])
        row = records(rows)[at]

        def between(value: float, low: float = before, high: float = after) -> bool:
            return low < value < high

        cause = likely(row["raw"], row["value"], row["unit"], between)
        cause = cause or one_digit(row["raw"], row["value"], between)
        details = {
            "load": f"{row['value']:g}",
            "before": f"{before:g}",
            "after": f"{after:g}",
            "guess": cause.clause(f"{cause.value:g} kg") if cause else "",
        }
        yield whole_row(now.trials, row, details)


def _stray(loads: Array) -> int | None:
    """The place of the one load that keeps a series of three or more from rising; else none.

    The first and the last are never it: a warm-up may be heavy, and sets may end lighter.
    """
    for at in range(1, len(loads) - 1):
        rest = np.delete(loads, at)
        if (np.diff(rest) < 0).any():
            continue
        before, after = loads[at - 1], loads[at + 1]
        dips = loads[at] < before * (1 - STEP_OUT)
        # a lone heavier set may be the maximum, unless the sets after it rise again
        rises = loads[at] > after * (1 + STEP_OUT) and (np.diff(loads[at + 1 :]) > 0).sum() > 0
        if before < after and (dips or rises):
            return at
    return None


def _under_a_lift(now: Context) -> Iterator[Suspect]:
    """A good lift over the one-rep max that the day's sets give: it has no repetitions."""
    record = registry.MEASURES["one_rep_max"]
    sets = registry.VIEWS[record.view].build(now.trials, now.battery)
    if sets.empty:
        return
    inputs = {name: sets[name].to_numpy(dtype=float) for name in record.inputs}
    most = sets.assign(most=record.function(**inputs)).groupby(_SAME)["most"].max()
    loads = now.trials.used("load").join(now.trials.attempts[[*_SAME, "maximal"]], on="key")
    loads = loads.join(most, on=_SAME)
    # sets marked maximal stand alone, whatever the others were
    marked = (loads["maximal"] == "yes").groupby([loads[c] for c in _SAME]).transform("any")
    over = loads[(loads["value"] > loads["most"] + loads["resolution"] / 2) & ~marked]
    for row in records(over.sort_values("value").groupby(_SAME, sort=False).tail(1)):
        details = {"load": f"{row['value']:g}", "most": f"{row['most']:.1f}", "test": row["test"]}
        yield whole_row(now.trials, row, details)


POUNDS_APART = 0.12
"""How near to 2.2 times the last day's heaviest a load must be to look like pounds, as a difference
of logarithms: strength moves less than that in a term. Common practice, no source."""


def _in_pounds(now: Context) -> Iterator[Suspect]:
    """A day's heaviest load that is 2.2 times the heaviest of the last day, or the other way."""
    if not now.before:
        return
    last = pd.concat([_heaviest(day) for day in now.before]).groupby(_SAME)["value"].last()
    last = last.rename("value_last")
    top = _heaviest(now.trials).join(last, on=_SAME).dropna(subset="value_last")
    for row in records(top):
        change = float(np.log(row["value"] / row["value_last"]))
        if abs(abs(change) + np.log(POUND_KG)) > POUNDS_APART:
            continue
        details = {
            "load": f"{row['value']:g}",
            "before": f"{row['value_last']:g}",
            "test": row["test"],
            "which": "this" if change > 0 else "the earlier",
        }
        yield whole_row(now.trials, row, details)


def _heaviest(trials: Trials) -> pd.DataFrame:
    """The heaviest load of each athlete, test and set of conditions; the body's is none."""
    loads = trials.used("load").join(trials.attempts[_SAME], on="key")
    loads = loads[~loads["conditions"].str.contains(f"body_mass={COUNTED}", regex=False)]
    return loads.sort_values("value", kind="stable").groupby(_SAME, sort=False).tail(1)


RULES = (
    Rule("repetitions-too-many", _too_many_repetitions),
    Rule("lift-over-best", _over_their_best),
    Rule("value-implausible", _loads_too_high),
)
ACROSS = (
    Rule("load-out-of-line", _out_of_line, "the set", across=True),
    Rule("load-in-pounds", _in_pounds, "the set", across=True),
    Rule("max-under-lift", _under_a_lift, "the set", across=True),
)
