"""What a season folder must hold, and what its day files may say."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from pipeline import computing, reading
from pipeline.errors import CannotStartError, Finding
from pipeline.intake import folder
from pipeline.intake.folder import Season
from tests import seasons


def _season(place: Path, **day_files: str) -> tuple[Season, list[Finding]]:
    """A season of the given day files, by folder name; the findings of all of them."""
    place.mkdir(exist_ok=True)
    (place / "roster.csv").write_text(seasons.ROSTER, encoding="utf-8")
    for name, text in day_files.items():
        (place / name).mkdir(exist_ok=True)
        (place / name / "day.toml").write_text(text, encoding="utf-8")
    opened, by_day = folder.open_season(place)
    return opened, [f for found in by_day.values() for f in found]


# --- what cannot start ----------------------------------------------------------------------


def test_no_folder_cannot_start_and_is_named(tmp_path: Path) -> None:
    with pytest.raises(CannotStartError, match=r"no folder .*'summer'"):
        folder.open_season(tmp_path / "summer")


def test_a_file_in_place_of_the_folder_cannot_start(tmp_path: Path) -> None:
    (tmp_path / "summer").write_text("x", encoding="utf-8")
    with pytest.raises(CannotStartError, match="summer"):
        folder.open_season(tmp_path / "summer")


def test_no_roster_cannot_start_and_names_what_is_missing(tmp_path: Path) -> None:
    place = seasons.write(tmp_path / "summer", {"roster.csv": None})
    with pytest.raises(CannotStartError, match=r"summer.*roster\.csv"):
        folder.open_season(place)


def test_no_day_cannot_start_and_says_what_a_day_is(tmp_path: Path) -> None:
    with pytest.raises(CannotStartError, match=r"summer.*day\.toml"):
        _season(tmp_path / "summer")


def test_broken_toml_cannot_start_and_names_file_and_line(tmp_path: Path) -> None:
    with pytest.raises(CannotStartError, match=r"autumn/day\.toml .*line 2"):
        _season(tmp_path, autumn="date = 2026-09-15\nterm = autumn\n")


def test_a_day_file_that_is_not_utf_8_cannot_start_and_says_how_to_mend_it(tmp_path: Path) -> None:
    place = seasons.write(
        tmp_path,
        {f"{seasons.DAY_FOLDER}/day.toml": 'date = 2026-09-15\nterm = "Früh"\n'.encode("cp1252")},
    )
    with pytest.raises(CannotStartError, match=r"day\.toml is not UTF-8"):
        folder.open_season(place)


def test_a_day_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    opened, found = _season(tmp_path, autumn="\ufeffdate = 2026-09-15\n")
    assert (opened.days[0].key, found) == ("2026-09-15", [])


@pytest.mark.parametrize(
    "text",
    ["", 'term = "x"\n', 'date = "2026-09-15"\n', "date = 2026-09-15T10:00:00\n", "date = 9\n"],
)
def test_a_day_without_a_date_cannot_start_and_shows_how_to_write_one(
    tmp_path: Path, text: str
) -> None:
    with pytest.raises(CannotStartError, match=r"autumn/day\.toml needs a line like: date = \d"):
        _season(tmp_path, autumn=text)


def test_two_days_of_one_date_cannot_start_and_both_are_named(tmp_path: Path) -> None:
    text = "date = 2026-09-15\n"
    with pytest.raises(CannotStartError, match=r"2026-09-15.*autumn.*retest"):
        _season(tmp_path, autumn=text, retest=text, spring="date = 2026-05-12\n")


def test_a_broken_battery_cannot_start(tmp_path: Path) -> None:
    place = seasons.write(tmp_path, {"battery.toml": "limits = [\n"})
    with pytest.raises(CannotStartError, match=r"battery\.toml cannot be read"):
        reading.read(place, None)


def test_a_day_that_is_not_there_cannot_start_and_the_others_are_listed(tidy: Path) -> None:
    with pytest.raises(CannotStartError, match=r"2026-01-01; it has 2026-09-15"):
        reading.read(tidy, "2026-01-01")


@pytest.mark.parametrize(
    "make",
    [
        lambda place: place / "nowhere",
        lambda place: seasons.write(place / "s", {"roster.csv": None}),
        lambda place: seasons.write(place / "s", {f"{seasons.DAY_FOLDER}/day.toml": None}),
        lambda place: seasons.write(place / "s", {f"{seasons.DAY_FOLDER}/day.toml": "date = x"}),
    ],
)
def test_a_refusal_is_one_sentence_of_prose_without_a_path(tmp_path: Path, make: object) -> None:
    assert callable(make)
    with pytest.raises(CannotStartError) as caught:
        folder.open_season(make(tmp_path))
    assert str(tmp_path) not in str(caught.value)
    assert str(caught.value).endswith((".", "2026-10-13"))
    assert "\n" not in str(caught.value)


# --- days -----------------------------------------------------------------------------------


def test_days_are_ordered_by_date_whatever_their_folders_are_called(tmp_path: Path) -> None:
    opened, _ = _season(
        tmp_path, T10="date = 2026-10-01\n", T2="date = 2026-02-01\n", T1="date = 2027-01-01\n"
    )
    assert [d.folder.name for d in opened.days] == ["T2", "T10", "T1"]
    assert [d.folder.name for d in opened.up_to(opened.days[1])] == ["T2", "T10"]


def test_a_folder_without_a_day_file_is_no_day(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    opened, _ = _season(tmp_path, autumn="date = 2026-09-15\n")
    assert len(opened.days) == 1


def test_a_window_of_sessions_keeps_each_session_s_date(tmp_path: Path) -> None:
    opened, found = _season(tmp_path, autumn=seasons.DAY)
    day = opened.days[0]
    gym, track = day.session("gym"), day.session("track")
    assert gym is not None
    assert track is not None
    assert (gym.date, track.date) == (dt.date(2026, 9, 17), dt.date(2026, 9, 15))
    assert day.key == "2026-09-15"
    assert not found


def test_a_session_without_a_date_has_the_day_s(tmp_path: Path) -> None:
    opened, _ = _season(tmp_path, autumn="date = 2026-09-15\n[session.gym]\nindoor = true\n")
    gym = opened.days[0].session("gym")
    assert gym is not None
    assert gym.date == dt.date(2026, 9, 15)


def test_a_condition_names_the_line_it_comes_from(tmp_path: Path) -> None:
    opened, _ = _season(tmp_path, autumn='date = 2026-09-15\n[session.gym]\nsurface = "wood"\n')
    gym = opened.days[0].session("gym")
    assert gym is not None
    assert gym.conditions["surface"] == ("wood", "autumn/day.toml!session.gym!!surface")


# --- what a day file says -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "nearest"),
    [
        ('surfce = "grass"', "surface"),
        ('[session.gym]\nfotwear = "flats"', "footwear"),
        ('trem = "autumn"', "term"),
        ("repeat_off = 2026-09-01", "repeat_of"),
        ('[sesion.gym]\nsurface = "wood"', "session"),
        ("[session.gym]\ndaet = 2026-09-17", "date"),
    ],
)
def test_an_unknown_key_is_named_with_the_nearest_known_one(
    tmp_path: Path, line: str, nearest: str
) -> None:
    _, found = _season(tmp_path, autumn=f"date = 2026-09-15\n{line}\n")
    assert [f.code for f in found] == ["day-key"]
    assert f"“{nearest}”" in found[0].message


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ("term = 5", "term"),
        ('repeat_of = "spring"', "repeat_of"),
        ('timing = "electric"', "timing"),
        ("beams = 2", "beams"),
        ('clock = "sun"', "clock"),
        ('start = ["blocks"]', "start"),
        ('indoor = "yes"', "indoor"),
        ("indoor = 1", "indoor"),
        ("surface = true", "surface"),
        ('altitude_m = "high"', "altitude_m"),
        ("temperature_c = true", "temperature_c"),
        ("start_distance_m = nan", "start_distance_m"),
        ("start_distance_m = inf", "start_distance_m"),
        ('[session.gym]\ndate = "Thursday"', "session.gym.date"),
        ("[session.gym]\nindoor = 0", "session.gym.indoor"),
        ("session = 5", "session"),
        ('session = "track"', "session"),
        ("[session]\ngym = 5", "session.gym"),
    ],
)
def test_a_value_that_cannot_be_used_is_an_error_and_counts_as_not_known(
    tmp_path: Path, line: str, key: str
) -> None:
    opened, found = _season(tmp_path, autumn=f"date = 2026-09-15\n{line}\n")
    assert [(f.code, f.place.column) for f in found] == [("day-value", key)]
    assert f"“{key}”" in found[0].message
    known = opened.days[0].session("") or opened.days[0].default
    assert key.rsplit(".", maxsplit=1)[-1] not in known.conditions


def test_every_condition_is_taken_as_it_should_be_written(tmp_path: Path) -> None:
    text = """\
date = 2026-09-15
venue = "Hall 2"
indoor = true
surface = "wood"
footwear = "flats"
timing = "gates"
beams = "single"
clock = "gate"
start = "standing"
start_distance_m = 0.5
altitude_m = 120
temperature_c = 18.5
pressure_hpa = 1013
"""
    opened, found = _season(tmp_path, autumn=text)
    assert not found
    written = {k: v for k, (v, _) in opened.days[0].default.conditions.items()}
    assert written == {
        "venue": "Hall 2", "indoor": "yes", "surface": "wood", "footwear": "flats",
        "timing": "gates", "beams": "single", "clock": "gate", "start": "standing",
        "start_distance_m": "0.5", "altitude_m": "120", "temperature_c": "18.5",
        "pressure_hpa": "1013",
    }  # fmt: skip


def test_a_season_of_one_day_without_any_sheet_gives_empty_tables(tmp_path: Path) -> None:
    _season(tmp_path, autumn="date = 2026-09-15\n")
    made = computing.check(tmp_path, None)
    assert made.tables["results"].empty
    assert made.tables["changes"].empty
    absent = made.tables["findings"]
    assert absent["code"].tolist() == ["athlete-not-tested"] * 3
