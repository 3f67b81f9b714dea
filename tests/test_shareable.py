"""Reports for handing on: no name and no birth date in any output, whoever wrote it where."""

from __future__ import annotations

import datetime as dt
import io
import json
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from pipeline import build, reading, shareable
from pipeline.cli import main
from pipeline.hiding import HIDDEN, Names, folded, initials
from tests import seasons
from tests.seasons import DAY_FOLDER

BORN = dt.date(2010, 3, 18)
NAMES = Names([("Ada Quillon", BORN), ("Bo Łęcki-Søndergård", None), ("王芳", None)])


@pytest.mark.parametrize(
    "text",
    [
        "Ada was ill", "ADA", "quillon", "Quillon, Ada", "AdaQuillon1.csv", "quillonada.txt",
        "ada_quillon.xlsx", "Ada Qillon", "Quilllon ill", "A\u200bda", "A\u202eda", "Quíllón",
        "Bo was late", "Lecki", "Łęcki", "Sondergard", "s\u00f8nderg\u00e5rd", "Søndergad",
        "\u0053øndergårds trace", "见王芳生病", "born 2010-03-18", "18.03.2010", "3/18/2010",
        "18 March 2010", "20100318", "18.03.10",
    ],
)  # fmt: skip
def test_a_name_or_a_birth_date_is_found_however_it_is_written(text: str) -> None:
    assert NAMES.inside(text)
    assert NAMES.note(text) == HIDDEN
    assert not NAMES.inside(NAMES.without(text))


@pytest.mark.parametrize(
    "text",
    ["exam", "hamstring, left", "at school", "bo", "standing long jump", "2010-03-19", "7.70",
     "adagio", "", "force/trace_01.csv", "quit early", "12010-03-181"],
)  # fmt: skip
def test_other_words_stay(text: str) -> None:
    assert not NAMES.inside(text)
    assert NAMES.without(text) == NAMES.note(text) == text


def test_only_the_name_goes_where_the_rest_must_stay() -> None:
    assert NAMES.without("force/Ada_Quillon_2.csv") == "force/…_2.csv"
    assert NAMES.without("with Ada and Bo") == "with … and …"


def test_a_kept_word_is_no_name_alone_but_a_whole_name_is_always_found() -> None:
    names = Names([("Jump Long", None)], frozenset({"jump", "long"}))
    assert not names.inside("standing long jump")
    assert names.inside("jumplong.csv")


@pytest.mark.parametrize(
    ("name", "short"),
    [("Ada Quillon", "A. Q."), ("Bram Ostrander-Vale", "B. O."), ("Дарья", "Д."), ("王芳", ""),
     ("ليلى الحداد", ""), ("Ada 2", "")],
)  # fmt: skip
def test_initials_tell_no_whole_name(name: str, short: str) -> None:
    assert initials(name) == short


def test_folding_evens_out_case_accents_and_unseen_marks() -> None:
    assert folded("Łucja\u200b ŐRY ß") == "lucja ory ss"


