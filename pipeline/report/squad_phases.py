"""For coaches: phase by phase, what may be trained for it, and what became of what was chosen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline import tables
from pipeline.bundle import DayBundle
from pipeline.report import wording
from pipeline.report.blocks import (
    FIGURE,
    TEXT,
    Block,
    Bullets,
    Heading,
    Notice,
    Prose,
    Section,
    Table,
)
from pipeline.report.facts import label_in_test, record_in, stretch
from pipeline.report.saying import CLEAR, first_reason, said
from pipeline.report.squad_words import names_of
from pipeline.report.wording import say


def phase_by_phase(day: DayBundle) -> Section:
    """Each athlete's main sprint: the time of each phase, what it costs, what may be said."""
    states = _main_sprints(day)
    if not states:
        return Section.of(Prose(say("phases squad none")))
    blocks: list[Block] = [Prose(say("phases squad lead")), Prose(say("phases squad rules"))]
    rows = day.tables["phases"]
    sheets: dict[tuple[str, tuple[str, ...]], list[tuple[Any, list[Any]]]] = {}
    for state in states:
        own = rows[(rows["athlete_id"] == state["athlete_id"]) & (rows["test"] == state["test"])]
        phases = own.sort_values("from_m", kind="stable").to_dict("records")
        if phases:
            heads = tuple(stretch(phase) for phase in phases)
            sheets.setdefault((state["test"], heads), []).append((state, phases))
    order = list(day.day["tests"])
    for (test, heads), people in sorted(sheets.items(), key=lambda item: order.index(item[0][0])):
        blocks.append(_phase_table(day, test, heads, people))
    return Section.of(blocks)


def _main_sprints(day: DayBundle) -> list[Any]:
    """The state of each athlete's main sprint, in roster order."""
    main = {state["athlete_id"]: state for state in day.day["phase_states"] if state["main"]}
    return [main[person["id"]] for person in day.day["roster"] if person["id"] in main]


def _phase_table(
    day: DayBundle, test: str, heads: tuple[str, ...], people: list[tuple[Any, list[Any]]]
) -> Table:
    names = names_of(day)
    rows = [
        [
            names[state["athlete_id"]],
            *(_phase_cell(phase) for phase in phases),
            f"{state_in_words(state, phases)}\n{line_in_words(state)}",
        ]
        for state, phases in people
    ]
    columns = [say("col athlete"), *heads, say("col line")]
    kinds = [TEXT, *[FIGURE] * len(heads), TEXT]
    return Table(say("phases squad caption", test=test), columns, rows, kinds)


def _phase_cell(phase: Any) -> str:
    """The time; below it the cost at the finish with its limits, else the gap to the group."""
    time = wording.number(phase["time"], 2)
    if pd.notna(phase["own_gap"]):
        cost = wording.signed_number(phase["own_gap"], 2)
        low, high = (wording.signed_number(phase[end], 2) for end in ("low", "high"))
        return f"{time}\n{say('phase cost', cost=cost)}\n{say('phase limits', low=low, high=high)}"
    if pd.notna(phase["group_gap"]):
        return f"{time}\n{say('phase to group', gap=wording.signed_number(phase['group_gap'], 2))}"
    return time


def state_in_words(state: Any, phases: list[Any]) -> str:
    """What may be said of a sprint: which phase stands out or has most to gain, or neither."""
    named = [stretch(phase) for phase in phases if phase["finding"] == state["state"]]
    if not named:
        return say(f"state {state['state']}")
    key = "state hint" if state["hint"] else f"state {state['state']}"
    return say(key, phases=wording.listed(named))


def line_in_words(state: Any) -> str:
    """The line in use with its z, or why there is none and how many others were at hand."""
    if not state["reference"]:
        why = say(f"line off {state['reason']}")
        return say("line none", why=why, people=state["group_people"])
    counts = {"sprints": state["sprints"], "people": state["people"]}
    line = say(f"line {state['reference']}", **counts)
    if state["listed_people"]:
        line = say("line with table", line=line, listed=state["listed_people"])
    return say("line used", line=line, z=wording.number(state["z_used"], 2))


# --- from phase to training emphasis ----------------------------------------------------------


def emphases(day: DayBundle) -> Section:
    """Which phase and which sign speak for which emphasis, and what each emphasis is."""
    table = day.tables["emphasis"]
    if table.empty:
        return Section.of(Prose(say("emphasis none")))
    columns = [say(c) for c in ("col athlete", "col found", "col signs", "col says")]
    rows = list(_proposals(day, table))
    blocks: list[Block] = [
        Prose(say("emphasis lead")),
        Table(say("emphasis caption"), columns, rows, [TEXT] * 4),
    ]
    told = set(table["emphasis"])
    for name, one in day.day["emphases"].items():
        if name in told:
            blocks += [Heading(wording.capital(name)), Bullets(_described(one))]
    blocks += [
        Prose(say("emphasis practice")),
        Notice(say("emphasis cautions lead"), say("emphasis cautions")),
    ]
    return Section.of(blocks)


