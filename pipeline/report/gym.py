"""The working pages of jumps, rebounds, lifts and the staff's own tests."""

from __future__ import annotations

from typing import Any

from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import ESTIMATED
from pipeline.report import wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Prose, Section, Table
from pipeline.report.facts import TWO_LINES, Report, best_before, flags_of, table_row
from pipeline.report.wording import say


def jumps(report: Report) -> Section:
    """Jump heights and distances with the value before."""
    tests = report.tests("jump", "distance jump")
    return _plain_section(report, tests, "jumps", "jumps none", "jumps caption")


def reactive(report: Report) -> Section:
    """Drop jumps by drop height: what moved, height or contact."""
    ratios = report.of("rsi")
    if ratios.empty:
        return Section.of(Prose(say("reactive none")))
    drops = [str(part).partition(" ")[0] for part in ratios["part"]]
    ratios = ratios.assign(drop=[float(drop or "nan") for drop in drops])  # none was noted
    keys = ("jump_height", "contact_time", "flight_contact_ratio")
    same = ["part", "conditions"]
    parts = {key: report.of(key, "drop jump").set_index(same)["value"] for key in keys}
    rows = []
    for row in ratios.sort_values("drop", kind="stable").to_dict("records"):
        _, before, now, _ = table_row(report, row, TWO_LINES)
        height, contact, ratio = (
            wording.value(parts[key].get(tuple(row[c] for c in same), float("nan")), MEASURES[key])
            for key in keys
        )
        rows.append([row["part"], height, contact, ratio, before, best_before(report, row), now])
    columns = [
        say(c)
        for c in (
            "col drop",
            "col height",
            "col contact",
            "col ratio",
            "col before",
            "col best",
            "col rsi",
        )
    ]
    table = Table(say("reactive caption"), columns, rows, [NUMBER, *[FIGURE] * 6])
    return Section.of(Prose(say("reactive lead")), table)


def strength(report: Report) -> Section:
    """Lifts, measured or estimated, with the value before."""
    tests = report.tests("lift")
    return _plain_section(report, tests, "strength", "strength none", "strength caption")


def others(report: Report) -> Section:
    """The staff's own tests with the value before."""
    return _plain_section(report, report.tests("other"), "other", "other none", "other caption")


def _plain_section(
    report: Report, tests: list[str], section: str, nothing: str, caption: str
) -> Section:
    shown = [m for m in MEASURES.values() if m.section == section]
    rows = [
        [
            *table_row(report, row, TWO_LINES)[:2],
            best_before(report, row),
            table_row(report, row, TWO_LINES)[2],
            str(int(row["n_attempts"])),
            _how(row),
        ]
        for test in tests
        for record in shown
        for row in report.of(record.key, test).to_dict("records")
    ]
    if not rows:
        return Section.of(Prose(say(nothing)))
    columns = [
        say(c)
        for c in ("col measure", "col before", "col best", "col now", "col attempts", "col how")
    ]
    kinds = [TEXT, FIGURE, FIGURE, FIGURE, NUMBER, FIGURE]
    return Section.of(Table(say(caption), columns, rows, kinds))


def _how(row: Any) -> str:
    if row["basis"] == ESTIMATED:
        return ", ".join([ESTIMATED, *flags_of(row["flags"])])
    return str(row["basis"])
