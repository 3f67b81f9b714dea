"""The check of a testing day as text, for a terminal beside the track."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace

from wcwidth import wcswidth

from pipeline.bundle import DayBundle
from pipeline.report import grid as grids
from pipeline.report import testing_day
from pipeline.report.wording import say

WIDTH = 100
"""Columns of a terminal that every line of the grid fits into."""

_NAMES, _FIELD = 30, 9
"""Columns of the names, and of one test with the blank after it."""

_SHORTEST_NAME = 8
"""With less room than this beside an id, the id is cut too."""


def check(day: DayBundle, mapping: Sequence[str]) -> str:
    """The grid, what to repeat, what each heading was taken for, the findings and the account.

    ``mapping`` has a line for each sheet.
    """
    made = grids.grid(day)
    parts = [
        "\n\n".join([*blocks(made), textwrap.fill(say("legend"), WIDTH)]),
        "\n".join(testing_day.beside(day, made)),
        _again(made),
        "\n".join([say("mapping heading"), *mapping]) if mapping else "",
        _findings(day),
        account(day),
    ]
    return "\n\n".join(part for part in parts if part)


def account(day: DayBundle) -> str:
    """Rows read = used + flagged and used + set aside, by file and in total."""
    table = day.tables["account"]
    lines = [
        say(
            "account of file", file=" ".join(str(row[c]) for c in ("file", "sheet") if row[c]),
            rows=row["rows"], used=row["used"], flagged=row["flagged"], aside=row["set_aside"],
        )
        for row in table.to_dict("records")
    ]  # fmt: skip
    totals = table[["rows", "used", "flagged", "set_aside"]].sum()
    return "\n".join([*lines, account_sum(*map(int, totals))])


def account_sum(rows: int, used: int, flagged: int, aside: int) -> str:
    """The account in one line."""
    return say("account in all", rows=rows, used=used, flagged=flagged, aside=aside)


def _again(made: grids.Grid) -> str:
    if not made.again:
        return say("redo nothing")
    items = [f"- {testing_day.repeat(one)}" for one in made.again]
    return "\n".join([say("redo heading"), *items])


def _findings(day: DayBundle) -> str:
    table = day.tables["findings"]
    if table.empty:
        return say("findings none")
    lines = []
    for row in table.astype(object).to_dict("records"):
        who = f" [{row['athlete_id']}]" if row["athlete_id"] else ""
        lines.append(f"{row['severity']}: {testing_day.where(row)}{who}: {row['message']}")
    return "\n".join([say("findings heading"), *lines])


def blocks(made: grids.Grid) -> Iterator[str]:
    """The grid, folded into blocks of as many tests as fit beside the names."""
    fit = (WIDTH - _NAMES) // _FIELD
    for first in range(0, len(made.tests), fit):
        heads = [_stacked(test) for test in made.tests[first : first + fit]]
        tall = max(map(len, heads))
        # a short name stands on the lowest lines, next to its fields
        heads = [[""] * (tall - len(head)) + head for head in heads]
        above = [_line("", words) for words in zip(*heads, strict=True)]
        below = [
            _line(
                _named(line),
                [testing_day.in_words(one, "terse") for one in line.fields[first : first + fit]],
            )
            for line in made.lines
        ]
        yield "\n".join([*above, *below])


def _stacked(test: str) -> list[str]:
    """A test's name in lines of a field's width."""
    return textwrap.wrap(test, _FIELD - 1)


def _line(name: str, fields: Sequence[str]) -> str:
    return (_fitted(name, _NAMES) + "".join(_fitted(text, _FIELD) for text in fields)).rstrip()


def _named(line: grids.Line) -> str:
    """An athlete's name, cut where it is too long, and the whole id where that leaves room."""
    whole = testing_day.named(line)
    room = _NAMES - 1 - wcswidth(testing_day.named(replace(line, name="")))
    if wcswidth(whole) < _NAMES or room < _SHORTEST_NAME:
        return whole
    return testing_day.named(replace(line, name=_cut(line.name, room)))


def _cut(text: str, width: int) -> str:
    """A text of at most so many columns; a longer one ends in a mark of what is left out."""
    while wcswidth(text) > width:
        text = text.removesuffix("…")[:-1] + "…"
    return text


def _fitted(text: str, width: int) -> str:
    """A text of exactly so many columns, the last of them blank."""
    shown = _cut(text, width - 1)
    return shown + " " * (width - max(wcswidth(shown), 0))
