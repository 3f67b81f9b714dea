"""For coaches: targets, distributions, the quality of the data, and what is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from pipeline.bundle import DayBundle
from pipeline.measures.spec import Measure
from pipeline.report import charts, wording
from pipeline.report.blocks import (
    FIGURE,
    NUMBER,
    TEXT,
    VERDICT,
    Block,
    Bullets,
    Heading,
    Prose,
    Section,
    Table,
)
from pipeline.report.facts import label_in_test, record_in
from pipeline.report.squad_front import front_groups, reason_of
from pipeline.report.squad_words import group_name, named_with, names_of, of_people
from pipeline.report.wording import say
from pipeline.tables import LIMITED, NOT_COMPARABLE

# --- then and now -----------------------------------------------------------------------------

_PANELS = 6
"""Panels of one drawing."""


def then_and_now(day: DayBundle) -> Section:
    """Each headline measure of each group, the same people then and now."""
    blocks: list[Block] = [Prose(say("then lead"))]
    for group in [name for part in front_groups(day) for name in part]:
        shown = list(_strips(day, group))
        if not shown:
            continue
        name = group_name(group)
        blocks.append(Heading(name))
        for start in range(0, len(shown), _PANELS):
            part = shown[start : start + _PANELS]
            blocks.append(_drawing(f"then {name} {start}", name, part))
        columns = ("col measure", "col people", "col median then", "col median now", "col rose")
        table = Table(
            say("then table", group=name),
            [say(c) for c in columns],
            [row for _, row in shown],
            [VERDICT, NUMBER, TEXT, TEXT, NUMBER],
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
    return charts.Strip(title, pairs), cells


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
        return Section.of(Prose(say("squad targets none")))
    columns = ("col athlete", "col target", "col stands", "col to go", "col each term", "col state")
    rows = [_target(day, names, row) for row in table.to_dict("records")]
    kinds = [TEXT, TEXT, NUMBER, FIGURE, VERDICT, FIGURE]
    sheet = Table(say("squad targets caption"), [say(c) for c in columns], rows, kinds)
    return Section.of(Prose(say("squad targets lead")), sheet)


def _target(day: DayBundle, names: dict[str, str], row: Any) -> list[str]:
    record = record_in(day.day["tests"], row)

    def shown(column: str) -> str:
        return wording.NOTHING if pd.isna(row[column]) else wording.value(row[column], record)

    label = wording.capital(label_in_test({**row, "conditions": ""}))
    aim = say("goal aim", label=label, value=shown("target"))
    if row["by"]:
        aim = say("goal by", aim=aim, date=wording.short_date(row["by"]))
    stands = shown("now")
    if row["now_day"]:
        stands = say("before lines", value=stands, date=wording.short_date(row["now_day"]))
    needed = shown("needed_per_term")
    if pd.notna(row["terms_left"]) and needed != wording.NOTHING:
        needed = say("goal needed", amount=needed, terms=int(row["terms_left"]))
    best = shown("best_term")
    if best != wording.NOTHING:
        dates = {end: wording.short_date(row[f"best_{end}"]) for end in ("from", "to")}
        best = say("goal best", amount=best, begin=dates["from"], end=dates["to"])
    else:
        best = say("goal no best")
    each = best if needed == wording.NOTHING else f"{needed}\n{best}"
    return [
        names[row["athlete_id"]],
        aim,
        stands,
        _to_go(row, record),
        each,
        say(f"goal {row['state']}"),
    ]


def _to_go(row: Any, record: Measure) -> str:
    """What is still to go; a target passed is said so."""
    if pd.isna(row["gap"]):
        return wording.NOTHING
    left = wording.value(abs(row["gap"]), record)
    return left if row["gap"] >= 0 else say("goal passed", amount=left)


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
    now = now[(now["day"] == day.day["date"]) & _is_key(day, now)]
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


def _is_key(day: DayBundle, rows: pd.DataFrame) -> pd.Series:
    """Whether a result is of a key measure, on the page or in a headline."""
    keys = {(key["test"], key["measure"]) for key in day.day["key_measures"]}
    keys |= {(key["test"], key["measure"]) for own in day.day["headlines"].values() for key in own}
    own = [pair in keys for pair in zip(rows["test"], rows["measure"], strict=True)]
    return pd.Series(own, index=rows.index, dtype=bool)


def _by_test(rows: pd.DataFrame, key: str, none: str) -> str:
    """People by test, each once a test."""
    counts = rows.groupby("test", sort=True)["athlete_id"].nunique()
    told = ", ".join(of_people(str(test), int(count)) for test, count in counts.items())
    return say(key, tests=told) if told else say(none)


# --- what is missing --------------------------------------------------------------------------


def missing(day: DayBundle) -> Section:
    """Who was not tested at all and why, and which tests each of the others is to take again."""
    again: dict[str, dict[str, str]] = {}
    for one in day.day["retest"]:
        again.setdefault(one["athlete_id"], {})[one["test"]] = one["why"]
    people = [person for person in day.day["roster"] if person["id"] in again]
    away = [person for person in people if "" in again[person["id"]]]
    rest = [person for person in people if person not in away]
    blocks: list[Block] = []
    if away:
        named = [named_with(p["name"], reason_of(p)) for p in away]
        blocks.append(Prose(say("missing all", names="; ".join(named)), lead=say("missing who")))
    if not rest:
        return Section.of(blocks, [] if away else [Prose(say("missing nothing"))])
    held = {test for person in rest for test in again[person["id"]]}
    tests = [test for test in day.day["tests"] if test in held]
    rows = [
        [person["name"], *(_why(person, test, again[person["id"]]) for test in tests)]
        for person in rest
    ]
    grid = Table(say("missing tests"), [say("col athlete"), *tests], rows)
    return Section.of(blocks, Prose(say("missing tests lead")), grid)


def _why(person: Any, test: str, again: dict[str, str]) -> str:
    """Why a test is to be taken again, with the staff's reason; a dash where it is not."""
    if test not in again:
        return wording.NOTHING
    word = say(f"again {again[test]}")
    reasons = [s["reason"] for s in person["status"] if s["test"] == test and s["reason"]]
    return say("front reason", name=word, reason=reasons[0]) if reasons else word
