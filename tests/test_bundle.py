"""The data folder: what an athlete's slice holds, and what comes back from disk."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from pipeline import bundle, computing, tables
from pipeline.errors import CannotStartError
from pipeline.measures.registry import MEASURES
from tests import seasons

PEOPLE = {
    "Qx71": "Adaline Quillonby",
    "Rz82": "Bramwell Ostranderly",
    "Sv93": "Cleothilde Marchettison",
}
ROSTER = "athlete_id,name,sex,birth_date,groups\n" + "".join(
    f"{key},{name},F,2004-03-18,sprint\n" for key, name in PEOPLE.items()
)


def _text(heading: str, line: str) -> str:
    return heading + "\n" + "".join(line.format(id=key) + "\n" for key in PEOPLE)


DAY = {
    "sprints.csv": _text("athlete_id,test,attempt,t10_s,t30_s,t60_s", "{id},60 m,1,2.04,4.28,7.70")
    # findings of one athlete whose message names another
    + "Qx71,60 m,2,2.05,4.31,7.74,Rz82 Bramwell Ostranderly was in the way\n"
    + "Qx71,Cleothilde Marchettison,1,2.05,4.31,7.74\n"
    + "Qx71,60 m,3,2.05,4.31,Sv93 Cleothilde Marchettison\n"
    + "Bramwell Ostranderly,60 m,1,2.05,4.31,7.74\n",
    "jumps.csv": _text("athlete_id,test,attempt,arms,flight_time_s", "{id},cmj,1,hips,0.511"),
    "lifts.csv": _text("athlete_id,lift,load_kg,reps", "{id},back squat,100,3"),
    "body.csv": _text("athlete_id,body_mass_kg,height_cm", "{id},56.4,168.0"),
}


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of the second of two days of three athletes."""
    place = tmp_path_factory.mktemp("three")
    plan = "athlete_id,from,sprint_phase,emphasis,note\n"
    plan += "Qx71,2026-05-20,drive,,hills beside Bramwell Ostranderly\n"
    files: dict[str, str | bytes | None] = {"roster.csv": ROSTER, "plan.csv": plan}
    for folder, date in ((seasons.DAY_FOLDER, "2026-09-15"), ("2026-05-spring", "2026-05-12")):
        files[f"{folder}/day.toml"] = f"date = {date}\n"
        files |= {f"{folder}/{name}": text for name, text in DAY.items()}
    bundle.write(place / "data", computing.check(seasons.write(place / "season", files), None))
    return place / "data"


def _slice(data: Path, key: str) -> str:
    return (data / bundle.ATHLETES / f"{key}.json").read_text(encoding="utf-8")


# --- one athlete's own ----------------------------------------------------------------------


@pytest.mark.parametrize("key", PEOPLE)
def test_a_slice_holds_nothing_of_another_athlete(data: Path, key: str) -> None:
    text = _slice(data, key).casefold()
    for other, name in PEOPLE.items():
        if other != key:
            for word in (other, name, *name.split()):
                assert word.casefold() not in text
    assert PEOPLE[key].casefold() in text


def test_a_choice_is_in_the_own_slice_without_the_staffs_note(data: Path) -> None:
    own = bundle.read_athlete(data / bundle.ATHLETES / "Qx71.json").plan
    assert own["sprint_phase"].tolist() == ["drive"]
    assert own["note"].isna().all()
    assert "hills beside" in bundle.read_day(data).tables["plan"]["note"].item()
    assert bundle.read_athlete(data / bundle.ATHLETES / "Rz82.json").plan.empty


def test_the_staff_tables_do_name_the_others_so_the_slices_had_something_to_leave_out(
    data: Path,
) -> None:
    findings = bundle.read_day(data).tables["findings"]
    mine = findings[findings["athlete_id"] == "Qx71"]
    said = " ".join(mine["message"])
    assert "Bramwell Ostranderly" in said
    assert "Cleothilde Marchettison" in said
    assert set(mine["code"]) >= {"cells-beyond-headings", "test-unknown", "value-unreadable"}


def test_a_slice_shows_of_a_finding_its_code_and_place_only(data: Path) -> None:
    own = bundle.read_athlete(data / bundle.ATHLETES / "Qx71.json").findings
    assert "message" not in own.columns
    assert set(own["code"]) >= {"cells-beyond-headings", "test-unknown", "value-unreadable"}


