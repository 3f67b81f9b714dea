"""What one heading means: words in nine languages, units, splits, and what the day file says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest

from pipeline import battery as batteries
from pipeline.errors import Place
from pipeline.intake import folder, mapping, roster, words
from pipeline.intake.columns import (
    CORRECTIONS,
    PLAN,
    REFERENCE,
    ROSTER,
    SHEETS,
    STATUS,
    TARGETS,
    TRACES,
    recognise,
)
from pipeline.intake.headings import NOTHING, Meaning, Own, Unread, closest, look, meaning, natural
from pipeline.intake.kinds import SheetKind
from pipeline.intake.readers import RawSheet
from tests import seasons
from tests.intake.small import codes, found, read, season

KINDS = [*SHEETS.values(), TRACES, REFERENCE, ROSTER, STATUS, TARGETS, PLAN, CORRECTIONS]
FITTING = {"time": "ms", "length": "cm", "mass": "kg", "speed": "m/s"}


def _words() -> Iterator[tuple[SheetKind, str, str]]:
    """(kind, field, word) of the whole table."""
    for kind in KINDS:
        for field in kind.fields:
            for language in words.LANGUAGES:
                for word in words.words_of(kind.name, field, language):
                    yield kind, field, word


def _unread(found: Meaning | Unread) -> tuple[str, str]:
    assert isinstance(found, Unread)
    return found.code, found.details.get("guess", "")


# --- the table -------------------------------------------------------------------------------


def test_every_field_has_a_word_in_each_of_nine_languages() -> None:
    assert sorted(words.LANGUAGES) == ["de", "en", "es", "fr", "it", "nl", "pl", "pt", "sv"]
    gaps = [
        (kind.name, field, language)
        for kind in KINDS
        for field in kind.fields
        for language in words.LANGUAGES
        if not words.words_of(kind.name, field, language)
    ]
    assert gaps == []


def test_no_word_means_two_fields_in_any_kind_of_sheet() -> None:
    meant: dict[str, set[str]] = {}
    for kind in KINDS:
        for field in kind.fields:
            meant.setdefault(field, set()).add(field)
    for _, field, word in _words():
        for spelled in words.spellings(word):
            meant.setdefault(spelled, set()).add(field)
    assert {word: fields for word, fields in meant.items() if len(fields) > 1} == {}


def test_no_word_of_a_heading_is_a_unit_and_no_unit_two_units() -> None:
    headings = {spelled for _, _, word in _words() for spelled in words.spellings(word)}
    assert headings.isdisjoint(words.ENDINGS)
    written = [
        (words.plain(word), ending)
        for ending, spelled in words.UNITS.items()
        for word in spelled
        if words.plain(word)
    ]
    assert len(dict(written)) == len({*written})


def test_every_word_is_read_as_its_field_however_it_is_written() -> None:
    wrong = []
    for kind, field, word in _words():
        unit = FITTING.get(kind.fields[field].dimension, "")
        for written in (word, word.upper(), f"  {words.plain(word)}\u00a0"):
            one = meaning(f"{written} ({unit})" if unit else written, kind)
            if one is None or one.field != kind.fields[field]:
                wrong.append((kind.name, field, written, one))
    assert wrong == []


def test_words_that_may_be_several_fields_are_never_taken() -> None:
    taken = [
        (kind.name, word)
        for kind in KINDS
        for word, fields in words.unsure().items()
        for unit in ("", " (s)", " (kg)", " (cm)")
        if (one := natural(word + unit, kind)) and one.field.name in fields
    ]
    assert taken == []


# --- units -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "factor"),
    [
        # NIST Handbook 44 (2024), appendix C: exact equivalents in SI units
        ("in", 0.0254), ('"', 0.0254), ("Zoll", 0.0254), ("pouces", 0.0254), ("pulgadas", 0.0254),
        ("ft", 0.3048), ("'", 0.3048), ("feet", 0.3048), ("yards", 0.9144),
        ("cm", 0.01), ("Zentimeter", 0.01), ("mm", 0.001), ("mètres", 1.0), ("metrów", 1.0),
    ],
)  # fmt: skip
def test_a_unit_is_read_in_brackets_behind_a_comma_and_at_the_end(
    written: str, factor: float
) -> None:
    for heading in (f"Sprunghöhe ({written})", f"jump height [{written}] "):
        one = meaning(heading, SHEETS["jumps"])
        assert one is not None
        assert one.unit is not None
        assert one.unit.factor == pytest.approx(factor, rel=1e-9)
    if words.plain(written):
        for heading in (f"Height, {written}", f"height {written}", f"height_{written}\u00a0"):
            assert meaning(heading, SHEETS["jumps"]) == one


def test_weights_are_read_in_pounds_and_stones() -> None:
    # NIST Handbook 44 (2024), appendix C: 1 lb = 0.45359237 kg; a stone is 14 lb
    for heading, factor in (("Weight (lbs)", 0.45359237), ("body mass [st]", 14 * 0.45359237)):
        one = meaning(heading, SHEETS["body"])
        assert one is not None
        assert one.unit is not None
        assert one.unit.factor == pytest.approx(factor, rel=1e-9)


def test_a_row_of_units_gives_the_unit_a_heading_lacks_and_may_not_contradict_it() -> None:
    one = meaning("Flugzeit", SHEETS["jumps"], "[ms]")
    assert one == meaning("flight_time_ms", SHEETS["jumps"])
    assert meaning("flight_time_ms", SHEETS["jumps"], "ms") == one
    assert _unread(look("flight_time_s", SHEETS["jumps"], "ms"))[0] == "unit-conflict"
    assert _unread(look("flight_time", SHEETS["jumps"], "cm"))[0] == "unit-conflict"
    assert _unread(look("flight_time", SHEETS["jumps"], "–"))[0] == "heading-unit"
    sheet = RawSheet("", ("athlete_id", "test", "Flugzeit"), (), units=("", "", "ms"))
    columns, faults = recognise(sheet, SHEETS["jumps"], Place("jumps.csv"))
    assert not faults
    assert one is not None
    assert columns["flight_time", ""].unit == one.unit


def test_a_column_whose_units_disagree_is_left_and_the_others_are_read(tmp_path: Path) -> None:
    jumps = "athlete_id,test,height (cm),Flugzeit\n,,,[ms]\nA01,cmj,32,511\n"
    own = '\n[columns.jumps]\n"height (cm)" = "m"\n'
    day = read(tmp_path, {"jumps.csv": jumps, "day.toml": seasons.DAY + own})
    assert ("unit-conflict", None, "height (cm)") in found(day)
    assert day.trials.used("flight_time")["value"].tolist() == [0.511]
    assert day.trials.used("height").empty


@pytest.mark.parametrize(
    ("kind", "heading", "field"),
    [
        ("sprints", "date (dd.mm.yyyy)", "date"),
        ("jumps", "Side (L/R)", "side"),
        ("jumps", "attempt (1-3)", "attempt"),
        ("lifts", "reps (n)", "reps"),
        ("technique", "angle (°)", "degrees"),
        ("technique", "angle", "angle"),
    ],
)
def test_a_hint_in_brackets_is_no_unit(kind: str, heading: str, field: str) -> None:
    one = meaning(heading, SHEETS[kind])
    assert one is not None
    assert one.field.name == field


# --- splits --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "name", "part", "factor", "assumed"),
    [
        ("10m", "cumulative_time", "10 m", 1.0, True),
        ("t10m", "cumulative_time", "10 m", 1.0, True),
        ("split 10m", "cumulative_time", "10 m", 1.0, True),
        ("10 m (s)", "cumulative_time", "10 m", 1.0, False),
        ("t10_s", "cumulative_time", "10 m", 1.0, False),
        ("10 m, ms", "cumulative_time", "10 m", 0.001, False),
        ("Zwischenzeit 36,5 m (s)", "cumulative_time", "36.5 m", 1.0, False),
        ("Temps 30 m", "cumulative_time", "30 m", 1.0, True),
        ("s0_10_s", "segment_time", "0-10 m", 1.0, False),
        ("0-10 m", "segment_time", "0-10 m", 1.0, True),
        ("0-10m split", "segment_time", "0-10 m", 1.0, True),
        ("10–20 m [s]", "segment_time", "10-20 m", 1.0, False),
        ("10 m to 20 m", "segment_time", "10-20 m", 1.0, True),
    ],
)
def test_splits_as_people_head_them(
    heading: str, name: str, part: str, factor: float, assumed: bool
) -> None:
    one = meaning(heading, SHEETS["sprints"])
    assert one is not None
    assert one.unit is not None
    assert (one.field.name, one.part, one.unit.factor) == (name, part, factor)
    assert one.assumed is assumed


@pytest.mark.parametrize(("heading", "example"), [("T1", "t1_s"), ("s0_10", "s0_10_s")])
def test_a_number_with_no_unit_at_all_is_no_distance(heading: str, example: str) -> None:
    one = look(heading, SHEETS["sprints"])
    assert one == Unread("heading-unit", {"heading": heading, "example": example})


def test_forty_yards_are_never_forty_metres() -> None:
    # 1 yd = 0.9144 m, NIST Handbook 44 (2024), appendix C
    sheet = RawSheet("", ("athlete_id", "test", "40 m (s)", "40 yd (s)"), ())
    columns, faults = recognise(sheet, SHEETS["sprints"], Place("sprints.csv"))
    assert not faults
    assert {part for name, part in columns if name == "cumulative_time"} == {"40 m", "36.576 m"}


@pytest.mark.parametrize(
    ("kind", "heading"),
    [
        ("jumps", "time (s)"), ("jumps", "Zeit [ms]"), ("jumps", "comment"), ("jumps", "Kommentar"),
        ("sprints", "time"), ("sprints", "time_s"), ("sprints", "10"), ("sprints", "10-20"),
        ("sprints", "20-10 m"), ("sprints", "0 m"), ("sprints", "10 m interval"),
        ("sprints", "6 x 30 m"), ("sprints", "date (birth)"), ("sprints", "comments"),
        ("lifts", "weight (kg)"), ("lifts", "max kg"), ("body", "10 m (s)"), ("jumps", "#"),
    ],
)  # fmt: skip
def test_what_may_be_several_things_is_not_guessed(kind: str, heading: str) -> None:
    assert _unread(look(heading, SHEETS[kind]))[0] == "heading-unknown"


@pytest.mark.parametrize(
    ("kind", "heading", "offer"),
    [
        ("jumps", "Flugzeti ms", "flight_time_s"),
        ("jumps", "time (ms)", "flight_time_ms"),
        ("lifts", "weight (kg)", "load_kg"),
        ("body", "Köpergröße", "height_m"),
        ("jumps", "comment", ""),
        ("sprints", "time (s)", ""),
    ],
)
def test_the_nearest_known_heading_is_offered(kind: str, heading: str, offer: str) -> None:
    assert closest(heading, SHEETS[kind]) == offer


def _recognised(*headings: str) -> tuple[set[tuple[str, str]], list[str]]:
    sheet = RawSheet("", ("athlete_id", "test", *headings), ())
    columns, faults = recognise(sheet, SHEETS["sprints"], Place("sprints.csv"))
    return set(columns) - {("athlete_id", ""), ("test", "")}, [f.code for f in faults]


def test_one_distance_under_two_like_names_is_read_under_neither() -> None:
    parts, faults = _recognised("10 m (s)", "20 m (s)", "split 10 m (s)", "split 20 m (s)")
    assert parts == set()
    assert faults == ["splits-alike", "splits-alike"]


def test_times_that_all_begin_at_the_line_are_cumulative() -> None:
    cumulative = {("cumulative_time", "10 m"), ("cumulative_time", "20 m")}
    assert _recognised("0-10 m (s)", "0-20 m (s)") == (cumulative, [])
    assert _recognised("0-10 m (s)", "20 m (s)") == (cumulative, [])
    segments = {("segment_time", "0-10 m"), ("segment_time", "10-20 m")}
    assert _recognised("0-10 m (s)", "10-20 m (s)") == (segments, [])


# --- what the day file says ---------------------------------------------------------------------


def test_the_day_file_names_a_field_a_unit_or_nothing() -> None:
    jumps = SHEETS["jumps"]
    own = Own({"JH": "height_cm", "Air [ms]": "flight_time", "height": "in", "Mood": "ignore"})
    assert meaning("JH", jumps, own=own) == meaning("height_cm", jumps)
    assert meaning(" jh ", jumps, own=own) == meaning("height_cm", jumps)
    assert meaning("Air [ms]", jumps, own=own) == meaning("flight_time_ms", jumps)
    assert meaning("height", jumps, own=own) == meaning("height_in", jumps)
    assert look("Mood", jumps, own=own) == Unread()
    assert _unread(look("height (cm)", jumps, own=Own({"height (cm)": "m"})))[0] == "unit-conflict"
    assert _unread(look("JH cm", jumps, own=Own({"JH cm": "height_m"})))[0] == "unit-conflict"
    split = meaning("10 m", SHEETS["sprints"], own=Own({"10 m": "s0_10_s"}))
    assert split is not None
    assert split.part == "0-10 m"


def test_a_line_for_another_kind_of_sheet_leaves_a_heading_as_it_is() -> None:
    own = Own({"Datum": "flight_time_s"})
    assert meaning("Datum", SHEETS["sprints"], own=own) == meaning("date", SHEETS["sprints"])


def test_two_headings_that_even_out_alike_are_told_apart_by_their_very_text() -> None:
    own = Own({"T": "flight_time_s", "t": "contact_time_s"})
    drops = SHEETS["drop_jumps"]
    assert meaning("T", drops, own=own) == meaning("flight_time_s", drops)
    assert meaning("t", drops, own=own) == meaning("contact_time_s", drops)
    assert meaning("T.", drops, own=own) is None
    assert NOTHING.of("T") == ""


COLUMNS = """
[columns]
"Stimmung" = "ignore"
"Nowhere" = "flight_time_s"
"x" = 3

