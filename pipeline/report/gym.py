"""The working pages of lifts and the staff's own tests."""

from __future__ import annotations

from typing import Any

from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import ESTIMATED
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Prose, Section, Table
from pipeline.report.facts import TWO_LINES, Report, best_before, flags_of, table_row
from pipeline.report.jumping import sides
from pipeline.report.wording import say


def strength(report: Report) -> Section:
    """Lifts, measured or estimated, with the value before."""
    tests = report.tests("lift")
    plain = _plain_section(report, tests, "strength", "strength none", "strength caption")
    return Section.of(plain.blocks, sides(report, "lift"))


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
