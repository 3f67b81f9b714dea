"""A day's folder before the day: its day file and its sheets, with everybody's rows planned."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import xlsxwriter

from pipeline import tables
from pipeline.forms.limits import Limits
from pipeline.forms.rows import Sheet
from pipeline.forms.wording import say

CSV, XLSX = "csv", "xlsx"
FORMATS = (XLSX, CSV)

_FORMULA_STARTS = "=+-@\t\r"
_FREE_TEXT = ("name",)
"""Columns whose text no file of ours decides."""

_SPARE_ROWS = 60
"""Rows below the planned ones that have the same drop-downs: walk-ins, sets too many."""

_LONGEST_LIST = 255
"""Letters a drop-down may hold by itself (the file format's rule)."""


WordsOf = Callable[[str, str], Sequence[str]]
"""(sheet, heading) → the words that are understood there; none where any text may stand."""

LimitsOf = Callable[[str, str], Limits | None]
"""(heading, test) → the plausible least and greatest number, if any is known."""


@dataclass(frozen=True, slots=True)
class Help:
    """What a workbook knows of its cells.

    Attributes:
        words: what words are understood.
        limits: what numbers are plausible.
    """

    words: WordsOf
    limits: LimitsOf


def to_csv(sheet: Sheet) -> bytes:
    r"""A sheet as CSV, UTF-8 with its mark (so that spreadsheets see it), ``\n`` line ends.

    A name that a spreadsheet would take for a formula loses the signs it begins with; the id
    beside it says whose row it is.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(sheet.columns)
    free = [column in _FREE_TEXT for column in sheet.columns]
    for row in sheet.rows:
        pairs = zip(row, free, strict=True)
        writer.writerow([cell.lstrip(_FORMULA_STARTS) if loose else cell for cell, loose in pairs])
    return text.getvalue().encode("utf-8-sig")


def to_xlsx(sheet: Sheet, told: Help) -> bytes:
    """A sheet as a workbook of one sheet, with drop-downs, limits that warn, and text as text."""
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, tables.WORKBOOK_OPTIONS) as book:
        book.set_properties({"created": tables.WORKBOOK_DATE})
        head = book.add_format({"bold": True, "bottom": 1})
        given = book.add_format({"num_format": "@", "bg_color": "#F0F3F5"})
        text = book.add_format({"num_format": "@"})
        page = book.add_worksheet(sheet.name.rpartition("/")[2])
        page.write_row(0, 0, sheet.columns, head)
        for number, row in enumerate(sheet.rows, start=1):
            for place, cell in enumerate(row):
                if cell:
                    _write(page, number, place, cell, sheet.columns[place], given)
        last = len(sheet.rows) + _SPARE_ROWS
        for place, column in enumerate(sheet.columns):
            longest = max([len(column), *(len(row[place]) for row in sheet.rows)])
            page.set_column(place, place, min(longest, 40) + 3, text if _is_text(column) else None)
            for first, until, options in _validations(sheet, place, last, told):
                page.data_validation(first, place, until, place, options)
        page.ignore_errors({"number_stored_as_text": f"A1:A{last + 1}"})
        page.freeze_panes(1, sum(column in ("athlete_id", "name") for column in sheet.columns))
    return buffer.getvalue()


_WHOLE = frozenset({"attempt", "set", "rep", "drop_height_cm"})


def _is_text(column: str) -> bool:
    return column in ("athlete_id", "name", "test", "lift", "session", "reason")


def _write(page: Any, number: int, place: int, cell: str, column: str, given: Any) -> None:
    if column in _WHOLE:
        page.write_number(number, place, float(cell), None)
    else:
        page.write_string(number, place, cell, given)


def _validations(
    sheet: Sheet, place: int, last: int, told: Help
) -> Iterator[tuple[int, int, dict[str, Any]]]:
    """The rules of a column as (first row, last row, options), rows counted from 0."""
    column = sheet.columns[place]
    words = told.words(sheet.name, column)
    if words:
        source = _choices(words, place, len(sheet.rows))
        if source:
            yield 1, last, _choice(source)
        return
    named = next((sheet.columns.index(n) for n in ("test", "lift") if n in sheet.columns), None)
    by_row = [told.limits(column, "" if named is None else row[named]) for row in sheet.rows]
    if len(set(by_row)) == 1:
        by_row += by_row[:1] * _SPARE_ROWS
    for limits, rows in groupby(enumerate(by_row, start=1), key=lambda pair: pair[1]):
        numbers = [number for number, _ in rows]
        if limits is not None:
            yield numbers[0], numbers[-1], _between(*limits)


def _choices(words: Sequence[str], place: int, planned: int) -> list[str] | str:
    """What a drop-down offers: the words, else the cells that hold them above, else nothing."""
    if len(",".join(words)) <= _LONGEST_LIST and not any("," in word for word in words):
        return list(words)
    return f"={xlsxwriter.utility.xl_range_abs(1, place, planned, place)}" if planned else ""


def _choice(source: list[str] | str) -> dict[str, Any]:
    return {
        "validate": "list",
        "source": source,
        "error_type": "warning",
        "error_message": say("choice odd"),
    }


def _between(low: float, high: float) -> dict[str, Any]:
    shown = {"low": f"{low:.3g}", "high": f"{high:.3g}"}
    return {
        "validate": "decimal",
        "criteria": "between",
        "minimum": low,
        "maximum": high,
        "input_title": say("limit title"),
        "input_message": say("limit", **shown),
        "error_type": "warning",
        "error_message": say("limit odd", **shown),
    }


def day_toml(
    date: dt.date, term: str, sessions: Sequence[str], examples: Mapping[str, tuple[str, str]]
) -> str:
    """The day file: what is known, and every condition as a line to be filled in.

    Args:
        date: the day.
        term: its name.
        sessions: names of its parts, if any.
        examples: condition → (a value as TOML writes it, a remark or nothing).
    """

    def conditions() -> list[str]:
        lines = [(f"# {key} = {value}", remark) for key, (value, remark) in examples.items()]
        return [f"{line:<36}# {remark}" if remark else line for line, remark in lines]

    lines = [f"# {line}" for line in say("day head").splitlines()]
    lines += [f"date = {date.isoformat()}", f"term = {_quoted(term)}"]
    lines += [f"{f'# repeat_of = {date.isoformat()}':<36}# {say('day repeat')}", ""]
    lines += [f"# {say('day conditions')}", *conditions()]
    for name in sessions:
        head = [f"# {say('day session', name=name)}", f"[session.{_quoted(name)}]"]
        lines += ["", *head, f"date = {date.isoformat()}", *conditions()]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A text as TOML and JSON both write it; whoever calls sees to it that it holds no controls."""
    return json.dumps(text, ensure_ascii=False)
