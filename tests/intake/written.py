"""One table written as each kind of file a spreadsheet or a program saves."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Sequence
from typing import Any

import openpyxl
import pandas as pd
import xlwt

Rows = Sequence[Sequence[Any]]


def text(rows: Rows, separator: str = ",", end: str = "\n") -> str:
    """Rows as a text file; only what needs quotes has them."""
    made = io.StringIO(newline="")
    csv.writer(made, delimiter=separator, lineterminator=end).writerows(rows)
    return made.getvalue()


def xlsx(rows: Rows, name: str = "Day") -> bytes:
    """An XLSX workbook by openpyxl: a formula in it has no saved value."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = name
    for row in rows:
        sheet.append(list(row))
    return saved(book)


def saved(book: openpyxl.Workbook) -> bytes:
    """The bytes of a workbook."""
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def xls(rows: Rows, name: str = "Day") -> bytes:
    """An XLS workbook by xlwt."""
    book = xlwt.Workbook()
    sheet = book.add_sheet(name)
    formats = {dt.date: "yyyy-mm-dd", dt.datetime: "yyyy-mm-dd", dt.time: "mm:ss.0"}
    for number, row in enumerate(rows):
        for place, cell in enumerate(row):
            style = xlwt.easyxf(num_format_str=formats.get(type(cell), "General"))
            if cell is not None:
                sheet.write(number, place, cell, style)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def ods(rows: Rows, name: str = "Day") -> bytes:
    """An OpenDocument workbook by odfpy."""
    buffer = io.BytesIO()
    frame = pd.DataFrame([[("" if cell is None else cell) for cell in row] for row in rows])
    with pd.ExcelWriter(buffer, engine="odf") as writer:
        frame.to_excel(writer, sheet_name=name, header=False, index=False)
    return buffer.getvalue()


BOOKS = {".xlsx": xlsx, ".xls": xls, ".ods": ods}
