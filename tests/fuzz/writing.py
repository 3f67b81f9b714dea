"""From a made sheet to the bytes of a file, by other libraries than the reader's."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from xml.sax.saxutils import escape, quoteattr

import xlsxwriter
import xlwt
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from .made import Cell, Made, Sheet

_LONGEST_CELL = 32_000


def write(made: Made) -> None:
    """Fill ``made.files`` with every file of the season."""
    made.files |= {name: text.encode() for name, text in made.settings.items()}
    made.files |= {sheet.path: content(sheet) for sheet in made.sheets}


def content(sheet: Sheet) -> bytes:
    """The bytes of one sheet in its format."""
    return _WRITERS[sheet.suffix](sheet)


def _text(sheet: Sheet) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=sheet.separator, lineterminator=sheet.line_end)
    for row in sheet.lines():
        writer.writerow([cell.text for cell in row])
    return sheet.mark + out.getvalue().encode(sheet.encoding, errors="replace")


def number(cell: Cell) -> float | None:
    """The number that a workbook stores for a cell; none for text."""
    if not cell.typed:
        return None
    try:
        return float(cell.text.replace(",", "."))
    except ValueError:
        return None


def shown(cell: Cell) -> str:
    """A cell's text as far as a workbook can hold it."""
    return ILLEGAL_CHARACTERS_RE.sub("", cell.text)[:_LONGEST_CELL]


def _xlsx(sheet: Sheet) -> bytes:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        page = book.add_worksheet(sheet.name)
        for y, row in enumerate(sheet.lines()):
            for x, cell in enumerate(row):
                stored = number(cell)
                if stored is not None:
                    page.write_number(y, x, stored)
                elif cell.text:
                    page.write_string(y, x, shown(cell))
    return out.getvalue()


def _xls(sheet: Sheet) -> bytes:
    book = xlwt.Workbook()
    page = book.add_sheet(sheet.name)
    for y, row in enumerate(sheet.lines()):
        for x, cell in enumerate(row):
            stored = number(cell)
            if stored is not None or cell.text:
                page.write(y, x, shown(cell) if stored is None else stored)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


_ODS = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    "<office:document-content"
    ' xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"'
    ' xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"'
    ' xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.2">'
    "<office:body><office:spreadsheet><table:table table:name={name}>{rows}</table:table>"
    "</office:spreadsheet></office:body></office:document-content>"
)
_ODS_TYPE = "application/vnd.oasis.opendocument.spreadsheet"
_ODS_MANIFEST = (
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"'
    f' manifest:version="1.2"><manifest:file-entry manifest:full-path="/"'
    f' manifest:media-type="{_ODS_TYPE}"/><manifest:file-entry'
    ' manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
)


def _ods_cell(cell: Cell) -> str:
    stored = number(cell)
    text = shown(cell)
    if stored is None and not text:
        return "<table:table-cell/>"
    kind = (
        'office:value-type="string"'
        if stored is None
        else f'office:value-type="float" office:value="{stored!r}"'
    )
    return f"<table:table-cell {kind}><text:p>{escape(text)}</text:p></table:table-cell>"


def _ods(sheet: Sheet) -> bytes:
    rows = "".join(
        f"<table:table-row>{''.join(map(_ods_cell, row)) or '<table:table-cell/>'}"
        "</table:table-row>"
        for row in sheet.lines()
    )
    page = _ODS.replace("{name}", quoteattr(sheet.name)).replace("{rows}", rows)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", _ODS_TYPE)
        archive.writestr("META-INF/manifest.xml", _ODS_MANIFEST)
        archive.writestr("content.xml", page.encode(errors="replace"))
    return out.getvalue()


_WRITERS: dict[str, Callable[[Sheet], bytes]] = {
    ".csv": _text,
    ".tsv": _text,
    ".xlsx": _xlsx,
    ".xls": _xls,
    ".ods": _ods,
}
