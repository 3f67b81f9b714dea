"""Where the table stands in a sheet, and which of its rows are no results."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

from pipeline.catalogue import Severity
from pipeline.errors import Place
from pipeline.intake import phrases, readers, second_count
from pipeline.intake.frames import Aside, Frame, frame
from tests.intake import written
from tests.intake.small import adds_up, book, codes, found, message, read, recorded, states


def _frame(text: str) -> Frame:
    made = frame([line.split("|") for line in text.split("\n")])
    assert made is not None
    return made


def _rows(made: Frame) -> list[int]:
    return [row.number for row in made.rows]


def _asides(made: Frame) -> list[tuple[int, str]]:
    return [(row.number, why) for row, why in made.asides]


# --- headings ---------------------------------------------------------------------------------


def test_group_row_name_row_and_a_blank_row_lose_no_column() -> None:
    made = _frame("Sprint|–|Jump|–\n10 m|20 m|CMJ|SJ\n\n1.80|3.10|30|29")
    assert made.headings == ("10 m", "20 m", "CMJ", "SJ")
    assert (_rows(made), _asides(made)) == ([4], [(1, Aside.GROUPS)])


@pytest.mark.parametrize(
    ("text", "headings"),
    [
        ("||Sprint||Jump|\nid|name|10 m|20 m|CMJ|SJ\nA01|Ada|1.8|3.1|30|29",
         ("id", "name", "10 m", "20 m", "CMJ", "SJ")),
        ("id|name|Sprint||Jump|\n||10 m|20 m|CMJ|SJ\nA01|Ada|1.8|3.1|30|29",
         ("id", "name", "10 m", "20 m", "CMJ", "SJ")),
        ("||CMJ (cm)|||SJ||\nid|name|1|2|3|1|2|3\nA01|Ada|30|31|32|29|28|27",
         ("id", "name", "CMJ 1 (cm)", "CMJ 2 (cm)", "CMJ 3 (cm)", "SJ 1", "SJ 2", "SJ 3")),
        ("|CMJ||SJ|\nid|left|right|left|right\nA01|20|21|19|18",
         ("id", "CMJ left", "CMJ right", "SJ left", "SJ right")),
        ("|CMJ||SJ|\nid|height|time|height|time\nA01|20|.5|19|.4",
         ("id", "CMJ height", "CMJ time", "SJ height", "SJ time")),
        ("|Trials of the jump|\nid|T1|T2\nA01|20|21",
         ("id", "Trials of the jump T1", "Trials of the jump T2")),
    ],
    ids=["groups", "merged downwards", "attempts", "sides", "names twice", "one group"],
)  # fmt: skip
def test_names_go_with_their_group_s_where_they_say_too_little(
    text: str, headings: tuple[str, ...]
) -> None:
    made = _frame(text)
    assert made.headings == headings
    assert (_rows(made), _asides(made)) == ([3], [(1, Aside.GROUPS)])


def test_merged_cells_say_how_far_a_group_reaches(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    sheet = made.worksheets[0]
    for row in [["", "CMJ", "", "", "", ""], ["id", "1", "2", "best", "best", "t60_s"], ["A01", 1]]:
        sheet.append(row)
    sheet.merge_cells("B1:D1")
    path = tmp_path / "day.xlsx"
    path.write_bytes(written.saved(made))
    (one,) = readers.read(path)
    assert one.headings == ("id", "CMJ 1", "CMJ 2", "CMJ best", "best", "t60_s")


def test_titles_above_the_table_are_no_headings_and_no_results() -> None:
    made = _frame(
        "Testing day of the squad\nVenue|Hall 2\nDate|2026-09-15|Wind|0.4\n\n"
        "id|test|t30_s|t60_s|lane|shoes|note\n"
        + "\n".join(f"A0{n}|60 m|4.3|7.7|{n}|spikes|" for n in range(1, 5))
    )
    assert made.headings == ("id", "test", "t30_s", "t60_s", "lane", "shoes", "note")
    assert _rows(made) == [6, 7, 8, 9]
    assert _asides(made) == [(1, Aside.TITLE), (2, Aside.TITLE), (3, Aside.TITLE)]


def test_distances_may_head_columns_under_a_title() -> None:
    made = _frame("Sprint\nid|10|20|30\nA01|1.8|3.1|4.3\nA02|1.9|3.2|4.4")
    assert made.headings == ("id", "10", "20", "30")
    assert (_rows(made), _asides(made)) == ([3, 4], [(1, Aside.TITLE)])


@pytest.mark.parametrize(
    "text",
    [
        "id|test|status\nA01|cmj|limited|ill\nA02|cmj|limited|ill| sore| tired| bad",
        "id|note\nA01|slow| sad| ill| poor\nA02|fine",
        "id\nA01|x",
        "id|t60_s\nA01|DNF\nA02|DNS",
        "id||status\nA01|x|limited",
        "name|sex\nAda Q|F\nBram V|M",
        "id|1|2|3\nA01|5|6|7",
        "id|t|u|v\nA01|1|2|3",
        "words\nmore words here\nmore",
    ],
)
def test_the_first_row_names_the_columns_wherever_nothing_says_otherwise(text: str) -> None:
    made = _frame(text)
    assert made.headings == tuple(text.partition("\n")[0].split("|"))
    assert Aside.TITLE not in [why for _, why in made.asides]


def test_a_row_of_units_goes_with_the_columns() -> None:
    made = _frame("id|t60|CMJ|mass|note\n|s|[cm]|(kg)|–\nA01|7.7|30|60|s")
    assert made.units == ("", "s", "cm", "kg", "")
    assert (_rows(made), _asides(made)) == ([3], [(2, Aside.UNITS)])
    assert _frame("id|side\nA01|m").units == ("", "")
    assert _rows(_frame("id|side\nm|left")) == [2]


def test_a_table_that_starts_at_w3_keeps_its_rows_and_columns_as_pandas_sees_them(
    tmp_path: Path,
) -> None:
    left: list[Any] = [None] * 22
    path = tmp_path / "day.xlsx"
    path.write_bytes(written.xlsx([[], [], [*left, "id", "t60_s"], [*left, "A01", 7.7]]))
    (sheet,) = readers.read(path)
    there = pd.read_excel(path, header=None, engine="openpyxl").iloc[
        3
    ]  # of four rows, numbered from 0
    (row,) = sheet.rows
    assert (row.number, row.cells[sheet.headings.index("t60_s")]) == (4, "7.7")
    assert there[sheet.headings.index("t60_s")] == 7.7


def test_leading_blank_rows_and_spacers_change_no_number() -> None:
    made = _frame("\n | \nid|t60_s\n\nA01|7.7\n | \n\nA02|6.9\n")
    assert (made.headings, _rows(made)) == (("id", "t60_s"), [5, 8])


# --- rows that are no results -----------------------------------------------------------------


@pytest.mark.parametrize(
    "row",
    [
        "MEAN|||0.5", "SD|||0.02", "AVERAGE|||0.5", "Average:|||0.5", "Mean (girls)|||0.5",
        "Squad mean|||0.5", "Standard deviation|||0.02", "|Total||12", "n = 12", "N=12|||",
        "Mittelwert|||0,5", "Écart-type|||0,02", "Média|||0,5", "Średnia|||0,5", "Medelvärde|||0,5",
        "Promedio|||0,5",
        "Gemiddelde|||0,5", "Deviazione standard|||0,02", "MEAN|||=AVERAGE(D2:D3)",
        "mean of all|cmj||0.5", "U18|MEAN||0.5", "Median|||#N/A",
    ],
)  # fmt: skip
def test_totals_are_nobody_s_results(row: str) -> None:
    made = _frame(f"id|test|attempt|flight_time_s\nA01|cmj|1|0.5\n{row}")
    assert _asides(made) == [(3, Aside.TOTAL)]


@pytest.mark.parametrize(
    "row",
    ["Notes: the wind turned", "Note:|all in spikes", "* by hand", "Girls U18", "Hinweis: nass",
     "† second group|late", "all times by gates", "---|----|-|-", "_____"],
)  # fmt: skip
def test_notes_and_headings_of_sections_are_no_results(row: str) -> None:
    made = _frame(f"id|test|attempt|flight_time_s\nA01|cmj|1|0.5\n{row}\nA02|cmj|1|0.4")
    assert _asides(made) == [(3, Aside.REMARK)]


def test_headings_said_again_are_no_results() -> None:
    made = _frame("id|test|t60_s\nA01|60 m|7.7\nID|Test|t60_s\nA02|60 m|6.9\nid|test|")
    assert _asides(made) == [(3, Aside.HEADING), (5, Aside.HEADING)]


@pytest.mark.parametrize(
    "row",
    ["A02|cmj|1|0.5", "A02", "MAX|cmj|1|0.5", "Min|cmj|1|0.5", "Best|cmj|1|0.5", "Meany|cmj|1|0.5",
     "Sdrina|cmj|1|0.5", "A02|cmj|1|", "|cmj|1|0.5", "Totals-01|cmj|1|0.5",
     "|||slipped once", "SD|cmj|one|"],
)  # fmt: skip
def test_rows_of_people_stay_rows(row: str) -> None:
    made = _frame(f"id|test|attempt|flight_time_s\nA01|cmj|1|0.5\n{row}")
    assert (_rows(made), made.asides) == ([2, 3], ())


def test_max_and_min_are_totals_beside_a_sure_one() -> None:
    made = _frame("id|t60_s\nMax|7.7\nA02|6.9\nMEAN|7.3\nMax|7.7\nMin|6.9")
    assert _rows(made) == [2, 3]


def test_numbers_and_prose_are_told_apart() -> None:
    numbers = ["7.7", "-0.3", "1.805,00", ".5", "1e5", "2:05.3", "50 %", "12,5"]
    assert all(map(phrases.is_number, numbers))
    assert not any(map(phrases.is_number, ["A01", "10 m", "007a", "2026-09-15", "", "x", "6'2\""]))
    assert not any(map(phrases.is_prose, ["A01", "007", "A 1".replace(" ", ""), "Ada"]))


# --- whole days -------------------------------------------------------------------------------

HEAD = "athlete_id,test,attempt,flight_time_s\n"


def test_totals_and_notes_are_set_aside_with_notes_only_and_count_in_the_account(
    tmp_path: Path,
) -> None:
    """One day with every kind of row that is no result; SD is somebody's id here."""
    jumps = (
        "Jumps of the squad\n" + HEAD + "A01,cmj,1,0.511\n\nSD,cmj,1,0.490\n"
        "athlete_id,test,attempt,flight_time_s\nGirls U18\nA02,cmj,1,0.560\n"
        "MEAN,,,0.52\nMax,,,0.56\nn = 3,,,\nNotes: on grass\n"
    )
    people = "athlete_id,name,sex\nA01,Ada Q,F\nA02,Bram V,M\nSD,Sam D,F\nTotal,3\n"
    day = read(tmp_path, {"jumps.csv": jumps}, {"roster.csv": people})
    assert [value for value, _ in recorded(day, "flight_time")] == ["0.511", "0.490", "0.560"]
    assert states(day, "jumps.csv") == (10, 3, 0, 7)
    assert adds_up(day)
    assert [(code, row) for code, row, _ in found(day)] == [
        ("row-title", 1),
        ("row-heading", 6),
        ("row-remark", 7),
        ("row-total", 9),
        ("row-total", 10),
        ("row-total", 11),
        ("row-remark", 12),
        ("row-total", 5),
    ]
    assert not any(f.severity is Severity.ERROR for f in day.findings)
    (title,) = (f for f in day.findings if f.code == "row-title")
    assert "“Jumps of the squad”" in title.message


