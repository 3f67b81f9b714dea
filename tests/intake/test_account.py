"""Every row is used, flagged or set aside; a second count says whether one was lost."""

from __future__ import annotations

import hashlib
import io
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import computing, reading
from pipeline.intake import account, readers, second_count
from pipeline.intake.readers import RawSheet
from pipeline.intake.trials import RowMark
from tests import seasons
from tests.intake.small import adds_up, book, codes, read, season, states

HEAD = "athlete_id,test,attempt,flight_time_s\n"
GOOD = "A01,cmj,1,0.511\n"

MESSY: dict[str, str | bytes] = {
    "tidy": HEAD + GOOD,
    "blank rows": HEAD + "\n\n" + GOOD + ",,,\n \n" + "A01,cmj,2,0.5\n\n",
    "unknown and blank ids": HEAD + GOOD + "Z9,cmj,1,0.5\n,cmj,1,0.5\nMEAN,,,0.5\n",
    "unknown test": HEAD + "A01,cmk,1,0.5\nA01,,1,0.5\n",
    "copies": HEAD + GOOD * 5,
    "no marks": HEAD + "A01,cmj,1,DNF\nA01,cmj,2,x\nA01,cmj,3,-\n",
    "unreadable": HEAD + "A01,cmj,1,fast\nA01,cmj,2,0.5\nA01,cmj,3,5:1\n",
    "implausible": HEAD + "A01,cmj,1,511\nA01,cmj,2,0\nA01,cmj,3,-0.5\n",
    "no value": HEAD + "A01,cmj,1,\nA02,cmj,,\n",
    "cells beyond": HEAD + "A01,cmj,1,0,511\nA01,cmj,2,0.5,,,,note\n",
    "short rows": HEAD + "A01\nA01,cmj\nA01,cmj,1\n",
    "missing heading": "athlete,flight_time_s\nA01,0.5\nA02,0.5\n",
    "headings only": HEAD,
    "no line end": HEAD + GOOD.strip(),
    "bare returns": (HEAD + GOOD + "A01,cmj,2,0.5\n").replace("\n", "\r"),
    "windows ends": (HEAD + GOOD + "\nA01,cmj,2,0.5\n").replace("\n", "\r\n"),
    "semicolons": (HEAD + "A01,cmj,1,0.511\n").replace(",", ";").replace(".", ","),
    "quoted": HEAD + '"A01","cmj","1","0.511"\n',
    "line ends in quotes": HEAD + '"A01","cmj\r\n",1,0.511\n"A02","c\n\nmj",1,"0.5\n"\n',
    "separators in quotes": HEAD + '"A,01","cmj",1,"0,511"\n",",,,\n',
    "quotes in quotes": HEAD + '"A01","the ""quick"" one\nagain",1,0.5\n"""",,,\n',
    "stray quotes": HEAD + 'A01,c"mj,1,0.5\nA"01,cmj",2,0.5\n',
    "unclosed quote": HEAD + GOOD + 'A01,"cmj,2,0.5\nA01,cmj,3,0.5\n',
    "utf-16": (HEAD + GOOD).encode("utf-16"),
    "windows-1252": (HEAD + "Zoë,cmj,1,0.5\n").encode("cp1252"),
}


@pytest.mark.parametrize("name", MESSY)
def test_rows_are_used_flagged_or_set_aside_and_none_is_lost(tmp_path: Path, name: str) -> None:
    day = read(tmp_path, {"jumps.csv": MESSY[name]})
    assert adds_up(day)
    (sheet,) = readers.read(tmp_path / "season" / seasons.DAY_FOLDER / "jumps.csv")
    assert states(day, "jumps.csv")[0] == len(sheet.rows) + len(sheet.asides)


def test_the_roster_s_own_rows_are_in_the_account(tmp_path: Path) -> None:
    people = 'athlete_id,name\nA01,"Ada\n""the quick"" Q"\n\nCON,Bram\na01,Cleo\nA04,Dag\n'
    day = read(tmp_path, {"jumps.csv": HEAD + GOOD}, {"roster.csv": people})
    assert adds_up(day)
    (line,) = day.account[day.account["file"] == "roster.csv"].to_dict("records")
    # CON is no id, and one id for two names is nobody's
    assert (line["rows"], line["set_aside"]) == (4, 3)


@pytest.mark.parametrize(
    ("rows", "counted"),
    [
        (HEAD + GOOD, (1, 1, 0, 0)),
        (HEAD + GOOD + "A01,cmj,2,DNF\n", (2, 2, 0, 0)),
        (HEAD + "A01,cmj,1,\n", (1, 0, 0, 1)),
        (HEAD + "A01,cmj,1,fast\n", (1, 0, 0, 1)),
        (HEAD + "A01,cmj,1,511\n", (1, 0, 0, 1)),
        (HEAD + GOOD + GOOD, (2, 1, 0, 1)),
        (HEAD + "Z9,cmj,1,0.5\n", (1, 0, 0, 1)),
        (HEAD + "A01,cmj,1,0.5,note\n", (1, 0, 1, 0)),
    ],
)
def test_a_row_stands_where_its_worst_finding_puts_it(
    tmp_path: Path, rows: str, counted: tuple[int, int, int, int]
) -> None:
    assert states(read(tmp_path, {"jumps.csv": rows}), "jumps.csv") == counted


def _read_rows(path: Path) -> dict[str, int]:
    return {sheet.name: len(sheet.rows) + len(sheet.asides) for sheet in readers.read(path)}


# --- the second count -----------------------------------------------------------------------


@pytest.mark.parametrize("name", MESSY)
def test_the_second_count_agrees_with_the_reader(tmp_path: Path, name: str) -> None:
    text = MESSY[name]
    path = tmp_path / "sheet.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    assert second_count.count_rows(path) == {
        s.name: len(s.rows) + len(s.asides) for s in readers.read(path)
    }


