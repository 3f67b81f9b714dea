"""The tables: their shape, their files, and what comes back from them."""

from __future__ import annotations

import io
import math

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import tables
from pipeline.errors import CannotStartError, Place, finding
from pipeline.tables import SCHEMAS


def _result(**cells: object) -> dict[str, object]:
    return {
        "day": "2026-09-15", "session": "", "athlete_id": "A01", "test": "60 m", "part": "",
        "measure": "time", "value": 7.7, "unit": "s", "low": 7.695, "high": 7.705,
        "resolution": 0.01, "n_attempts": 2, "attempt": 1, "basis": "measured",
        "source": "a.csv!!2!t60_s", "flags": "", "conditions": "", "score": 7.72,
        "scored": "1;2", "wind": 0.4, **cells,
    }  # fmt: skip


def _results(*rows: dict[str, object]) -> pd.DataFrame:
    return pd.DataFrame(list(rows))


def _with_text(text: str) -> pd.DataFrame:
    return tables.findings_frame(
        [finding("athlete-unknown", Place("a.csv", "S", 2, "athlete_id"), raw=text, guess="")]
    )


# --- shape ----------------------------------------------------------------------------------


def test_a_table_has_the_columns_of_its_schema_in_order_and_no_other() -> None:
    shuffled = _results(_result(extra="x"))[["extra", *reversed(SCHEMAS["results"].columns)]]
    assert list(tables.shape("results", shuffled).columns) == list(SCHEMAS["results"].columns)


def test_a_missing_column_is_refused() -> None:
    with pytest.raises(KeyError):
        tables.shape("results", _results(_result()).drop(columns="value"))


def test_numbers_are_rounded_to_the_measure_s_decimals_and_three_more() -> None:
    frame = _results(_result(value=7.123456789), _result(part="10 m", value=7.123456789))
    shaped = tables.shape("results", frame, decimals=[0, 2])
    assert shaped["value"].tolist() == [7.123, 7.12346]


def test_without_decimals_numbers_are_rounded_to_six() -> None:
    assert tables.shape("results", _results(_result(value=1 / 3)))["value"].tolist() == [0.333333]


def test_decimals_belong_to_their_row_though_rows_are_sorted() -> None:
    frame = _results(
        _result(athlete_id="B", value=1.23456789), _result(athlete_id="A", value=1.23456789)
    )
    shaped = tables.shape("results", frame, decimals=[0, 3])
    assert dict(zip(shaped["athlete_id"], shaped["value"], strict=True)) == {
        "A": 1.234568, "B": 1.235,
    }  # fmt: skip


def test_rows_are_sorted_and_numbered_whatever_order_they_came_in() -> None:
    rows = [
        _result(athlete_id=who, day=day, part=part)
        for day in ("2026-05-12", "2026-09-15")
        for who in ("A01", "a02", "B1")
        for part in ("", "10 m")
    ]
    forth, back = (
        tables.shape("results", _results(*rows)),
        tables.shape("results", _results(*rows[::-1])),
    )
    pd.testing.assert_frame_equal(forth, back)
    assert forth.index.tolist() == list(range(len(rows)))
    assert forth["day"].is_monotonic_increasing


def test_shaping_leaves_the_frame_it_was_given_alone() -> None:
    frame = _results(_result(value=1 / 3, flags=None))
    before = frame.copy(deep=True)
    tables.shape("results", frame)
    pd.testing.assert_frame_equal(frame, before)


def test_shaping_twice_changes_nothing() -> None:
    once = tables.shape("results", _results(_result(value=1 / 3, low=np.nan)))
    pd.testing.assert_frame_equal(tables.shape("results", once), once)


def test_missing_text_is_empty_and_missing_numbers_stay_missing() -> None:
    shaped = tables.shape("results", _results(_result(flags=None, low=None, attempt=None)))
    (row,) = shaped.to_dict("records")
    assert row["flags"] == ""
    assert math.isnan(row["low"])
    assert pd.isna(row["attempt"])