def test_a_planned_template_is_one_finding_and_no_error(tmp_path: Path) -> None:
    planned = "".join(f"A0{1 + n % 3},cmj,{n + 1},\n" for n in range(500))
    day = read(tmp_path, {"jumps.csv": HEAD + planned + "A01,cmj,600,0.511\n"})
    assert states(day, "jumps.csv") == (501, 1, 0, 500)
    assert adds_up(day)
    blank = [f for f in day.findings if f.code == "row-no-value"]
    assert [(f.severity, f.place.row) for f in blank] == [(Severity.WARNING, None)]
    assert blank[0].message.startswith("500 rows hold no result (2–501)")


def test_a_day_sheet_and_a_summary_of_it_are_not_doubled_and_notes_are_passed_over(
    tmp_path: Path,
) -> None:
    head = HEAD.strip().split(",")
    rows = [head, ["A01", "cmj", 1, 0.511], ["A02", "cmj", 1, 0.560]]
    notes = [["Read me"], ["The mat was wet"], ["Ask Bram about the gates"]]
    data = book({"Day": rows, "Summary": rows, "Notes": notes, "Empty": [], "Plan": [head]})
    day = read(tmp_path, {"jumps.xlsx": data})
    assert [value for value, _ in recorded(day, "flight_time")] == ["0.511", "0.56"]
    assert adds_up(day)
    account = day.account.set_index("sheet").loc[:, ["rows", "used", "flagged", "set_aside"]]
    assert account.loc["Summary"].tolist() == [2, 0, 0, 2]
    assert account.loc["Notes"].tolist() == [2, 0, 0, 2]
    assert [(c, r) for c, r, _ in found(day)] == [
        ("row-twice", 2), ("row-twice", 3), ("sheet-other", None), ("row-other", 2),
        ("row-other", 3), ("sheet-empty", None),
    ]  # fmt: skip


