"""The tables a build writes: their columns, how they are rounded, and how they become files.

One schema serves the CSV, the workbook and the check on reading back, so they cannot differ.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
import xlsxwriter

from pipeline import outgoing
from pipeline.errors import CannotStartError, Finding

SCHEMA_VERSION = 1
EXTRA_DECIMALS = 3
"""A table shows three decimals more than a page does: enough to recompute, no noise."""

BETTER, WORSE, STEADY = "clearly better", "clearly worse", "steady"
CANNOT_TELL, NOT_COMPARABLE = "cannot tell", "not comparable"
"""The five verdicts on a change; an empty one says that it was not judged."""

NO_VALUE, NO_ERROR, WITHIN_ERROR = "no value", "no typical error", "within the error"
TOO_SMALL = "beyond the error, less than worthwhile"
GRADE_C = "the error of this test is not known well enough"
UNCERTAIN = "too uncertain to judge"
EASY, EVERYBODY, ONE_ATTEMPT = "taken easy", "everybody moved together", "one attempt only"
FROM_BODY_MASS = "more than half of it is body mass"
WINDS_APART, UNEQUAL_ATTEMPTS = "winds apart", "unequal attempts"
REASONS = (
    NO_VALUE, NO_ERROR, WITHIN_ERROR, TOO_SMALL, GRADE_C, UNCERTAIN, EASY, EVERYBODY, ONE_ATTEMPT,
    FROM_BODY_MASS, WINDS_APART, UNEQUAL_ATTEMPTS,
)  # fmt: skip
"""Why a change has the verdict it has, or none; the first entry of the column ``reason``. Of
values that may not be compared the column names the fields instead."""

STILL_AIR, WIND_UNKNOWN = "times in still air", "wind not known"
ATTEMPTS_CORRECTED = "unequal attempts, corrected"
"""What a verdict rests on besides, after the reason in the same column."""

FULL, LIMITED, NOT_DONE = "full", "limited", "not done"
"""What staff may say of an athlete's test."""

STANDS_OUT, MOST_TO_GAIN = "stands out", "most to gain"
BALANCED, TOO_THIN = "balanced", "too thin"
"""What is said of a sprint by phase; of a phase only the first two, or nothing."""

PUBLISHED_LINE, SQUAD_LINE = "published", "squad"
"""Whose line a sprint's phases are held against."""

SUGGESTED, TALK = "suggested", "talk about"
LAGS, FELL, OFF = "lags", "fell", "off"
"""What follows from a phase and the signs behind it, and what a sign may be."""

REACHED, OPEN, LATE = "reached", "open", "late"
"""How a target stands, besides ``NO_VALUE``; a late one was not reached by its date."""

NOT_TESTED, TAKEN_EASY = "not tested", "taken easy"
SHORT, LOST = "short of attempts", "set aside"
RETESTS = (NOT_TESTED, NOT_DONE, TAKEN_EASY, SHORT, LOST)
"""Why a test is to be taken again, in the order in which it is said."""

OF_PHASE, OF_SIGN = "phase", "sign"
"""What stands beside a choice: the phase it aimed at, or a measure behind it."""

WORKBOOK_DATE = dt.datetime(2000, 1, 1)  # noqa: DTZ001  # XLSX knows no time zones; fixed for equal bytes
WORKBOOK_OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
"""Text of a workbook stays text: never a formula, never a link."""


@dataclass(frozen=True, slots=True)
class Schema:
    """Names of the columns in order; ``numbers`` and ``integers`` say which are not text."""

    name: str
    columns: tuple[str, ...]
    numbers: frozenset[str] = frozenset()
    integers: frozenset[str] = frozenset()
    sort: tuple[str, ...] = ()


def _schema(
    name: str, columns: str, *, numbers: str = "", integers: str = "", sort: str = ""
) -> Schema:
    return Schema(
        name,
        tuple(columns.split()),
        frozenset(numbers.split()),
        frozenset(integers.split()),
        tuple(sort.split()),
    )


