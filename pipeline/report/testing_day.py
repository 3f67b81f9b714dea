"""The check report: every input row of the day accounted for."""

from __future__ import annotations

from typing import Any

from pipeline.bundle import DayBundle
from pipeline.measures.spec import USED
from pipeline.report import wording
from pipeline.report.blocks import NUMBER, TEXT, Bullets, Prose, Section, Table, Title
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


def grid_rows(day: DayBundle) -> tuple[list[str], list[list[str]]]:
    """Who did what: column names, and a row for each athlete of the roster on that day."""
    trials = day.tables["trials"]
    used = trials[
        (trials["day"] == day.day["date"]) & (trials["status"] == USED) & trials["value"].notna()
    ]
    counts = used.groupby(["athlete_id", "test"])["attempt"].nunique()
    tests = [name for name in day.day["tests"] if name in set(used["test"])]
    rows = [
        [
            say("index athlete", name=person["name"], athlete_id=person["id"]),
            *(
                _cell(person, day.day["tests"][t], int(counts.get((person["id"], t), 0)))
                for t in tests
            ),
        ]
        for person in day.day["roster"]
    ]
    return [say("col athlete"), *tests], rows


def _cell(person: Any, test: Any, used: int) -> str:
    """``done``, ``1 of 2``, what the staff said, or a dash."""
    said = next((s["status"] for s in person["status"] if s["test"] in (test["name"], "")), "")
    if used >= test["attempts"]:
        return said or say("grid done")
    if used:
        return said or say("grid short", used=used, planned=test["attempts"])
    return said or wording.NOTHING


def grid(day: DayBundle) -> Section:
    """Who did what."""
    columns, rows = grid_rows(day)
    return Section.of(Prose(say("grid lead")), Table(say("grid caption"), columns, rows))


def findings(day: DayBundle) -> Section:
    """Every finding with its place and the mend."""
    table = day.tables["findings"]
    if table.empty:
        return Section.of(Prose(say("findings none")))
    columns = [say(c) for c in ("col severity", "col code", "col where", "col who", "col message")]
    rows = [
        [r["severity"], r["code"], where(r), r["athlete_id"], r["message"]]
        for r in table.astype(object).to_dict("records")
    ]
    return Section.of(Table(say("findings caption"), columns, rows))


def where(row: Any) -> str:
    """A finding's place in words."""
    number = "" if row["row"] is None or row["row"] != row["row"] else f"row {int(row['row'])}"
    return ", ".join(t for t in (row["file"], row["sheet"], number, row["column"]) if t)


def cautions(_: DayBundle) -> Section:
    """What maximal testing asks for."""
    return Section.of(Bullets([say("cautions"), say("cautions pain"), say("cautions clearance")]))
