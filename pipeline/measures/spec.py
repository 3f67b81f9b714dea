"""What a measure is, and the shape of the data on both sides of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from pipeline.battery import Battery
from pipeline.measures.force_traces import Trace

Array = NDArray[np.float64]

USED, SET_ASIDE, NO_MARK, FAILED = "used", "set aside", "no mark", "failed"
"""The status of a trial value. Only *used* values reach a measure."""

SIDE_INFORMATION = frozenset({"reaction", "wind", "lane", "reps", "rep", "best"})
"""Quantities that describe an attempt but are no result of it."""

OVER_LIMIT = ", over the limit"
"""The ending of a wind flag above +2.0 m/s: no record, and no best mark."""

MEASURED, ESTIMATED = "measured", "estimated"

COUNTED, EACH = "counted", "each"
"""Words of a lift's conditions: its load is added to the body's; it is that of one hand."""

ATTEMPT_COLUMNS = (
    "day", "session", "athlete_id", "sex", "age", "kind", "test", "attempt",
    "clock", "timing", "side", "set", "timed", "drop_height_m", "maximal", "conditions", "flags",
    "place",
)  # fmt: skip
"""One row an attempt, indexed by ``key`` (int). ``conditions`` is the comparison key in words;
``age`` is in years on the day, NaN where not known."""

VALUE_COLUMNS = (
    "key", "quantity", "part", "at_m", "value", "unit", "raw", "resolution", "source", "status",
)  # fmt: skip
"""One row a recorded value, in SI; ``at_m`` is the distance of a split, else NaN."""


FORCE_TRACE = "force_trace"
"""The quantity that stands for a whole trace in ``values``: its length in s."""

_SAME_JUMP = ["day", "athlete_id", "test", "attempt", "side", "drop_height_m"]


Extra = ParamSpec("Extra")
Made = TypeVar("Made")


def once(
    build: Callable[Concatenate[Trials, Extra], Made],
) -> Callable[Concatenate[Trials, Extra], Made]:
    """Compute a table of some trials once: a dozen measures ask for the same one.

    The arguments beside the trials are told apart by identity. Each caller gets a frame of its
    own, so that what one adds to it no other sees.
    """

    @wraps(build)
    def kept(trials: Trials, /, *args: Extra.args, **kwargs: Extra.kwargs) -> Made:
        given = (*args, *kwargs.values())
        known = (build, *(one if isinstance(one, str) else id(one) for one in given))
        if known not in trials.made:
            trials.made[known] = (given, build(trials, *args, **kwargs))
        made: Made = copy(trials.made[known][1])
        return made

    return kept


@dataclass(frozen=True, slots=True)
class Trials:
    """Everything recorded: ``attempts`` (n × ATTEMPT_COLUMNS), ``values`` (m × VALUE_COLUMNS).

    ``traces`` holds the force trace of an attempt by its key.
    """

    attempts: pd.DataFrame
    values: pd.DataFrame
    traces: Mapping[int, Trace] = field(default_factory=dict)
    made: dict[tuple[Any, ...], tuple[Any, Any]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    """What ``once`` has computed from these trials; never set from outside."""

    def used(self, quantity: str) -> pd.DataFrame:
        """The values of one quantity that count, in the order they were read."""
        v = self.values
        return v[(v["quantity"] == quantity) & (v["status"] == USED)]

    def of_kind(self, quantity: str, *kinds: str) -> pd.DataFrame:
        """The used values of a quantity in tests of some kinds.

        Of a jump that a sheet and a trace both hold, the sheet's value stands.
        """
        used = self.used(quantity)
        of_kind = used["key"].map(self.attempts["kind"]).isin(kinds)
        return used[of_kind & ~used["key"].isin(self.twice())]

    @once
    def twice(self) -> set[int]:
        """The attempts known from a trace that a sheet holds with a used result, too."""
        if not self.traces:
            return set()
        jumps = self.attempts[_SAME_JUMP].fillna({"drop_height_m": -1.0})
        names = dict(zip(jumps.index, jumps.itertuples(index=False, name=None), strict=True))
        in_sheets = {names[key] for key in self.with_results(USED) if key not in self.traces}
        return {key for key in self.traces if names[key] in in_sheets}

    def with_results(self, *statuses: str) -> set[int]:
        """The attempts with a result of their own in one of the statuses; wind alone is none."""
        v = self.values
        own = ~v["quantity"].isin(SIDE_INFORMATION) & v["resolution"].notna()
        return set(v[own & v["status"].isin(statuses)]["key"])

    def set_aside(self, sources: set[str]) -> Trials:
        """The same trials with the values at these sources set aside."""
        values = self.values.copy()
        values.loc[values["source"].isin(sources), "status"] = SET_ASIDE
        return replace(self, values=values)

    def rows_aside(self, rows: set[str]) -> Trials:
        """The same trials with every value of the attempts of these rows set aside.

        Args:
            rows: sources of rows, without a column.
        """
        keys = self.attempts.index[self.attempts["place"].isin(rows)]
        return self.set_aside(set(self.values.loc[self.values["key"].isin(keys), "source"]))


@dataclass(frozen=True, slots=True)
class TypicalError:
    """A published typical error of measurement.

    Attributes:
        value, unit: the error, in % of the value or in the measure's unit.
        grade: A (two or more studies between days), B (one, or several within a day), C (carried
            over, or none seen: good enough to know, not to judge by).
        basis: what it rests on.
        tests, parts: those it holds for; empty means all. A phase's part may be its ends.
        youth: it holds under 18 only (True), from 18 on (False), for everybody (None).
    """

    value: float
    unit: str
    grade: str
    basis: str
    tests: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    youth: bool | None = None

    def holds(self, test: str, parts: set[str], age: float) -> bool:
        """Whether it speaks of a test, of one of these parts, and of this age in years."""
        young = np.nan_to_num(age, nan=0.0) < ADULT
        return (
            (not self.tests or test in self.tests)
            and (not self.parts or bool(parts & set(self.parts)))
            and self.youth in (None, young)
        )


ADULT = 18
"""Years of age from which on somebody counts as grown up; an unknown age counts as under it."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: the single record everything about it follows from.

    Attributes:
        key: its frozen name in every table.
        label: its name on a page.
        unit: the unit the function returns and every table holds.
        better: ``higher``, ``lower`` or ``neither``.
        decimals: digits after the point on a page.
        low, high: plausible limits, in ``unit``; outside them the value is set aside.
        formula: the formula in words and symbols, for the methods part of a report.
        sources: keys of ``measures.sources.SOURCES``.
        typical_errors: published errors; empty where none was seen.
        view: the table of inputs it is computed on.
        combine: which attempt stands for the day, a key of ``registry.COMBINE``.
        section: the part of the report it belongs to.
        staff_only: kept off an athlete's own page.
        for_adults: kept off the page of an athlete under 18 (strength for body mass).
        compared: whether days are set side by side; what a population's equation gives is not.
        function: arrays in, array out; its argument names are columns of the view.
        inputs: those argument names.
    """

    key: str
    label: str
    unit: str
    better: str
    decimals: int
    low: float
    high: float
    formula: str
    sources: tuple[str, ...]
    typical_errors: tuple[TypicalError, ...]
    view: str
    combine: str
    section: str
    staff_only: bool
    for_adults: bool
    compared: bool
    function: Callable[..., Array]
    inputs: tuple[str, ...]

    def published_error(self, test: str, parts: set[str], age: float) -> TypicalError | None:
        """The first published error that holds for a test, a part and an age; none if none."""
        return next((e for e in self.typical_errors if e.holds(test, parts, age)), None)

    def limits(self, battery: Battery) -> tuple[float, float]:
        """Plausible limits: the battery's where it sets them, else the record's."""
        return battery.limits.get(self.key, (self.low, self.high))


@dataclass(frozen=True, slots=True)
class View:
    """A table of inputs.

    ``build(trials, battery)`` gives one row for each value to compute, with the columns ``key``
    (the attempt), ``part``, ``source``, optionally ``basis`` and ``flags``, and the inputs; each
    input ``x`` may have a column ``x_resolution``. Further columns may be ``rank`` (the first
    attempt by it stands for all its parts), ``average`` (the attempts are averaged), ``extra``
    (added to the comparison key), and ``KEY_low KEY_high``, an interval for the measure KEY.
    ``quantities`` are those without any of which it has no row.
    """

    name: str
    build: Callable[[Trials, Battery], pd.DataFrame]
    quantities: frozenset[str]


@dataclass(frozen=True, slots=True)
class DayView:
    """A table of inputs taken from the day's results: ``build(results, battery)``.

    One row for each value to compute, with the columns of ``RESULT_COLUMNS`` that identify it,
    ``source`` and the inputs, and optionally ``KEY_low KEY_high``, an interval for the measure KEY.
    """

    name: str
    build: Callable[[pd.DataFrame, Battery], pd.DataFrame]


def key_word(text: str) -> str:
    """A condition as the comparison key spells it: case, blanks and the key's own marks aside."""
    return " ".join(text.replace(";", ",").replace("=", ":").split()).casefold()


def key_fields(conditions: str) -> dict[str, str]:
    """The comparison key as a mapping, from its words ``a=b; c=d``."""
    pairs = (part.partition("=") for part in conditions.split("; ") if "=" in part)
    return {name: text for name, _, text in pairs}


def key_without(conditions: str, name: str) -> str:
    """The comparison key with one field left out."""
    return "; ".join(part for part in conditions.split("; ") if not part.startswith(f"{name}="))


def joined(*texts: Any) -> str:
    """Sources or flags joined by ``;``, each once, in order of appearance."""
    parts = [part for text in texts if isinstance(text, str) for part in text.split(";") if part]
    return ";".join(dict.fromkeys(parts))