@pytest.mark.parametrize("table", ["results", "changes"])
def test_a_slice_holds_all_of_the_athlete_s_own_rows_but_staff_s(data: Path, table: str) -> None:
    whole = bundle.read_day(data).tables[table]
    whole = whole[[not MEASURES[key].staff_only for key in whole["measure"]]]
    for key in PEOPLE:
        own = getattr(bundle.read_athlete(data / bundle.ATHLETES / f"{key}.json"), table)
        mine = whole[whole["athlete_id"] == key]
        assert len(own) == len(mine) > 0
        assert set(own["athlete_id"]) == {key}
        assert own["measure"].tolist() == mine["measure"].tolist()


def test_every_athlete_with_a_result_has_a_slice_and_no_one_else(tmp_path: Path) -> None:
    season = seasons.write(tmp_path / "season", {})
    bundle.write(tmp_path / "data", computing.check(season, None))
    made = sorted(p.stem for p in (tmp_path / "data" / bundle.ATHLETES).iterdir())
    assert made == ["A01", "A02"]


# --- the young ------------------------------------------------------------------------------

SQUAD = [f"Y{n}" for n in range(10)]
MINOR, GROWN = "Y0", "Y1"
DATES = ("2026-01-20", "2026-05-12", "2026-09-15")


@pytest.fixture(scope="module", name="mixed")
def _mixed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    """Slices of ten people after three days: squat and body mass, one of them under 18."""
    births = {key: "2012-03-18" if key == MINOR else "2002-03-18" for key in SQUAD}
    roster = "athlete_id,name,sex,birth_date,groups,event\n" + "".join(
        f"{key},Person {key},F,{born},sprint,100 m\n" for key, born in births.items()
    )
    battery = (
        "[headline]\ndefault = [\n"
        '{test = "back squat", measure = "one_rep_max"},\n'
        '{test = "back squat", measure = "relative_strength"},\n'
        '{test = "body", measure = "body_mass"},\n]\n'
        '[typical_errors."back squat"]\nrelative_strength = {value = 3.5, unit = "%"}\n'
    )
    files: dict[str, str | bytes | None] = {"roster.csv": roster, "battery.toml": battery}
    for number, date in enumerate(DATES):
        folder = seasons.DAY_FOLDER if date == DATES[-1] else date
        lifts = "".join(
            f"{key},back squat,{100 + n + number},1,yes\n" for n, key in enumerate(SQUAD)
        )
        body = "".join(f"{key},{60 + n / 2},170\n" for n, key in enumerate(SQUAD))
        files |= {
            f"{folder}/day.toml": f"date = {date}\n",
            f"{folder}/lifts.csv": "athlete_id,lift,load_kg,reps,maximal\n" + lifts,
            f"{folder}/body.csv": "athlete_id,body_mass_kg,height_cm\n" + body,
        }
    files |= {f"{seasons.DAY_FOLDER}/{name}.csv": None for name in ("sprints", "jumps")}
    place = tmp_path_factory.mktemp("mixed")
    made = computing.check(seasons.write(place / "season", files), None)
    assert {one["athlete_id"] for one in made.day["standings"]} == set(SQUAD)
    bundle.write(place / "data", made)
    return {key: json.loads(_slice(place / "data", key)) for key in (MINOR, GROWN)}


def _measures(content: dict[str, Any]) -> dict[str, set[str]]:
    """Which measures each part of a slice speaks of."""
    parts = {name: content[name] for name in ("results", "changes")}
    parts |= {name: content["athlete"][name] for name in ("trends", "standings")}
    return {name: {row["measure"] for row in rows} for name, rows in parts.items()}


PER_KG = {m.key for m in MEASURES.values() if m.for_adults}


def test_a_minor_s_slice_holds_no_body_mass_nothing_for_it_and_no_rank(
    mixed: dict[str, dict[str, Any]],
) -> None:
    held = _measures(mixed[MINOR])
    assert held["standings"] == set()
    for part in ("results", "changes", "trends"):
        assert "one_rep_max" in held[part], part
        assert held[part] & {"body_mass", *PER_KG} == set(), part
    text = json.dumps(mixed[MINOR])
    assert "percentile" not in text
    assert "body_mass" not in text
    assert not any(f'"{key}"' in text for key in PER_KG)


