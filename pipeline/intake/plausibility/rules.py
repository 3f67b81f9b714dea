"""The register of checks: what each looks for, and what the battery says is done about it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import FLAG, OFF, Battery
from pipeline.battery import SET_ASIDE as ASIDE
from pipeline.catalogue import Severity
from pipeline.errors import Finding, Place, finding, rated
from pipeline.measures import registry
from pipeline.measures.spec import Trials


@dataclass(frozen=True, slots=True)
class Context:
    """What a check may look at.

    Attributes:
        trials: one day's, what was set aside so far left out.
        battery: tests, limits, errors.
        before: the season's earlier days, oldest first, as they were after their own checks.
    """

    trials: Trials
    battery: Battery
    before: Sequence[Trials] = ()


@dataclass(frozen=True, slots=True)
class Suspect:
    """One thing a check found: where, whose, the details of its sentence, the values it doubts.

    ``also`` are further rows it lies in: each is named where they are set aside.
    """

    place: Place
    athlete_id: str
    details: Mapping[str, object]
    sources: frozenset[str]
    also: tuple[Place, ...] = ()


Look = Callable[[Context], Iterator[Suspect]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One check.

    Attributes:
        code: that of its finding, and of its line in the battery's ``[checks]``.
        look: what finds the suspects.
        subject: what is kept or set aside, in words.
        across: it holds rows against each other or against earlier days.
    """

    code: str
    look: Look
    subject: str = "the value"
    across: bool = False

    def action(self, battery: Battery) -> str:
        """What is done; a check that the battery has no line for knows what cannot be."""
        return battery.checks.get(self.code, ASIDE)

    def findings(self, suspect: Suspect, action: str) -> list[Finding]:
        """What is said of one suspect, as severe as the action."""
        aside = action == ASIDE
        outcome = f"{self.subject} was {'set aside' if aside else 'kept'}"
        severity = Severity.ERROR if aside else Severity.WARNING
        details = {**suspect.details, "outcome": outcome}
        places = (suspect.place, *(suspect.also if aside else ()))
        return [
            rated(finding(self.code, place, suspect.athlete_id, **details), severity)
            for place in places
        ]


Accepts = Callable[[Place], bool]
"""Whether staff signed for what stands at a place."""


def nothing(_: Place) -> bool:
    """Nobody signed for anything."""
    return False


def apply(
    rules: Sequence[Rule],
    trials: Trials,
    battery: Battery,
    before: Sequence[Trials],
    accepts: Accepts,
) -> tuple[Trials, list[Finding]]:
    """Run checks in their order.

    A value that one check has named is not named again by those that hold rows against each
    other: one slip of the pen is one finding.

    Returns:
        The trials with what was set aside marked so, and a finding for each suspect.
    """
    findings: list[Finding] = []
    named: set[str] = set()
    now = Context(trials, battery, before)
    for one in rules:
        action = one.action(battery)
        if action == OFF:
            continue
        aside: set[str] = set()
        for suspect in one.look(now):
            if one.across and suspect.sources & named:
                continue
            done = FLAG if accepts(suspect.place) else action
            findings += one.findings(suspect, done)
            named |= suspect.sources
            if done != FLAG:
                aside |= suspect.sources
        if aside:
            now = Context(now.trials.set_aside(aside), battery, before)
    return now.trials, findings


# --- what checks are written with -------------------------------------------------------------


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a frame as mappings with text keys."""
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def who(trials: Trials, key: int) -> str:
    """Whose attempt it is."""
    return str(trials.attempts.loc[key, "athlete_id"])


def row_sources(trials: Trials, key: int) -> frozenset[str]:
    """Every value of one attempt, conditions of its session left out."""
    values = trials.values[trials.values["key"] == key]
    file, sheet, *_ = str(trials.attempts.loc[key, "place"]).split("!")
    return frozenset(s for s in values["source"] if s.startswith(f"{file}!{sheet}!"))


def whole_row(trials: Trials, row: Mapping[str, Any], details: Mapping[str, object]) -> Suspect:
    """A suspect at a value (``key``, ``source``), with every value of its row."""
    key = int(row["key"])
    return Suspect(
        Place.last_of(row["source"]), who(trials, key), details, row_sources(trials, key)
    )


_OF_ATTEMPT = ["day", "athlete_id", "age", "kind", "test", "attempt", "conditions", "session"]


def measured(now: Context, keys: Sequence[str]) -> pd.DataFrame:
    """Some measures of every attempt, without computing the others.

    Returns:
        One row a value: ``key part measure value source extra average`` and what is known of the
        attempt.
    """
    pieces = [
        pd.DataFrame(columns=["key", "part", "measure", "value", "source", "extra", "average"])
    ]
    for record in (registry.MEASURES[key] for key in keys):
        table = registry.VIEWS[record.view].build(now.trials, now.battery)
        if table.empty:
            continue
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        values = np.asarray(record.function(**inputs), dtype=float)
        piece = table[["key", "part", "source"]].assign(
            measure=record.key,
            value=values,
            extra=table.get("extra", ""),
            average=table.get("average", False),  # a column's default
        )
        pieces.append(piece[np.isfinite(values)])
    whole = pd.concat(pieces[1:], ignore_index=True) if len(pieces) > 1 else pieces[0]
    return whole.merge(now.trials.attempts[_OF_ATTEMPT], left_on="key", right_index=True)


def measured_suspect(row: Mapping[str, Any], details: Mapping[str, object]) -> Suspect:
    """A suspect at a row of ``measured``, with the values it was computed from."""
    sources = frozenset(row["source"].split(";"))
    return Suspect(Place.last_of(row["source"]), str(row["athlete_id"]), details, sources)


def in_row(source: str) -> str:
    """A place for a sentence: ``jumps.csv, row 12``."""
    place = Place.last_of(source)
    return f"{place.file.rsplit('/', maxsplit=1)[-1]}, row {place.row}"
