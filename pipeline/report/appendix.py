"""The coaches' appendix: how much tests wobble here, how far athletes differ, who stands where."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline.bundle import DayBundle
from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import ADULT
from pipeline.report import wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Block, Heading, Prose, Section, Table
from pipeline.report.facts import label_in_test, label_of, record_in, stretch
from pipeline.report.wording import say


def spreads(day: DayBundle) -> Section:
    """How far athletes of a group truly differ in their change, error taken out."""
    rows = [
        [
            wording.capital(group["group"] or say("no group")),
            wording.capital(label_of({**one, "conditions": ""})),
            str(one["n"]),
            *_spread(day, one),
        ]
        for group in day.day["group_changes"]
        for one in group["spreads"]
    ]
    if not rows:
        return Section.of(Prose(say("spread none")))
    columns = [
        say(c) for c in ("col group", "col test", "col people", "col spread", "col interval")
    ]
    table = Table(say("spread caption"), columns, rows, [TEXT, TEXT, NUMBER, FIGURE, FIGURE])
    return Section.of(Prose(say("spread lead")), table)


def _spread(day: DayBundle, one: Any) -> tuple[str, str]:
    record = record_in(day.day["tests"], one)
    found = say("spread nothing") if one["sd"] is None else wording.value(one["sd"], record)
    low, high = (wording.number(one[end], record.decimals) for end in ("low", "high"))
    return found, say("interval", low=low, high=wording.with_unit(high, record))


def reliability(day: DayBundle) -> Section:
    """What the squad's own repeat days say of the tests' wobble; the main measures only."""
    table = day.tables["reliability"]
    keys = {(k["test"], k["measure"]) for k in day.day["key_measures"]}
    keys |= {(k["test"], k["measure"]) for line in day.day["headlines"].values() for k in line}
    own = [pair in keys for pair in zip(table["test"], table["measure"], strict=True)]
    rows = [_wobble(day, row) for row in table[own].to_dict("records")]
    if not rows:
        return Section.of(Prose(say("wobble none")))
    columns = [
        say(c)
        for c in (
            "col test", "col people", "col error", "col interval", "col cv", "col detect", "col icc"
        )
    ]  # fmt: skip
    kinds = [TEXT, NUMBER, *[FIGURE] * 5]
    return Section.of(Prose(say("wobble lead")), Table(say("wobble caption"), columns, rows, kinds))


def _wobble(day: DayBundle, row: Any) -> list[str]:
    record = record_in(day.day["tests"], row)
    more = record.decimals + 1

    def shown(value: float) -> str:
        return wording.number(value, more)

    cv = row["cv_log"] if row["scale"] == "log" else row["cv_raw"]
    icc = tuple(wording.number(row[c], 2) for c in ("icc31", "icc_low", "icc_high"))
    return [
        wording.capital(label_of({**row, "conditions": ""})),
        str(int(row["athletes"])),
        wording.with_unit(shown(row["typical_error"]), record),
        say("interval", low=shown(row["low"]), high=shown(row["high"])),
        wording.NOTHING if pd.isna(cv) else say("percent", value=wording.number(cv, 1)),
        wording.with_unit(shown(row["minimal_detectable"]), record),
        say("value interval", value=icc[0], low=icc[1], high=icc[2]),
    ]


def standings(day: DayBundle) -> Section:
    """Each athlete among others in the headline measures, with who the others are."""
    placed = [one for one in day.day["standings"] if one["n"] or one["mean"] is not None]
    if not placed:
        return Section.of(Prose(say("standing none")))
    blocks: list[Block] = [Prose(say("standing lead"))]
    frame = pd.DataFrame(placed)
    for (test, measure), rows in frame.groupby(["test", "measure"], sort=False):
        label = label_of({"test": test, "measure": measure, "part": "", "conditions": ""})
        table = Table(
            say("standing caption", label=wording.capital(label)),
            [
                say(c)
                for c in ("col athlete", "col others", "col their mean", "col t", "col percentile")
            ],
            list(_places(day, rows)),
            [TEXT, TEXT, FIGURE, NUMBER, NUMBER],
        )
        blocks += [Heading(wording.capital(label)), table]
    return Section.of(blocks)


def _places(day: DayBundle, rows: pd.DataFrame) -> Iterator[list[str]]:
    names = {person["id"]: person["name"] for person in day.day["roster"]}
    for row in rows.to_dict("records"):
        record = record_in(day.day["tests"], row)
        name = names.get(row["athlete_id"], row["athlete_id"])
        who = say(f"rung {row['rung']}", n="" if pd.isna(row["n"]) else int(row["n"]))
        part = f", {row['part']}" if row["part"] else ""
        yield [
            f"{name}{part}",
            who,
            wording.number(row["mean"], record.decimals),
            wording.number(row["t_score"], 0),
            wording.number(row["percentile"], 0),
        ]


def relations(day: DayBundle) -> Section:
    """Correlations of physical measures with phase times; one line where people are too few."""
    found = day.day["relations"]
    if not found:
        return Section.of(Prose(say("relations none", least=FEWEST_RELATED)))
    missed = wording.number(len(found) / 20, 0)
    blocks: list[Block] = [Prose(say("relations lead", count=len(found), missed=missed))]
    sprints: dict[tuple[str, str], list[Any]] = {}
    for one in found:
        sprints.setdefault((one["sex"], one["test"]), []).append(one)
    for (sex, test), own in sprints.items():
        phases = list(dict.fromkeys(stretch(one) for one in own))
        cells: dict[str, dict[str, str]] = {}
        for one in own:
            label = label_in_test({**one, "test": one["measure_test"], "conditions": ""})
            cells.setdefault(label, {})[stretch(one)] = _relation(one)
        rows = [
            [label, *(by.get(phase, wording.NOTHING) for phase in phases)]
            for label, by in cells.items()
        ]
        caption = say("relations caption", who=say(f"sex {sex}"), test=test)
        blocks.append(Table(caption, [say("col measure"), *phases], rows))
    return Section.of(blocks)


def _relation(one: Any) -> str:
    """The coefficient with its people, and below it its interval."""
    r, low, high = (wording.number(one[name], 2) for name in ("r", "low", "high"))
    return say("relation", r=r, n=one["n"], low=low, high=high)


FEWEST_RELATED = 20
"""``compare.relations.FEWEST_PEOPLE``, which a test holds equal."""


def growing(day: DayBundle) -> Section:
    """Growth of the young, and how far from the fastest growth where sitting height was taken."""
    results = day.tables["results"]
    now = results[results["day"] == day.day["date"]]
    young = [one for one in day.day["roster"] if day.day["ages"].get(one["id"], ADULT) < ADULT]
    rows = []
    for person in young:
        own = now[now["athlete_id"] == person["id"]].set_index("measure")
        cells = [_grown(own, "growth"), _grown(own, "maturity_offset")]
        if any(cell != wording.NOTHING for cell in cells):
            rows.append([person["name"], *cells])
    if not rows:
        return Section.of(Prose(say("growth none")))
    columns = [say(c) for c in ("col athlete", "col growth", "col offset")]
    table = Table(say("growth caption"), columns, rows, [TEXT, FIGURE, FIGURE])
    return Section.of(Prose(say("growth lead")), table)


def _grown(own: pd.DataFrame, measure: str) -> str:
    """A value of the body with its flag; a dash where there is none."""
    if measure not in own.index:
        return wording.NOTHING
    row = own.loc[[measure]].iloc[0]
    shown = wording.value(row["value"], MEASURES[measure])
    return say("flagged", value=shown, flag=row["flags"]) if row["flags"] else shown
