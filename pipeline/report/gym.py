"""The working pages of lifts and the staff's own tests."""

from __future__ import annotations

from typing import Any

from pipeline.measures.lifts import MANY_REPETITIONS
from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import key_fields
from pipeline.report import wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Prose, Section, Table
from pipeline.report.facts import TWO_LINES, Report, best_before, flags_of, table_row
from pipeline.report.jumping import sides
from pipeline.report.wording import say


def strength(report: Report) -> Section:
    """Lifts, measured or estimated, ratios made of results, left against right."""
    tests = [*report.tests("lift"), *dict.fromkeys(report.of("ratio")["test"])]
    section = _plain_section(report, tests, "strength", "strength none", "strength caption")
    if any(MANY_REPETITIONS in flags_of(flags) for flags in report.of("one_rep_max")["flags"]):
        section = Section.of(Prose(say("strength many")), section.blocks)
    return Section.of(section.blocks, sides(report, "lift"))


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


_OF_A_LIFT = ("leg", "depth", "load_is", "body_mass")


def _how(row: Any) -> str:
    """Basis, what a lift was lifted like, and the flags."""
    fields = key_fields(row["conditions"])
    lifted = wording.conditions({k: v for k, v in fields.items() if k in _OF_A_LIFT})
    return ", ".join(text for text in (row["basis"], lifted, *flags_of(row["flags"])) if text)