def test_an_adult_s_slice_holds_strength_for_mass_and_a_rank_but_no_body_mass(
    mixed: dict[str, dict[str, Any]],
) -> None:
    held = _measures(mixed[GROWN])
    for part, measures in held.items():
        assert measures >= {"one_rep_max", "relative_strength"}, part
        assert "body_mass" not in measures, part
    (place,) = [
        one for one in mixed[GROWN]["athlete"]["standings"] if one["measure"] == "one_rep_max"
    ]
    # Eight other adults of the squad; the athlete of 14 is of another age band.
    assert (place["rung"], place["n"], place["percentile"]) == ("own band", 8, 0.0)


# --- what is written ------------------------------------------------------------------------


def test_json_holds_no_nan_and_no_infinity(data: Path) -> None:
    def refuse(word: str) -> None:
        raise AssertionError(word)

    files = sorted(data.rglob("*.json"))
    assert len(files) == len(PEOPLE) + 1
    for path in files:
        content = json.loads(path.read_text(encoding="utf-8"), parse_constant=refuse)
        assert content["schema_version"] == tables.SCHEMA_VERSION


def test_a_value_that_is_missing_is_null(data: Path) -> None:
    content = json.loads(_slice(data, "Qx71"))
    first = next(c for c in content["changes"] if c["measure"] == "jump_height")
    assert first["smallest_worthwhile"] is None
    assert first["typical_error"] > 0


def test_every_table_is_there_as_csv_and_as_a_sheet(data: Path) -> None:
    names = {p.name for p in data.iterdir()}
    assert names == {f"{t}.csv" for t in tables.SCHEMAS} | {"day.json", "results.xlsx", "athletes"}
    sheets = openpyxl.load_workbook(data / bundle.WORKBOOK, read_only=True).sheetnames
    assert set(sheets) == set(tables.SCHEMAS)


def test_writing_twice_gives_the_same_bytes(tmp_path: Path, tidy: Path) -> None:
    for name in ("one", "two"):
        bundle.write(tmp_path / name, computing.check(tidy, None))
    one, two = (
        {
            p.relative_to(tmp_path / n): p.read_bytes()
            for p in (tmp_path / n).rglob("*.*")
            if p.is_file()
        }
        for n in ("one", "two")
    )
    assert one == two


def test_a_folder_that_is_there_is_not_written_over(data: Path) -> None:
    with pytest.raises(FileExistsError):
        bundle.write(data, bundle.read_day(data))


# --- what comes back ------------------------------------------------------------------------


def test_what_was_written_comes_back(tmp_path: Path, tidy: Path) -> None:
    made = computing.check(tidy, None)
    bundle.write(tmp_path / "data", made)
    again = bundle.read_day(tmp_path / "data")
    assert {k: v for k, v in again.day.items() if k != "schema_version"} == made.day
    for name, frame in made.tables.items():
        assert len(again.tables[name]) == len(frame)
    values = again.tables["results"]["value"]
    assert all(math.isfinite(v) for v in values)


def _rewrite(path: Path, **cells: Any) -> None:
    content = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps({**content, **cells}), encoding="utf-8")


@pytest.mark.parametrize("name", ["day.json", "athletes/A01.json"])
def test_a_newer_version_is_refused_in_a_sentence(tmp_path: Path, tidy: Path, name: str) -> None:
    bundle.write(tmp_path / "data", computing.check(tidy, None))
    path = tmp_path / "data" / name
    _rewrite(path, schema_version=tables.SCHEMA_VERSION + 1)
    reader = bundle.read_day if name == bundle.DAY else bundle.read_athlete
    with pytest.raises(
        CannotStartError, match=rf"^{path.name} was written by a newer version .*\.$"
    ):
        reader(path.parent if name == bundle.DAY else path)


def test_a_slice_that_is_not_there_is_refused_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(CannotStartError, match=r"^There is no A01\.json to read: build the day"):
        bundle.read_athlete(tmp_path / "A01.json")


@pytest.mark.parametrize("text", ["", "{", "[]", "{}"])
def test_a_slice_that_is_damaged_is_refused_in_a_sentence(tmp_path: Path, text: str) -> None:
    (tmp_path / "A01.json").write_text(text, encoding="utf-8")
    with pytest.raises(CannotStartError, match=r"A01\.json"):
        bundle.read_athlete(tmp_path / "A01.json")
