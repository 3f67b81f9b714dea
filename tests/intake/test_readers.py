"""From a file to cells: separators, encodings, line ends, workbooks, damage."""

from __future__ import annotations

import datetime as dt
import io
import random
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake import limits, readers
from pipeline.intake.files import UnreadableError
from pipeline.intake.frames import RawRow
from pipeline.intake.readers import RawSheet
from tests.intake.small import book

TABLE = [["athlete_id", "note", "t60_s"], ["A01", "Zoë", "7,70"], ["A02", "–", "6,90"]]


def _lines(separator: str, end: str) -> str:
    return "".join(
        separator.join(f'"{c}"' if separator in c else c for c in row) + end for row in TABLE
    )


def _read(folder: Path, data: bytes, name: str = "sheet.csv") -> list[RawSheet]:
    path = folder / name
    path.write_bytes(data)
    return readers.read(path)


def _expect_table(sheets: list[RawSheet]) -> None:
    (sheet,) = sheets
    assert sheet.headings == tuple(TABLE[0])
    assert sheet.rows == (RawRow(2, tuple(TABLE[1])), RawRow(3, tuple(TABLE[2])))


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_comma_semicolon_and_tab_with_any_line_end_read_alike(
    tmp_path: Path, separator: str, end: str
) -> None:
    _expect_table(_read(tmp_path, _lines(separator, end).encode()))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_encoding_a_spreadsheet_writes_gives_the_same_text(
    tmp_path: Path, encoding: str
) -> None:
    _expect_table(_read(tmp_path, _lines(";", "\r\n").encode(encoding)))


def test_big_endian_utf_16_reads_too(tmp_path: Path) -> None:
    _expect_table(_read(tmp_path, b"\xfe\xff" + _lines(";", "\n").encode("utf-16-be")))


@pytest.mark.parametrize("suffix", [".tsv", ".CSV", ".Tsv"])
def test_the_ending_s_letter_case_does_not_matter(tmp_path: Path, suffix: str) -> None:
    _expect_table(_read(tmp_path, _lines("\t", "\n").encode(), f"sheet{suffix}"))


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_line_end_inside_quotes_stays_in_its_cell_and_is_one_spreadsheet_row(
    tmp_path: Path, end: str
) -> None:
    text = f'id,note{end}A01,"slipped,{end}ran again"{end}A02,fine{end}'
    (sheet,) = _read(tmp_path, text.encode())
    assert sheet.rows == (RawRow(2, ("A01", "slipped,\nran again")), RawRow(3, ("A02", "fine")))


def test_a_doubled_quote_is_one_quote(tmp_path: Path) -> None:
    (sheet,) = _read(tmp_path, b'id,note\nA01,"the ""quick"" one"\n')
    assert sheet.rows[0].cells == ("A01", 'the "quick" one')


def test_blank_rows_are_no_rows_and_keep_the_numbers_a_spreadsheet_shows(tmp_path: Path) -> None:
    (sheet,) = _read(tmp_path, b"\n,,\nid,time\n\nA01,7.70\n , \t\n\nA02,6.90\n")
    assert sheet.headings == ("id", "time")
    assert [(row.number, row.cells[0]) for row in sheet.rows] == [(5, "A01"), (8, "A02")]


def test_decimal_commas_do_not_make_a_semicolon_sheet_a_comma_sheet(tmp_path: Path) -> None:
    (sheet,) = _read(tmp_path, b"id;t60_s\nA01;7,70\nA02;6,90\n")
    assert [row.cells for row in sheet.rows] == [("A01", "7,70"), ("A02", "6,90")]


def test_ids_and_names_that_look_like_nothing_or_numbers_stay_text(tmp_path: Path) -> None:
    words = ("NA", "None", "Null", "nan", "007", "12E3", "TRUE", "2-Jun")
    (sheet,) = _read(tmp_path, ("id\n" + "\n".join(words) + "\n").encode())
    assert tuple(row.cells[0] for row in sheet.rows) == words


@pytest.mark.parametrize("data", [b"", b"\n\n", b" , ,\n", b"\xef\xbb\xbf", b"\xff\xfe"])
def test_a_file_that_holds_nothing_has_no_sheet(tmp_path: Path, data: bytes) -> None:
    assert _read(tmp_path, data) == []


# --- workbooks ------------------------------------------------------------------------------


def test_workbook_cells_come_as_one_would_type_them(tmp_path: Path) -> None:
    typed: list[tuple[object, str]] = [
        ("A01", "A01"),
        ("007", "007"),
        ("1,80", "1,80"),
        (" 7.70 ", " 7.70 "),
        (7.7, "7.7"),
        (1, "1"),
        (0.1 + 0.2, "0.3"),
        (-0.3, "-0.3"),
        (1805, "1805"),
        (dt.date(2010, 3, 18), "2010-03-18"),
        (dt.datetime(2026, 9, 11), "2026-09-11"),  # noqa: DTZ001  # a sheet knows no time zones
    ]
    (sheet,) = _read(tmp_path, book({"Day": [["h"], *([cell] for cell, _ in typed)]}), "s.xlsx")
    assert [row.cells[0] for row in sheet.rows] == [text for _, text in typed]


