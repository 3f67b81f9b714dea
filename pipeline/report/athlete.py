"""An athlete's report: every section its notebook calls.

Each takes what ``load`` gives and returns one section. The first page stands alone
(``first_page``, ``phases``); the working follows (``running``, ``phases``, ``gym``, and what
stands here).
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle
from pipeline.measures.registry import COMBINE, MEASURES
from pipeline.measures.sources import SOURCES
from pipeline.measures.spec import Measure
from pipeline.measures.splits import HAND_TIMED
from pipeline.report import charts, wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Bullets, Heading, Prose, Section, Table
from pipeline.report.facts import Report, label_of
from pipeline.report.first_page import (
    first_table,
    for_parents,
    how_sure,
    not_tested,
    summary,
    title,
)
from pipeline.report.force import traces
from pipeline.report.gym import others, strength
from pipeline.report.jumping import jumps, reactive
from pipeline.report.lineage import lineage
from pipeline.report.phases import chosen, next_tenth, targets, time_goes
from pipeline.report.running import sprint, steps, technique
from pipeline.report.saying import one_day
from pipeline.report.wording import say

__all__ = [
    "cautions",
    "chosen",
    "first_table",
    "for_parents",
    "how_sure",
    "jumps",
    "lineage",
    "load",
    "methods",
    "next_tenth",
    "not_tested",
    "noticed",
    "others",
    "reactive",
    "sprint",
    "standing",
    "steps",
    "strength",
    "summary",
    "targets",
    "technique",
    "time_goes",
    "title",
    "traces",
    "trends",
]


def load(path: str) -> Report:
    """Read an athlete's slice; the path is relative to the notebook."""
    return Report(bundle.read_athlete(Path(path)))


def trends(report: Report) -> Section:
    """Each main measure that has more than one testing day, side by side in one drawing."""
    panels = []
    for row in report.key_rows():
        if row["measure"] != "phase_time":
            same = report.terms
            for column in ("test", "part", "measure"):
                same = same[same[column] == row[column]]
            if len(set(same["day"])) > 1:
                panels.append(_panel(report, row, same.sort_values("day", kind="stable")))
    if not panels:
        return Section.of(Prose(say("trends none")))
    alt = " ".join(panel.alt for panel in panels)
    return Section.of(charts.trends("trends", panels, say("trend caption"), alt))


def _panel(report: Report, now: Any, rows: pd.DataFrame) -> charts.Panel:
    record = report.record(now)
    runs = dict.fromkeys(zip(rows["conditions"], rows["basis"], strict=True))
    series = {run: number for number, run in enumerate(runs)}
    own = series[now["conditions"], now["basis"]]
    change = report.change(now)
    reach = math.nan if change is None else one_day(change)
    trend = report.trend(now)
    fitted = {} if trend is None else dict(zip(trend["days"], trend["fitted"], strict=True))
    points = []
    told = []
    for row in rows.to_dict("records"):
        date = wording.short_date(row["day"])
        shown = wording.number(row["score"], wording.digits(record, row["resolution"]))
        number = series[row["conditions"], row["basis"]]
        points.append(
            charts.Point(
                date=date,
                value=row["score"],
                shown=shown,
                series=number,
                reach=reach if number == own else math.nan,
                fitted=fitted.get(row["day"], math.nan) if number == own else math.nan,
            )
        )
        value = wording.value(row["score"], record, row["resolution"])
        told.append(say("trend alt value", value=value, date=date))
    label = wording.capital(report.label(now))
    key = "trend title" if record.unit else "trend title unitless"
    heading = say(key, label=label, unit=wording.unit(record))
    note = "" if trend is None else _slope(trend, record)
    alt = say("trend alt", label=label, values=", ".join(told))
    return charts.Panel(
        title=say("trend better", title=heading, better=record.better),
        points=points,
        note=note,
        alt=f"{alt} {note}".strip(),
    )


def _slope(trend: Any, record: Measure) -> str:
    """A trend in words: what a term brought, with its interval; positive is better."""
    amounts = {
        name: wording.signed_number(trend[name], record.decimals)
        for name in ("slope", "low", "high")
    }
    return say("trend slope", days=len(trend["days"]), **amounts)


def standing(report: Report) -> Section:
    """An adult among others of the same sex and event; the young are ranked nowhere."""
    rows = []
    for one in report.facts["athlete"]["standings"]:
        if one["mean"] is None:
            continue
        record = report.record(one)
        rows.append(
            [
                wording.capital(label_of({**one, "conditions": ""})),
                say(f"rung {one['rung']}", n=one["n"] or ""),
                wording.value(one["mean"], record),
                wording.NOTHING
                if one["percentile"] is None
                else wording.number(one["percentile"], 0),
            ]
        )
    if not rows:
        return Section.of(Prose(say("own standing none")))
    columns = [say(c) for c in ("col test", "col others", "col their mean", "col percentile")]
    table = Table(say("own standing caption"), columns, rows, [TEXT, TEXT, FIGURE, NUMBER])
    return Section.of(Prose(say("own standing lead")), table)


def noticed(report: Report) -> Section:
    """Codes of the findings about this athlete's own rows; never a message."""
    if report.findings.empty:
        return Section.of(Prose(say("found none")))
    items = [
        say(
            "found" if row["row"] is not None else "found place",
            severity=row["severity"],
            code=row["code"],
            file=row["file"],
            row=row["row"],
            column=f", {row['column']}" if row["column"] else "",
        )
        for row in report.findings.astype(object).to_dict("records")
    ]
    return Section.of(Prose(say("found lead")), Bullets(items))


def methods(report: Report) -> Section:
    """How it was measured, written from the measures that gave a result here."""
    first = report.now.drop_duplicates(["measure", "test"]).to_dict("records")
    used: dict[str, Measure] = {}
    for row in first:
        record = report.record(row)
        if record.section != "body":
            used[record.label] = record
    ordered = sorted(used.values(), key=lambda m: list(MEASURES).index(m.key))
    items = [
        say(
            "method" if m.unit else "method unitless",
            label=wording.capital(m.label),
            unit=wording.unit(m),
            formula=m.formula,
        )
        for m in ordered
    ]
    combined = [
        say("method combine", how=wording.capital(how), labels=", ".join(labels))
        for key, how in COMBINE.items()
        if (labels := [m.label for m in ordered if m.combine == key])
    ]
    keys = dict.fromkeys(k for m in ordered for k in m.sources if k not in _NO_REFERENCE)
    sources = [_reference(key) for key in keys]
    by_hand = any(HAND_TIMED in str(flags) for flags in report.now["flags"])
    return Section.of(
        Prose(say("methods lead hand" if by_hand else "methods lead")),
        Bullets(items) if items else Prose(say("no result")),
        Heading(say("combine heading")),
        Bullets(combined) if combined else Prose(say("no result")),
        Heading(say("sources heading")),
        Bullets(sources) if sources else Prose(say("no result")),
    )


_NO_REFERENCE = ("definition",)


def _reference(key: str) -> str:
    """A source as the page names it; where it was not read itself, that is said."""
    source = SOURCES[key]
    if "seen" in source.status:
        return source.text
    return say("source", text=source.text.removesuffix("."), status=source.status)


def cautions(_: Report) -> Section:
    """What maximal testing asks for."""
    return Section.of(Bullets([say("cautions"), say("cautions pain"), say("cautions clearance")]))
