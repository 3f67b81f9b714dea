"""What to check before any praise, and every clear change against chance."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pipeline import tables
from pipeline.bundle import DayBundle
from pipeline.report import wording
from pipeline.report.blocks import TEXT, Block, Heading, Notice, Prose, Section, Table
from pipeline.report.facts import base_of, ends_of, label_in_test, record_in
from pipeline.report.saying import amount, needed, way
from pipeline.report.squad_front import (
    GROUPS,
    JUDGED,
    changes_table,
    group_name,
    names_of,
    phases_table,
    present_groups,
    reasons,
)
from pipeline.report.wording import say

SENTENCES = 3
"""More warnings than this stand on the page after the first."""

_VALUES = 3
"""More values of one test than this are counted."""


def check_first(day: DayBundle) -> Section:
    """Where a whole group moved together: a warning before anything is praised."""
    told = _warnings(day)
    if not told:
        return Section.of(Prose(say("check none"), lead=say("check lead")))
    rest = len(told) - SENTENCES
    more = [say("check more", count=rest)] if rest > 0 else []
    said = [*told[:SENTENCES], *more, say("check withheld")]
    return Section.of(Notice(say("check lead"), " ".join(said)))


def _warnings(day: DayBundle) -> list[str]:
    """One sentence for each gate, and one for each test in which all moved."""
    gates: dict[tuple[str, str], Any] = {}
    others: dict[tuple[str, str, str], list[Any]] = {}
    for shift in day.day["shifts"]:
        if shift["gate"]:
            gates.setdefault((shift["test"], shift["gate"]), shift)
        else:
            key = shift["test"], shift["from_day"], base_of(shift["conditions"])
            others.setdefault(key, []).append(shift)
    told = [say("check gate", test=test, gate=gate, n=s["n"]) for (test, gate), s in gates.items()]
    return [*told, *(_together(day, _each_once(day, rows)) for rows in others.values())]


_NAMED_AS = ("phase_time", "time", "split_time", "segment_time")
"""What one stretch of track is called where several measures time it, the first that is there."""


def _each_once(day: DayBundle, rows: list[Any]) -> list[Any]:
    """The values without those that time the same stretch again, the surest first."""
    order = sorted(
        rows, key=lambda r: _NAMED_AS.index(r["measure"]) if r["measure"] in _NAMED_AS else 0
    )
    once: dict[object, Any] = {}
    for row in order:
        once.setdefault(_stretch(day, row), row)
    return sorted(once.values(), key=lambda row: -abs(row["shift"]) / row["se"])


def _stretch(day: DayBundle, row: Any) -> object:
    """The metres a time is taken over; of anything else its measure and part."""
    if row["measure"] not in _NAMED_AS:
        return row["measure"], row["part"]
    ends = ends_of(row["conditions"])[1] or wording.dashed(str(row["part"]))
    if row["measure"] == "time":
        distance = day.day["tests"].get(row["test"], {}).get("distance_m")
        ends = "" if distance is None else f"{float(distance):g} m"
    return ends if "–" in ends else f"0–{ends}"


def _together(day: DayBundle, rows: list[Any]) -> str:
    """One sentence for a test: which of its values moved for everybody, and by how much."""
    parts = []
    for row in rows[:_VALUES]:
        record = record_in(day.day["tests"], row)
        sign = -1 if record.better == "lower" else 1
        moved = wording.signed_number(sign * row["shift"], record.decimals)
        moved = wording.with_unit(moved, record)
        parts.append(say("check value", label=label_in_test(row), moved=moved))
    if len(rows) > _VALUES:
        parts.append(say("check others", count=len(rows) - _VALUES))
    least, most = (f(row["n"] for row in rows) for f in (min, max))
    return say(
        "check together",
        n=most if least == most else say("check from to", least=least, most=most),
        date=wording.short_date(rows[0]["from_day"]),
        values=wording.listed(parts),
    )


def headline(day: DayBundle) -> Section:
    """Group by group: how many pairs, every clear change, how many chance alone would give."""
    blocks: list[Block] = []
    told = _warnings(day)[SENTENCES:]
    if told:
        blocks.append(Notice(say("check lead"), " ".join([*told, say("check withheld")])))
    groups = present_groups(day, day.day["group_changes"])
    if groups[GROUPS:]:
        blocks += changes_table(day, groups[GROUPS:])
        blocks += phases_table(day.day["phase_counts"][GROUPS:])
    judged = [group for group in groups if group["pairs"]]
    if not judged:
        return Section.of(blocks, Prose(say("headline none")))
    blocks.append(Prose(say("headline lead")))
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
        yield Prose(say("front lead" if group["front"] else "front none"))
        columns = [say(c) for c in ("col athlete", "col measure", "col change", "col chance held")]
        yield Table(say("front caption"), columns, list(_clear(day, group)), [TEXT] * 4)


def _counted(count: int, key: str) -> str:
    return say(f"{key} one") if count == 1 else say(f"{key} many", count=count)


def _clear(day: DayBundle, group: Any) -> Iterator[list[str]]:
    """Every clear change with its error; those that may be named say so, and stand first."""
    names = names_of(day)
    changes = day.tables["changes"]
    for one in sorted(group["clear"], key=lambda one: one not in group["front"]):
        same = changes
        for column in ("athlete_id", "test", "part", "measure", "conditions"):
            same = same[same[column] == one[column]]
        change = same.iloc[0]
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
