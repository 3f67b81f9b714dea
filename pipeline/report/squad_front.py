"""The coaches' first page: it alone serves who stands at the track tomorrow.

It stays one page whatever the size of the squad: names where they are few, else counts, with every
name on the pages after it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from pipeline import tables
from pipeline.bundle import DayBundle
from pipeline.report import wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, VERDICT, Block, Prose, Section, Table
from pipeline.report.facts import stretch
from pipeline.report.squad_checks import check_first, surest
from pipeline.report.squad_words import group_name, named_with, names_of, of_people
from pipeline.report.wording import say

FEW = 3
"""More people than this stand as a count on the first page."""

_MOST_FIELDS = 2
"""More fields than this in which a group's pairs differ are counted together."""

_MOST_TESTS = 3
"""More tests than this of one reason are counted together."""

JUDGED = (tables.BETTER, tables.WORSE, tables.STEADY, tables.CANNOT_TELL)


def absent(day: DayBundle) -> list[Any]:
    """Who is on the roster and tried no test on the day."""
    here = set(day.day["tested"])
    return [person for person in day.day["roster"] if person["id"] not in here]


def reason_of(person: Any) -> str:
    """Why somebody did no test at all, as far as the staff noted it."""
    reasons = [s["reason"] for s in person["status"] if not s["test"] and s["reason"]]
    return wording.listed(reasons)


def tested(day: DayBundle) -> Section:
    """How many were tested; who was not, where they are few."""
    away = absent(day)
    count = len(day.day["roster"])
    told = say("squad lead", roster=count, tested=count - len(away), absent=len(away))
    if len(away) > FEW:
        told = f"{told} {say('front absent many')}"
    elif away:
        who = [named_with(person["name"], reason_of(person)) for person in away]
        told = f"{told} {say('front absent', who=wording.listed(who))}"
    return Section.of(Prose(told, lead=say("front tested lead")))


# --- changes ----------------------------------------------------------------------------------


_PAGE = 56
"""Lines of text on a page of the PDF, with some to spare."""

_FIXED = 12
"""Lines of title, captions and headings of both tables, and the frame of the warnings."""

_ACROSS, _TALK, _NAME = 88, 32, 14
"""Letters on a line of the page, of what to talk about, and of a group's name."""

_GAP = 0.4
"""Lines between paragraphs and rows."""


def front_groups(day: DayBundle) -> tuple[list[str], list[str]]:
    """The roster's groups that have room on the first page (one at least), and the rest."""
    known = {group for person in day.day["roster"] for group in person["groups"] or ("",)}
    facts = {one["group"]: one for one in day.day["group_changes"] if one["group"] in known}
    phases = {one["group"]: one["phases"] for one in day.day["phase_counts"]}
    groups = list(facts)
    room = (
        _PAGE
        - _FIXED
        - sum(
            _lines(block.text(), _ACROSS)
            for section in (
                check_first(day),
                surest(day),
                tested(day),
                last_time(day),
                next_time(day),
            )
            for block in section.blocks
        )
    )
    fit = 0
    for group in groups:
        name = _lines(group_name(group), _NAME)
        talk = sum(_lines(_talk(phase), _TALK) - _GAP for phase in phases.get(group, ()))
        apart = len(_apart([facts[group]])) / _ACROSS
        room -= name + max(name, talk + _GAP) + apart
        if room < 0 and fit:
            break
        fit += 1
    return groups[:fit], groups[fit:]