ROSTER = """\
athlete_id,name,sex,birth_date,groups,event,joined,left,share
A01,Ajka Quillon,F,2010-03-18,Quillon's four;sprint,100/200 m,,,full
A02,Bram Ostrander-Voss,M,2004-11-02,sprint,100/200 m,,,full
A03,Azib Quist,F,18.03.2010,sprint,100/200 m,,,full
A04,Odo Krenn,M,2004-01-30,sprint,100/200 m,,,none
A05,Ivko Tamm,M,2005-06-07?,sprint,100/200 m,,,initials
"""
SPRINTS = seasons.SPRINTS + (
    "track,Bram Ostrander Voss,60 m,2,0.1,1.87,3.95,6.90\n"
    "track,Ajkka Quilon,60 m,3,0.1,1.87,3.95,6.90\n"
    "track,A03,60 m,1,0.1,2.07,4.35,Azib fell\n"
    "track,A03,60 m,2,0.1,2.07,4.35,7.80\n"
    "track,A04,60 m,1,0.1,1.97,4.05,7.20\n"
    "track,A05,60 m,1,0.1,1.97,4.05,7.20\n"
    "track,A01,Ajka's sprint,1,0.1,1.97,4.05,7.20\n"
)
STATUS = """\
athlete_id,test,status,reason
A01,back squat,not done,exam
A02,,limited,helped Ajka with her bag
A05,,limited,Ivko was tired
A03,back squat,not done,born 18/03/2010
"""
JUMPS = """\
session,athlete_id,test,attempt,arms,flight_time_s,Ivko Tam
gym,A01,countermovement jump,1,hips,0.511,x
gym,A01,countermovement jump,2,hips,0.519,
gym,A05,countermovement jump,1,hips,0.519,
"""
SECRET = ("ajk", "quil", "bram", "ostrander", "voss", "azib", "quist", "odo k", "krenn",
          "ivk", "tamm", "2010-03-18", "18.03.2010", "18/03/2010", "2004-11-02", "2004-01-30",
          "2005-06-07")  # fmt: skip
"""What nobody may read in a report for handing on."""


def _season(folder: Path) -> Path:
    day = seasons.DAY.replace('term = "autumn 2026"', 'term = "autumn 2026, Ajka\'s last"')
    day = day.replace("indoor = false", 'venue = "Tamm Arena"\nindoor = false', 1)
    files: dict[str, str | bytes | None] = {
        "roster.csv": ROSTER,
        "Bram Ostrander notes.txt": "nothing",
        "plan.csv": "athlete_id,from,sprint_phase,emphasis,note\nA01,2026-05-02,start,,ask Krenn\n",
        f"{DAY_FOLDER}/day.toml": day,
        f"{DAY_FOLDER}/sprints.csv": SPRINTS,
        f"{DAY_FOLDER}/status.csv": STATUS,
        f"{DAY_FOLDER}/jumps.csv": JUMPS,
        f"{DAY_FOLDER}/quist.csv": "a\n1\n",
    }
    return seasons.write(folder / "season of Ajka Quillon", files)


def _everything(folder: Path) -> dict[str, str]:
    """All that a folder tells: names of files, texts, the inside of workbooks and of PDFs."""
    told = {"names": "\n".join(p.relative_to(folder).as_posix() for p in folder.rglob("*"))}
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        data = path.read_bytes()
        if path.suffix == ".pdf":
            reader = PdfReader(io.BytesIO(data))
            xmp = reader.xmp_metadata
            told[path.name] = "\n".join(
                [
                    *(page.extract_text() for page in reader.pages),
                    str(reader.metadata),
                    xmp.stream.get_data().decode() if xmp else "",
                ]
            )
        elif path.suffix == ".xlsx":
            with zipfile.ZipFile(io.BytesIO(data)) as book:
                told[path.name] = "\n".join(book.read(n).decode() for n in book.namelist())
        else:
            told[path.name] = data.decode()
    return told


def _told(text: str) -> list[str]:
    return [word for word in SECRET if word in text.casefold()]


@pytest.fixture(scope="module", name="season")
def _season_fixture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return _season(tmp_path_factory.mktemp("shared"))


@pytest.fixture(scope="module", name="day")
def _day(season: Path) -> Path:
    request = build.Request(season, season.parent / "out", names=shareable.INITIALS)
    (built,) = build.build(request, lambda *_: None)
    assert built.failed == ()
    return built.folder


@pytest.mark.slow
def test_no_output_holds_a_name_or_a_birth_date(day: Path, season: Path) -> None:
    assert day.name == "2026-09-15-initials"
    assert sorted(p.stem for p in (day / "athletes").glob("*.pdf")) == ["A01", "A02", "A03", "A05"]
    everything = _everything(day)
    assert len(everything) > 20
    assert {name: found for name, text in everything.items() if (found := _told(text))} == {}
    where = (str(season.parent), season.name, "pytest-of")
    assert [n for n, text in everything.items() if any(w in text for w in where)] == []


