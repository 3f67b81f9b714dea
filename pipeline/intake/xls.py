"""What an XLS workbook says beside the values of its cells, by xlrd."""

from __future__ import annotations

import io

import xlrd
from xlrd.biffh import XLRDError, error_text_from_code
from xlrd.book import Book
from xlrd.sheet import Sheet

from pipeline.intake import limits
from pipeline.intake.archives import NO_BOOK, SEALED
from pipeline.intake.files import UnreadableError
from pipeline.intake.unseen import Unseen


def unseen(data: bytes) -> dict[str, Unseen]:
    """By sheet: errors, hidden rows and columns. Every formula of an XLS file has its value.

    Raises:
        UnreadableError: no workbook, locked, or a cell beyond the limits.
    """
    return {sheet.name: _of(sheet) for sheet in open_book(data).sheets()}


def open_book(data: bytes) -> Book:
    """The workbook as xlrd has it, rows no longer than what they hold.

    Raises:
        UnreadableError: it is none, or it is locked.
    """
    try:
        return xlrd.open_workbook(
            file_contents=data, formatting_info=True, ragged_rows=True, logfile=io.StringIO()
        )
    except XLRDError as error:
        sealed = "encrypted" in str(error)
        raise UnreadableError(SEALED if sealed else NO_BOOK) from error
    except Exception as error:  # xlrd raises a dozen kinds for a damaged file
        raise UnreadableError(NO_BOOK) from error


def _of(sheet: Sheet) -> Unseen:
    found, rows, columns = Unseen(), 0, 0
    for number in range(sheet.nrows):
        for column, cell in enumerate(sheet.row(number), start=1):
            if cell.ctype in (xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK):
                continue
            rows, columns = number + 1, max(columns, column)
            if cell.ctype == xlrd.XL_CELL_ERROR:
                found.texts[number + 1, column] = error_text_from_code.get(int(cell.value), "#")
    why = limits.why_too_large(rows, columns)
    if why:
        raise UnreadableError(why)
    shown_rows, shown_columns = sheet.rowinfo_map.items(), sheet.colinfo_map.items()
    found.hidden_rows = [n + 1 for n, row in shown_rows if row.hidden]
    found.hidden_columns = [n + 1 for n, col in shown_columns if col.hidden]
    return found
