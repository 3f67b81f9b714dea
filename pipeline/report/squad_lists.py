"""For coaches: targets, distributions, the quality of the data, and what is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from pipeline.bundle import DayBundle
from pipeline.measures.spec import USED
from pipeline.report import charts, wording
from pipeline.report.blocks import (
    FIGURE,
    NUMBER,
    TEXT,
    Block,
    Bullets,
    Heading,
    Prose,
    Section,
    Table,
)
from pipeline.report.facts import LIMITED, label_in_test, record_in
from pipeline.report.squad_front import (
    absent,
    group_name,
    names_of,
    present,
    present_groups,
    reason_of,
)
from pipeline.report.wording import say
from pipeline.tables import NOT_COMPARABLE

# --- then and now -----------------------------------------------------------------------------

_PANELS = 6
"""Panels of one drawing."""


def then_and_now(day: DayBundle) -> Section:
    """Each headline measure of each group, the same people then and now."""
    blocks: list[Block] = [Prose(say("then lead"))]
    for group in present_groups(day, day.day["group_changes"]):
        shown = list(_strips(day, group["group"]))
        if not shown:
            continue
        name = group_name(group["group"])
        blocks.append(Heading(name))
        for start in range(0, len(shown), _PANELS):
            part = shown[start : start + _PANELS]
            blocks.append(_drawing(f"then {name} {start}", name, part))
        columns = ("col measure", "col people", "col median then", "col median now", "col rose")
        table = Table(
            say("then table", group=name),
            [say(c) for c in columns],
            [row for _, row in shown],
            [TEXT, NUMBER, FIGURE, FIGURE, FIGURE],
        )
        blocks.append(table)
    if len(blocks) == 1:
        return Section.of(Prose(say("then none", least=day.day["smallest_group"])))
    return Section.of(blocks)


_Shown = tuple[charts.Strip, list[str]]


def _strips(day: DayBundle, group: str) -> Iterator[_Shown]:
    """A panel and its numbers for each headline measure with enough comparable pairs.

    Of several parts or conditions (drop heights, measured or estimated) the one most people have:
    different ones are never laid on one axis.
    """
    easy = {
        (person["id"], given["test"])
        for person in day.day["roster"]
        for given in person["status"]
        if given["status"] == LIMITED
    }
    own = {p["id"] for p in day.day["roster"] if group in (p["groups"] or ("",))}
    changes = day.tables["changes"]
    rows = changes[
        changes["athlete_id"].isin(own)
        & (changes["verdict"] != NOT_COMPARABLE)
        & changes["before"].notna()
        & changes["after"].notna()
    ]
    taken_easy = [
        bool({(who, test), (who, "")} & easy)
        for who, test in zip(rows["athlete_id"], rows["test"], strict=True)
    ]
    rows = rows[~np.array(taken_easy, dtype=bool)]
    for key in day.day["headlines"][group]:
        same = rows[(rows["test"] == key["test"]) & (rows["measure"] == key["measure"])]
        sets = [own for _, own in same.groupby(["part", "conditions"], sort=True)]
        most = max(sets, key=len, default=same)
        if len(most) >= day.day["smallest_group"]:
            yield _strip(day, most)


def _strip(day: DayBundle, rows: pd.DataFrame) -> _Shown:
    first = rows.iloc[0]
    record = record_in(day.day["tests"], first)
    unit = wording.unit(record)
    label = wording.capital(label_in_test(first))
    pairs = [(float(a), float(b)) for a, b in zip(rows["before"], rows["after"], strict=True)]
    sides = []
    for column in ("before", "after"):
        low, middle, high = (
            wording.number(float(v), record.decimals)
            for v in np.quantile(rows[column].to_numpy(dtype=float), (0.25, 0.5, 0.75))
        )
        sides.append(say("then median", median=middle, low=low, high=high))
    better = int((rows["change"] > 0).sum())
    title = say("trend title", label=label, unit=unit) if unit else label
    cells = [title, str(len(rows)), *sides, say("front of", part=better, whole=len(rows))]
    return charts.Strip(title.replace(", ", "\n", 1), pairs), cells


def _drawing(name: str, group: str, shown: list[_Shown]) -> Block:
    told = [
        say("then alt one", label=cells[0], people=cells[1], then=cells[2], now=cells[3])
        for _, cells in shown
    ]
    words = {
        "then": say("then side"),
        "now": say("now side"),
        "caption": say("then caption", group=group),
        "alt": say("then alt", group=group, panels=" ".join(told)),
    }
    return charts.then_and_now(name, [strip for strip, _ in shown], words)


# --- targets ----------------------------------------------------------------------------------


def targets(day: DayBundle) -> Section:
    """Where each athlete stands, what is needed each term, and the best term so far."""
    names = names_of(day)
    table = day.tables["targets"]
    table = table[table["athlete_id"].isin(names)]
    if table.empty:
        return Section.of(Prose(say("targets none")))
    columns = ("col athlete", "col target", "col stands", "col to go", "col each term", "col state")
    rows = [_target(day, names, row) for row in table.to_dict("records")]
    kinds = [TEXT, TEXT, TEXT, FIGURE, TEXT, TEXT]
    sheet = Table(say("targets caption"), [say(c) for c in columns], rows, kinds)
    return Section.of(Prose(say("targets lead")), sheet)


def _target(day: DayBundle, names: dict[str, str], row: Any) -> list[str]:
    record = record_in(day.day["tests"], row)

    def shown(column: str) -> str:
        return wording.NOTHING if pd.isna(row[column]) else wording.value(row[column], record)

    label = wording.capital(label_in_test({**row, "conditions": ""}))
    aim = say("target aim", label=label, value=shown("target"))
    if row["by"]:
        aim = say("target by", aim=aim, date=wording.short_date(row["by"]))
    stands = shown("now")
    if row["now_day"]:
        stands = say("before lines", value=stands, date=wording.short_date(row["now_day"]))
    needed = shown("needed_per_term")
    if pd.notna(row["terms_left"]) and needed != wording.NOTHING:
        needed = say("target needed", amount=needed, terms=int(row["terms_left"]))
    best = shown("best_term")
    if best != wording.NOTHING:
        dates = {end: wording.short_date(row[f"best_{end}"]) for end in ("from", "to")}
        best = say("target best", amount=best, begin=dates["from"], end=dates["to"])
    else:
        best = say("target no best")
    each = best if needed == wording.NOTHING else f"{needed}\n{best}"
    return [
        names[row["athlete_id"]],
        aim,
        stands,
        shown("gap"),
        each,
        say(f"target {row['state']}"),
    ]


# --- the quality of the data ------------------------------------------------------------------


def quality(day: DayBundle) -> Section:
    """Rows used, flagged and set aside, findings by code, single attempts, estimates."""
    totals = {
        column: int(day.tables["account"][column].sum())
        for column in ("rows", "used", "flagged", "set_aside")
    }
    aside = totals.pop("set_aside")
    blocks: list[Block] = [Prose(say("account sum", aside=aside, **totals))]
    findings = day.tables["findings"]
    counts = Counter(zip(findings["severity"], findings["code"], strict=True))
    if counts:
        columns = [say(c) for c in ("col severity", "col code", "col how often")]
        rows = [[severity, code, str(count)] for (severity, code), count in counts.items()]
        blocks.append(Table(say("quality caption"), columns, rows, [TEXT, TEXT, NUMBER]))
    else:
        blocks.append(Prose(say("findings none")))
    now = day.tables["results"]
    now = now[now["day"] == day.day["date"]]
    asked = {name: test["attempts"] for name, test in day.day["tests"].items()}
    single = now[(now["n_attempts"] == 1) & (now["test"].map(asked).fillna(1) > 1)]
    estimated = now[now["basis"] == "estimated"]
    blocks.append(
        Bullets(
            [
                _by_test(single, "quality single", "quality single none"),
                _by_test(estimated, "quality estimated", "quality estimated none"),
            ]
        )
    )
    return Section.of(blocks)


def _by_test(rows: pd.DataFrame, key: str, none: str) -> str:
    """People by test, each once a test."""
    counts = rows.groupby("test", sort=True)["athlete_id"].nunique()
    told = ", ".join(f"{test} {count}" for test, count in counts.items())
    return say(key, tests=told) if told else say(none)


# --- what is missing --------------------------------------------------------------------------


def missing(day: DayBundle) -> Section:
    """Who was not tested and why, and which of the tests expected of each athlete are missing."""
    blocks: list[Block] = []
    away = absent(day)
    if away:
        blocks += [
            Prose(say("missing who")),
            Bullets(
                [
                    say("squad absence", name=p["name"], reason=reason_of(p) or say("no reason"))
                    for p in away
                ]
            ),
        ]
    tests, rows = _grid(day)
    if not rows:
        return Section.of(blocks, Prose(say("missing nothing")))
    return Section.of(
        blocks,
        Prose(say("missing tests lead")),
        Table(say("missing tests"), [say("col athlete"), *tests], rows),
    )


def _grid(day: DayBundle) -> tuple[list[str], list[list[str]]]:
    """Athletes by tests, those alone where something is missing."""
    trials = day.tables["trials"]
    used = trials[(trials["status"] == USED) & trials["value"].notna()]
    today = used[used["day"] == day.day["date"]]
    done = set(zip(today["athlete_id"], today["test"], strict=True))
    again = {(one["athlete_id"], one["test"]): one["why"] for one in day.day["retest"]}
    expected = _expected(day, used)
    here = present(day)
    cells: dict[str, dict[str, str]] = {}
    for person in day.day["roster"]:
        who = person["id"]
        own = set(expected.get(who, set())) | {test for key, test in again if key == who and test}
        for test in own:
            said = _why(person, test, again, done, here=who in here)
            if said:
                cells.setdefault(who, {})[test] = said
    order = list(day.day["tests"])
    tests = sorted({test for own in cells.values() for test in own}, key=order.index)
    names = names_of(day)
    return tests, [
        [names[p["id"]], *(cells[p["id"]].get(test, wording.NOTHING) for test in tests)]
        for p in day.day["roster"]
        if p["id"] in cells
    ]


def _why(person: Any, test: str, again: dict[Any, str], done: set[Any], *, here: bool) -> str:
    """Why a test is to be taken again; nothing where it was done in full."""
    who = person["id"]
    why = again.get((who, test), "" if (who, test) in done else again.get((who, ""), "not tested"))
    if not why:
        return ""
    reasons = [s["reason"] for s in person["status"] if s["test"] == test and s["reason"]]
    word = say(f"again {why}") if here else say("again not tested")
    return say("front reason", name=word, reason=reasons[0]) if reasons else word


def _expected(day: DayBundle, used: pd.DataFrame) -> dict[str, set[str]]:
    """Each athlete's tests: of the groups' headlines, and those done on the last day.

    A headline's test counts only where somebody of the group did it on the day or on their last
    one: the default headline names the sprints of every kind of athlete.
    """
    repeats = set(day.day["repeats"])
    before = used[(used["day"] < day.day["date"]) & ~used["day"].isin(repeats)]
    last = before.groupby("athlete_id")["day"].transform("max") == before["day"]
    known = set(day.day["tests"])
    done: dict[str, set[str]] = {}
    for rows in (before[last], used[used["day"] == day.day["date"]]):
        for who, test in zip(rows["athlete_id"], rows["test"], strict=True):
            done.setdefault(str(who), set()).add(str(test))
    last_time = {
        str(who): set(own["test"]) for who, own in before[last].groupby("athlete_id", sort=False)
    }
    wanted: dict[str, set[str]] = {}
    for group, headline in day.day["headlines"].items():
        people = [p["id"] for p in day.day["roster"] if group in (p["groups"] or ("",))]
        theirs: set[str] = set().union(*(done.get(who, set()) for who in people))
        for who in people:
            tests = {key["test"] for key in headline} & theirs
            wanted[who] = wanted.get(who, set()) | tests | last_time.get(who, set())
    return {who: tests & known for who, tests in wanted.items()}