@settings(derandomize=True, database=None, deadline=None, max_examples=400)
@given(st.text(alphabet='ab",; \n', max_size=24))
def test_the_second_count_agrees_with_the_reader_on_any_text(
    tmp_path_factory: pytest.TempPathFactory, text: str
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_text(f"id,note\n{text}", encoding="utf-8", newline="")
    assert second_count.count_rows(path) == _read_rows(path)


@pytest.mark.parametrize(
    "rows",
    [
        [["id"], ["A01"], [None], ["A02"]],
        [[], [None, None], ["id", "t"], [], ["A01", 7.7], ["  ", ""], [None, 0]],
        [["id"], [True], [False], [0], ["=1+1"]],
        [["id", "note"], ["A01", "two\nlines"], ["A02", 'a "quote"']],
    ],
)
def test_the_second_count_agrees_with_the_reader_on_workbooks(
    tmp_path: Path, rows: list[list[object]]
) -> None:
    path = tmp_path / "sheet.xlsx"
    path.write_bytes(book({"Day": rows, "Blank": [], "Again": rows}))
    assert second_count.count_rows(path) == {
        s.name: len(s.rows) + len(s.asides) for s in readers.read(path)
    }


def _lossy(monkeypatch: pytest.MonkeyPatch, file: str, *, keep: int) -> None:
    """Give the reader a fault: of one file it keeps only the first rows."""
    read_whole = readers.read

    def lossy(path: Path) -> list[RawSheet]:
        sheets = read_whole(path)
        if path.name != file:
            return sheets
        return [replace(sheet, rows=sheet.rows[:keep]) for sheet in sheets]

    monkeypatch.setattr(readers, "read", lossy)


@pytest.mark.parametrize(
    ("file", "keep", "counted"),
    [("sprints.csv", 2, 3), ("jumps.csv", 1, 2), ("jumps.csv", 0, 2), ("roster.csv", 2, 3)],
)
def test_a_row_the_reader_lost_is_found_by_the_second_count(
    tidy: Path, monkeypatch: pytest.MonkeyPatch, file: str, keep: int, counted: int
) -> None:
    _lossy(monkeypatch, file, keep=keep)
    day = reading.read(tidy, None)
    (lost,) = (f for f in day.findings if f.code == "rows-lost")
    assert lost.place.file.endswith(file)
    assert f"{counted} rows" in lost.message
    assert f"{keep} were read" in lost.message


def test_a_row_mark_that_was_dropped_is_found(tidy: Path) -> None:
    day = reading.read(tidy, None)
    marks = [
        RowMark(f"{seasons.DAY_FOLDER}/sprints.csv", "", row)
        for row in (2, 3)  # row 4 is dropped
    ]
    _, (lost,) = account.account(tidy, marks, day.findings, day.trials)
    assert (lost.code, lost.place.file) == ("rows-lost", f"{seasons.DAY_FOLDER}/sprints.csv")
    assert "3 rows" in lost.message


def _open_document(rows: list[list[str]]) -> bytes:
    """The smallest OpenDocument sheet."""
    names = {
        "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
        "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
        "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
    }
    cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
    lines = "".join(
        f"<table:table-row>{''.join(map(cell.format, row))}</table:table-row>" for row in rows
    )
    spaces = " ".join(f'xmlns:{short}="{full}"' for short, full in names.items())
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    listed = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        made.writestr("mimetype", kind)
        made.writestr(
            "content.xml",
            f'<?xml version="1.0"?><office:document-content {spaces}><office:body>'
            f'<office:spreadsheet><table:table table:name="Day">{lines}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )
        made.writestr(
            "META-INF/manifest.xml",
            f'<?xml version="1.0"?><m:manifest xmlns:m="{listed}">'
            f'<m:file-entry m:full-path="/" m:media-type="{kind}"/></m:manifest>',
        )
    return buffer.getvalue()


def test_a_workbook_that_only_one_of_the_two_readers_takes_does_not_stop_the_run(
    tmp_path: Path,
) -> None:
    data = _open_document([HEAD.strip().split(","), GOOD.strip().split(",")])
    day = read(tmp_path, {"jumps.xlsx": data})
    assert codes(day) & {"file-unreadable", "rows-lost", "file-format"} or adds_up(day)


def test_a_row_of_nothing_but_an_error_cell_is_counted_alike(tmp_path: Path) -> None:
    rows = [HEAD.strip().split(","), ["A01", "cmj", 1, 0.511], [None, None, None, "#N/A"]]
    day = read(tmp_path, {"jumps.xlsx": book({"Day": rows})})
    assert adds_up(day)


# --- raw inputs -----------------------------------------------------------------------------


def _hashes(folder: Path) -> dict[str, tuple[str, int]]:
    return {
        path.relative_to(folder).as_posix(): (
            hashlib.sha256(path.read_bytes()).hexdigest(),
            path.stat().st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_raw_inputs_are_never_changed_and_nothing_is_put_beside_them(tmp_path: Path) -> None:
    sheets = {
        "jumps.csv": MESSY["quotes in quotes"],
        "sprints.csv": seasons.SPRINTS + "track,B77,60 m,1,,,,fast\n",
        "lifts.xlsx": book(
            {"Day": [["athlete_id", "lift", "load_kg", "reps"], ["A02", "squat", 9, 1]]}
        ),
        "body.xlsx": b"PK damaged",
        "notes.txt": "fair weather",
    }
    folder = season(tmp_path, sheets, {"battery.toml": "limit = 5\n"})
    before = _hashes(folder)
    computing.check(folder, None)
    assert _hashes(folder) == before