SCHEMAS: dict[str, Schema] = {
    schema.name: schema
    for schema in (
        _schema(
            "trials",
            "day session athlete_id test part attempt quantity value unit raw source status",
            numbers="value",
            integers="attempt",
            sort="day athlete_id test attempt source part quantity",
        ),
        _schema(
            "results",
            "day session athlete_id test part measure value unit low high resolution n_attempts "
            "attempt basis source flags conditions score scored wind",
            numbers="value low high resolution score wind",
            integers="n_attempts attempt",
            sort="day athlete_id test measure part conditions session",
        ),
        _schema(
            "changes",
            "athlete_id test part measure unit against from_day to_day before after change "
            "typical_error error_source error_grade smallest_worthwhile low high chance_better "
            "verdict reason conditions",
            numbers="before after change typical_error smallest_worthwhile low high chance_better",
            sort="athlete_id test measure part against",
        ),
        _schema(
            "reliability",
            "test part measure unit athletes days df typical_error low high scale cv_raw cv_log "
            "icc31 icc_low icc_high minimal_detectable within_day",
            numbers="typical_error low high cv_raw cv_log icc31 icc_low icc_high "
            "minimal_detectable within_day",
            integers="athletes days df",
            sort="test measure part",
        ),
        _schema(
            "phases",
            "athlete_id test phase from_m to_m runs time group_reference group_gap expected "
            "usual_low usual_high own_gap low high z finding",
            numbers="from_m to_m time group_reference group_gap expected usual_low usual_high "
            "own_gap low high z",
            integers="runs",
            sort="athlete_id test from_m",
        ),
        _schema(
            "emphasis",
            "athlete_id test phase finding says emphasis sign sign_test sign_part sign_measure "
            "sign_conditions",
            sort="athlete_id test phase emphasis sign_test sign_part sign_measure",
        ),
        _schema(
            "targets",
            "athlete_id test measure target by unit now now_day part conditions gap terms_left "
            "needed_per_term best_term best_from best_to state",
            numbers="target now gap needed_per_term best_term",
            integers="terms_left",
            sort="athlete_id test measure by",
        ),
        _schema(
            "plan",
            "athlete_id chosen sprint_phase emphasis note kind test part measure conditions "
            "from_day verdict reason",
            sort="athlete_id chosen sprint_phase emphasis kind test part measure",
        ),
        _schema(
            "findings",
            "severity code message file sheet row column athlete_id",
            integers="row",
        ),
        _schema(
            "account",
            "file sheet rows used flagged set_aside",
            integers="rows used flagged set_aside",
            sort="file sheet",
        ),
    )
}


def shape(name: str, frame: pd.DataFrame, decimals: Sequence[int] | None = None) -> pd.DataFrame:
    """Bring ``frame`` into the schema ``name``: its columns, its order, its rounding.

    Args:
        name: a key of ``SCHEMAS``.
        frame: rows with at least the schema's columns; others are dropped.
        decimals: page decimals of each row (same length as ``frame``); 3 where left out.

    Returns:
        A new frame, sorted, indexed 0…n-1, numbers as float64, text as str without NaN.

    Raises:
        KeyError: a column of the schema is missing.
    """
    schema = SCHEMAS[name]
    shaped = frame.loc[:, list(schema.columns)].copy()
    places = np.full(len(shaped), 3) if decimals is None else np.asarray(decimals, dtype=int)
    for column in schema.columns:
        if column in schema.numbers:
            values = pd.to_numeric(shaped[column]).to_numpy(dtype=float)
            shaped[column] = [
                round(float(v), int(d) + EXTRA_DECIMALS)
                for v, d in zip(values, places, strict=True)
            ]
        elif column in schema.integers:
            shaped[column] = pd.to_numeric(shaped[column]).astype("Int64")
        else:
            shaped[column] = shaped[column].astype(object).fillna("").astype(str).astype(object)
    if schema.sort:
        shaped = shaped.sort_values(list(schema.sort), kind="stable")
    return shaped.reset_index(drop=True)


