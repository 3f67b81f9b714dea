"""The coaches' report: who was tested, and each main measure now beside the last time, by group."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle
from pipeline.bundle import DayBundle
from pipeline.measures import profile
from pipeline.measures.jumps import COUNTERMOVEMENT, SQUAT
from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import Measure
from pipeline.report import wording
from pipeline.report.appendix import growing, relations, reliability, spreads, standings
from pipeline.report.blocks import (
    FIGURE,
    TEXT,
    Block,
    Heading,
    Prose,
    Section,
    Table,
    Title,
)
from pipeline.report.facts import in_run_order, label_of, record_in
from pipeline.report.headline import headline
from pipeline.report.squad_checks import check_first, surest
from pipeline.report.squad_front import at_a_glance, by_phase, last_time, next_time, tested
from pipeline.report.squad_lists import missing, quality, targets, then_and_now
from pipeline.report.squad_phases import chosen, emphases, phase_by_phase
from pipeline.report.testing_day import cautions
from pipeline.report.wording import say
from pipeline.tables import BETTER, LIMITED, NOT_COMPARABLE, STEADY, WORSE

__all__ = [
    "at_a_glance",
    "by_phase",
    "cautions",
    "check_first",
    "chosen",
    "emphases",
    "force_and_velocity",
    "groups",
    "growing",
    "headline",
    "jump_ratio",
    "last_time",
    "load",
    "missing",
    "next_time",
    "phase_by_phase",
    "quality",
    "relations",
    "reliability",
    "spreads",
    "standings",
    "surest",
    "targets",
    "tested",
    "then_and_now",
    "title",
]

_PHASE = "phase_time"


def load(path: str) -> DayBundle:
    """Read a day's data folder; the path is relative to the notebook."""
    return bundle.read_day(Path(path))


def title(day: DayBundle) -> Section:
    """Which day."""
    facts = day.day
    lead = say("day lead", season=facts["season"], term=facts["term"])
    return Section.of(
        Title(say("squad title", date=wording.date(facts["date"])), [lead], wide=True)
    )


def _pairs(day: DayBundle) -> str:
    """How many values of the key measures have a comparable earlier one."""
    now = pd.concat([rows for _, rows in _key_results(day)] or [day.tables["results"].head(0)])
    same = ["athlete_id", "test", "part", "measure", "conditions"]
    changes = day.tables["changes"].merge(now[same], on=same)
    apart = changes[changes["verdict"] == NOT_COMPARABLE]
    reasons = apart["reason"].str.split(":").str[0].value_counts()
    told = "; ".join(
        say("front differs", name=wording.field_name(str(name)), count=count)
        for name, count in reasons.sort_index().items()
    )
    return say(
        "squad pairs",
        values=len(now),
        comparable=len(changes) - len(apart),
        apart=len(apart),
        reasons=f" ({told})" if told else "",
        first=len(now) - len(changes),
    )


def _key_results(day: DayBundle) -> Iterator[tuple[Any, pd.DataFrame]]:
    """This day's results of each key measure and part, with the key measure they belong to."""
    results = day.tables["results"]
    results = results[results["day"] == day.day["date"]]
    for key in day.day["key_measures"]:
        rows = results[(results["test"] == key["test"]) & (results["measure"] == key["measure"])]
        if key["measure"] == _PHASE:
            rows = in_run_order(rows)
        for _, same in rows.groupby(["part", "conditions"] if key["measure"] == _PHASE else "part",
                                    sort=False):  # fmt: skip
            yield key, same


def groups(day: DayBundle) -> Section:
    """How many values have an earlier one; for each group its main measures and its phases."""
    members: dict[str, list[Any]] = {}
    for person in day.day["roster"]:
        for group in person["groups"] or [say("no group")]:
            members.setdefault(group, []).append(person)
    blocks: list[Block] = []
    for group, people in members.items():
        blocks += [Heading(wording.capital(group)), *_group(day, people)]
    return (
        Section.of(Prose(_pairs(day)), blocks) if blocks else Section.of(Prose(say("squad none")))
    )


def _group(day: DayBundle, people: list[Any]) -> Iterator[Block]:
    ids = [p["id"] for p in people]
    mains: list[pd.DataFrame] = []
    phases: dict[str, list[pd.DataFrame]] = {}
    for key, rows in _key_results(day):
        own = _one_each(rows[rows["athlete_id"].isin(ids)])
        if own.empty:
            continue
        if key["measure"] == _PHASE:
            phases.setdefault(key["test"], []).append(own)
        else:
            mains.append(own)
    if not mains:
        yield Prose(say("squad group none"))
        return
    yield _table(day, people, mains, say("squad caption"))
    for test, columns in phases.items():
        yield _table(day, people, columns, say("squad phases", test=test))


def _one_each(rows: pd.DataFrame) -> pd.DataFrame:
    """One row an athlete where a day had several conditions: measured before estimated."""
    order = rows.sort_values(["basis", "conditions"], ascending=[False, True], kind="stable")
    return order.drop_duplicates("athlete_id")