def test_ticked_cells_of_a_workbook_are_yes_and_no(tmp_path: Path) -> None:
    (sheet,) = _read(tmp_path, book({"Day": [["maximal"], [True], [False]]}), "sheet.xlsx")
    assert [row.cells[0] for row in sheet.rows] == ["yes", "no"]


def test_leading_blank_rows_of_a_workbook_keep_the_numbers_it_shows(tmp_path: Path) -> None:
    rows = [[], [], ["id", "time"], [], ["A01", 7.7]]
    (sheet,) = _read(tmp_path, book({"Day": rows}), "sheet.xlsx")
    assert (sheet.headings, sheet.rows) == (("id", "time"), (RawRow(5, ("A01", "7.7")),))


def test_a_table_that_starts_at_w3_is_found(tmp_path: Path) -> None:
    left = [None] * 22
    rows = [[], [], [*left, "id", "time"], [*left, "A01", 7.7]]
    (sheet,) = _read(tmp_path, book({"Day": rows}), "sheet.xlsx")
    assert tuple(h for h in sheet.headings if h) == ("id", "time")
    (row,) = sheet.rows
    assert row.number == 4
    assert row.cells[sheet.headings.index("time")] == "7.7"


def test_every_sheet_of_a_workbook_is_read_in_order_and_empty_ones_are_left_out(
    tmp_path: Path,
) -> None:
    data = book({"Second": [["id"], ["A02"]], "Blank": [], "First": [["id"], ["A01"]]})
    sheets = _read(tmp_path, data, "sheet.xlsx")
    assert [(s.name, s.rows[0].cells) for s in sheets] == [
        ("Second", ("A02",)),
        ("First", ("A01",)),
    ]


def test_a_chart_sheet_is_passed_over(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True}) as made:
        sheet = made.add_worksheet("Day")
        sheet.write_column(0, 0, ["t60_s", 7.7, 6.9])
        chart = made.add_chart({"type": "line"})
        chart.add_series({"values": "=Day!$A$2:$A$3"})
        made.add_chartsheet("Chart").set_chart(chart)
    assert [s.name for s in _read(tmp_path, buffer.getvalue(), "sheet.xlsx")] == ["Day"]


def test_a_formula_reads_as_the_value_it_was_saved_with(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True}) as made:
        sheet = made.add_worksheet("Day")
        sheet.write_row(0, 0, ["t60_s", "best"])
        sheet.write(1, 0, 7.7)
        sheet.write_formula(1, 1, "=MIN(A2:A3)", None, 7.7)
    (day,) = _read(tmp_path, buffer.getvalue(), "sheet.xlsx")
    assert day.rows[0].cells == ("7.7", "7.7")


@pytest.mark.parametrize("fault", ["#N/A", "#DIV/0!", "#VALUE!"])
def test_a_cell_that_shows_an_error_is_not_a_blank_cell(tmp_path: Path, fault: str) -> None:
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True}) as made:
        sheet = made.add_worksheet("Day")
        sheet.write_row(0, 0, ["id", "t60_s"])
        sheet.write(1, 0, "A01")
        sheet.write_formula(1, 1, "=B9/B8", None, fault)
    (day,) = _read(tmp_path, buffer.getvalue(), "sheet.xlsx")
    assert day.rows[0].cells[1].strip()


# --- what cannot be read --------------------------------------------------------------------

WHOLE = book({"Day": [["id", "t60_s"], ["A01", 7.7]]})


@pytest.mark.parametrize(
    "data",
    [b"", b"id,time\nA01,7.70\n", WHOLE[: len(WHOLE) // 2], WHOLE[100:], b"PK\x03\x04"],
    ids=["empty", "text", "cut off", "beheaded", "signature only"],
)
def test_a_damaged_workbook_is_unreadable_and_says_so(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(UnreadableError, match="no workbook, or it is damaged"):
        _read(tmp_path, data, "sheet.xlsx")


def test_damage_anywhere_in_a_workbook_never_raises_anything_else(tmp_path: Path) -> None:
    chance = random.Random(2026)
    for _ in range(150):
        data = bytearray(WHOLE)
        for _ in range(chance.choice((1, 3, 30))):
            data[chance.randrange(len(data))] = chance.randrange(256)
        try:
            _read(tmp_path, bytes(data), "sheet.xlsx")
        except UnreadableError as error:
            assert str(error)  # noqa: PT017  # either outcome is right, another exception is not


@settings(derandomize=True, database=None, deadline=None, max_examples=150)
@given(st.binary(max_size=60) | st.text(alphabet='a",;\t\r\n \x00', max_size=40).map(str.encode))
def test_no_bytes_in_a_text_file_raise_anything_else(
    tmp_path_factory: pytest.TempPathFactory, data: bytes
) -> None:
    try:
        _read(tmp_path_factory.getbasetemp(), data)
    except UnreadableError as error:
        assert str(error)  # noqa: PT017  # as above


def test_half_a_character_at_the_end_of_utf_16_is_unreadable(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError):
        _read(tmp_path, b"\xff\xfei\x00d")


def test_a_file_that_is_not_there_is_unreadable(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError):
        readers.read(tmp_path / "nothing.csv")


def test_a_file_beyond_the_limit_is_refused_with_the_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "LARGEST_FILE", 2 * 1024 * 1024)
    with pytest.raises(UnreadableError, match="larger than 2 MB"):
        _read(tmp_path, b"a" * (2 * 1024 * 1024 + 1))