def empty(name: str) -> pd.DataFrame:
    """A table with its schema and no row."""
    return shape(name, pd.DataFrame({column: [] for column in SCHEMAS[name].columns}))


def findings_frame(findings: Iterable[Finding]) -> pd.DataFrame:
    """Findings as the table ``findings``, in the order given."""
    rows = [
        {
            "severity": str(f.severity),
            "code": f.code,
            "message": f.message,
            "file": f.place.file,
            "sheet": f.place.sheet,
            "row": f.place.row,
            "column": f.place.column,
            "athlete_id": f.athlete_id,
        }
        for f in findings
    ]
    columns = list(SCHEMAS["findings"].columns)
    return shape("findings", pd.DataFrame(rows, columns=columns))


def _cells(schema: Schema, frame: pd.DataFrame) -> list[list[Any]]:
    """Plain Python cells, ``None`` for a missing one, with the schema version last."""
    columns = [frame[name].tolist() for name in schema.columns]
    return [
        [None if pd.isna(cell) or cell == "" else cell for cell in row] + [SCHEMA_VERSION]
        for row in zip(*columns, strict=True)
    ]


def to_csv(name: str, frame: pd.DataFrame) -> bytes:
    r"""The table as UTF-8 CSV with ``\n`` line ends; a missing cell is empty.

    A text that a spreadsheet would run as a formula begins with ``'`` (``outgoing.for_sheet``).
    """
    schema = SCHEMAS[name]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([*schema.columns, "schema_version"])
    writer.writerows(
        [outgoing.for_sheet(cell) if isinstance(cell, str) else cell for cell in row]
        for row in _cells(schema, frame)
    )
    return text.getvalue().encode()


def from_csv(name: str, data: bytes) -> pd.DataFrame:
    """Read a table back.

    Raises:
        CannotStartError: it was written by a newer version, or lacks a column.
    """
    schema = SCHEMAS[name]
    try:
        frame = pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False)
    except (ValueError, pd.errors.ParserError) as error:
        raise CannotStartError(f"{name}.csv cannot be read; build the day again.") from error
    missing = [column for column in (*schema.columns, "schema_version") if column not in frame]
    if missing:
        raise CannotStartError(f"{name}.csv has no column {missing[0]}; build the day again.")
    if set(frame["schema_version"]) - {str(SCHEMA_VERSION)}:
        raise CannotStartError(
            f"{name}.csv was written by a newer version of this tool; update the tool to read it."
        )
    for column in set(schema.columns) - schema.numbers - schema.integers:
        frame[column] = frame[column].map(outgoing.from_sheet)
    try:
        for column in schema.numbers | schema.integers:
            frame[column] = pd.to_numeric(frame[column])
    except ValueError as error:
        raise CannotStartError(
            f"{name}.csv holds a word for a number; build the day again."
        ) from error
    return shape(name, frame, decimals=[12] * len(frame))


def to_xlsx(tables: Mapping[str, pd.DataFrame]) -> bytes:
    """All tables as one workbook, a sheet each; text is never taken for a formula.

    A text that would be one when somebody edits its cell has the spreadsheet's own mark for text.
    """
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, WORKBOOK_OPTIONS) as book:
        book.set_properties({"created": WORKBOOK_DATE})
        bold, as_text = book.add_format({"bold": True}), book.add_format({"quote_prefix": True})
        for name, frame in tables.items():
            schema = SCHEMAS[name]
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, [*schema.columns, "schema_version"], bold)
            sheet.freeze_panes(1, 0)
            for number, row in enumerate(_cells(schema, frame), start=1):
                sheet.write_row(number, 0, row)
                for column, cell in enumerate(row):
                    if isinstance(cell, str) and outgoing.for_sheet(cell) != cell:
                        sheet.write_string(number, column, cell, as_text)
            sheet.autofit(300)
    return buffer.getvalue()