[columns.jumps]
"Luftzeit" = "flihgt_time_ms"
"Test" = "test"

[columns.jmups]
"Luftzeit" = "flight_time_ms"
"""


def test_what_the_day_file_says_in_vain_is_named_with_the_nearest_known(tmp_path: Path) -> None:
    jumps = "athlete_id,Test,Luftzeit,Stimmung\nA01,cmj,511,good\n"
    made = season(tmp_path, {"jumps.csv": jumps, "day.toml": seasons.DAY + COLUMNS})
    opened, findings = folder.open_season(made)
    (day,) = opened.days
    (own,) = findings[day.key]
    assert (own.code, own.place.column) == ("day-value", "columns.x")
    faults = {
        (f.code, f.place.sheet, f.place.column): f
        for f in mapping.faults(opened, day, batteries.load(made)[0])
    }
    assert set(faults) == {
        ("columns-unused", "columns", "Nowhere"),
        ("columns-target", "columns.jumps", "Luftzeit"),
        ("columns-file", "columns.jmups", ""),
    }
    target = faults["columns-target", "columns.jumps", "Luftzeit"]
    assert "“flight_time_s”" in target.message
    assert "“jumps”" in faults["columns-file", "columns.jmups", ""].message


# --- whole sheets -------------------------------------------------------------------------------

SPRINTS = """\
Trainingseinheit;Athleten-ID;Test;Versuch;Wind (m/s);10 m (s);30 m (s);60 m [s]\u00a0
track;A01;60 m;1;0,6;2,04;4,28;7,70
track;A01;60 m;2;0,2;2,05;4,31;7,74
track;A02;60 m;1;0,1;1,87;3,95;6,90
"""
JUMPS = """\
Séance,Athlète,Test,Essai,Bras,TEMPS DE VOL [ms],Humeur
gym,A01,countermovement jump,1,hips,511,bien
gym,A01,countermovement jump,2,hips,519,bien
"""
LIFTS = """\
sesión,id atleta,Ejercicio,PL,repeticiones,resultado,esfuerzo máximo
gym,A02,back squat,130,1,good,
gym,A02,back squat,140,1,good,
gym,A02,back squat,147.5,1,failed,
"""
BODY = """\
träningspass,idrottar-id,Kroppsvikt (kg),LANGD cm
gym,A01,56.4,168.0
gym,A02,77.5,183.0
"""
STATUS_SHEET = "Athlet,Test,Status,Grund\nA03,,not done,exam\n"
TARGET_SHEET = "zawodnik,test,miara,cel,termin\nA01,60 m,time,7.5,\n"
PEOPLE = """\
ID,Nachname,Vorname,Geschlecht (m/w),Geburtsdatum,Gruppen,Disziplin
A01,Quillon,Ada,w,2010-03-18,sprint,100/200 m
A02,Ostrander-Vale,Bram,männlich,2004-11-02,sprint,100/200 m
A03,Marchetti-Ruud,Cleo,W,2008-07-25,sprint,100/200 m
"""
OWN = """
[columns.lifts]
"PL" = "load_kg"
[columns.jumps]
"Humeur" = "ignore"
"""


def test_a_day_in_five_languages_reads_as_the_same_day_in_ours(tmp_path: Path) -> None:
    foreign = {
        "sprints.csv": SPRINTS, "jumps.csv": JUMPS, "lifts.csv": LIFTS, "body.csv": BODY,
        "status.csv": STATUS_SHEET, "day.toml": seasons.DAY + OWN,
    }  # fmt: skip
    over = {"roster.csv": PEOPLE, "targets.csv": TARGET_SHEET}
    ours = {
        "sprints.csv": seasons.SPRINTS, "jumps.csv": seasons.JUMPS, "lifts.csv": seasons.LIFTS,
        "body.csv": seasons.BODY, "status.csv": "athlete_id,test,status\nA03,,not done\n",
    }  # fmt: skip
    got = read(tmp_path / "foreign", foreign, over)
    wanted = read(tmp_path / "ours", ours, {"targets.csv": "athlete_id,test,measure,target\n"})
    shown = ["key", "quantity", "part", "value", "unit", "status"]
    values = [
        one.trials.values[shown].sort_values(shown[:3]).reset_index(drop=True)
        for one in (got, wanted)
    ]
    pd.testing.assert_frame_equal(*values)
    assert got.roster.athletes == wanted.roster.athletes
    assert [aim.target for aim in got.targets] == [7.5]
    assert [status.reason for status in got.statuses] == ["exam"]
    assert codes(got) == codes(wanted) | {"status-given"} - {"sheet-empty"}
    assert not [f for f in found(got) if f[0].startswith(("heading", "columns", "unit"))]


def _people(folder: Path, text: str) -> tuple[list[str], list[tuple[str, str]]]:
    folder.mkdir()
    (folder / "roster.csv").write_text(text)
    read_in, faults = roster.read(folder)
    told = [f"{a.name}|{a.sex}" for a in read_in.athletes.values()]
    return told, [(f.code, f.place.column) for f in faults]


def test_names_in_parts_are_one_name_and_a_m_beside_a_h_is_not_guessed(tmp_path: Path) -> None:
    parts = "id,Nom,Prénom,Sexe\nA01,Quillon,Ada,F\nA02,Vale,Bram,H\n"
    assert _people(tmp_path / "a", parts) == (["Ada Quillon|F", "Bram Vale|M"], [])
    whole = "id,name,surname,gender\nA01,Ada Quillon,Quillon,female\nA02,Bram,Vale,Boy\n"
    assert _people(tmp_path / "b", whole) == (["Ada Quillon|F", "Bram Vale|M"], [])
    spanish = "id,nombre,apellidos,sexo\nA01,Ada,Quillon,M\nA02,Bram,Vale,H\n"
    people, faults = _people(tmp_path / "c", spanish)
    assert people == ["Ada Quillon|", "Bram Vale|M"]
    assert faults == [("roster-value", "sexo")]
