"""Term against term: everything a day's comparison says, in one call."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from pipeline.battery import Battery
from pipeline.compare import (
    emphasis,
    followed,
    phase_runs,
    phase_summary,
    phase_table,
    relations,
    retest,
    standing,
    summary,
    targets,
    trends,
    typical_errors,
)
from pipeline.compare.changes import Data, Judged, changes
from pipeline.compare.pairs import Days
from pipeline.compare.squad import Squad


@dataclass(frozen=True)
class Written:
    """What the staff wrote beside the trials.

    Attributes:
        plan: what was chosen, ``followed.PLAN_COLUMNS``.
        aims: ``athlete_id test measure target by``.
        told: *limited* or *not done* by (athlete, test), a blank test for all.
        aside: (athlete, test) with rows of the day that could not be used.
        reference: ``registry.attempt_values`` of the staff's own table of sprints.
    """

    plan: pd.DataFrame
    aims: pd.DataFrame
    told: Mapping[tuple[str, str], str]
    aside: Sequence[tuple[str, str]]
    reference: pd.DataFrame


@dataclass(frozen=True)
class Phases:
    """The tables ``phases`` and ``emphasis``, the state of each sprint, and counts by group."""

    table: pd.DataFrame
    states: pd.DataFrame
    counts: tuple[phase_summary.GroupPhases, ...]
    emphasis: pd.DataFrame


@dataclass(frozen=True)
class Aims:
    """The tables ``targets`` and ``plan``, with what stands beside them."""

    targets: pd.DataFrame
    at_targets: tuple[phase_table.AtTarget, ...]
    plan: pd.DataFrame
    followed: tuple[followed.Followed, ...]


@dataclass(frozen=True)
class Term:
    """What came of a comparison; ``reliability`` is the table of that name."""

    judged: Judged
    groups: tuple[summary.GroupChanges, ...]
    lines: tuple[trends.Line, ...]
    standings: tuple[standing.Standing, ...]
    reliability: pd.DataFrame
    phases: Phases
    aims: Aims
    retests: tuple[retest.Retest, ...]
    relations: tuple[relations.Relation, ...]


@dataclass(frozen=True)
class People:
    """Who they are.

    Attributes:
        squad: everybody of all days.
        here: who is on the roster on the day.
        bands: age band by (athlete, day), for the references.
        tested: who tried a test on the day.
    """

    squad: Squad
    here: Squad
    bands: Mapping[tuple[str, str], str]
    tested: frozenset[str]


@dataclass(frozen=True)
class Asked:
    """What is compared: ``data`` of ``day`` (ISO) and of the days before, and all that counts."""

    data: Data
    day: str
    battery: Battery
    days: Days
    people: People
    written: Written


def compare(asked: Asked) -> Term:
    """Compare a day with those before it."""
    data, day, battery, days = asked.data, asked.day, asked.battery, asked.days
    people, written, squad = asked.people, asked.written, asked.people.squad
    errors = typical_errors.learn(data.results, data.attempts, battery, days)
    judged = changes(data, day, battery, errors, days, squad)
    sprints = phase_runs.sprints(data.attempts, day, battery, days, squad, written.reference)
    return Term(
        judged=judged,
        groups=tuple(summary.by_group(judged.judged, battery, squad)),
        lines=tuple(trends.lines(data.results, judged, battery, days)),
        standings=tuple(_placed(asked, standing.headline_measures(battery, squad))),
        reliability=typical_errors.table(errors),
        phases=_phases(asked, sprints, judged),
        aims=_aims(asked, sprints, judged),
        retests=tuple(
            retest.retests(
                data.results, day, battery, days, people.here, written.told, written.aside
            )
        ),
        relations=relations.relations(data.results, day, battery, squad),
    )


def _placed(asked: Asked, wanted: Mapping[tuple[str, str], str]) -> Iterator[standing.Standing]:
    people = asked.people
    return standing.standings(
        asked.data.results,
        asked.day,
        wanted,
        asked.battery,
        asked.days,
        people.squad,
        people.bands,
    )


def _phases(asked: Asked, sprints: pd.DataFrame, judged: Judged) -> Phases:
    battery, squad = asked.battery, asked.people.squad
    table, states = phase_table.phases(sprints)
    states = phase_summary.with_main(states, battery)
    now = asked.data.results[asked.data.results["day"] == asked.day]
    behind = tuple(_placed(asked, emphasis.wanted(now, battery)))
    angles = now[now["measure"] == emphasis.ANGLE]
    return Phases(
        table=table,
        states=states,
        counts=tuple(phase_summary.by_group(table, states, asked.people.tested, squad)),
        emphasis=emphasis.emphasis(table, behind, judged.judged, angles, battery, squad),
    )


def _aims(asked: Asked, sprints: pd.DataFrame, judged: Judged) -> Aims:
    data, day, battery, days = asked.data, asked.day, asked.battery, asked.days
    aims = asked.written.aims
    plan = followed.followed(asked.written.plan, data.results, judged.table, day, battery, days)
    return Aims(
        targets=targets.targets(aims, data.results, day, battery, days),
        at_targets=tuple(
            phase_table.at_targets(
                sprints,
                aims[aims["measure"] == "time"],
                phase_runs.reactions(data.attempts[data.attempts["day"] == day]),
            )
        ),
        plan=plan,
        followed=tuple(followed.by_emphasis(plan, battery, asked.people.squad)),
    )
