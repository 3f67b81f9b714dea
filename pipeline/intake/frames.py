"""Where the table stands in a sheet: titles above it, its headings, and rows that are no results.

Knows the look of a table, units and the words of statistics; nothing of sport.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median

from pipeline.intake import phrases

_LEADING = 15
"""Rows that hold anything among which the headings are looked for."""
_TITLE_SHARE = 0.6
"""A row above the headings holds at most this share of the cells they hold."""
_WIDE = 3
"""Headings of so many columns at least let any lone cell above them be a title."""


class Aside(StrEnum):
    """Why a row is no result; each is the code of its finding."""

    TITLE = "row-title"
    GROUPS = "row-groups"
    UNITS = "row-units"
    HEADING = "row-heading"
    TOTAL = "row-total"
    REMARK = "row-remark"


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row that holds anything: its number as a spreadsheet shows it, and its cells."""

    number: int
    cells: tuple[str, ...]

    @property
    def filled(self) -> list[int]:
        """The places of the cells that hold anything."""
        return [place for place, cell in enumerate(self.cells) if cell.strip()]

    @property
    def texts(self) -> list[str]:
        """What those cells hold."""
        return [cell.strip() for cell in self.cells if cell.strip()]

    def cell(self, place: int) -> str:
        """The cell in a place, empty beyond the row's end."""
        return self.cells[place].strip() if place < len(self.cells) else ""

    def said(self, place: int) -> str:
        """As ``cell``, empty too where a mark only says that nothing stands there."""
        cell = self.cell(place)
        return "" if phrases.is_dash(cell) else cell

    @property
    def words_only(self) -> bool:
        """Whether none of its cells is a number."""
        return not any(map(phrases.is_number, self.texts))


@dataclass(frozen=True, slots=True)
class Frame:
    """A table as it stands in a sheet.

    Every row of the sheet that holds anything is the heading, in ``rows`` or in ``asides``.
    ``headings`` and ``units`` have one text a column; a unit is empty where no row names it.
    """

    headings: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[RawRow, ...]
    asides: tuple[tuple[RawRow, Aside], ...]


Merged = tuple[int, int, int, int]
"""First row, first column, last row and last column of merged cells, all counted from 1."""


def frame(grid: Iterable[Sequence[str]], merged: Sequence[Merged] = ()) -> Frame | None:
    """Find the table in a sheet's cells; none if no cell holds anything."""
    filled = [
        RawRow(number, tuple(cells))
        for number, cells in enumerate(grid, start=1)
        if any(cell.strip() for cell in cells)
    ]
    if not filled:
        return None
    at = _heading_at(filled)
    above, head, below = filled[:at], filled[at], filled[at + 1 :]
    headings, asides = head.cells, [(row, Aside.TITLE) for row in above]
    if above and _are_groups(above[-1], head):
        headings = _joined(above[-1], head, merged)
        asides[-1] = (above[-1], Aside.GROUPS)
    units: tuple[str, ...] = ("",) * len(headings)
    if below and _are_units(below[0], head):
        units = tuple(phrases.bare(below[0].said(place)) for place in range(len(headings)))
        asides.append((below[0], Aside.UNITS))
        below = below[1:]
    rows: list[RawRow] = []
    for row, why in _sorted_out(head, headings, below):
        if why is None:
            rows.append(row)
        else:
            asides.append((row, why))
    return Frame(headings, units, tuple(rows), tuple(asides))


# --- the heading row --------------------------------------------------------------------------


def _heading_at(rows: list[RawRow]) -> int:
    """The place of the row that names the columns.

    It is the first row, unless a fuller row of names stands below and all above it look like
    titles or like names of groups of its columns.
    """
    best, most = 0, _said(rows[0])
    for place, row in enumerate(rows[1:_LEADING], start=1):
        above = rows[place - 1]
        titles = rows[:place]
        if not (_are_names(row, above) or _is_count(row) or _is_first_wide(row, titles)):
            continue
        if _completes(above, row):
            titles = rows[: place - 1]
        elif _said(row) <= most:
            continue
        below = rows[place + 1 :]
        if all(_is_title(one, row, below) or _are_groups(one, row) for one in titles):
            best, most = place, _said(row)
    return best


def _said(row: RawRow) -> int:
    return sum(1 for place in row.filled if row.said(place))


def _are_names(row: RawRow, above: RawRow) -> bool:
    """Whether a row could name columns: two words or more.

    No word stands twice but under groups, or by a slip under a lone cell.
    """
    texts = [text.casefold() for text in row.texts]
    slip = len(above.filled) == 1 and len(set(texts)) >= _WIDE
    alone = len(set(texts)) == len(texts) or slip or _are_groups(above, row)
    return len(texts) > 1 and row.words_only and alone


def _is_count(row: RawRow) -> bool:
    """Whether the numbers of a row are attempts counted 1, 2, 3 …, once or for several groups."""
    numbers = [text for text in row.texts if phrases.is_number(text)]
    follows = all(
        number == "1" or (before.isdecimal() and number == str(int(before) + 1))
        for before, number in zip(["", *numbers], numbers, strict=False)
        if len(before) < _WIDE
    )
    return follows and len(numbers) > numbers.count("1") > 0


