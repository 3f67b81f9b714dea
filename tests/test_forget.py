"""Forgetting one athlete: every row found, nothing else touched, no trace in what is built next."""

from __future__ import annotations

import csv
import hashlib
import io
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from pipeline import forget
from pipeline.cli import main
from tests import seasons
from tests.intake.small import book
from tests.seasons import DAY_FOLDER

ROSTER = (
    "\ufeffathlete_id;name;sex;birth_date;groups\r\n"
    "A01;Ada Quillon;F;2010-03-18;sprint\r\n"
    'A02;"Ostrander-Vale; Bram";M;2004-11-02;sprint\r\n'
    "A03;Cleo Marchetti-Ruud;F;2008-07-25;sprint\r\n"
)
JUMPS = (
    "session\tathlete_id\ttest\tattempt\tarms\tflight_time_s\n"
    "gym\tA01\tcountermovement jump\t1\thips\t0.511\n"
    "gym\tA03\tcountermovement jump\t1\thips\t0,519\n"
)
STATUS = (
    "athlete_id,test,status,reason\n"
    'A03,back squat,limited,"exam,\nlate"\n'
    'A01,back squat,not done,"ill,\n""very"" ill"\n'
    "A02,back squat,limited,saw to Ada\n"
)
TRACES = (
    "file,athlete_id,test,attempt,rate_hz,column,unit\n"
    "own.csv,A01,countermovement jump,1,1000,,N\n"
    "both.csv,A01,countermovement jump,2,1000,,N\n"
    "both.csv,A02,countermovement jump,1,1000,,N\n"
)
CORRECTIONS = (
    "file,row,column,action,value,reason,by\n"
    f"{DAY_FOLDER}/sprints.csv,2,t10_s,replace,2.05,typing error,coach\n"
    f"{DAY_FOLDER}/sprints.csv,4,t10_s,replace,1.88,typing error,coach\n"
)
LIFTS = book(
    {
        "rack": [
            ["athlete_id", "lift", "load_kg", "reps", "result"],
            ["A02", "back squat", 140, 1, "good"],
            ["A01", "back squat", 60, 1, "good"],
            ["A02", "back squat", 150, 1, "failed"],
        ]
    }
)


