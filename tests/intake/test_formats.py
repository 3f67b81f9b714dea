"""The same table in every kind of file reads alike, and as other libraries read it."""

from __future__ import annotations

import codecs
import datetime as dt
import io
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
import xlrd
import xlsxwriter
from xlrd.xldate import xldate_as_datetime

from pipeline.errors import Place
from pipeline.intake import readers, second_count, texts
from pipeline.intake.files import UnreadableError
from pipeline.intake.readers import RawSheet
from tests.intake import written

TYPED: list[list[Any]] = [
    ["athlete_id", "name", "t60_s", "reps", "day", "note"],
    ["007", "Zoë Ağa", 7.7, 3, dt.date(2026, 9, 15), "NA"],
    ["12E3", "Łukasz Ő", 6.905, 12, dt.date(2026, 11, 9), "None"],
    ["NA", "Ann; Bo", 10.25, 1, dt.date(2026, 3, 9), 'said "go", late'],
    ["Null", "None", 1805.5, 40, dt.date(2025, 12, 31), "1,80"],
]
"""Ids that look like numbers or like nothing, days under 13, separators and quotes in cells."""

SHOWN = [[c.isoformat() if isinstance(c, dt.date) else str(c) for c in row] for row in TYPED]
GERMAN = [[c.replace(".", ",") if c[0].isdigit() else c for c in row] for row in SHOWN]


def _read(folder: Path, data: bytes, name: str) -> list[RawSheet]:
    """Read a file, and hold the second count against it."""
    path = folder / name
    path.write_bytes(data)
    sheets = readers.read(path)
    counted = {sheet.name: len(sheet.rows) + len(sheet.asides) for sheet in sheets}
    assert second_count.count_rows(path) == counted
    return sheets


def _cells(sheets: list[RawSheet]) -> list[list[str]]:
    (sheet,) = sheets
    assert not sheet.asides
    assert [row.number for row in sheet.rows] == list(range(2, 2 + len(sheet.rows)))
    return [list(sheet.headings), *(list(row.cells) for row in sheet.rows)]


def _found(sheets: list[RawSheet]) -> list[tuple[str, int | None]]:
    return [(f.code, f.place.row) for one in sheets for f in one.findings(Place("a"))]


# --- text -------------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("table", [SHOWN, GERMAN], ids=["points", "decimal commas"])
def test_text_reads_cell_for_cell_as_pandas_reads_it(
    tmp_path: Path, separator: str, end: str, table: list[list[str]]
) -> None:
    data = written.text(table, separator, end).encode()
    cells = _cells(_read(tmp_path, data, "day.csv"))
    there = pd.read_csv(
        io.BytesIO(data), sep=separator, header=None, dtype=str, keep_default_na=False
    )
    assert cells == there.to_numpy().tolist() == table


@pytest.mark.parametrize(
    ("mark", "encoding"),
    [
        (b"", "utf-8"),
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
        (codecs.BOM_UTF32_LE, "utf-32-le"),
        (b"", "utf-16-le"),
        (b"", "utf-16-be"),
    ],
)
@pytest.mark.parametrize("first", ["", "sep=;\r\n"])
def test_every_unicode_with_and_without_its_mark(
    tmp_path: Path, mark: bytes, encoding: str, first: str
) -> None:
    data = mark + (first + written.text(GERMAN, ";", "\r\n")).encode(encoding)
    assert _cells(_read(tmp_path, data, "day.csv")) == GERMAN


def test_windows_letters_are_read_where_the_text_is_no_unicode(tmp_path: Path) -> None:
    table = [["id", "name"], ["A01", "Zoë Straße – Ñ"]]
    sheets = _read(tmp_path, written.text(table).encode("cp1252"), "day.csv")
    assert _cells(sheets) == table
    assert _found(sheets) == [("text-encoding", None)]


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("id;t60_s;t30_s\nA01;7,70;4,30\nA02;6,90;3,95\n", ";"),
        ("id;Time, s;Height, cm\nA01;7,70;40,5\nA02;6,90;41,5\n", ";"),
        ("id,groups,note\nA01,a;b;c,x;y\nA02,a;b,\nA03,b;c,z;z\n", ","),
        ("Squad of 2026, spring; girls\nid\tt60_s\nA01\t7,70\nA02\t6,90\n", "\t"),
        ('id,note\nA01,"a;b;c;d"\nA02,"e;f;g;h"\n', ","),
        ("id;note\nA01;slow, sad, ill\nA02;well, quick, glad\n", ";"),
        ("id\nA01\nA02\n", ","),
        ("", ","),
    ],
)
def test_the_separator_is_the_one_that_parts_all_rows_alike(text: str, separator: str) -> None:
    assert texts.separator(text) == separator