def _is_first_wide(row: RawRow, above: list[RawRow]) -> bool:
    """Whether a row that begins with a word is the first of several cells under lone ones.

    Its numbers, such as distances, are names then.
    """
    alone = all(len(one.filled) == 1 for one in above)
    return alone and len(row.filled) >= _WIDE and not phrases.is_number(row.texts[0])


def _is_title(row: RawRow, head: RawRow, below: list[RawRow]) -> bool:
    """Whether a row over the headings ``head`` says something of the whole table."""
    count, most = len(row.filled), len(head.filled)
    if count == 1:
        return most >= _WIDE or phrases.is_prose(row.texts[0])
    widths = [len(one.filled) for one in below[:_LEADING]]
    return count <= _TITLE_SHARE * most and bool(widths) and median(widths) > count


def _are_groups(row: RawRow, head: RawRow) -> bool:
    """Whether a row names groups of the columns that ``head`` names: it has gaps over names.

    A row that begins where the names begin must have a gap between two of its own, or leave the
    first name to itself; else it might be headings over a row with cells too many.
    """
    said = [place for place in row.filled if row.said(place)]
    if not said or not row.words_only:
        return False
    gaps = [place for place in head.filled if place > said[0] and not row.said(place)]
    inner = said[0] > head.filled[0] or any(place < said[-1] for place in gaps)
    short = len(said) <= _TITLE_SHARE * len(head.filled)
    return bool(gaps) and inner and (short or _completes(row, head))


def _completes(row: RawRow, head: RawRow) -> bool:
    """Whether two rows name the columns between them, as where cells are merged downwards."""
    first = row.filled[0]
    gaps = any(row.filled[0] < place and not row.said(place) for place in head.filled)
    return first < head.filled[0] and len(row.filled) > 1 and row.words_only and gaps


def _joined(groups: RawRow, head: RawRow, merged: Sequence[Merged]) -> tuple[str, ...]:
    """The names of the columns; one that says too little alone goes with its group's."""
    names = Counter(text.casefold() for text in head.texts)
    spans = {
        left - 1: right for top, left, _, right in merged if top == groups.number and right > left
    }
    headings: list[str] = []
    group, end = "", 0
    for place in range(max(len(groups.cells), len(head.cells))):
        own, name = groups.said(place), head.cell(place)
        if own:
            group, end = own, spans.get(place, place + 1) if spans else place + len(head.cells)
        over = group if place < end else ""
        if not name:
            headings.append(own)
        elif over and (names[name.casefold()] > 1 or phrases.says_little(name)):
            headings.append(phrases.joined(over, name))
        else:
            headings.append(head.cells[place])
    return tuple(headings)


def _are_units(row: RawRow, head: RawRow) -> bool:
    """Whether a row names units under headings, and nothing else."""
    said = [row.said(place) for place in row.filled if row.said(place)]
    under = set(row.filled) <= set(head.filled)
    alone = len(said) == 1 and row.filled[0] == head.filled[0]
    return bool(said) and under and not alone and all(map(phrases.is_unit, said))


# --- rows below it ----------------------------------------------------------------------------


def _sorted_out(
    head: RawRow, headings: tuple[str, ...], rows: list[RawRow]
) -> Iterator[tuple[RawRow, Aside | None]]:
    """Each row, and why it is no result.

    A word like *max* is somebody's name as well: it is a total only beside a sure one.
    """
    width = sum(1 for heading in headings if heading.strip())
    found = [_why(head, row, width) for row in rows]
    for place, (row, why) in enumerate(zip(rows, found, strict=True)):
        beside = found[max(place - 1, 0) : place + 2]
        if why is None and Aside.TOTAL in beside and _is_total(row, phrases.may_be_total):
            found[place] = Aside.TOTAL
    return zip(rows, found, strict=True)


def _why(head: RawRow, row: RawRow, width: int) -> Aside | None:
    texts = row.texts
    if len(texts) > 1 and all(
        row.cell(place).casefold() == head.cell(place).casefold() for place in row.filled
    ):
        return Aside.HEADING
    if _is_total(row, phrases.is_total) or phrases.is_count(texts[0]):
        return Aside.TOTAL
    if phrases.opens_remark(texts[0]) or all(map(phrases.is_rule, texts)):
        return Aside.REMARK
    lone = width > 1 == len(texts) and row.filled[0] <= head.filled[0]
    return Aside.REMARK if lone and phrases.is_prose(texts[0]) else None


def _is_total(row: RawRow, is_word: phrases.Test) -> bool:
    """Whether a row begins with such a word, or has it second, with a number or formula after."""
    texts = row.texts
    return any(
        is_word(text) and any(map(phrases.is_computed, texts[place:]))
        for place, text in enumerate(texts[:2], start=1)
    )
