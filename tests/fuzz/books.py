"""Damage inside workbooks: what programs write, and what nobody should."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable

import openpyxl
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from .damage import BOOKS, any_sheet, damage, note_needed
from .made import Made, Sheet
from .writing import content

_PAGE = "xl/worksheets/sheet1.xml"
_STRINGS = "xl/sharedStrings.xml"
_WORKBOOK = "xl/workbook.xml"


def _book(rng: random.Random, made: Made, *suffixes: str) -> Sheet:
    """One sheet as a workbook of a kind, made one where it is none; no longer known."""
    sheet = any_sheet(rng, made)
    made.files.pop(sheet.path, None)
    sheet.suffix, sheet.name = rng.choice(suffixes or (".xlsx",)), sheet.name or "Sheet1"
    made.files[sheet.path] = content(sheet)
    sheet.known = False
    note_needed(made, sheet)
    return sheet


def _inside(made: Made, sheet: Sheet, change: Callable[[dict[str, bytes]], None]) -> str:
    """Change the parts of a zipped workbook."""
    with zipfile.ZipFile(io.BytesIO(made.files[sheet.path])) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    made.files[sheet.path] = out.getvalue()
    return sheet.path


def _typed(made: Made, sheet: Sheet, change: Callable[[Workbook, Worksheet], None]) -> str:
    """Change a workbook as a program would."""
    book = openpyxl.load_workbook(io.BytesIO(made.files[sheet.path]))
    change(book, book.worksheets[0])
    out = io.BytesIO()
    book.save(out)
    made.files[sheet.path] = out.getvalue()
    return sheet.path


def _in_page(old: bytes, new: bytes) -> Callable[[dict[str, bytes]], None]:
    def change(parts: dict[str, bytes]) -> None:
        parts[_PAGE] = re.sub(old, new.replace(b"\\", b"\\\\"), parts[_PAGE], count=1)

    return change


@damage(BOOKS, late=True)
def _dimension_lies(rng: random.Random, made: Made) -> str:
    ref = rng.choice((b"A1:A1", b"A1:XFD1048576", b"Z9:A1", b"", b"A1:B99999999999", b"nonsense"))
    new = b'<dimension ref="' + ref + b'"/>'
    return _inside(made, _book(rng, made), _in_page(rb"<dimension[^>]*>", new))


@damage(BOOKS, late=True)
def _far_cell(rng: random.Random, made: Made) -> str:
    where = rng.choice((b"XFD1048576", b"A1048576", b"XFD1", b"ZZZZ9", b"A0", b"A99999999999"))
    row = re.sub(rb"\D", b"", where)
    new = b'<row r="' + row + b'"><c r="' + where + b'"><v>7</v></c></row></sheetData>'
    return _inside(made, _book(rng, made), _in_page(rb"</sheetData>", new))


@damage(BOOKS, late=True)
def _wrong_cell_places(rng: random.Random, made: Made) -> str:
    new = rng.choice((b'r="A1"', b'r=""', b'r="1A"', b"", b'r="A-1"'))
    return _inside(made, _book(rng, made), _in_page(rb'r="B2"', new))


@damage(BOOKS, late=True)
def _shared_strings_gone(rng: random.Random, made: Made) -> str:
    def change(parts: dict[str, bytes]) -> None:
        parts.pop(_STRINGS)

    return _inside(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _shared_string_beyond(rng: random.Random, made: Made) -> str:
    number = rng.choice((b"99999", b"-1", b"x", b"1.5", b""))
    change = _in_page(rb't="s"><v>\d+</v>', b't="s"><v>' + number + b"</v>")
    return _inside(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _entities(rng: random.Random, made: Made) -> str:
    """A document type that grows without end, or asks for another file."""
    growing = b"<!DOCTYPE x [<!ENTITY a 'aaaaaaaaaa'>" + b"".join(
        b"<!ENTITY %c '%s'>" % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9)
    ) + b"]>"  # fmt: skip
    other = b'<!DOCTYPE x [<!ENTITY j SYSTEM "file:///etc/hostname">]>'
    head = rng.choice((growing, other))

    def change(parts: dict[str, bytes]) -> None:
        name = rng.choice((_STRINGS, _PAGE, _WORKBOOK))
        parts[name] = re.sub(rb"^(<\?xml[^>]*>)?", b"", parts[name])
        parts[name] = head + re.sub(rb"(<t[^>]*>|<v>)", rb"\1&j;", parts[name], count=1)

    return _inside(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _grows_a_thousandfold(rng: random.Random, made: Made) -> str:
    def change(parts: dict[str, bytes]) -> None:
        name = rng.choice((_PAGE, _STRINGS))
        parts[name] = parts[name].replace(b"</", b" " * 48_000_000 + b"</", 1)

    return _inside(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _part_missing(rng: random.Random, made: Made) -> str:
    def change(parts: dict[str, bytes]) -> None:
        parts.pop(rng.choice(sorted(parts)))

    return _inside(made, _book(rng, made, ".xlsx", ".ods"), change)


@damage(BOOKS, late=True)
def _part_emptied(rng: random.Random, made: Made) -> str:
    def change(parts: dict[str, bytes]) -> None:
        parts[rng.choice(sorted(parts))] = rng.choice((b"", b"<x/>", b"<", b"\xff\xfe"))

    return _inside(made, _book(rng, made, ".xlsx", ".ods"), change)


@damage(BOOKS, late=True)
def _xml_bytes_flipped(rng: random.Random, made: Made) -> str:
    def change(parts: dict[str, bytes]) -> None:
        name = rng.choice((_PAGE, _STRINGS, _WORKBOOK) if _PAGE in parts else ("content.xml",))
        data = bytearray(parts[name])
        for _ in range(rng.choice((1, 4, 30))):
            data[rng.randrange(len(data))] = rng.choice(b'<>"/=&;x0 \x00\xff')
        parts[name] = bytes(data)

    return _inside(made, _book(rng, made, ".xlsx", ".ods"), change)


@damage(BOOKS, late=True)
def _archive_cut(rng: random.Random, made: Made) -> str:
    sheet = _book(rng, made, ".xlsx", ".ods", ".xls")
    data = made.files[sheet.path]
    made.files[sheet.path] = data[: rng.randrange(len(data))]
    return sheet.path


@damage(BOOKS, late=True)
def _old_book_bytes_flipped(rng: random.Random, made: Made) -> str:
    """The older format: headers, sector tables, records."""
    sheet = _book(rng, made, ".xls")
    data = bytearray(made.files[sheet.path])
    start = rng.choice((0, 0, 512, len(data) // 2))
    for _ in range(rng.choice((1, 4, 40))):
        at = min(start + rng.randrange(512), len(data) - 1)
        data[at] = rng.randrange(256)
    made.files[sheet.path] = bytes(data)
    return sheet.path


@damage(BOOKS, late=True)
def _old_book_in_a_circle(rng: random.Random, made: Made) -> str:
    """A sector table whose entries lead back to themselves."""
    sheet = _book(rng, made, ".xls")
    data = bytearray(made.files[sheet.path])
    table = 512 * (1 + int.from_bytes(data[76:80], "little"))
    for entry in range(8):
        data[table + 4 * entry : table + 4 * entry + 4] = rng.choice((0, entry)).to_bytes(
            4, "little"
        )
    made.files[sheet.path] = bytes(data)
    return sheet.path


@damage(BOOKS, late=True)
def _repeated_cells(rng: random.Random, made: Made) -> str:
    """ODS stores runs of equal cells and rows as a number."""
    kind, number = rng.choice(("columns", "rows")), rng.choice((16384, 1048576, 2**31, -1))

    def change(parts: dict[str, bytes]) -> None:
        name = b"table:table-cell" if kind == "columns" else b"table:table-row"
        text = parts["content.xml"]
        at = text.rfind(b"<" + name)
        new = b"<%s table:number-%s-repeated='%d'" % (name, kind.encode(), number)
        parts["content.xml"] = text[:at] + new + text[at + 1 + len(name) :]

    return _inside(made, _book(rng, made, ".ods"), change)


@damage(BOOKS, late=True)
def _sheets_of_one_name(rng: random.Random, made: Made) -> str:
    def change(parts: dict[str, bytes]) -> None:
        parts[_WORKBOOK] = re.sub(rb'name="day 2"', b'name="Sheet1"', parts[_WORKBOOK])

    sheet = _book(rng, made)
    sheet.name = "Sheet1"
    made.files[sheet.path] = content(sheet)
    _typed(made, sheet, lambda book, _: book.create_sheet("day 2").append(["a", "b"]))
    return _inside(made, sheet, change)


@damage(BOOKS, late=True)
def _hidden(rng: random.Random, made: Made) -> str:
    def change(book: Workbook, page: Worksheet) -> None:
        page.row_dimensions[rng.randint(1, 4)].hidden = True
        page.column_dimensions[rng.choice("ABCD")].hidden = True
        book.create_sheet("lists").sheet_state = rng.choice(("hidden", "veryHidden"))

    return _typed(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _merged(rng: random.Random, made: Made) -> str:
    area = rng.choice(("A1:B1", "C1:D1", "A2:A4", "B2:D2", "A1:D3"))
    return _typed(made, _book(rng, made), lambda _, page: page.merge_cells(area))


@damage(BOOKS, late=True)
def _summary_sheet(rng: random.Random, made: Made) -> str:
    """The same rows again on a second sheet, or a sheet with something else."""

    def change(book: Workbook, page: Worksheet) -> None:
        other = book.create_sheet(rng.choice(("Summary", "Notes", "!;%")))
        if rng.random() < 0.5:
            for row in page.iter_rows(values_only=True):
                other.append(list(row))
        else:
            other.append(["wind was gusty"])
            other.append(["gate 2 changed at 11:00", 3])

    return _typed(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _formulas_without_values(rng: random.Random, made: Made) -> str:
    def change(_: Workbook, page: Worksheet) -> None:
        for _ in range(3):
            row = rng.randint(1, max(page.max_row, 2))
            page.cell(row, rng.randint(1, page.max_column)).value = rng.choice(
                ("=1+1", "=MIN(D2:E2)", "=A1", "=SUM(", "=[other.xlsx]Sheet1!A1")
            )

    return _typed(made, _book(rng, made), change)


_ODD_CELLS: tuple[tuple[str | float, str], ...] = (
    ("#N/A", ""), (45915, "yyyy-mm-dd"), (0.089953704, "mm:ss.0"), (0.5, "h:mm"), (True, ""),
    (1e308, ""), (-1, "yyyy-mm-dd"),
)  # fmt: skip


@damage(BOOKS, late=True)
def _errors_and_dates(rng: random.Random, made: Made) -> str:
    def change(_: Workbook, page: Worksheet) -> None:
        for value, form in _ODD_CELLS:
            row = rng.randint(2, max(page.max_row, 2))
            cell = page.cell(row, rng.randint(1, page.max_column))
            cell.value = value
            if form:
                cell.number_format = form

    return _typed(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _numbers_as_text(rng: random.Random, made: Made) -> str:
    def change(_: Workbook, page: Worksheet) -> None:
        for row in page.iter_rows(min_row=2):
            for cell in row:
                if isinstance(cell.value, int | float) and rng.random() < 0.5:
                    cell.value = f"{cell.value}".replace(".", rng.choice(".,"))

    return _typed(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _table_further_in(rng: random.Random, made: Made) -> str:
    columns, rows = rng.choice((0, 3, 22)), rng.choice((0, 1, 5))

    def change(_: Workbook, page: Worksheet) -> None:
        page.insert_cols(1, columns)
        page.insert_rows(1, rows)

    return _typed(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _no_sheet_with_cells(rng: random.Random, made: Made) -> str:
    def change(book: Workbook, page: Worksheet) -> None:
        page.delete_rows(1, page.max_row)
        book.create_sheet("empty")

    return _typed(made, _book(rng, made), change)


@damage(BOOKS, late=True)
def _locked_by_a_word(rng: random.Random, made: Made) -> str:
    """An encrypted workbook is an old-style container around something unreadable."""
    sheet = _book(rng, made)
    made.files[sheet.path] = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + rng.randbytes(2000)
    return sheet.path