def test_units_hidden_rows_and_formulas_without_value_of_a_day(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    sheet = made.worksheets[0]
    for row in [
        ["", "", "", "Jump", ""],
        [*HEAD.strip().split(","), "height_cm"],
        ["", "", "", "s", "cm"],
        ["A01", "cmj", 1, "0,511", None],
        ["A02", "cmj", 1, "=MIN(D4:D5)", None],
    ]:
        sheet.append(row)
    sheet.row_dimensions[4].hidden = True
    day = read(tmp_path, {"jumps.xlsx": written.saved(made)})
    assert recorded(day, "flight_time") == [("0,511", "used"), ("=MIN(D4:D5)", "set aside")]
    assert codes(day) == {
        "row-groups", "row-units", "cells-hidden", "formula-unvalued", "value-unreadable",
    }  # fmt: skip
    assert "Rows 4 are hidden" in message(day, "cells-hidden")
    assert states(day, "jumps.xlsx") == (4, 1, 0, 3)
    assert adds_up(day)


@pytest.mark.parametrize("suffix", written.BOOKS)
def test_titles_totals_and_notes_count_alike_in_every_workbook(tmp_path: Path, suffix: str) -> None:
    rows = [
        ["Day of the squad"], [], ["id", "t10_s", "t60_s"], ["", "s", "s"], [], ["A01", 2.04, 7.7],
        ["MEAN", 2.04, 7.7], [" ", None, ""], ["Notes: wet"],
    ]  # fmt: skip
    path = tmp_path / f"day{suffix}"
    path.write_bytes(written.BOOKS[suffix]([[*row, *[None] * (3 - len(row))] for row in rows]))
    (sheet,) = readers.read(path)
    assert [row.number for row in sheet.rows] == [6]
    assert [row.number for row, _ in sheet.asides] == [1, 4, 7, 9]
    assert second_count.count_rows(path) == {"Day": 5}
    assert len(sheet.findings(Place("a"))) == 4