@pytest.mark.parametrize("name", SCHEMAS)
def test_an_empty_table_has_its_columns_and_comes_back(name: str) -> None:
    empty = tables.empty(name)
    assert list(empty.columns) == list(SCHEMAS[name].columns)
    again = tables.from_csv(name, tables.to_csv(name, empty))
    assert list(again.columns) == list(empty.columns)
    assert again.empty


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_schema_is_consistent_with_itself(name: str) -> None:
    schema = SCHEMAS[name]
    assert schema.numbers | schema.integers | set(schema.sort) <= set(schema.columns)
    assert not schema.numbers & schema.integers
    assert len(set(schema.columns)) == len(schema.columns)


# --- csv ------------------------------------------------------------------------------------


def test_a_csv_ends_its_lines_alike_and_leaves_missing_cells_empty() -> None:
    frame = tables.shape("results", _results(_result(low=np.nan, attempt=None)))
    data = tables.to_csv("results", frame)
    assert b"\r" not in data
    assert data.endswith(b"\n")
    heading, row = data.decode().splitlines()
    cells = dict(zip(heading.split(","), row.split(","), strict=True))
    assert (cells["low"], cells["attempt"], cells["value"], cells["n_attempts"]) == (
        "", "", "7.7", "2",
    )  # fmt: skip
    assert cells["schema_version"] == str(tables.SCHEMA_VERSION)
    assert "nan" not in row.casefold()


def test_a_table_comes_back_from_csv_as_it_was() -> None:
    frame = tables.shape(
        "results",
        _results(
            _result(value=1 / 3, low=np.nan, flags="hand timed;wind +2.1 m/s"),
            _result(athlete_id="NA", session="None", attempt=None),
            _result(athlete_id="007", unit="kg/kg^0.67", conditions="a=b; c=d"),
        ),
    )
    again = tables.from_csv("results", tables.to_csv("results", frame))
    pd.testing.assert_frame_equal(again, frame)


@settings(derandomize=True, database=None, deadline=None, max_examples=100)
@given(
    st.text(max_size=12)
    | st.sampled_from(
        ["NA", "nan", "None", "a\rb", "a\r\nb", "\n", '"', "#", "=1+1", "1e5", "\x00", " x "]
    )
)
def test_any_text_comes_back_from_csv_as_it_was(text: str) -> None:
    frame = _with_text(text.encode("utf-8", "replace").decode())
    again = tables.from_csv("findings", tables.to_csv("findings", frame))
    assert again["message"].tolist() == frame["message"].tolist()


@settings(derandomize=True, database=None, deadline=None, max_examples=100)
@given(st.floats(-1e9, 1e9), st.integers(0, 4))
def test_any_number_comes_back_from_csv_as_it_was(value: float, places: int) -> None:
    frame = tables.shape("results", _results(_result(value=value)), decimals=[places])
    again = tables.from_csv("results", tables.to_csv("results", frame))
    assert again["value"].tolist() == frame["value"].tolist()


@pytest.mark.parametrize("version", ["2", "10", "next"])
def test_a_table_of_another_version_is_refused_in_a_sentence(version: str) -> None:
    row = {"file": "sprints.csv", "sheet": "", "rows": 4, "used": 4, "flagged": 0, "set_aside": 0}
    data = tables.to_csv("account", tables.shape("account", pd.DataFrame([row])))
    newer = data.replace(b",1\n", f",{version}\n".encode())
    assert newer != data
    with pytest.raises(
        CannotStartError, match=r"^account\.csv was written by a newer version .*\.$"
    ):
        tables.from_csv("account", newer)


def test_a_table_that_lacks_a_column_is_refused_in_a_sentence() -> None:
    with pytest.raises(CannotStartError, match="no column athlete_id"):
        tables.from_csv("targets", b"test,measure,target,by,schema_version\n60 m,time,7.5,,1\n")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xfe",
        b"athlete_id,test,measure,target,by,schema_version\nA01,60 m,time,fast,,1\n",
        b"athlete_id,test,measure,target,by\nA01,60 m,time,7.5,\n",
    ],
    ids=["empty", "no text", "a word for a number", "no version"],
)
def test_a_damaged_table_is_refused_in_a_sentence(data: bytes) -> None:
    with pytest.raises(CannotStartError, match=r"targets\.csv"):
        tables.from_csv("targets", data)