def _lines(text: str, letters: int) -> float:
    """How many lines a paragraph or a cell takes, with the gap after it."""
    return sum(-(-len(line) // letters) for line in text.splitlines() if line) + _GAP


def at_a_glance(day: DayBundle) -> Section:
    """Group by group: pairs, clear changes, what chance alone would give, the rest."""
    groups, rest = front_groups(day)
    blocks = changes_table(day, groups)
    if rest:
        more = say("front groups more", count=len(rest))
        blocks.append(Prose(say("front groups one") if len(rest) == 1 else more))
    return Section.of(blocks)


def changes_table(day: DayBundle, names: list[str]) -> list[Block]:
    """A row a group, and below it why pairs cannot be compared; a sentence without a pair."""
    groups = [one for one in day.day["group_changes"] if one["group"] in names]
    if not any(group["pairs"] for group in groups):
        return [Prose(say("headline none"), lead=say("headline clear lead"))]
    unjudged = any(group["verdicts"].get("") for group in groups)
    columns = ["col group", "col tested", "col pairs", *(f"col {word}" for word in JUDGED)]
    columns.insert(5, "col chance")
    kinds = [TEXT, NUMBER, NUMBER, *[FIGURE] * (len(columns) - 3)]
    if unjudged:
        columns, kinds = [*columns, "col unjudged"], [*kinds, FIGURE]
    rows = [_changes(day, group, unjudged=unjudged) for group in groups]
    table = Table(say("front changes caption"), [say(c) for c in columns], rows, kinds)
    apart = _apart(groups)
    return [table, *([Prose(apart)] if apart else [])]


def _changes(day: DayBundle, group: Any, *, unjudged: bool) -> list[str]:
    verdicts = group["verdicts"]
    own = [p for p in day.day["roster"] if group["group"] in (p["groups"] or ("",))]
    here = set(day.day["tested"])
    counts = [str(verdicts.get(word, 0)) for word in JUDGED]
    counts.insert(2, wording.number(group["by_chance"] / 2, 1))
    row = [
        group_name(group["group"]),
        say("front of", part=sum(p["id"] in here for p in own), whole=len(own)),
        say("front of", part=group["comparable"], whole=group["pairs"]),
        *counts,
    ]
    return [*row, str(verdicts.get("", 0))] if unjudged else row


def _apart(groups: list[Any]) -> str:
    """Why pairs cannot be compared, group by group."""
    told = [
        say(
            "front apart group",
            group=group["group"] or say("no group"),
            reasons=reasons(group, _MOST_FIELDS),
        )
        for group in groups
        if group["apart"]
    ]
    return say("front apart", groups="; ".join(told)) if told else ""


def reasons(group: Any, most: int | None = None) -> str:
    """The fields in which a group's pairs differ, with how many; the rest of them together."""
    ranked = sorted(group["apart"].items(), key=lambda item: -item[1])
    told = [
        say("front differs", name=wording.field_name(name), count=count)
        for name, count in ranked[:most]
    ]
    rest = sum(count for _, count in ranked[len(told) :])
    if rest:
        told.append(say("front differs", name=say("retest others"), count=rest))
    return "; ".join(told)


# --- phases -----------------------------------------------------------------------------------


def by_phase(day: DayBundle) -> Section:
    """Group by group: whom to talk with about which phase, who is balanced, who cannot be said."""
    return Section.of(phases_table(day, front_groups(day)[0]))


def phases_table(day: DayBundle, names: list[str]) -> list[Block]:
    """A row a group; a sentence where nobody ran a sprint by phase."""
    groups = [one for one in day.day["phase_counts"] if one["group"] in names]
    if not any(group["phases"] or group["balanced"] or group["too_thin"] for group in groups):
        return [Prose(say("front phases none"), lead=say("front phases lead"))]
    columns = ("col group", "col talk", "col balanced", "col thin", "col no sprint")
    rows = [
        [
            group_name(group["group"]),
            "\n".join(_talk(phase) for phase in group["phases"]) or say("front nothing to talk"),
            *(str(group[state]) for state in ("balanced", "too_thin", "none")),
        ]
        for group in groups
    ]
    kinds = [TEXT, VERDICT, NUMBER, NUMBER, NUMBER]
    return [Table(say("front phases caption"), [say(c) for c in columns], rows, kinds)]


def _talk(phase: Any) -> str:
    out, most = phase["stands_out"], phase["most"]
    told = say("front phase", phase=stretch(phase), count=out + most)
    if not out:
        return told
    return say("front phase one" if out == 1 else "front phase many", told=told, out=out)


# --- last time and next time ------------------------------------------------------------------


_MOST_CHOICES = 3
"""More choices than this stand on a later page."""


def last_time(day: DayBundle) -> Section:
    """What was chosen last time and what then happened, group by group and emphasis."""
    chosen = day.day["followed"]
    if not chosen:
        return Section.of(Prose(say("front chosen none"), lead=say("front chosen lead")))
    told = [
        say(
            "front chosen",
            emphasis=wording.capital(one["emphasis"] or say("no emphasis")),
            group=one["group"] or say("no group"),
            count=one["athletes"],
            verdicts=verdict_counts(one["verdicts"]),
        )
        for one in sorted(chosen, key=lambda one: -int(one["athletes"]))[:_MOST_CHOICES]
    ]
    if len(chosen) > _MOST_CHOICES:
        told.append(say("front chosen more", count=len(chosen) - _MOST_CHOICES))
    return Section.of(
        Prose(" ".join([*told, say("front no proof")]), lead=say("front chosen lead"))
    )


def verdict_counts(counts: Mapping[str, int]) -> str:
    """How many of each verdict, in the order better, worse, steady, cannot tell, the rest."""
    order = (*JUDGED, tables.NOT_COMPARABLE, "")
    words = [word for word in order if counts.get(word)]
    return ", ".join(f"{say(f'verdict word {word}')} {counts[word]}" for word in words)


def next_time(day: DayBundle) -> Section:
    """The tests to take again, and what the data say the next day needs."""
    again = day.day["retest"]
    told = [_again(day, why, [one for one in again if one["why"] == why]) for why in tables.RETESTS]
    said = " ".join(part for part in told if part) or say("retest none")
    return Section.of(
        Prose(said, lead=say("retest lead")),
        Prose(_next_day(day), lead=say("squad next lead")),
    )


def _again(day: DayBundle, why: str, rows: list[Any]) -> str:
    """One reason: who and which tests, or how many of which test where they are many."""
    if not rows:
        return ""
    people: dict[str, list[str]] = {}
    for one in rows:
        people.setdefault(one["athlete_id"], []).append(one["test"] or say("all tests"))
    names = names_of(day)
    if len(people) <= FEW:
        who = [
            say("front reason", name=names.get(key, key), reason=_tests(own))
            for key, own in people.items()
        ]
        return say(f"retest {why}", what=wording.listed(who))
    counts = Counter(one["test"] or say("all tests") for one in rows)
    ranked = sorted(counts.items(), key=lambda item: -item[1])
    shown = [of_people(test, count) for test, count in ranked[:_MOST_TESTS]]
    rest = sum(count for _, count in ranked[_MOST_TESTS:])
    if rest:
        shown.append(of_people(say("retest others"), rest))
    return say(f"retest {why}", what=", ".join(shown))


def _tests(own: list[str]) -> str:
    return wording.listed(own) if len(own) <= FEW else say("retest tests", count=len(own))


def _next_day(day: DayBundle) -> str:
    """Only what this day's data ask for; else to do as before."""
    return " ".join(_asked(day)) or say("next nothing")


def _asked(day: DayBundle) -> Iterator[str]:
    plans = day.day["tests"]
    short = Counter(o["test"] for o in day.day["retest"] if o["why"] == tables.SHORT)
    fields = Counter[str]()
    for group in day.day["group_changes"]:
        for name, count in group["apart"].items():
            fields[name] = max(fields[name], count)
    if short:
        del fields["attempts"]  # said below, test by test
    if fields:
        ranked = sorted(fields.items(), key=lambda item: -item[1])[:_MOST_TESTS]
        yield say("next same", fields=wording.listed([wording.field_name(n) for n, _ in ranked]))
    gates = dict.fromkeys((s["test"], s["gate"]) for s in day.day["shifts"] if s["gate"])
    if gates:
        where = [say("next gate", gate=gate, test=test) for test, gate in gates]
        yield say("next gates", gates=wording.listed(where[:_MOST_TESTS]))
    asked = [
        _attempts(test, plans[test]["attempts"])
        for test, _ in sorted(short.items(), key=lambda item: -item[1])
        if test in plans
    ]
    if asked:
        yield say("next short", tests=wording.listed(asked[:_MOST_TESTS]))


def _attempts(test: str, count: int) -> str:
    return say("next one", test=test) if count == 1 else say("next many", test=test, count=count)
