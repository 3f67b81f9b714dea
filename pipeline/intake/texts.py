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
FALLBACK = "cp1252"
"""What a text is taken for that is no Unicode; nothing in it says whether that is right."""
MOST_OPEN = 50
"""Rows with an open quote after which quotes are no quotes in this file."""

csv.field_size_limit(limits.LARGEST_FILE)  # the library's own would stop within a cell

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SIGNATURES = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_LOOKED_AT = 4096
_DECLARED = re.compile(r"\A\ufeff?sep=([,;\t|])\n", re.IGNORECASE)
_DECIMAL = re.compile(r"[-+]?\d*,\d+\Z")


def decode(data: bytes) -> str:
    """Text of a file; a byte that is no character becomes U+FFFD.

    Raises:
        UnicodeDecodeError: it ends within a character.
    """
    name = encoding(data)
    return data.decode(name, errors="replace" if name == FALLBACK else "strict")


def encoding(data: bytes) -> str:
    """UTF-8, UTF-16 or UTF-32 by their mark, UTF-8 or UTF-16 without one, else ``FALLBACK``."""
    for mark, name in _MARKS:
        if data.startswith(mark):
            return name
    wide = _wide(data)
    if wide:
        return wide
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return FALLBACK
    return "utf-8"


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

    ``broken`` names the rows in which a quote is opened and not closed: each of them is one line,
    and its quotes are plain characters. After ``MOST_OPEN`` of them all lines are read so.
    ``guessed`` says that the encoding was.
    """

    rows: list[list[str]]
    broken: tuple[int, ...]
    guessed: bool


def grid(data: bytes) -> TextGrid:
    """The cells of a text file.

    Raises:
        UnreadableError: no text, or over a limit.
    """
    rows, broken = _records(*opened(data))
    return TextGrid(rows, broken, guessed=encoding(data) == FALLBACK)


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


def _records(text: str, mark: str) -> tuple[list[list[str]], tuple[int, ...]]:
    lines = [f"{line}\n" for line in text.removesuffix("\n").split("\n")] if text else []
    rows: list[list[str]] = []
    broken: list[int] = []
    at = 0
    while at < len(lines):
        if len(broken) == MOST_OPEN:
            rows += csv.reader(lines[at:], delimiter=mark, quoting=csv.QUOTE_NONE)
            break
        at = _whole_records(lines, at, mark, rows)
        if at < len(lines):
            rows += csv.reader([lines[at]], delimiter=mark, quoting=csv.QUOTE_NONE)
            broken.append(len(rows))
            at += 1
    for number, row in enumerate(rows, start=1):
        if any(len(cell) > limits.LONGEST_CELL for cell in row):
            raise UnreadableError(_too_long(number))
    why = limits.why_too_large(len(rows), max(map(len, rows), default=0))
    if why:
        raise UnreadableError(why)
    return rows, tuple(broken)


def _whole_records(lines: list[str], at: int, mark: str, rows: list[list[str]]) -> int:
    """Add records from a line on to ``rows``; the line of one with an open quote, else their end.

    A quote is open if it is never closed, or if a record that runs over lines has one closed before
    anything but a separator: then two quotes far apart were taken for a pair.
    """
    lines = lines[at:]
    end = "\x00end\x00"  # comes back alone unless a quote is still open
    reader, begun = csv.reader([*lines, end], delimiter=mark), 0
    for row in reader:
        if begun == len(lines):
            break
        own = lines[begun : reader.line_num]
        if reader.line_num > len(lines) or (len(own) > 1 and not _well_formed(own, mark)):
            break
        rows.append(row)
        begun = reader.line_num
    return at + begun


def _well_formed(lines: list[str], mark: str) -> bool:
    try:
        list(csv.reader(lines, delimiter=mark, strict=True))
    except csv.Error:
        return False
    return True


def _too_long(row: int) -> str:
    return f"a cell of row {row} holds over {limits.LONGEST_CELL:,} characters"