# --- workbook -------------------------------------------------------------------------------


def _opened(name: str, frame: pd.DataFrame) -> list[list[object]]:
    book = openpyxl.load_workbook(io.BytesIO(tables.to_xlsx({name: frame})))
    assert book.sheetnames == [name]
    return [list(row) for row in book[name].iter_rows(values_only=True)]


@pytest.mark.parametrize(
    "text",
    ["=cmd|' /C calc'!A0", "=1+1", "+1+1", "-1", "@SUM(A1)", "mailto:a@b", "{=1}", "ftp://a"],
)
def test_text_in_a_workbook_is_never_a_formula_or_a_link(text: str) -> None:
    frame = tables.shape("results", _results(_result(flags=text, athlete_id=text)))
    book = openpyxl.load_workbook(io.BytesIO(tables.to_xlsx({"results": frame})))
    heading = [cell.value for cell in book["results"][1]]
    for column in ("flags", "athlete_id"):
        cell = book["results"].cell(2, heading.index(column) + 1)
        assert cell.data_type == "s"
        assert cell.value == text
        assert cell.hyperlink is None


def test_numbers_in_a_workbook_are_numbers_and_missing_cells_are_blank() -> None:
    frame = tables.shape("results", _results(_result(low=np.nan, attempt=None, session="")))
    heading, row = _opened("results", frame)
    cells = dict(zip(heading, row, strict=True))
    assert cells["value"] == 7.7
    assert cells["n_attempts"] == 2
    assert (cells["low"], cells["attempt"], cells["session"]) == (None, None, None)


def test_text_that_looks_like_a_number_stays_text_in_a_workbook() -> None:
    heading, row = _opened("results", tables.shape("results", _results(_result(athlete_id="007"))))
    assert dict(zip(heading, row, strict=True))["athlete_id"] == "007"


def test_csv_and_workbook_hold_the_same_cells() -> None:
    frame = tables.shape(
        "results", _results(_result(value=1 / 3), _result(athlete_id="B", low=np.nan))
    )
    back = tables.from_csv("results", tables.to_csv("results", frame))
    heading, *rows = _opened("results", frame)
    for column in SCHEMAS["results"].columns:
        cells = [row[heading.index(column)] for row in rows]
        expected = [None if pd.isna(c) or c == "" else c for c in back[column]]
        assert cells == expected


def test_the_same_tables_give_the_same_bytes() -> None:
    made = {"results": tables.shape("results", _results(_result())), "findings": _with_text("x")}
    assert tables.to_xlsx(made) == tables.to_xlsx(made)
    assert tables.to_csv("results", made["results"]) == tables.to_csv("results", made["results"])


@pytest.mark.parametrize(
    "text", ["\x01", "a\x00b", "\ufffe", "a" * 40_000, "\U0001f3c3", "_x0041_"]
)
def test_no_text_makes_a_workbook_that_cannot_be_opened(text: str) -> None:
    heading, row = _opened("findings", _with_text(text))
    assert dict(zip(heading, row, strict=True))["message"]


# --- findings -------------------------------------------------------------------------------


def test_findings_become_a_table_in_the_order_given() -> None:
    made = [
        finding("row-no-value", Place("b.csv", "S", 3)),
        finding("value-unreadable", Place("a.csv", "", 2, "t60_s"), "A01", raw="x"),
        finding("file-not-used", Place("c.txt"), known="jumps"),
    ]
    frame = tables.findings_frame(made)
    assert frame["code"].tolist() == [f.code for f in made]
    assert frame["row"].tolist()[:2] == [3, 2]
    assert frame["row"].iloc[2] is pd.NA
    assert frame.iloc[1][["severity", "column", "athlete_id"]].tolist() == ["error", "t60_s", "A01"]
