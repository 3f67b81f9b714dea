"""How large an input may be: every limit of the door, with what it guards against.

The largest honest input is a season's sheet of a few thousand rows; a limit is far above that and
far below what a laptop cannot hold. A file beyond one is refused with the limit in the sentence.
"""

from __future__ import annotations

_MB = 2**20

LARGEST_FILE = 32 * _MB
"""Bytes of one file on disk."""

LARGEST_UNPACKED = 256 * _MB
"""Bytes of all parts of a workbook unpacked: a small archive may hold petabytes."""

LARGEST_RATIO = 200
"""Unpacked to packed, of one part over ``RATIO_FROM``; sheets of equal cells reach about 60."""

RATIO_FROM = _MB
"""Bytes below which a part's ratio says nothing."""

MOST_PARTS = 2_000
"""Files inside a workbook's archive."""

MOST_SHEETS = 100
"""Sheets of a workbook."""

MOST_ROWS = 50_000
"""Rows of one sheet, up to the last that holds anything."""

MOST_COLUMNS = 1_000
"""Columns of one sheet, up to the last that holds anything."""

MOST_CELLS = 1_000_000
"""Rows times columns of one sheet: readers keep a grid with the blanks in it."""

LONGEST_CELL = 32_767
"""Characters of one cell, the most a spreadsheet keeps."""


def megabytes(size: int) -> str:
    """A size as a sentence has it."""
    return f"{size // _MB} MB"


def why_too_large(rows: int, columns: int) -> str:
    """Which limit a sheet of so many rows and columns is over; empty if none."""
    for count, most, what in (
        (rows, MOST_ROWS, "rows"),
        (columns, MOST_COLUMNS, "columns"),
        (rows * columns, MOST_CELLS, "cells"),
    ):
        if count > most:
            return f"a sheet has {count:,} {what}, and at most {most:,} are read"
    return ""
