"""Every clear change in full, against chance; and what had no room on the first page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pipeline import tables
from pipeline.bundle import DayBundle
from pipeline.report import wording
from pipeline.report.blocks import NUMBER, TEXT, VERDICT, Block, Heading, Prose, Section, Table
from pipeline.report.facts import label_in_test, record_in
from pipeline.report.saying import amount, needed, way
from pipeline.report.squad_checks import SENTENCES, change_of, notice, warnings
from pipeline.report.squad_front import (
    JUDGED,
    changes_table,
    front_groups,
    phases_table,
    reasons,
)
from pipeline.report.squad_words import group_name, names_of
from pipeline.report.wording import say


def headline(day: DayBundle) -> Section:
    """Group by group: how many pairs, every clear change, how many chance alone would give."""
    blocks: list[Block] = []
    told = warnings(day)[SENTENCES:]
    if told:
        blocks.append(notice(day, told))
    groups, rest = front_groups(day)
    if rest:
        blocks += [*changes_table(day, rest), *phases_table(day, rest)]
    judged = [o for o in day.day["group_changes"] if o["group"] in (*groups, *rest) and o["pairs"]]
    if not judged:
        return Section.of(blocks, Prose(say("headline none")))
    blocks.append(Prose(f"{say('clear lead')} {say('front lead')}"))
    for group in judged:
        blocks += [Heading(group_name(group["group"])), *_group(day, group)]
    return Section.of(blocks)


def _group(day: DayBundle, group: Any) -> Iterator[Block]:
    verdicts = group["verdicts"]
    counts = {name: verdicts.get(name, 0) for name in JUDGED}
    unjudged = verdicts.get("", 0)
    apart = reasons(group)
    pairs = say(
        "headline pairs",
        measures=_counted(group["measures"], "headline measure"),
        pairs=_counted(group["pairs"], "headline pair"),
        comparable=group["comparable"],
        apart=group["pairs"] - group["comparable"],
        reasons=f" ({apart})" if apart else "",
    )
    clear = say(
        "headline clear",
        better=counts[tables.BETTER],
        worse=counts[tables.WORSE],
        chance=wording.number(group["by_chance"] / 2, 1),
        steady=counts[tables.STEADY],
        cannot=counts[tables.CANNOT_TELL],
    )
    rest = say("headline unjudged", count=unjudged) if unjudged else ""
    yield Prose(f"{clear} {rest}".strip(), lead=say("headline clear lead"))
    yield Prose(pairs)
    if group["clear"]:
        if not group["front"]:
            yield Prose(say("front none"))
        columns = [say(c) for c in ("col athlete", "col measure", "col change", "col chance held")]
        kinds = [TEXT, TEXT, VERDICT, NUMBER]
        yield Table(say("front caption"), columns, list(_clear(day, group)), kinds)


def _counted(count: int, key: str) -> str:
    return say(f"{key} one") if count == 1 else say(f"{key} many", count=count)


def _clear(day: DayBundle, group: Any) -> Iterator[list[str]]:
    """Every clear change with its error; those that may be named say so, and stand first."""
    names = names_of(day)
    for one in sorted(group["clear"], key=lambda one: one not in group["front"]):
        change = change_of(day, one)
        record = record_in(day.day["tests"], change)
        yield [
            names.get(one["athlete_id"], one["athlete_id"]),
            label_in_test(change),
            say(
                "verdict clear",
                way=way(change, record),
                amount=amount(change, record),
                needs=needed(change, record),
            ),
            say("front held" if one in group["front"] else "front hint"),
        ]