def test_a_quote_never_closed_swallows_no_row_and_is_named(tmp_path: Path) -> None:
    text = 'id,test,t60_s\nA01,60 m,7.70\nA02,"60 m,6.90\nA03,60 m,7.01\nA04,"60 m",7.2\n'
    sheets = _read(tmp_path, text.encode(), "day.csv")
    assert [row.cells for row in sheets[0].rows] == [
        ("A01", "60 m", "7.70"),
        ("A02", '"60 m', "6.90"),
        ("A03", "60 m", "7.01"),
        ("A04", "60 m", "7.2"),
    ]
    assert _found(sheets) == [("quote-open", 3)]


def test_one_quote_left_open_in_a_long_sheet_costs_its_own_row_only(tmp_path: Path) -> None:
    rest = 'A02,60 m,"6,90"\n' * 9_000
    sheets = _read(tmp_path, f'id,test,t60_s\nA01,"60 m,7.70\n{rest}'.encode(), "day.csv")
    assert len(sheets[0].rows) == 9_001
    assert {row.cells for row in sheets[0].rows[1:]} == {("A02", "60 m", "6,90")}
    assert _found(sheets) == [("quote-open", 2)]


def test_a_file_full_of_open_quotes_is_read_line_by_line(tmp_path: Path) -> None:
    sheets = _read(tmp_path, b"id,height\n" + b'A01,"6 ft\n' * 200, "day.csv")
    assert {row.cells for row in sheets[0].rows} == {("A01", '"6 ft')}
    assert len(sheets[0].rows) == 200
    assert len(_found(sheets)) == texts.MOST_OPEN


def test_cells_of_one_blank_and_nul_bytes_are_cells(tmp_path: Path) -> None:
    sheets = _read(tmp_path, b"id,t60_s\nA01, \n , \nA\x0002,7.7\n", "day.csv")
    assert [row.cells for row in sheets[0].rows] == [("A01", " "), ("A\x0002", "7.7")]


@pytest.mark.parametrize("suffix", [".csv", ".tsv"])
@pytest.mark.parametrize("write", written.BOOKS.values(), ids=written.BOOKS)
def test_a_workbook_under_a_text_s_name_is_refused_as_one(
    tmp_path: Path, suffix: str, write: Any
) -> None:
    with pytest.raises(UnreadableError, match="workbook under the name of a text file"):
        _read(tmp_path, write(SHOWN), f"day{suffix}")


# --- workbooks --------------------------------------------------------------------------------


def _elsewhere(data: bytes, suffix: str) -> list[list[Any]]:
    """The cells by pandas with openpyxl or odfpy, and by xlrd."""
    if suffix == ".xls":
        book = xlrd.open_workbook(file_contents=data)
        rows = book.sheet_by_index(0).get_rows()
        dated = (xlrd.XL_CELL_DATE,)
        return [
            [xldate_as_datetime(c.value, 0) if c.ctype in dated else c.value for c in row]
            for row in rows
        ]
    engine: Any = {".xlsx": "openpyxl", ".ods": "odf"}[suffix]
    there = pd.read_excel(
        io.BytesIO(data), header=None, dtype=object, keep_default_na=False, engine=engine
    )
    return there.to_numpy().tolist()


@pytest.mark.parametrize("suffix", written.BOOKS)
def test_a_workbook_reads_cell_for_cell_as_another_library_reads_it(
    tmp_path: Path, suffix: str
) -> None:
    data = written.BOOKS[suffix](TYPED)
    cells = _cells(_read(tmp_path, data, f"day{suffix}"))
    there = _elsewhere(data, suffix)
    assert len(cells) == len(there)
    for mine, theirs in zip(cells, there, strict=True):
        for cell, other in zip(mine, theirs, strict=True):
            if isinstance(other, dt.date):
                assert cell == other.strftime("%Y-%m-%d")
            elif isinstance(other, str):
                assert cell == other
            else:
                assert float(cell) == other
    assert cells == SHOWN


@pytest.mark.parametrize("suffix", written.BOOKS)
@pytest.mark.parametrize("other", written.BOOKS)
def test_what_a_workbook_is_counts_and_not_its_ending(
    tmp_path: Path, suffix: str, other: str
) -> None:
    assert _cells(_read(tmp_path, written.BOOKS[suffix](TYPED), f"day{other}")) == SHOWN


def _xlsx(fill: Any) -> bytes:
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True}) as made:
        fill(made, made.add_worksheet("Day"))
    return buffer.getvalue()


