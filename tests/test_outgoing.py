"""Nothing unseen leaves, nothing floods, and no spreadsheet runs a cell."""

from __future__ import annotations

import io
import unicodedata

import openpyxl
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline import bundle, outgoing, tables
from pipeline.bundle import DayBundle
from pipeline.errors import Place, finding


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Ada\u202eevil\u2066", "Adaevil"),  # Unicode Standard Annex 9: overrides, isolates
        ("\ufeffAda\x00\x1b[31m", "Ada[31m"),
        ("a\u2028b\nc\td\r\ne\rf", "a b\nc\td\ne\nf"),
        ("\u0645\u06cc\u200c\u062e\u0648\u0627", "\u0645\u06cc\u200c\u062e\u0648\u0627"),
        ("half \ud800", "half "),
        ("Łucja Őry 王芳 🏃\u200d♀", "Łucja Őry 王芳 🏃\u200d♀"),
    ],
)  # fmt: skip
def test_what_nobody_sees_is_dropped_and_letters_stay(text: str, shown: str) -> None:
    assert outgoing.visible(text) == shown


@given(st.text(max_size=40))
def test_a_visible_text_holds_no_control_and_can_be_written(text: str) -> None:
    shown = outgoing.visible(text)
    kinds = {unicodedata.category(c) for c in shown if c not in "\n\t\u200c\u200d"}
    assert not kinds & {"Cc", "Cf", "Cs"}
    assert outgoing.visible(shown) == shown
    assert shown.encode().decode() == shown


def test_a_flood_is_cut_and_a_list_part_by_part() -> None:
    long = "W" * 10_000
    assert outgoing.plain(long) == "W" * 199 + "…"
    assert outgoing.plain(f"a=1; b={long}; c=2").split("; ")[::2] == ["a=1", "c=2"]
    assert len(outgoing.cut(long, outgoing.LONGEST_NAME)) == 60
    assert len(finding("value-unreadable", Place("f"), raw=long).message) < 300


FORMULAS = ["=cmd|'/c calc'!A1", "+1+1", "-A1", "@SUM(A1)", "\t=1", "\r=1", "-", "＝1+1", "'=1"]
"""Cells that the common spreadsheets run, or show otherwise: OWASP, *CSV Injection*."""

NUMBERS = ["-1.2", "+0.6", "-1,5", "1e-5", "-3.2E+04", ".5", "-.5", "12"]


@pytest.mark.parametrize("text", FORMULAS)
def test_what_would_run_begins_with_an_apostrophe(text: str) -> None:
    assert outgoing.for_sheet(text) == f"'{text}"


@pytest.mark.parametrize("text", [*NUMBERS, "", "A01", "it's", "'quoted'", "a=b", "–"])
def test_numbers_and_plain_words_stay(text: str) -> None:
    assert outgoing.for_sheet(text) == text


@given(st.text(st.sampled_from("'=+-@\t\r\n a1.")))
def test_the_text_comes_back(text: str) -> None:
    assert outgoing.from_sheet(outgoing.for_sheet(text)) == text


def test_a_table_comes_back_from_its_csv_and_no_cell_of_it_runs() -> None:
    raw = [*map(outgoing.visible, FORMULAS), *NUMBERS]
    frame = tables.empty("trials").reindex(range(len(raw)))
    frame = tables.shape("trials", frame.assign(raw=raw, value=-1.2, test="=x"))
    data = tables.to_csv("trials", frame)
    outside = pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False)
    assert set(outside["value"]) == {"-1.2"}
    assert set(outside["test"]) == {"'=x"}
    back = tables.from_csv("trials", data)
    assert sorted(back["raw"]) == sorted(frame["raw"])
    sheet = openpyxl.load_workbook(io.BytesIO(tables.to_xlsx({"trials": frame})))["trials"]
    cells = [
        c
        for row in sheet.iter_rows(min_row=2)
        for c in row
        if c.value in raw and c.value not in NUMBERS
    ]
    assert len(cells) == len(FORMULAS)
    assert all(c.data_type == "s" and c.quotePrefix for c in cells)


def test_the_same_text_is_changed_alike_in_tables_and_facts() -> None:
    """Else a test of the battery would no longer be found by its name."""
    name = "\u202e" + "W" * 300
    frame = pd.DataFrame({"test": [name], "source": [name * 2], "value": [1.0]})
    made = bundle.plain(DayBundle({"results": frame}, {"tests": {name: {"name": name}}}))
    (test,) = made.tables["results"]["test"]
    assert made.day["tests"] == {test: {"name": test}}
    assert test == "W" * 199 + "…"
    assert made.tables["results"]["source"][0] == "W" * 600