def _season(folder: Path) -> Path:
    files: dict[str, str | bytes | None] = {
        "roster.csv": ROSTER,
        "corrections.csv": CORRECTIONS,
        "targets.csv": "athlete_id,test,measure,target\nA01,60 m,time,7.5\nA02,60 m,time,6.8\n",
        f"{DAY_FOLDER}/jumps.csv": None,
        f"{DAY_FOLDER}/jumps.tsv": JUMPS.encode("utf-16"),
        f"{DAY_FOLDER}/lifts.csv": None,
        f"{DAY_FOLDER}/lifts.xlsx": LIFTS,
        f"{DAY_FOLDER}/status.csv": STATUS,
        f"{DAY_FOLDER}/force/traces.csv": TRACES,
        f"{DAY_FOLDER}/force/own.csv": "1\n2\n",
        f"{DAY_FOLDER}/force/both.csv": "1\n2\n",
        f"{DAY_FOLDER}/consent Quillon.pdf": b"%PDF-",
        f"{DAY_FOLDER}/other.csv": b"athlete_id,test,attempt,value\nA03,\xe9t\xe9,1,2\nA01,x,1,2\n",
    }
    return seasons.write(folder / "season", files)


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def _hashes(folder: Path) -> dict[str, str]:
    return {
        p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


@pytest.fixture(name="season")
def _season_fixture(tmp_path: Path) -> Path:
    return _season(tmp_path)


def test_without_yes_everything_is_listed_and_nothing_written(season: Path) -> None:
    before = _hashes(season.parent)
    done = _run("forget", season, "a01", "--reports", season.parent / "none")
    assert done.exit_code == 0, done.output
    lines = done.output.splitlines()
    day = f"  {DAY_FOLDER}"
    assert lines[:-1] == [
        "A01 (Ada Quillon) stands in:",
        f"{day}/body.csv: row 2",
        f"{day}/force/traces.csv: rows 2, 3",
        f"{day}/jumps.tsv: row 2",
        f"{day}/lifts.xlsx rack: row 3",
        f"{day}/other.csv: row 3",
        f"{day}/sprints.csv: rows 2, 3",
        f"{day}/status.csv: row 3",
        "  corrections.csv: row 2",
        "  roster.csv: row 2",
        "  targets.csv: row 2",
        f"{day}/force/own.csv: the whole file",
        "Left for you to look at:",
        f"{day}/consent Quillon.pdf: its name tells them",
        f"{day}/status.csv: row 4 names them, and is not theirs",
    ]
    assert lines[-1].startswith("Nothing was written.")
    assert _hashes(season.parent) == before


def test_with_yes_their_rows_are_empty_and_every_other_byte_stays(
    season: Path, tmp_path: Path
) -> None:
    out, before = tmp_path / "out", _hashes(season)
    assert _run("build", season, "--out", out, "--formats", "none").exit_code == 1
    done = _run("forget", season, "Ada Quillon", "--reports", out, "--yes")
    assert done.exit_code == 1, done.output  # a pdf and a remark are left to look at
    assert "season.before-forgetting-A01" in done.output
    assert "build again" in done.output
    assert _hashes(tmp_path / "season.before-forgetting-A01") == before
    assert not (season / DAY_FOLDER / "force" / "own.csv").exists()
    assert (season / DAY_FOLDER / "force" / "both.csv").exists()
    for name, old, gone in (
        ("roster.csv", ROSTER.encode(), {2}),
        (f"{DAY_FOLDER}/status.csv", STATUS.encode(), {4, 5}),
        (f"{DAY_FOLDER}/sprints.csv", seasons.SPRINTS.encode(), {2, 3}),
        ("corrections.csv", CORRECTIONS.encode(), {2}),
    ):
        lines = old.splitlines(keepends=True)
        end = b"\r\n" if name == "roster.csv" else b"\n"
        kept = [end if n in gone else line for n, line in enumerate(lines, start=1)]
        if name.endswith("status.csv"):
            kept.pop(4)  # one row of two lines
        assert (season / name).read_bytes() == b"".join(kept), name
    jumps = (season / DAY_FOLDER / "jumps.tsv").read_bytes()
    rows = JUMPS.splitlines(keepends=True)
    assert jumps == (rows[0] + "\n" + rows[2]).encode("utf-16")
    assert b"\xe9t\xe9" in (season / DAY_FOLDER / "other.csv").read_bytes()
    sheet = openpyxl.load_workbook(season / DAY_FOLDER / "lifts.xlsx")["rack"]
    loads = [row[2] for row in sheet.iter_rows(values_only=True)]
    assert loads == ["load_kg", 140, None, 150]
    (season / DAY_FOLDER / "status.csv").write_text(
        STATUS.split("A01", maxsplit=1)[0] + "A02,back squat,limited,\n"
    )
    (season / DAY_FOLDER / "consent Quillon.pdf").unlink()
    _no_trace_in_the_next_build(season, out)


def _no_trace_in_the_next_build(season: Path, out: Path) -> None:
    (day,) = (p for p in out.iterdir() if p.is_dir())
    assert [p.stem for p in (day / "data" / "athletes").iterdir()] == ["A02", "A03"]
    assert not list((day / "data").glob("*.*"))
    assert _run("build", season, "--out", out, "--formats", "none").exit_code == 1
    for path in sorted(day.rglob("*.*")):
        if path.suffix == ".xlsx":
            cells = (c for s in openpyxl.load_workbook(path) for r in s.values for c in r)
            told = " ".join(map(str, cells))
        else:
            told = path.read_text(encoding="utf-8")
        assert "A01" not in told, path.name
        assert "Quillon" not in told, path.name
    assert "1.87" in (day / "data" / "trials.csv").read_text()


@pytest.mark.parametrize(
    ("who", "sentence"),
    [("A99", "“A99” is not on the roster."), ("", "“” is not on the roster.")],
)
def test_an_unknown_athlete_is_a_sentence_and_exit_2(tidy: Path, who: str, sentence: str) -> None:
    done = _run("forget", tidy, who, "--yes")
    assert done.exit_code == 2
    assert done.output == f"Cannot start: {sentence}\n"


def test_a_name_of_two_is_never_chosen_between(tmp_path: Path) -> None:
    roster = "athlete_id,name\nA01,Ada Quillon\nA02,ada quillon\n"
    season = seasons.write(tmp_path / "season", {"roster.csv": roster})
    done = _run("forget", season, "Ada Quillon", "--yes")
    assert done.exit_code == 2
    assert "more than one athlete; give the id" in done.output


def test_an_old_workbook_that_holds_them_must_be_saved_anew_first(tidy: Path) -> None:
    (tidy / "notes.ods").write_bytes(book({"s": [["athlete_id"], ["A01"]]}))  # read by content
    before = _hashes(tidy)
    done = _run("forget", tidy, "A01", "--yes")
    assert done.exit_code == 2
    assert "notes.ods holds them" in done.output
    assert "save it as XLSX" in done.output
    assert _hashes(tidy) == before


def test_a_copy_from_an_earlier_time_is_not_written_over(season: Path) -> None:
    (season.parent / "season.before-forgetting-A01").mkdir()
    before = _hashes(season)
    done = _run("forget", season, "A01", "--yes", "--reports", season.parent / "none")
    assert done.exit_code == 2
    assert "is there already" in done.output
    assert _hashes(season) == before


def test_a_failure_on_the_way_leaves_the_season_as_it_was(
    season: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = _hashes(season.parent)
    monkeypatch.setattr(forget, "_empty", full)
    done = _run("forget", season, "A01", "--yes", "--reports", season.parent / "none")
    assert done.exit_code == 2
    assert "No space left on device" in done.output
    assert _hashes(season.parent) == before


def test_a_quote_left_open_is_never_guessed_at(season: Path) -> None:
    """Where it ends decides which rows are whose."""
    broken = STATUS.replace('""very"" ill"', "very ill").encode()
    (season / DAY_FOLDER / "status.csv").write_bytes(broken)
    before = _hashes(season.parent)
    done = _run("forget", season, "A01", "--yes", "--reports", season.parent / "none")
    assert done.exit_code == 2
    assert "The rows of status.csv cannot be told apart" in done.output
    assert _hashes(season.parent) == before


@given(st.text(st.sampled_from('a",\r\n é'), max_size=30))
def test_rows_are_parted_as_csv_says(text: str) -> None:
    """Source: Python's csv module, by which a build counts its rows."""
    _, rows = forget._records(text, ",")  # noqa: SLF001  # the rule itself
    assert "".join(rows) == text
    even = text.replace("\r\n", "\n").replace("\r", "\n")
    assert len(rows) == len(list(csv.reader(io.StringIO(even, newline=""))))
