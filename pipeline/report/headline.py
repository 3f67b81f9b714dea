"""The coaches' first page: what to check before any praise, clear changes against chance."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pipeline import tables
from pipeline.bundle import DayBundle
from pipeline.report import wording
from pipeline.report.blocks import Block, Bullets, Heading, Notice, Prose, Section
from pipeline.report.facts import label_of, record_in
from pipeline.report.saying import amount, needed, way
from pipeline.report.wording import say

_JUDGED = (tables.BETTER, tables.WORSE, tables.STEADY, tables.CANNOT_TELL)


def check_first(day: DayBundle) -> Section:
    """Where a whole group moved together: a warning before anything is praised."""
    shifts = day.day["shifts"]
    if not shifts:
        return Section.of(Prose(say("check none"), lead=say("check lead")))
    gates: dict[tuple[str, str], Any] = {}
    others: dict[tuple[str, str], list[Any]] = {}
    for shift in shifts:
        if shift["gate"]:
            gates.setdefault((shift["test"], shift["gate"]), shift)
        else:
            others.setdefault((shift["test"], shift["from_day"]), []).append(shift)
    told = [say("check gate", test=test, gate=gate, n=s["n"]) for (test, gate), s in gates.items()]
    told += [_together(day, rows) for rows in others.values()]
    return Section.of(Notice(say("check lead"), " ".join([*told, say("check withheld")])))


def _together(day: DayBundle, rows: list[Any]) -> str:
    """One sentence for a test: which of its values moved for everybody, and by how much."""
    parts = []
    for row in rows:
        record = record_in(day.day["tests"], row)
        sign = -1 if record.better == "lower" else 1
        moved = wording.signed_number(sign * row["shift"], record.decimals)
        parts.append(
            say("check value", label=label_of(row), moved=wording.with_unit(moved, record))
        )
    first = rows[0]
    return say(
        "check together",
        n=first["n"],
        date=wording.short_date(first["from_day"]),
        values=wording.listed(parts),
    )


def headline(day: DayBundle) -> Section:
    """Group by group: how many pairs, how many clear changes, how many chance alone would give."""
    blocks: list[Block] = []
    for group in day.day["group_changes"]:
        if group["pairs"]:
            blocks += [
                Heading(wording.capital(group["group"] or say("no group"))),
                *_group(day, group),
            ]
    if not blocks:
        return Section.of(Prose(say("headline none")))
    return Section.of(Prose(say("headline lead")), blocks)


def _group(day: DayBundle, group: Any) -> Iterator[Block]:
    verdicts = group["verdicts"]
    counts = {name: verdicts.get(name, 0) for name in _JUDGED}
    unjudged = verdicts.get("", 0)
    apart = ", ".join(f"{wording.field_name(k)} {n}" for k, n in group["apart"].items())
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
    front = list(_front(day, group["front"]))
    if front:
        yield Prose(say("front lead"))
        yield Bullets(front)
    else:
        yield Prose(say("front none"))


def _counted(count: int, key: str) -> str:
    return say(f"{key} one") if count == 1 else say(f"{key} many", count=count)


def _front(day: DayBundle, front: list[Any]) -> Iterator[str]:
    """The clear changes that may be named, with their error."""
    names = {person["id"]: person["name"] for person in day.day["roster"]}
    changes = day.tables["changes"]
    for one in front:
        same = changes
        for column in ("athlete_id", "test", "part", "measure", "conditions"):
            same = same[same[column] == one[column]]
        change = same.iloc[0]
        record = record_in(day.day["tests"], change)
        yield say(
            "front one",
            name=names.get(one["athlete_id"], one["athlete_id"]),
            label=label_of(change),
            way=way(change, record),
            amount=amount(change, record),
            needs=needed(change, record),
        )
