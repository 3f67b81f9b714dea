"""The check report: every input row of the day accounted for."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import pandas as pd

from pipeline.bundle import DayBundle
from pipeline.measures.spec import USED
from pipeline.report import grid as grids
from pipeline.report import wording
from pipeline.report.blocks import NUMBER, TEXT, Bullets, Heading, Prose, Section, Table, Title
from pipeline.report.wording import say


def title(day: DayBundle) -> Section:
    """Which day."""
    facts = day.day
    lead = say("day lead", season=facts["season"], term=facts["term"])
    return Section.of(Title(say("day title", date=wording.date(facts["date"])), [lead], wide=True))


def account(day: DayBundle) -> Section:
    """Rows read = used + flagged + set aside, in total and by file."""
    table = day.tables["account"]
    totals = {c: int(table[c].sum()) for c in ("rows", "used", "flagged", "set_aside")}
    columns = [say(c) for c in ("col file", "col rows", "col used", "col flagged", "col aside")]
    rows = [
        [
            " ".join(t for t in (row["file"], row["sheet"]) if t),
            *(str(row[c]) for c in ("rows", "used", "flagged", "set_aside")),
        ]
        for row in table.to_dict("records")
    ]
    own = day.tables["trials"]
    own = own[own["day"] == day.day["date"]]
    counts = (own["status"] == USED) & own["value"].notna() & (own["unit"] != "")
    used = int(counts.sum())
    results = day.tables["results"]
    results = results[results["day"] == day.day["date"]]
    return Section.of(
        Prose(
            say(
                "account sum",
                rows=totals["rows"],
                used=totals["used"],
                flagged=totals["flagged"],
                aside=totals["set_aside"],
            )
        ),
        Prose(
            say(
                "values sum",
                values=used,
                results=len(results),
                athletes=results["athlete_id"].nunique(),
            )
        ),
        Table(say("account caption"), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER, NUMBER]),
    )


def grid(day: DayBundle) -> Section:
    """Who did what, and what to repeat."""
    made = grids.grid(day)
    rows = [
        [named(line), *(in_words(field, "field") for field in line.fields)] for line in made.lines
    ]
    return Section.of(
        Prose(say("grid lead")),
        Table(say("grid caption"), [say("col athlete"), *made.tests], rows),
        [Prose(sentence) for sentence in beside(day, made)],
        Heading(say("redo heading")) if made.again else Prose(say("redo nothing")),
        [Bullets([repeat(one) for one in made.again])] if made.again else [],
    )


def named(line: grids.Line) -> str:
    """An athlete of the grid."""
    return say("index athlete", name=line.name, athlete_id=line.athlete_id)


def in_words(field: grids.Field, how: str) -> str:
    """A field of the grid: in words (``field``) or as a short sign (``terse``)."""
    return say(f"{how} {field.state}", used=field.good, planned=field.planned)


def repeat(one: grids.Again) -> str:
    """One attempt to repeat, in a sentence: who, which, what was written, the others, why."""
    value = ""
    if one.raw:
        others = wording.listed(list(one.others))
        details = {"raw": one.raw, "column": one.column}
        value = say("redo others", **details, others=others) if others else ""
        value = value or say("redo value", **details)
    details = {"athlete": one.athlete, "test": one.test, "value": value, "why": one.why}
    if one.attempt is None:
        return say("redo test", **details)
    return say("redo attempt", **details, attempt=one.attempt)


def beside(day: DayBundle, made: grids.Grid) -> list[str]:
    """Who stands in no field of the grid, or stands there without being on the roster."""
    away = [f"{name} ({reason})" if reason else name for name, reason in made.away]
    found = {
        "weighed": list(made.weighed),
        "away": away,
        "unseen": list(made.unseen),
        "walk-ins": list(made.walk_ins),
    }
    sentences = [
        say(f"off grid {key}", names=wording.listed(names)) for key, names in found.items() if names
    ]
    table = day.tables["findings"]
    nobody = [where(row) for row in _rows(table[table["code"] == "athlete-unknown"])]
    return [*sentences, *([say("off grid nobody", places="; ".join(nobody))] if nobody else [])]


def _rows(table: pd.DataFrame) -> list[dict[Hashable, Any]]:
    return table.astype(object).to_dict("records")


def findings(day: DayBundle) -> Section:
    """Every finding with its place and the mend."""
    table = day.tables["findings"]
    if table.empty:
        return Section.of(Prose(say("findings none")))
    columns = [say(c) for c in ("col severity", "col code", "col where", "col who", "col message")]
    rows = [
        [r["severity"], r["code"], where(r), r["athlete_id"], r["message"]] for r in _rows(table)
    ]
    return Section.of(Table(say("findings caption"), columns, rows))


def where(row: Any) -> str:
    """A finding's place in words."""
    number = "" if row["row"] is None or row["row"] != row["row"] else f"row {int(row['row'])}"
    return ", ".join(t for t in (row["file"], row["sheet"], number, row["column"]) if t)


def cautions(_: DayBundle) -> Section:
    """What maximal testing asks for."""
    return Section.of(Bullets([say("cautions"), say("cautions pain"), say("cautions clearance")]))
