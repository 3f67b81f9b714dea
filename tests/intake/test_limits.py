"""What is too large, made to do harm, or no plain file is refused in a sentence, and quickly."""

from __future__ import annotations

import io
import os
import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
import xlwt

from pipeline.intake import archives, books, files, limits, readers, second_count
from pipeline.intake.files import UnreadableError
from tests import seasons
from tests.intake import written
from tests.intake.small import adds_up, found, read, recorded, season

ROWS = [["athlete_id", "t60_s"], ["A01", 7.7], ["A02", 6.9]]
WHOLE = written.xlsx(ROWS)
SHEET = "xl/worksheets/sheet1.xml"


def _refused(folder: Path, data: bytes, name: str = "day.xlsx") -> str:
    """Why a file is refused, which takes little memory."""
    path = folder / name
    path.write_bytes(data)
    tracemalloc.start()
    with pytest.raises(UnreadableError) as refused:
        readers.read(path)
    assert tracemalloc.get_traced_memory()[1] < 120 * 2**20
    tracemalloc.stop()
    return str(refused.value)


def _changed(change: Callable[[bytes], bytes], part: str = SHEET, book: bytes = WHOLE) -> bytes:
    """A workbook with one part changed."""
    buffer = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(book)) as there,
        zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as made,
    ):
        for name in there.namelist():
            body = there.read(name)
            made.writestr(name, change(body) if name == part else body)
    return buffer.getvalue()


