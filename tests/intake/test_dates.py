"""Dates: a column decides which number is the day; else it is asked for.

Held against ``pandas.to_datetime`` told which number comes first.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalogue import Severity
from pipeline.intake import folder, roster
from pipeline.intake.dates import Dates
from tests import seasons
from tests.intake.sheets import Door, said

DAY_FIRST, MONTH_FIRST = "day first", "month first"
_DATES = st.lists(st.dates(dt.date(1950, 1, 1), dt.date(2049, 12, 31)), min_size=1, max_size=12)


@settings(derandomize=True, database=None, max_examples=150)
@given(_DATES, st.sampled_from([DAY_FIRST, MONTH_FIRST]), st.sampled_from("/.-"))
def test_a_column_is_read_as_pandas_reads_it_or_is_asked_for(
    dates: list[dt.date], order: str, mark: str
) -> None:
    first = "%d{0}%m{0}%Y" if order == DAY_FIRST else "%m{0}%d{0}%Y"
    texts = [date.strftime(first.format(mark)) for date in dates]
    column = Dates.of(texts)
    if any(date.day > 12 for date in dates):
        assert column.order == order
    else:
        assert [column.is_ambiguous(t) for t in texts] == [d.day != d.month for d in dates]
    found = [column.read(text) for text in texts]
    told = pd.to_datetime(texts, format=first.format(mark)).date.tolist()
    assert all(one in (None, right) for one, right in zip(found, told, strict=True))
    assert [Dates.of(texts, order).read(text) for text in texts] == told


@settings(derandomize=True, database=None, max_examples=100)
@given(st.dates())
def test_an_iso_date_is_never_turned_round(date: dt.date) -> None:
    for order in ("", DAY_FIRST, MONTH_FIRST):
        assert Dates(order).read(date.isoformat()) == date
        assert Dates(order).read(f"{date.isoformat()} 00:00:00") == date


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("3 Sep 2026", dt.date(2026, 9, 3)),
        ("03-Sep-2026", dt.date(2026, 9, 3)),
        ("September 3, 2026", dt.date(2026, 9, 3)),
        ("3rd september 2026", dt.date(2026, 9, 3)),
        ("13/09/2026", dt.date(2026, 9, 13)),
        ("09/13/2026", dt.date(2026, 9, 13)),
        ("03/03/2026", dt.date(2026, 3, 3)),
        ("2026-04-11", dt.date(2026, 4, 11)),
    ],
)
def test_a_date_that_is_clear_by_itself_needs_no_setting(text: str, date: dt.date) -> None:
    assert Dates("").read(text) == date


@pytest.mark.parametrize(
    "text",
    ["03/09/26", "3.9.26", "2026", "13/13/2026", "31/02/2026", "3 Foo 2026", "", "soon", "3 M 2026",
     "46000", "03/09-2026"],
)  # fmt: skip
def test_what_is_no_date_is_none_and_is_not_asked_for(text: str) -> None:
    assert Dates("").read(text) is None
    assert not Dates("").is_ambiguous(text)
    assert Dates(DAY_FIRST).read(text) is None


def test_a_column_that_contradicts_itself_decides_nothing() -> None:
    column = Dates.of(["13/09/2026", "09/13/2026", "03/09/2026"])
    assert column.read("13/09/2026") == column.read("09/13/2026") == dt.date(2026, 9, 13)
    assert column.is_ambiguous("03/09/2026")


def test_a_setting_goes_before_the_cells_and_a_cell_against_it_is_none() -> None:
    column = Dates.of(["09/13/2026"], DAY_FIRST)
    assert column.read("03/09/2026") == dt.date(2026, 9, 3)
    assert column.read("09/13/2026") is None


# --- at the door ------------------------------------------------------------------------------

ROSTER = """\
athlete_id,name,sex,birth_date,joined,left
A01,Ada Quillon,F,03/09/2010,13/01/2025,
A02,Bram Ostrander-Vale,M,05/09/2004,04/02/2025,11/05/26
A03,Cleo Marchetti-Ruud,F,11/09/2008,,
"""


def test_the_roster_s_dates_are_asked_for_once_a_column(tmp_path: Path) -> None:
    season = seasons.write(tmp_path / "season", {"roster.csv": ROSTER})
    people, found = roster.read(season)
    assert [(f.code, f.place.row, f.place.column) for f in found] == [
        ("date-ambiguous", 2, "birth_date"),
        ("roster-value", 3, "left"),
    ]
    assert "battery.toml" in found[0].message
    assert people.athletes["A01"].birth_date is None
    assert people.athletes["A02"].joined == dt.date(2025, 2, 4)
    told, found = roster.read(season, DAY_FIRST)
    assert told.athletes["A03"].birth_date == dt.date(2008, 9, 11)
    assert [f.code for f in found] == ["roster-value"]


def test_a_sheet_s_dates_follow_its_column_the_day_file_or_the_battery(tmp_path: Path) -> None:
    head = "athlete_id,test,date,height_cm\n"
    door = Door.at(tmp_path / "none")
    taken = door.read("jumps", f"{head}A01,CMJ,13/09/2026,33\nA01,CMJ,09/09/2026,34\n")
    found = taken.trials.values.query("quantity == 'date'")["raw"]
    assert found.tolist() == ["2026-09-13", "2026-09-09"]
    unclear = f"{head}A01,CMJ,03/09/2026,33\nA01,CMJ,05/09/2026,34\nA02,CMJ,3/9/26,50\n"
    taken = door.read("jumps", unclear)
    assert said(taken) == [("date-ambiguous", 2, "date"), ("value-unusual", 4, "date")]
    assert len(taken.trials.used("height")) == 3
    by_day = Door.at(tmp_path / "day", day=f'dates = "{MONTH_FIRST}"\n{seasons.DAY}')
    found = by_day.read("jumps", unclear).trials.values.query("quantity == 'date'")["raw"]
    assert found.tolist() == ["2026-03-09", "2026-05-09"]
    by_battery = Door.at(tmp_path / "battery", battery=f'dates = "{DAY_FIRST}"\n')
    found = by_battery.read("jumps", unclear).trials.values.query("quantity == 'date'")["raw"]
    assert found.tolist() == ["2026-09-03", "2026-09-05"]


def test_another_word_for_the_order_is_refused(tmp_path: Path) -> None:
    text = f'dates = "european"\n{seasons.DAY}'
    season = seasons.write(tmp_path / "season", {f"{seasons.DAY_FOLDER}/day.toml": text})
    opened, found = folder.open_season(season)
    (fault,) = found[opened.days[0].key]
    assert (fault.code, fault.severity, fault.place.column) == (
        "day-value", Severity.ERROR, "dates",
    )  # fmt: skip