@pytest.mark.slow
def test_two_of_the_same_initials_are_told_apart_and_none_is_an_id(day: Path) -> None:
    facts = json.loads((day / "data" / "day.json").read_text())
    assert {p["id"]: p["name"] for p in facts["roster"]} == {
        "A01": "A. Q. (A01)",
        "A02": "B. O.",
        "A03": "A. Q. (A03)",
        "A04": "A04",
        "A05": "I. T.",
    }


@pytest.mark.slow
def test_remarks_without_a_name_and_the_places_of_findings_stay(day: Path) -> None:
    page = (day / "athletes" / "A01.html").read_text()
    assert "exam" in page
    found = (day / "data" / "findings.csv").read_text()
    assert "“…” is not on the roster" in found
    assert f"{DAY_FOLDER}/sprints.csv,,5,athlete_id" in found
    assert "“…” is no date like" in found


@pytest.mark.slow
def test_the_manifest_says_how_people_are_named_but_not_where(day: Path) -> None:
    manifest = json.loads((day / "manifest.json").read_text())
    assert manifest["parameters"]["names"] == "initials"
    assert "season" not in manifest["environment"]
    assert "… notes.txt" in manifest["inputs"]


def test_verify_rebuilds_with_the_same_choice(season: Path, tmp_path: Path) -> None:
    """The staff's build beside it stays as it is."""
    request = build.Request(season, tmp_path, formats=(), names=shareable.IDS)
    (built,) = build.build(request, lambda *_: None)
    assert built.folder.name == "2026-09-15-ids"
    assert build.verify(built.folder, season, 1, lambda *_: None) == []


def test_ids_stand_in_place_of_names(season: Path) -> None:
    made = shareable.compute(season, "2026-09-15", shareable.IDS)
    assert {p["name"] for p in made.day["roster"]} == {"A01", "A02", "A03", "A04", "A05"}
    assert _told(json.dumps(made.day, ensure_ascii=False)) == []


def test_an_own_page_of_initials_and_remarks_on_others(season: Path) -> None:
    """In a build for staff: a page holds no other's name, and its own only where shared."""
    made = shareable.compute(season, "2026-09-15", shareable.FULL)
    pages = made.day["athletes"]
    assert pages["A02"]["status"][0]["reason"] == HIDDEN
    assert pages["A05"]["status"][0]["reason"] == HIDDEN
    assert pages["A05"]["name"] == "I. T."
    staff = {p["id"]: p for p in made.day["roster"]}
    assert staff["A02"]["status"][0]["reason"] == "helped Ajka with her bag"
    assert "A04" not in pages
    told = made.unnamed["A05"]
    assert set(made.unnamed) == {"A05"}
    assert told.without("force/Ivko_Tamm.csv") == "force/….csv"
    assert reading.read(season, None).roster.athletes["A05"].name == "Ivko Tamm"


@pytest.mark.parametrize("key", ["Quillon-1", "BoQuill", "b-20040501", "ajka"])
def test_an_id_that_tells_a_name_cannot_stand_for_one(tmp_path: Path, key: str) -> None:
    roster = (
        "athlete_id,name,sex,birth_date\n"
        f"{key},Ajka Quillon,F,2004-05-01\nB1,Bo Quill,F,2004-05-02\n"
    )
    season = seasons.write(tmp_path / "season", {"roster.csv": roster})
    done = CliRunner().invoke(main, ["build", str(season), "--ids", "--out", str(tmp_path / "o")])
    assert done.exit_code == 2
    assert "cannot stand in place of one" in done.output
    assert not (tmp_path / "o" / "2026-09-15-ids").exists()


def test_initials_and_ids_together_are_refused(tidy: Path) -> None:
    done = CliRunner().invoke(main, ["build", str(tidy), "--ids", "--initials"])
    assert done.exit_code == 2
    assert "choose one of --initials and --ids" in done.output
