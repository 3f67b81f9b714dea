"""The coaches' report: who was tested, and each key measure now beside the last time."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle
from pipeline.bundle import DayBundle
from pipeline.measures.registry import MEASURES
from pipeline.report import wording
from pipeline.report.athlete import label_of
from pipeline.report.blocks import NUMBER, TEXT, Block, Heading, Prose, Section, Table, Title
from pipeline.report.testing_day import cautions
from pipeline.report.wording import say
from pipeline.tables import NOT_COMPARABLE

__all__ = ["cautions", "groups", "load", "measures", "tested", "title"]


def load(path: str) -> DayBundle:
    """Read a day's data folder; the path is relative to the notebook."""
    return bundle.read_day(Path(path))


def title(day: DayBundle) -> Section:
    """Which day."""
    facts = day.day
    lead = say("day lead", season=facts["season"], term=facts["term"])
    return Section.of(Title(say("squad title", date=wording.date(facts["date"])), [lead]))


def tested(day: DayBundle) -> Section:
    """Who was tested and who was not."""
    roster = day.day["roster"]
    absent = [p["name"] for p in roster if p["id"] not in day.day["athletes"]]
    names = say("squad names", names=wording.listed(absent)) if absent else ""
    counts = {"roster": len(roster), "tested": len(roster) - len(absent), "absent": len(absent)}
    return Section.of(
        Prose(say("squad lead", names=names, **counts)),
        Prose(say("squad before")),
        Prose(say("squad judged")),
    )


def _key_results(day: DayBundle) -> Iterator[pd.DataFrame]:
    """This day's results of each key measure, a frame for each part of each."""
    results = day.tables["results"]
    results = results[results["day"] == day.day["date"]]
    for key in day.day["key_measures"]:
        same = results[(results["test"] == key["test"]) & (results["measure"] == key["measure"])]
        for _, rows in same.groupby(["part"], sort=False):
            yield rows


def measures(day: DayBundle) -> Section:
    """A table for each key measure: athlete, before, now, change."""
    blocks: list[Block] = []
    for rows in _key_results(day):
        blocks += [Heading(label_of(rows.iloc[0])), _measure_table(day, rows)]
    return Section.of(blocks) if blocks else Section.of(Prose(say("squad none")))


def _measure_table(day: DayBundle, rows: pd.DataFrame) -> Block:
    record = MEASURES[str(rows.iloc[0]["measure"])]
    names = {p["id"]: p for p in day.day["roster"]}
    best_first = rows.sort_values("value", ascending=record.better == "lower", kind="stable")
    changes = day.tables["changes"].set_index(["athlete_id", "test", "part", "measure"])
    changes = changes.sort_index()
    body = []
    for row in best_first.to_dict("records"):
        person = names.get(row["athlete_id"], {"name": row["athlete_id"], "groups": []})
        key = (row["athlete_id"], row["test"], row["part"], row["measure"])
        change = changes.loc[[key]].iloc[0] if key in changes.index else None
        body.append(
            [
                person["name"],
                ", ".join(person["groups"]),
                *_before_and_change(change, record),
                wording.value(row["value"], record),
            ]
        )
    columns = [say(c) for c in ("col athlete", "col group", "col before", "col change", "col now")]
    caption = say("squad caption", label=label_of(rows.iloc[0]))
    return Table(caption, columns, body, [TEXT, TEXT, NUMBER, NUMBER, NUMBER])


def _before_and_change(change: Any, record: Any) -> list[str]:
    if change is None:
        return [wording.NOTHING, say("verdict first")]
    if change["verdict"] == NOT_COMPARABLE:
        return [wording.NOTHING, NOT_COMPARABLE]
    raw = float(change["after"]) - float(change["before"])
    return [wording.value(change["before"], record), wording.signed(raw, record)]


def groups(day: DayBundle) -> Section:
    """Means by group, for groups large enough to hide the one in the many."""
    least = day.day["smallest_group"]
    members: dict[str, set[str]] = {}
    for person in day.day["roster"]:
        for group in person["groups"]:
            members.setdefault(group, set()).add(person["id"])
    body = []
    for rows in _key_results(day):
        record = MEASURES[str(rows.iloc[0]["measure"])]
        for group, ids in members.items():
            own = rows[rows["athlete_id"].isin(ids)]
            if own["athlete_id"].nunique() >= least:
                mean = float(own["value"].mean())
                count = str(own["athlete_id"].nunique())
                label = label_of(rows.iloc[0])
                body.append([group, label, count, wording.value(mean, record)])
    if not body:
        return Section.of(Prose(say("group none", least=least)))
    columns = [say(c) for c in ("col group", "col measure", "col n", "col mean")]
    caption = say("group caption", least=least)
    return Section.of(Table(caption, columns, body, [TEXT, TEXT, NUMBER, NUMBER]))