def _instead(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    return lambda body: body.replace(old, new)


def _cell(name: str, value: str = "<v>7</v>") -> Callable[[bytes], bytes]:
    end = f'<row r="{name.lstrip("ABCDEFX")}"><c r="{name}">{value}</c></row></sheetData>'
    return lambda body: body.replace(b"</sheetData>", end.encode())


# --- sizes ------------------------------------------------------------------------------------


def test_limits_are_far_above_a_season_and_stated_in_the_readme() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    for figure in (
        limits.megabytes(limits.LARGEST_FILE),
        limits.megabytes(limits.LARGEST_UNPACKED),
        f"{limits.MOST_SHEETS} sheets",
        f"{limits.MOST_ROWS:,} rows",
        f"{limits.MOST_COLUMNS:,} columns",
        f"{limits.MOST_CELLS:,} cells",
        f"{limits.LONGEST_CELL:,} characters",
    ):
        assert figure in readme
    assert limits.why_too_large(5_000, 60) == ""


@pytest.mark.parametrize("name", ["XFD1048576", "A1048576", "XFD3", "A9999999"])
def test_a_cell_far_outside_is_refused_before_a_grid_is_made(tmp_path: Path, name: str) -> None:
    assert "at most" in _refused(tmp_path, _changed(_cell(name)))


def test_a_far_cell_that_holds_nothing_does_no_harm(tmp_path: Path) -> None:
    """Formats down to the last row, as a spreadsheet leaves them."""
    path = tmp_path / "day.xlsx"
    path.write_bytes(_changed(_cell("XFD1048576", "")))
    assert [row.cells[0] for row in readers.read(path)[0].rows] == ["A01", "A02"]


def test_a_sheet_that_lies_about_its_size_is_read_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    lie = b'<dimension ref="A1:XFD1048576"/>'
    path.write_bytes(_changed(lambda body: body.replace(b'<dimension ref="A1:B3" />', lie)))
    with zipfile.ZipFile(path) as made:
        assert lie in made.read(SHEET)
    assert len(readers.read(path)[0].rows) == 2
    assert second_count.count_rows(path) == {"Day": 2}


@pytest.mark.parametrize(
    ("rows", "columns", "what"), [(60_000, 1, "60,000 rows"), (1, 1_200, "1,200 columns")]
)
def test_rows_and_columns_over_the_limit_are_refused_in_text(
    tmp_path: Path, rows: int, columns: int, what: str
) -> None:
    text = (",".join(["x"] * columns) + "\n") * rows
    assert what in _refused(tmp_path, text.encode(), "day.csv")


def test_cells_over_the_limit_are_refused(tmp_path: Path) -> None:
    assert "cells" in limits.why_too_large(40_000, 900)
    assert "cells" in _refused(tmp_path, _changed(_cell("ABC40000")))


def test_more_sheets_than_the_limit_are_refused(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    for number in range(limits.MOST_SHEETS):
        made.create_sheet(f"S{number}")
    assert "100 sheets" in _refused(tmp_path, written.saved(made))


@pytest.mark.parametrize("name", ["day.csv", "day.xlsx"])
def test_a_cell_over_the_limit_is_refused(tmp_path: Path, name: str) -> None:
    text = "x" * (limits.LONGEST_CELL + 1)
    long = _changed(
        lambda body: body.replace(b"</sheetData>", f'<row r="4"><c r="A4" t="inlineStr"><is><t>'
                                  f"{text}</t></is></c></row></sheetData>".encode())
    )  # fmt: skip
    data = long if name == "day.xlsx" else f'id,note\nA01,"{text}"\n'.encode()
    assert "32,767 characters" in _refused(tmp_path, data, name)


def test_a_cell_beyond_the_csv_library_s_own_limit_is_refused_with_ours(tmp_path: Path) -> None:
    data = b'id,note\nA01,"' + b"x\n" * 100_000 + b'"\nA02,y\n'
    assert "32,767 characters" in _refused(tmp_path, data, "day.csv")


def test_numbers_of_thousands_of_digits_are_no_values_and_stop_nothing(tmp_path: Path) -> None:
    digits = "7" * 5_000
    head = "athlete_id,test,attempt,flight_time_s\n"
    day = read(tmp_path, {"jumps.csv": f"{head}A01,cmj,{digits},{digits}\nA02,cmj,1,0.{digits}\n"})
    assert adds_up(day)
    assert recorded(day, "flight_time")[0] == (digits, "set aside")
    path = tmp_path / "day.xlsx"
    path.write_bytes(
        _changed(lambda body: body.replace(b"<v>7.7</v>", f"<v>{digits}</v>".encode()))
    )
    try:
        readers.read(path)
    except UnreadableError as error:
        assert str(error) == archives.NO_BOOK  # noqa: PT017  # one of two outcomes


# --- bombs ------------------------------------------------------------------------------------


def test_a_part_that_unpacks_to_hundreds_of_times_its_size_is_refused(tmp_path: Path) -> None:
    bomb = _changed(lambda body: body + b" " * 20 * 2**20)
    assert len(bomb) < 2**16
    assert "200 times" in _refused(tmp_path, bomb)


def test_more_than_the_limit_unpacked_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "LARGEST_UNPACKED", 2**20)
    big = _changed(lambda body: body + os.urandom(2**19).hex().encode() + b" " * 2**19)
    assert "larger than 1 MB" in _refused(tmp_path, big)


def _lying(book: bytes, said: int) -> bytes:
    """A workbook whose directory says less of its first sheet than there is, checksum and all."""
    with zipfile.ZipFile(io.BytesIO(book)) as there:
        body, info = there.read(SHEET), there.getinfo(SHEET)
    check = struct.pack("<I", zlib.crc32(body[:said]))
    data = bytearray(book)
    directory = data.index(b"PK\x01\x02", info.header_offset)
    while data[directory + 46 :][: len(SHEET)] != SHEET.encode():
        directory = data.index(b"PK\x01\x02", directory + 4)
    for at, size_at in ((info.header_offset + 14, 22), (directory + 16, 24)):
        data[at : at + 4] = check
        start = at - (14 if size_at == 22 else 16) + size_at
        data[start : start + 4] = struct.pack("<I", said)
    return bytes(data)


def test_a_directory_that_says_too_little_is_refused(tmp_path: Path) -> None:
    lying = _lying(WHOLE, 100)
    with zipfile.ZipFile(io.BytesIO(lying)) as fooled:
        assert len(fooled.read(SHEET)) == 100  # this library believes it
    assert _refused(tmp_path, lying) == archives.NO_BOOK


@pytest.mark.parametrize(
    "declared",
    [
        b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        b'<!DOCTYPE x SYSTEM "file:///etc/hostname">',
        b"<! DOCTYPE x>",
    ],
)
@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "[Content_Types].xml"])
def test_a_document_type_is_refused_wherever_it_stands(
    tmp_path: Path, declared: bytes, part: str
) -> None:
    def change(body: bytes) -> bytes:
        head, mark, rest = body.partition(b"?>")
        return head + mark + declared + rest if mark else declared + body

    assert "document type" in _refused(tmp_path, _changed(change, part))


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be"])
def test_a_part_in_another_encoding_hides_nothing(tmp_path: Path, encoding: str) -> None:
    changed = _changed(lambda body: ("<!DOCTYPE x>" + body.decode()).encode(encoding))
    assert _refused(tmp_path, changed) == archives.NO_BOOK


