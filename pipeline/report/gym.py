"""The working pages of lifts and the staff's own tests."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pipeline.measures.lifts import MANY_REPETITIONS, shares
from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import key_fields
from pipeline.report import wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Bullets, Prose, Section, Table
from pipeline.report.facts import TWO_LINES, Report, best_before, flags_of, table_row
from pipeline.report.jumping import sides
from pipeline.report.wording import say
from pipeline.tables import NOT_COMPARABLE


def strength(report: Report) -> Section:
    """Lifts, measured or estimated, ratios made of results, left against right."""
    tests = [*report.tests("lift"), *dict.fromkeys(report.of("ratio")["test"])]
    section = _plain_section(report, tests, "strength", "strength none", "strength caption")
    if any(MANY_REPETITIONS in flags_of(flags) for flags in report.of("one_rep_max")["flags"]):
        section = Section.of(Prose(say("strength many")), section.blocks)
    told = list(_split(report))
    split = [Bullets(told)] if told else []
    return Section.of(section.blocks, split, sides(report, "lift"))


def _split(report: Report) -> Iterator[str]:
    """What a change of strength for body mass is made of: the lift, and the body."""
    for row in report.of("relative_strength").to_dict("records"):
        whole = report.change(row)
        lift = report.change({**row, "measure": "one_rep_max"})
        if whole is None or lift is None or NOT_COMPARABLE in (whole["verdict"], lift["verdict"]):
            continue
        lifted, massed = shares((lift["before"], lift["after"]), (whole["before"], whole["after"]))
        yield say(
            "strength split",
            label=wording.capital(report.label(row)),
            whole=wording.signed_number(lifted + massed, 1),
            lifted=wording.signed_number(lifted, 1),
            massed=wording.signed_number(massed, 1),
            date=wording.short_date(whole["from_day"]),
        )


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
