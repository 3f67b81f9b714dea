"""What was chosen after the last day, beside what that phase and its measures then did."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from pipeline import tables
from pipeline.battery import Battery
from pipeline.compare.pairs import Days, records
from pipeline.compare.squad import Squad
from pipeline.measures.phases import FROM_GUN
from pipeline.tables import OF_PHASE, OF_SIGN

NOT_RUN, FIRST_MARK, NO_PHASE = "not run", "first mark", "no phase named"
"""Why nothing can stand beside a choice."""

PLAN_COLUMNS = ("athlete_id", "chosen", "sprint_phase", "emphasis", "note")


@dataclass(frozen=True, slots=True)
class Followed:
    """For one group and emphasis: how many chose it, and what their phases then did."""

    group: str
    emphasis: str
    athletes: int
    verdicts: dict[str, int] = field(default_factory=dict)


def followed(
    plan: pd.DataFrame,
    results: pd.DataFrame,
    judged: pd.DataFrame,
    day: str,
    battery: Battery,
    days: Days,
) -> pd.DataFrame:
    """The choices made since the last testing day, each beside what became of it.

    Args:
        plan: ``PLAN_COLUMNS``; ``chosen`` an ISO date.
        results: of ``day`` and the days before.
        judged: the table ``changes`` of the day.
        day: the ISO date.
        battery: the phases of each test and the measures behind each emphasis.
        days: a repeat day is no testing day of its own.

    Returns:
        The table ``plan``: a row for each sprint the phase was run in and each measure of the
        emphasis that has a change, or one row that says why there is none.
    """
    tested = sorted(set(results.loc[results["day"] < day, "day"]) - set(days.repeats))
    since = tested[-1] if tested else ""
    chosen = plan[(plan["chosen"] >= since) & (plan["chosen"] < day)]
    changes: dict[str, list[dict[str, Any]]] = {}
    for row in records(judged):
        changes.setdefault(str(row["athlete_id"]), []).append(row)
    today = results[results["day"] == day]
    ran = {
        (str(row["athlete_id"]), name)
        for row in records(today[today["measure"] == "phase_time"])
        for name in names_in(str(row["part"]))
    }
    rows = []
    for choice in records(chosen):
        own = changes.get(str(choice["athlete_id"]), [])
        beside = [*_phases(choice, own), *_signs(choice, own, battery)]
        if not any(row["kind"] == OF_PHASE for row in beside):
            names = names_in(str(choice["sprint_phase"]))
            run = any((str(choice["athlete_id"]), name) in ran for name in names)
            why = FIRST_MARK if run else NOT_RUN if choice["sprint_phase"] else NO_PHASE
            beside.append({"kind": OF_PHASE, "reason": why})
        rows += [choice | row for row in beside]
    columns = list(tables.SCHEMAS["plan"].columns)
    return tables.shape("plan", pd.DataFrame(rows, columns=columns))


def names_in(phase: str) -> list[str]:
    """The names a phase counts under: its own and those of the phases joined in it."""
    plain = phase.removesuffix(FROM_GUN)
    return list(dict.fromkeys([plain, *plain.split(" and ")]))


_OF_CHANGE = ("test", "part", "measure", "conditions", "from_day", "verdict", "reason")


def _phases(choice: dict[str, Any], own: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    chosen = set(names_in(str(choice["sprint_phase"])))
    for row in own:
        if row["measure"] == "phase_time" and chosen & set(names_in(str(row["part"]))):
            yield {"kind": OF_PHASE} | {name: row[name] for name in _OF_CHANGE}


def _signs(
    choice: dict[str, Any], own: list[dict[str, Any]], battery: Battery
) -> Iterator[dict[str, Any]]:
    one = battery.emphases.get(str(choice["emphasis"]))
    named = set() if one is None else {(sign.test, sign.measure) for sign in one.signs}
    for row in own:
        if named & {(row["test"], row["measure"]), ("", row["measure"])}:
            yield {"kind": OF_SIGN} | {name: row[name] for name in _OF_CHANGE}


def by_emphasis(plan: pd.DataFrame, battery: Battery, squad: Squad) -> Iterator[Followed]:
    """Counts by group and emphasis, each athlete once: by the first sprint that has a verdict.

    Args:
        plan: the table ``plan``.
        battery: the order of the tests.
        squad: who is in which group.
    """
    rows = plan[(plan["kind"] == OF_PHASE)]
    rows = rows.assign(
        empty=rows["verdict"] == "", order=[battery.order(str(test)) for test in rows["test"]]
    ).sort_values(["athlete_id", "emphasis", "empty", "order"], kind="stable")
    once = records(rows.drop_duplicates(["athlete_id", "emphasis"]))
    groups: dict[tuple[str, str], list[str]] = {}
    for row in once:
        member = squad.get(str(row["athlete_id"]))
        for group in (member.groups if member else ()) or ("",):
            groups.setdefault((group, str(row["emphasis"])), []).append(str(row["verdict"]))
    for (group, name), verdicts in sorted(groups.items()):
        yield Followed(group, name, len(verdicts), dict(sorted(Counter(verdicts).items())))


def choices(plan: Sequence[Any]) -> pd.DataFrame:
    """Choices as read (records with the attributes ``PLAN_COLUMNS``) as a table."""
    return pd.DataFrame(
        [{name: getattr(one, name) for name in PLAN_COLUMNS} for one in plan],
        columns=list(PLAN_COLUMNS),
    )