def test_two_parts_or_two_sheets_of_one_name_are_refused(tmp_path: Path) -> None:
    buffer = io.BytesIO(WHOLE)
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(buffer, "a") as made:
        made.writestr(SHEET, b"<worksheet/>")
    assert _refused(tmp_path, buffer.getvalue()) == archives.NO_BOOK
    two = openpyxl.Workbook()
    two.create_sheet("Other").append(["id"])
    twice = _changed(lambda b: b.replace(b"Other", b"Sheet"), "xl/workbook.xml", written.saved(two))
    assert "one name" in _refused(tmp_path, twice)


def test_a_row_or_cell_an_opendocument_repeats_a_billion_times_is_refused(tmp_path: Path) -> None:
    whole = written.ods(ROWS)
    for name, given in (("row", "rows"), ("cell", "columns")):
        old = f"<table:table-{name}".encode()
        new = old + f' table:number-{given}-repeated="999999999"'.encode()
        changed = _changed(_instead(old, new), "content.xml", whole)
        assert "at most" in _refused(tmp_path, changed, "day.ods")


# --- the sectors of an XLS file ---------------------------------------------------------------

OLD = written.xls([["id", "note"], *([f"A{n}", f"some words {n}"] for n in range(300))])


def _sector_table(data: bytes) -> int:
    return int(512 + 512 * struct.unpack_from("<I", data, 76)[0])


@pytest.mark.parametrize("to", [0, 2, 5, 30])
def test_a_ring_of_sectors_is_refused_and_followed_by_nobody(tmp_path: Path, to: int) -> None:
    data = bytearray(OLD)
    struct.pack_into("<I", data, _sector_table(OLD) + 4 * 30, to)
    assert "ring" in _refused(tmp_path, bytes(data), "day.xls")


def test_random_damage_to_an_xls_file_never_hangs_or_raises_anything_else(tmp_path: Path) -> None:
    path = tmp_path / "day.xls"
    table = _sector_table(OLD)
    places = [*range(0, 512, 7), *range(table, table + 512, 9), *range(600, len(OLD), 997)]
    for number, place in enumerate(places):
        data = bytearray(OLD)
        struct.pack_into("<I", data, min(place, len(data) - 4), (number * 2654435761) % 2**32)
        path.write_bytes(data)
        try:
            readers.read(path)
        except UnreadableError as error:
            assert str(error)  # noqa: PT017  # either outcome is right, another exception is not


def test_a_cell_at_the_far_corner_of_an_xls_sheet_is_refused(tmp_path: Path) -> None:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Day")
    sheet.write(0, 0, "id")
    sheet.write(65_535, 255, "far")
    buffer = io.BytesIO()
    book.save(buffer)
    assert "65,536 rows" in _refused(tmp_path, buffer.getvalue(), "day.xls")


class PanicException(BaseException):  # the name that Rust's libraries give it
    pass


@pytest.mark.parametrize(
    ("raised", "seen"), [(PanicException, UnreadableError), (KeyboardInterrupt, KeyboardInterrupt)]
)
def test_a_library_that_gives_up_makes_a_file_unreadable_and_an_interrupt_stays_one(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    raised: type[BaseException],
    seen: type[BaseException],
) -> None:
    class Panicking:
        @staticmethod
        def from_filelike(_: object) -> None:
            raise raised

    monkeypatch.setattr(books, "CalamineWorkbook", Panicking)
    (tmp_path / "day.xlsx").write_bytes(WHOLE)
    with pytest.raises(seen):
        readers.read(tmp_path / "day.xlsx")


def test_a_locked_workbook_says_so(tmp_path: Path) -> None:
    sealed = OLD.replace("Workbook".encode("utf-16-le"), "Workb00k".encode("utf-16-le"))
    sealed += "EncryptedPackage".encode("utf-16-le")
    assert _refused(tmp_path, sealed) == archives.SEALED


# --- files ------------------------------------------------------------------------------------


