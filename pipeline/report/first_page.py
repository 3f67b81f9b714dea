"""An athlete's first page, which stands alone: who, what, how sure, what not."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline.battery import BLOWN
from pipeline.measures.growing import GROWING_FAST
from pipeline.report import wording
from pipeline.report.blocks import (
    NUMBER,
    TEXT,
    VERDICT,
    Block,
    Notice,
    Prose,
    Section,
    Table,
    Title,
)
from pipeline.report.facts import (
    ONE_LINE,
    UNDATED,
    Report,
    flags_of,
    over_limit,
    table_row,
)
from pipeline.report.saying import BASES, amount, needed, rests_on, way
from pipeline.report.wording import say
from pipeline.tables import (
    BETTER,
    CANNOT_TELL,
    LIMITED,
    NOT_COMPARABLE,
    STEADY,
    WIND_UNKNOWN,
    WORSE,
)


def title(report: Report) -> Section:
    """Who, when, under what conditions."""
    who = report.facts["athlete"]
    age = [] if who["age"] is None else [say("age", age=who["age"])]
    facts = [*age, *(t for t in (who["event"], ", ".join(who["groups"])) if t)]
    before = who["previous_day"]
    lines = [
        *([say("person", facts=", ".join(facts))] if facts else []),
        say("tested on", sessions="; ".join(_session(s) for s in who["sessions"])),
        say("last tested", date=wording.short_date(before["date"]), term=before["term"])
        if before
        else say("first time"),
    ]
    return Section.of(Title(who["name"], lines))


def _session(session: dict[str, Any]) -> str:
    conditions = dict(session["conditions"])
    words = []
    if "indoor" in conditions:
        words.append(say("indoors" if conditions.pop("indoor") == "yes" else "outdoors"))
    words += [conditions[k] for k in ("venue", "surface", "footwear") if k in conditions]
    shown = say("session conditions", conditions=", ".join(words)) if words else ""
    return say(
        "session", name=session["name"], date=wording.date(session["date"]), conditions=shown
    ).strip()


def summary(report: Report) -> Section:
    """What went well, what to look at, what held and what cannot be said; first marks apart."""
    rows = list(report.key_rows())
    if not rows:
        return Section.of(Prose(say("no result")))
    blocks: list[Block] = [Prose(" ".join(_deeds(report, rows)), lead=say("today lead"))]
    judged = [(row, report.change(row)) for row in rows]
    told = [(row, change) for row, change in judged if change is not None]
    if not told:
        key = "first day" if report.facts["athlete"]["previous_day"] is None else "first of these"
        return Section.of(blocks, Prose(say(key), lead=say("first day lead")))
    for verdict, lead in ((BETTER, "well lead"), (WORSE, "worse lead")):
        clear = [_clear(report, row, c) for row, c in told if c["verdict"] == verdict]
        if clear:
            sure = say("believe one" if len(clear) == 1 else "believe many")
            blocks.append(Prose(" ".join([*clear, sure]), lead=say(lead)))
    steady = [report.label(row) for row, c in told if c["verdict"] == STEADY]
    if steady:
        marks = say("steady marks", marks=wording.listed(steady))
        blocks.append(Prose(marks, lead=say("steady lead")))
    rest = [c for _, c in told if c["verdict"] in ("", CANNOT_TELL)]
    if rest:
        key = "rest all" if len(rest) == len(told) else "rest"
        blocks.append(Prose(say(key), lead=say("rest lead")))
    return Section.of(blocks)


def _clear(report: Report, row: Any, change: Any) -> str:
    record = report.record(row)
    return say(
        "clear one",
        label=wording.capital(report.label(row)),
        value=wording.value(row["value"], record, row["resolution"]),
        way=way(change, record),
        date=wording.short_date(change["from_day"]),
        amount=amount(change, record),
        needs=needed(change, record),
    )


def _deeds(report: Report, key_rows: list[Any]) -> Iterator[str]:
    """What was done, and which marks are the best so far."""
    rows = [row for row in key_rows if row["measure"] != "phase_time"]
    if not rows:
        return
    yield say("today", deeds=wording.listed([_deed(report, row) for row in rows]))
    standing = [_standing(report, row) for row in rows]
    best = [report.label(row) for row, how in zip(rows, standing, strict=True) if how == "best"]
    first = [report.label(row) for row, how in zip(rows, standing, strict=True) if how == "first"]
    if best:
        yield say("best so far", marks=wording.listed(best))
    elif len(first) < len(rows):
        yield say("no best")
    if first and len(first) < len(rows):
        yield say("first marks", marks=wording.listed(first))


def _deed(report: Report, row: Any) -> str:
    value = wording.value(row["value"], report.record(row), row["resolution"])
    key = f"did {row['measure']}"
    if key not in wording.SENTENCES:
        return say("did other", value=value, label=report.label(row))
    how = say(f"is {row['basis']}")
    return say(key, value=value, test=report.label(row), part=row["part"], how=how)


def _standing(report: Report, row: Any) -> str:
    """``first``, ``best`` or nothing, among the days that can be compared."""
    record = report.record(row)
    same = report.results
    for column in ("test", "part", "measure", "conditions", "basis"):
        same = same[same[column] == row[column]]
    earlier = same[same["day"] < report.day]["value"]
    if earlier.empty:
        return "first"
    if report.status_of(row["test"]) == LIMITED:
        return ""
    sign = 1 if record.better == "higher" else -1
    ahead = sign * row["value"] - (sign * earlier).max()
    shown = wording.digits(record, row["resolution"])
    return "best" if ahead >= 10.0**-shown / 2 and not over_limit(row) else ""


def first_table(report: Report) -> Section:
    """The small table of the first page."""
    key_rows = list(report.key_rows())
    if not key_rows:
        return Section.of(Prose(say("no result")))
    days = _days_before(report, key_rows)
    one = len(days) == 1
    rows = [table_row(report, row, UNDATED if one else ONE_LINE) for row in key_rows]
    before = wording.short_date(days.pop()) if one else say("col before")
    columns = [say("col test"), before, say("col now"), say("col verdict")]
    table = Table(say("first table"), columns, rows, [TEXT, NUMBER, NUMBER, VERDICT])
    return Section.of(table, Prose(say("score")))


def _days_before(report: Report, key_rows: list[Any]) -> set[str]:
    """The days from which the column *before* shows a value."""
    changes = [report.change(row) for row in key_rows]
    return {
        str(change["from_day"])
        for row, change in zip(key_rows, changes, strict=True)
        if change is not None and report.before(row, change, UNDATED) != wording.NOTHING
    }


def how_sure(report: Report) -> Section:
    """Attempts, conditions, wind, and what else was flagged."""
    key_rows = list(report.key_rows())
    counts = {row["test"]: int(row["n_attempts"]) for row in key_rows}
    if not counts:
        return Section.of(Prose(say("no result"), lead=say("sure lead")))
    shown = [say("sure attempt", test=t, count=n) for t, n in counts.items()]
    parts = [say("sure attempts", tests=", ".join(shown))]
    same: dict[str, None] = {}
    different: dict[str, None] = {}
    for row in key_rows:
        change = report.change(row)
        if change is None or report.status_of(row["test"]) == LIMITED:
            continue
        if change["verdict"] == NOT_COMPARABLE:
            different[row["test"]] = None
        elif not over_limit(row):
            same[row["test"]] = None
    if [t for t in same if t not in different]:
        parts.append(say("sure same", tests=", ".join(t for t in same if t not in different)))
    if different:
        parts.append(say("sure different", tests=", ".join(different)))
    parts += _noted(report, key_rows)
    return Section.of(Prose(" ".join(parts), lead=say("sure lead")))


def _noted(report: Report, key_rows: list[Any]) -> Iterator[str]:
    """Wind, what comparisons rest on, and what else was flagged."""
    flags = dict.fromkeys((row["test"], f) for row in key_rows for f in flags_of(row["flags"]))
    winds = [f"{test} {wording.minus(f[5:])}" for test, f in flags if f.startswith("wind ")]
    if winds:
        yield say("sure wind", winds="; ".join(winds))
    for basis, tests in _bases(report, key_rows).items():
        yield say(f"sure {basis}", tests=", ".join(tests))
    others = [f"{test} {f}" for test, f in flags if f.startswith("timed by hand")]
    if others:
        yield say("sure flags", flags=", ".join(others))


def _bases(report: Report, key_rows: list[Any]) -> dict[str, dict[str, None]]:
    """What the comparisons rest on besides the values, each with its tests."""
    found: dict[str, dict[str, None]] = {basis: {} for basis in BASES}
    for row in key_rows:
        change = report.change(row)
        told = [] if change is None else rests_on(change)
        kind = report.facts["tests"].get(row["test"], {}).get("kind")  # a ratio is no test
        if kind in BLOWN and row["measure"] == "time" and pd.isna(row["wind"]):
            told.append(WIND_UNKNOWN)
        for basis in told:
            found[basis][row["test"]] = None
    return {basis: tests for basis, tests in found.items() if tests}


def not_tested(report: Report) -> Section:
    """What was tested before and not this time, with the reason where one was given."""
    reasons = {
        s["test"] or say("all tests"): s["reason"] for s in report.facts["athlete"]["status"]
    }
    easy = [t for t in reasons if report.status_of(t) == LIMITED]
    earlier = report.terms[report.terms["day"] < report.day]
    gone = {t for t in reasons if t not in easy}
    if not earlier.empty:
        gone |= set(earlier[earlier["day"] == earlier["day"].max()]["test"]) - {"body"}
    gone -= set(report.now["test"])
    unread = say("sheet unread")
    for test, facts in report.facts["tests"].items():
        if facts["kind"] in report.facts["unread_kinds"]:
            reasons.setdefault(test, unread)
    shown = [
        say("missing reason", test=t, reason=reasons[t]) if reasons.get(t) else t
        for t in [*report.facts["tests"], say("all tests")]
        if t in gone
    ]
    sentences = []
    aside = report.findings[report.findings["severity"] == "error"]
    if len(aside):
        sentences.append(say("rows aside"))
    if shown:
        sentences.append(say("missing", tests=wording.listed(shown)))
    else:
        sentences.append(say("missing first" if earlier.empty else "missing none"))
    marks = report.facts["athlete"]["no_marks"]
    if marks:
        told = [say("missing reason", test=m["test"], reason=m["word"]) for m in marks]
        sentences.append(say("no marks", tests=", ".join(told)))
    if easy:
        told = [say("missing reason", test=t, reason=reasons[t]) for t in easy]
        sentences.append(say("took it easy", tests=wording.listed(told)))
    return Section.of(Prose(" ".join(sentences), lead=say("missing lead")), _growing(report))


def _growing(report: Report) -> Iterator[Block]:
    """A word on growth for the young who grow: their tests shift, and that is normal."""
    if not report.facts["athlete"]["minor"]:
        return
    for row in report.of("growth").to_dict("records"):
        value = wording.value(row["value"], report.record(row))
        if GROWING_FAST in flags_of(row["flags"]):
            yield Prose(say("growing fast", value=value), lead=say("growing lead"))
        elif row["value"] >= _TOLD_CM_A_MONTH:
            yield Prose(say("growing", value=value), lead=say("growing lead"))


_TOLD_CM_A_MONTH = 0.1  # less is the tape's error over a term


def for_parents(_: Report) -> Section:
    """What these numbers are and are not."""
    return Section.of(Notice(say("parents kind"), say("parents")))