def _described(one: Any) -> list[str]:
    return [
        say("emphasis families", families=one["families"]),
        say("emphasis trains", trains=one["trains"]),
        say("emphasis why", why=one["why"]),
        say("emphasis retest", tests=wording.listed(list(one["retest"]))),
    ]


def _proposals(day: DayBundle, table: pd.DataFrame) -> Iterator[list[str]]:
    """A row for each athlete, phase and emphasis: what was found, the signs, what follows."""
    ends = {
        (row["athlete_id"], row["test"], row["phase"]): stretch(row)
        for row in day.tables["phases"].to_dict("records")
    }
    rows = table[table["athlete_id"].isin(names_of(day))]
    place = {person["id"]: number for number, person in enumerate(day.day["roster"])}
    rows = rows.assign(place=rows["athlete_id"].map(place), alone=rows["phase"] == "")
    rows = rows.sort_values(["place", "alone"], kind="stable")
    names = names_of(day)
    keys = ["athlete_id", "test", "phase", "finding", "says", "emphasis"]
    for (who, test, phase, finding, says, emphasis), own in rows.groupby(keys, sort=False):
        signs = [_sign(row) for row in own.to_dict("records") if row["sign_measure"]]
        found = say("emphasis no phase")
        if phase:
            label = ends.get((who, test, phase), phase)
            found = say(
                "emphasis phase", test=test, phase=label, finding=say(f"phase found {finding}")
            )
        yield [
            names[str(who)],
            found,
            "\n".join(signs) or say("emphasis no sign"),
            say(f"says {says}", emphasis=emphasis) if emphasis else say("says open"),
        ]


def _sign(row: Any) -> str:
    same = row["test"] == row["sign_test"] and row["sign_measure"] in _FROM_THE_SAME_RUNS
    label = label_in_test(
        {
            "test": row["sign_test"],
            "part": row["sign_part"],
            "measure": row["sign_measure"],
            "conditions": row["sign_conditions"],
        }
    )
    told = say(f"sign {row['sign']}", label=label)
    return say("same runs", sign=told) if same else told


_FROM_THE_SAME_RUNS = ("relative_force", "relative_power", "theoretical_speed", "fade")
"""Signs that come from the gates of the sprint itself: no witness of its own, which is said."""


# --- what was chosen --------------------------------------------------------------------------


def chosen(day: DayBundle) -> Section:
    """Everything chosen after the last day, beside what its phase and measures then did."""
    plan = day.tables["plan"]
    names = names_of(day)
    plan = plan[plan["athlete_id"].isin(names)]
    if plan.empty:
        return Section.of(Prose(say("squad chosen none")))
    choice = ["athlete_id", "chosen", "sprint_phase", "emphasis", "note"]
    rows = [
        [names[str(key[0])], _choice(own.iloc[0]), *_beside(day, own)]
        for key, own in plan.groupby(choice, sort=False)
    ]
    columns = [say(c) for c in ("col athlete", "col chosen", "col its phase", "col its measures")]
    table = Table(say("squad chosen caption"), columns, rows, [TEXT] * 4)
    return Section.of(Prose(say("squad chosen lead")), table)


def _choice(row: Any) -> str:
    what = row["emphasis"] or say("no emphasis")
    if row["sprint_phase"]:
        what = say("squad chosen what", emphasis=what, phase=row["sprint_phase"])
    note = f"\n{row['note']}" if row["note"] else ""
    return f"{say('squad chosen on', what=what, date=wording.short_date(row['chosen']))}{note}"


def _beside(day: DayBundle, own: pd.DataFrame) -> tuple[str, str]:
    """What its phase did in each sprint; its measures that moved clearly, the others counted."""
    rows = own.to_dict("records")
    phases = [_told(day, row) for row in rows if row["kind"] == tables.OF_PHASE]
    signs = [row for row in rows if row["kind"] == tables.OF_SIGN]
    clear = [_told(day, row) for row in signs if row["verdict"] in CLEAR]
    rest = len(signs) - len(clear)
    if rest:
        clear.append(say("squad chosen rest" if clear else "squad chosen none clear", n=rest))
    return "\n".join(phases), "\n".join(clear) or wording.NOTHING


def _told(day: DayBundle, row: Any) -> str:
    became = _became(day, row)
    if not row["measure"]:
        return became
    return say("squad chosen told", label=wording.capital(label_in_test(row)), became=became)


def _became(day: DayBundle, row: Any) -> str:
    """The verdict with its amount where the change stands in the table; else in words."""
    if not row["measure"]:
        return say(f"became {row['reason']}")
    same = day.tables["changes"]
    for column in ("athlete_id", "test", "part", "measure", "conditions", "from_day", "verdict"):
        same = same[same[column] == row[column]]
    if not same.empty:
        change = same.iloc[0]
        return said(change, record_in(day.day["tests"], change))
    if row["verdict"] == tables.NOT_COMPARABLE:
        return say("verdict different", reason=wording.apart(row["reason"]))
    word = say(f"verdict word {row['verdict']}")
    reason = first_reason(row)
    return say("squad chosen why", word=word, why=say(f"why {reason}")) if reason else word
