"""Where each number of a day comes from: file, sheet, row and column of every cell behind it.

It stands in the executed notebook only: who is handed a page reads values, who checks the working
reads this.
"""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.errors import Place
from pipeline.report import wording
from pipeline.report.blocks import NUMBER, TEXT, Prose, Section, Table
from pipeline.report.facts import Report, label_in_test
from pipeline.report.wording import say

_COLUMNS = ("col measure", "col value", "col file", "col sheet", "col row", "col column")
_KINDS = [TEXT, NUMBER, TEXT, TEXT, NUMBER, TEXT]


def lineage(report: Report) -> Section:
    """Every result of the day beside the cells it was computed from, a line each."""
    rows = list(_lines(report))
    if not rows:
        return Section.of(Prose(say("no result")))
    table = Table(say("lineage caption"), [say(c) for c in _COLUMNS], rows, _KINDS)
    return Section.of(Prose(say("lineage lead")), table)


def _lines(report: Report) -> Iterator[list[str]]:
    for _, result in report.now.iterrows():
        record = report.record(result)
        told = [label_in_test(result), wording.value(result["value"], record)]
        for source in str(result["source"]).split(";"):
            place = Place.last_of(source)
            number = "" if place.row is None else str(place.row)
            yield [*told, place.file, place.sheet, number, place.column]
