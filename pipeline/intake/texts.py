"""From the bytes of a text file to cells: encodings, line ends, separators, quotes."""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from dataclasses import dataclass
from itertools import islice

from pipeline.intake import limits
from pipeline.intake.files import UnreadableError

SEPARATORS = ",;\t"

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SIGNATURES = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_LOOKED_AT = 4096
_DECLARED = re.compile(r"\A\ufeff?sep=(.)\n", re.IGNORECASE)
_DECIMAL = re.compile(r"[-+]?\d*,\d+\Z")


def decode(data: bytes) -> str:
    """Text of a file.

    UTF-8, UTF-16 or UTF-32 with their mark, UTF-8 or UTF-16 without one, else Windows-1252.

    Raises:
        UnicodeDecodeError: it ends within a character.
    """
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding)
    wide = _wide(data)
    if wide:
        return data.decode(wide)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _wide(data: bytes) -> str:
    """UTF-16 without a mark, told by the NUL in every second byte of Latin text."""
    head = data[:_LOOKED_AT]
    even, odd = head[::2].count(0), head[1::2].count(0)
    pairs = max(len(head) // 2, 1)
    if odd > 0.7 * pairs and even < 0.05 * pairs:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * pairs and odd < 0.05 * pairs else ""


@dataclass(frozen=True, slots=True)
class TextGrid:
    """The records of a text file, one a row as a spreadsheet shows them.

    ``open_quote`` is the row in which a quote is opened and never closed; from there on every
    line is a row and quotes are plain characters. None if there is no such row.
    """

    rows: list[list[str]]
    open_quote: int | None


def grid(data: bytes) -> TextGrid:
    """The cells of a text file.

    Raises:
        UnreadableError: no text, or over a limit.
    """
    return _records(*opened(data))


def opened(data: bytes) -> tuple[str, str]:
    """The text of a file with line ends evened out, and its separator.

    A first line ``sep=;`` is for the program that opens the file and no row of it.

    Raises:
        UnreadableError: it is no text.
    """
    if data.startswith(_SIGNATURES):
        raise UnreadableError("it is a workbook under the name of a text file")
    try:
        text = decode(data).replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        raise UnreadableError("its text is damaged, or cut off within a character") from error
    declared = _DECLARED.match(text)
    if declared:
        return text[declared.end() :], declared.group(1)
    return text, separator(text)


def separator(text: str) -> str:
    """The separator of a text: the one that parts its first records most evenly and cleanly."""
    head = text[: 16 * _LOOKED_AT].split("\n")
    return max(SEPARATORS, key=lambda mark: (_evenness(head, mark), -SEPARATORS.index(mark)))


def _evenness(lines: list[str], mark: str) -> tuple[float, int]:
    """How well a separator fits, and the usual width of a record; 0 where it parts nothing.

    It is the share of records of that width times the share of cells without another separator. A
    comma within a number, or before a blank as in prose, is no separator left over.
    """
    try:
        records = list(islice(csv.reader((f"{x}\n" for x in lines), delimiter=mark), 60))
    except csv.Error:
        return 0.0, 0
    filled = [record for record in records if any(cell.strip() for cell in record)]
    widths = Counter(len(record) for record in filled if len(record) > 1)
    if not widths:
        return 0.0, 0
    width, times = max(widths.items(), key=lambda item: (item[1], item[0]))
    cells = [cell for record in filled for cell in record if cell.strip()]
    clean = sum(not _parted(cell, mark) for cell in cells)
    return round(times / len(filled) * clean / max(len(cells), 1), 3), width


def _parted(cell: str, mark: str) -> bool:
    """Whether a cell holds a separator other than the one tried."""
    others = SEPARATORS.replace(mark, "")
    cell = cell.strip()
    return not _DECIMAL.match(cell) and any(
        other in (cell.replace(", ", "") if other == "," else cell) for other in others
    )


def _records(text: str, mark: str) -> TextGrid:
    lines = [f"{line}\n" for line in text.removesuffix("\n").split("\n")] if text else []
    rows: list[list[str]] = []
    end = "\x00end\x00"  # comes back alone unless a quote is still open
    reader = csv.reader([*lines, end], delimiter=mark)
    begun, at = 0, None
    try:
        for row in reader:
            if row == [end] and begun == len(lines):
                break
            if reader.line_num > len(lines):  # the record has run into the end
                at = len(rows) + 1
                break
            rows.append(row)
            begun = reader.line_num
    except csv.Error:  # a record beyond the limit of the library: a quote left open, as a rule
        at = len(rows) + 1
    if at is not None:
        plain = csv.reader(lines[begun:], delimiter=mark, quoting=csv.QUOTE_NONE)
        try:
            rows += plain
        except csv.Error as error:
            raise UnreadableError(_too_long(at)) from error
    for number, row in enumerate(rows, start=1):
        if any(len(cell) > limits.LONGEST_CELL for cell in row):
            raise UnreadableError(_too_long(number))
    why = limits.why_too_large(len(rows), max(map(len, rows), default=0))
    if why:
        raise UnreadableError(why)
    return TextGrid(rows, at)


def _too_long(row: int) -> str:
    return f"a cell of row {row} holds over {limits.LONGEST_CELL:,} characters"