def _links(link: Path, to: Path) -> bool:
    try:
        link.symlink_to(to)
    except (OSError, NotImplementedError):
        return False  # a system that lets only some people make links
    return True


def test_links_folders_pipes_and_absent_files_are_refused_without_opening_them(
    tmp_path: Path,
) -> None:
    outside = tmp_path / "outside.csv"
    outside.write_text("id\nA01\n")
    season = tmp_path / "season"
    (season / "status.csv").mkdir(parents=True)
    assert files.why_not_plain(season / "status.csv") == "it is a folder with a file's name"
    assert files.why_not_plain(season / "none.csv") == "it is not there"
    if _links(season / "jumps.csv", outside) and _links(season / "lost.csv", tmp_path / "none"):
        for name in ("jumps.csv", "lost.csv"):
            assert "links are not followed" in files.why_not_plain(season / name)
    if hasattr(os, "mkfifo"):
        os.mkfifo(season / "sprints.csv")
        assert files.why_not_plain(season / "sprints.csv") == "it is no plain file"
    assert files.why_not_plain(outside) == ""


def test_a_day_with_links_pipes_folders_and_leftovers_is_read_without_them(tmp_path: Path) -> None:
    head = "athlete_id,test,attempt,flight_time_s\n"
    folder = season(tmp_path, {"jumps.csv": head + "A01,cmj,1,0.511\n"})
    day = folder / seasons.DAY_FOLDER
    expected = []
    for name in ("~$jumps.xlsx", ".~lock.jumps.xlsx#", ".DS_Store", "Thumbs.db", "jumps.csv~"):
        (day / name).write_bytes(b"\x00\x01")
    (day / "status.csv").mkdir()
    expected.append("status.csv: it is a folder with a file's name")
    (day / "lifts.xls").write_bytes(b"")
    expected.append(f"lifts.xls: {archives.NO_BOOK}")
    if _links(day / "drop_jumps.csv", tmp_path / "elsewhere.csv"):
        expected.append("drop_jumps.csv: it is a link to another place, and links are not followed")
    if hasattr(os, "mkfifo"):
        os.mkfifo(day / "sprints.csv")
        expected.append("sprints.csv: it is no plain file")
    from pipeline import reading  # noqa: PLC0415  # as tests.intake.small does it

    taken = reading.read(folder, None)
    assert recorded(taken, "flight_time") == [("0.511", "used")]
    assert adds_up(taken)
    said = [
        f"{f.place.file.rpartition('/')[2]}: {dict(f.details)['why']}"
        for f in taken.findings
        if f.code == "file-unreadable"
    ]
    assert sorted(said) == sorted(expected)
    assert {code for code, _, _ in found(taken)} == {"file-unreadable"}


def test_a_file_that_changes_once_while_it_is_read_is_read_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "day.csv"
    path.write_bytes(b"id\nA01\n")
    reads: list[int] = []

    def growing(opened: Path) -> bytes:
        reads.append(1)
        if len(reads) == 1:
            path.write_bytes(b"id\nA01\nA02\n")
        return opened.read_bytes()[: 7 if len(reads) == 1 else None]

    monkeypatch.setattr(files, "_read", growing)
    assert [row.cells for row in readers.read(path)[0].rows] == [("A01",), ("A02",)]
    assert len(reads) == 2


def test_a_file_that_keeps_changing_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "day.csv"
    path.write_bytes(b"id\n")

    def growing(opened: Path) -> bytes:
        data = opened.read_bytes()
        path.write_bytes(data + b"A01\n")
        return data

    monkeypatch.setattr(files, "_read", growing)
    with pytest.raises(UnreadableError, match="changed while it was being read"):
        readers.read(path)


@pytest.mark.parametrize(
    ("error", "why"),
    [
        (PermissionError(13, "denied"), "another program has it open"),
        (OSError(5, "Input/output error"), "the disk does not give it"),
    ],
)
def test_a_locked_file_and_a_failing_disk_are_told_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: OSError, why: str
) -> None:
    def fail(_: Path) -> bytes:
        raise error

    monkeypatch.setattr(files, "_read", fail)
    (tmp_path / "day.csv").write_bytes(b"id\n")
    with pytest.raises(UnreadableError, match=why):
        readers.read(tmp_path / "day.csv")