def _table(day: DayBundle, people: list[Any], columns: list[pd.DataFrame], caption: str) -> Block:
    """Athletes down, measures across; a cell holds the value and, below it, the change."""
    records = [record_in(day.day["tests"], rows.iloc[0]) for rows in columns]
    changes = day.tables["changes"]
    body = []
    for person in people:
        cells = [
            _cell(rows, changes, person, record)
            for rows, record in zip(columns, records, strict=True)
        ]
        if any(cell != wording.NOTHING for cell in cells):
            body.append([person["name"], *cells])
    least = day.day["smallest_group"]
    means = [_mean(rows, record, least) for rows, record in zip(columns, records, strict=True)]
    if any(mean != wording.NOTHING for mean in means):
        body.append([say("squad mean"), *means])
    names = [_heading(rows.iloc[0], r) for rows, r in zip(columns, records, strict=True)]
    kinds = [TEXT, *[FIGURE] * len(columns)]
    return Table(caption, [say("col athlete"), *names], body, kinds)


def _heading(row: Any, record: Measure) -> str:
    label = wording.capital(_short(row))
    unit = wording.unit(record)
    return say("trend title", label=label, unit=unit) if unit else label


def _short(row: Any) -> str:
    """A heading short enough for a column: the test, with its part; phases as they are."""
    if row["measure"] in (_PHASE, *_FORCE):
        return label_of(row) if row["measure"] == _PHASE else MEASURES[row["measure"]].label
    return f"{row['test']} {row['part']}".strip()


_FORCE = tuple(m.key for m in MEASURES.values() if m.section == "force and velocity")


def _cell(rows: pd.DataFrame, changes: pd.DataFrame, person: Any, record: Measure) -> str:
    own = rows[rows["athlete_id"] == person["id"]]
    if own.empty:
        return wording.NOTHING
    row = own.iloc[0]
    same = changes[changes["athlete_id"] == person["id"]]
    for column in ("test", "part", "measure", "conditions"):
        same = same[same[column] == row[column]]
    decimals = wording.digits(record, row["resolution"])
    value = wording.number(row["value"], decimals)
    given = {s["test"] for s in person["status"] if s["status"] == LIMITED}
    if given & {row["test"], ""}:
        return f"{value}\n{say('squad easy')}"
    if same.empty:
        return f"{value}\n{say('squad first')}"
    change = same.iloc[0]
    if change["verdict"] == NOT_COMPARABLE:
        return f"{value}\n{say('squad apart')}"
    moved = wording.signed_number(float(change["after"]) - float(change["before"]), decimals)
    word = _WORDS.get(change["verdict"])
    return f"{value}\n{moved} {say(word)}" if word else f"{value}\n{moved}"


_WORDS = {BETTER: "squad better", WORSE: "squad worse", STEADY: "squad steady"}
"""What stands beside a change; where nothing stands, nobody can tell."""


def _mean(rows: pd.DataFrame, record: Measure, least: int) -> str:
    """The group's mean, where the group is large enough to hide the one in the many."""
    if rows["athlete_id"].nunique() < least:
        return wording.NOTHING
    decimals = wording.digits(record, rows["resolution"].max())
    return wording.number(float(rows["value"].mean()), decimals)


def force_and_velocity(day: DayBundle) -> Section:
    """Force, velocity and power of the accelerations that allow it; for coaches only."""
    results = day.tables["results"]
    keys = list(_FORCE)
    now = results[(results["day"] == day.day["date"]) & results["measure"].isin(keys)]
    if now.empty:
        return Section.of(Prose(say("force none")))
    blocks: list[Block] = [
        Prose(
            say(
                "force lead",
                ratio=f"{profile.RATIO_FROM_S:g}",
                span=f"{profile.SPAN:g}",
                step=f"{profile.STEP_S:g}",
            )
        )
    ]
    for test, rows in now.groupby("test", sort=False):
        columns = [rows[rows["measure"] == key] for key in keys]
        people = [p for p in day.day["roster"] if p["id"] in set(rows["athlete_id"])]
        blocks += [Heading(str(test)), _table(day, people, columns, say("force caption"))]
        flags = sorted({f for text in rows["flags"] for f in str(text).split(";") if f})
        if flags:
            blocks.append(Prose(say("model flags", flags="; ".join(flags))))
    return Section.of(blocks)


def jump_ratio(day: DayBundle) -> Section:
    """Countermovement jump over squat jump with its error; for coaches only."""
    results = day.tables["results"]
    now = results[results["day"] == day.day["date"]]
    ratios = now[now["measure"] == "utilisation_ratio"]
    heights = now[now["measure"] == "jump_height"]
    names = {p["id"]: p["name"] for p in day.day["roster"]}
    record, height = MEASURES["utilisation_ratio"], MEASURES["jump_height"]
    rows = []
    for row in ratios[ratios["athlete_id"].isin(names)].to_dict("records"):
        own = heights[
            (heights["athlete_id"] == row["athlete_id"])
            & (heights["conditions"] == row["conditions"])
            & (heights["part"] == row["part"])
        ].drop_duplicates("test")
        shown = {
            one["test"]: wording.value(one["value"], height, one["resolution"])
            for one in own.to_dict("records")
        }
        value, low, high = (
            wording.number(row[c], record.decimals) for c in ("value", "low", "high")
        )
        rows.append(
            [
                names[row["athlete_id"]],
                shown.get(COUNTERMOVEMENT, wording.NOTHING),
                shown.get(SQUAT, wording.NOTHING),
                say("ratio interval", value=value, low=low, high=high),
            ]
        )
    if not rows:
        return Section.of(Prose(say("ratio none")))
    columns = [say(c) for c in ("col athlete", "col counter", "col squat", "col jump ratio")]
    table = Table(say("ratio caption"), columns, rows, [TEXT, FIGURE, FIGURE, FIGURE])
    return Section.of(Prose(say("ratio lead")), table)