def _patched(book: bytes, old: bytes, new: bytes) -> bytes:
    """A workbook with other bytes in its first sheet."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as there, zipfile.ZipFile(buffer, "w") as made:
        for part in there.namelist():
            body = there.read(part)
            made.writestr(part, body.replace(old, new) if "sheet1" in part else body)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("seconds", "shown", "text"),
    [
        (125.3, "mm:ss.0", "2:05.3"),
        (65.32, "[m]:ss.00", "1:05.32"),
        (58.123, "mm:ss.000", "0:58.123"),
        (7772.0, "h:mm:ss", "2:09:32"),
        (7500.0, "h:mm", "2:05:00"),  # typed as 2:05, and no two minutes for that
        (90061.0, "[h]:mm:ss", "25:01:01"),
    ],
)
def test_times_of_a_workbook_are_minutes_and_seconds_again(
    tmp_path: Path, seconds: float, shown: str, text: str
) -> None:
    def fill(made: Any, sheet: Any) -> None:
        sheet.write_row(0, 0, ["id", "time"])
        sheet.write_row(1, 0, ["A01", seconds / 86_400], made.add_format({"num_format": shown}))

    (sheet,) = _read(tmp_path, _xlsx(fill), "day.xlsx")
    assert sheet.rows[0].cells[1] == text


def test_times_of_the_other_workbooks_too(tmp_path: Path) -> None:
    given = 'office:value-type="time" office:time-value="PT00H02M05.3S"'
    open_document = _content(_row(_says("id"), _says("t")) + _row(_says("A1"), _says("2", given)))
    (sheet,) = _read(tmp_path, open_document, "day.ods")
    assert sheet.rows[0].cells[1] == "2:05.3"
    (sheet,) = _read(tmp_path, written.xls([["t", "u"], [dt.time(0, 2, 5), "x"]]), "day.xls")
    assert sheet.rows[0].cells[0] == "2:05"


def test_numbers_shown_with_a_unit_or_a_sign_stay_numbers(tmp_path: Path) -> None:
    shown = ['0.00" s"', "0.00\\s", '0.00 "sec"', "0.00_s", "000", '0" h"']

    def fill(made: Any, sheet: Any) -> None:
        sheet.write_row(0, 0, shown)
        for place, one in enumerate(shown):
            sheet.write_number(1, place, 7.5, made.add_format({"num_format": one}))

    (sheet,) = _read(tmp_path, _xlsx(fill), "day.xlsx")
    assert sheet.rows[0].cells == ("7.5",) * len(shown)


def test_a_height_a_spreadsheet_took_for_a_date_is_no_number(tmp_path: Path) -> None:
    rows = [["id", "height_ft_in"], ["A01", "6-2"], ["A02", dt.date(2026, 6, 2)], ["A03", 74]]
    (sheet,) = _read(tmp_path, written.xlsx(rows), "day.xlsx")
    assert [row.cells[1] for row in sheet.rows] == ["6-2", "2026-06-02", "74"]


def test_formulas_read_as_saved_and_without_a_value_are_named(tmp_path: Path) -> None:
    """Best = MIN(trial 1, trial 2), saved by a program: no blank, and no value."""

    def fill(_: Any, sheet: Any) -> None:
        sheet.write_row(0, 0, ["id", "t1", "t2", "best"])
        sheet.write_row(1, 0, ["A01", 1.8, 1.75])
        sheet.write_formula(1, 3, "=MIN(B2:C2)", None, 1.75)
        sheet.write_row(2, 0, ["A02"])
        sheet.write_formula(2, 3, '=IF(B3="","",MIN(B3:C3))', None, "nil")
        sheet.write_formula(3, 3, '=IF(B4="","",MIN(B4:C4))', None, "nil")

    data = _patched(_xlsx(fill), b"<v>nil</v>", b"<v></v>")  # as a spreadsheet saves an empty text
    (sheet,) = _read(tmp_path, data, "day.xlsx")
    assert [row.cells for row in sheet.rows] == [
        ("A01", "1.8", "1.75", "1.75"),
        ("A02", "", "", ""),
    ]  # a formula that shows an empty text is a blank cell, and row 4 is no row
    assert _found([sheet]) == []
    rows = [["id", "t1", "t2", "best"], ["A01", 1.8, 1.75, "=MIN(B2:C2)"], [None] * 3 + ["=B2"]]
    sheets = _read(tmp_path, written.xlsx(rows), "day.xlsx")
    assert [row.cells[-1] for row in sheets[0].rows] == ["=MIN(B2:C2)", "=B2"]
    assert _found(sheets) == [("formula-unvalued", None)]


def _content(cells: str) -> bytes:
    """An OpenDocument by hand: rows and cells as a program may write them."""
    names = {
        "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
        "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
        "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
        "calcext": "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0",
        "dc": "http://purl.org/dc/elements/1.1/",
    }
    spaces = " ".join(f'xmlns:{short}="{full}"' for short, full in names.items())
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        made.writestr(
            "content.xml",
            f'<?xml version="1.0"?><office:document-content {spaces}><office:body>'
            f'<office:spreadsheet><table:table table:name="Day">{cells}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )
        made.writestr(
            "META-INF/manifest.xml",
            '<?xml version="1.0"?><m:manifest xmlns:m="urn:oasis:names:tc:opendocument:xmlns:'
            'manifest:1.0"><m:file-entry m:full-path="/" m:media-type="application/vnd.oasis.'
            'opendocument.spreadsheet"/></m:manifest>',
        )
    return buffer.getvalue()


def _row(*cells: str, given: str = "") -> str:
    return f"<table:table-row {given}>{''.join(cells)}</table:table-row>"


def _says(text: str, given: str = 'office:value-type="string"') -> str:
    return f"<table:table-cell {given}><text:p>{text}</text:p></table:table-cell>"


def test_an_opendocument_s_repeats_notes_errors_and_formulas(tmp_path: Path) -> None:
    error = 'table:formula="of:=1/0" office:value-type="string" office:string-value="" '
    note = (
        '<table:table-cell office:value-type="string"><office:annotation><text:p>a note on it'
        "</text:p></office:annotation><text:p>A03</text:p></table:table-cell>"
    )
    cells = (
        _row(_says("id"), _says("t"))
        + _row(_says("A01"), _says("#DIV/0!", error + 'calcext:value-type="error"'))
        + _row('<table:table-cell table:number-columns-repeated="16384"/>',
               given='table:number-rows-repeated="3"')
        + _row(_says("A02"), '<table:table-cell table:formula="of:=MIN([.A1])"/>')
        + _row(note, given='table:visibility="collapse" table:number-rows-repeated="2"')
        + _row('<table:table-cell table:number-columns-repeated="16384"/>',
               given='table:number-rows-repeated="1048000"')
    )  # fmt: skip
    sheets = _read(tmp_path, _content(cells), "day.ods")
    assert [(row.number, row.cells[:2]) for row in sheets[0].rows] == [
        (2, ("A01", "#DIV/0!")),
        (6, ("A02", "=MIN([.A1])")),
        (7, ("A03", "")),
        (8, ("A03", "")),
    ]
    assert _found(sheets) == [("formula-unvalued", None), ("cells-hidden", None)]
    assert "Rows 7–8 are hidden" in sheets[0].findings(Place("a"))[1].message


def test_what_is_hidden_is_read_and_named(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in [["id", "t60_s", "note"], *([f"A0{n}", 7.5, "x"] for n in range(1, 6))]:
        sheet.append(row)
    for number in (2, 4, 5, 900):
        sheet.row_dimensions[number].hidden = True
    sheet.column_dimensions["B"].hidden = True
    book.create_sheet("Old").append(["id", "t60_s"])
    book.worksheets[1].sheet_state = "hidden"
    sheets = _read(tmp_path, written.saved(book), "day.xlsx")
    assert [row.cells[0] for row in sheets[0].rows] == ["A01", "A02", "A03", "A04", "A05"]
    said = [f.message for one in sheets for f in one.findings(Place("a"))]
    assert [message.split(" are hidden")[0] for message in said] == [
        "Rows 2, 4–5",
        "Columns 2",
        "All cells of this sheet",
    ]


def test_rows_hidden_in_an_xls_are_named_too(tmp_path: Path) -> None:
    book = written.xlwt.Workbook()
    sheet = book.add_sheet("Day")
    for number, cell in enumerate(("id", "A01", "A02")):
        sheet.write(number, 0, cell)
    sheet.row(1).hidden = True
    buffer = io.BytesIO()
    book.save(buffer)
    assert _found(_read(tmp_path, buffer.getvalue(), "day.xls")) == [("cells-hidden", None)]


def test_a_text_in_several_runs_and_an_inline_text_are_whole(tmp_path: Path) -> None:
    def fill(made: Any, sheet: Any) -> None:
        bold = made.add_format({"bold": True})
        sheet.write_row(0, 0, ["id", "note"])
        sheet.write_rich_string(1, 0, "A", bold, "0", "1")

    (sheet,) = _read(tmp_path, _xlsx(fill), "day.xlsx")
    assert sheet.rows[0].cells[0] == "A01"
