"""The command: exit codes, sentences, no traceback, inputs untouched."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.catalogue import CATALOGUE, listed
from pipeline.cli import main
from tests import seasons
from tests.seasons import DAY_FOLDER, SPRINTS

DAY = "2026-09-15"


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def _hashes(folder: Path) -> dict[str, str]:
    return {
        str(p): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def test_tables_only_exits_0_and_writes_the_tables(tidy: Path, tmp_path: Path) -> None:
    done = _run("build", tidy, "--out", tmp_path / "out", "--formats", "none")
    assert done.exit_code == 0, done.output
    data = tmp_path / "out" / DAY / "data"
    assert sorted(p.name for p in data.glob("*.csv")) == [
        "account.csv", "changes.csv", "emphasis.csv", "findings.csv", "phases.csv", "plan.csv",
        "reliability.csv", "results.csv", "targets.csv", "trials.csv",
    ]  # fmt: skip
    assert "Rows read 13 = used 13 + flagged and used 0 + set aside 0." in done.output


def test_a_row_set_aside_exits_1_and_the_rest_is_there(tmp_path: Path) -> None:
    bad = SPRINTS + "track,A02,60 m,2,0.1,1.87,1.39,6.94\n"
    season = seasons.write(tmp_path / "season", {f"{DAY_FOLDER}/sprints.csv": bad})
    done = _run("build", season, "--out", tmp_path / "out", "--formats", "none")
    assert done.exit_code == 1
    assert "used 13 + flagged and used 0 + set aside 1" in done.output
    results = (tmp_path / "out" / DAY / "data" / "results.csv").read_text()
    assert "A02,60 m,,time,6.9," in results


def test_what_an_earlier_day_set_aside_does_not_fail_this_one(tmp_path: Path) -> None:
    earlier = {
        "2026-05-spring/day.toml": seasons.DAY.replace("2026-09", "2026-05"),
        "2026-05-spring/sprints.csv": SPRINTS + "track,NOBODY,60 m,1,0,2,4,7\n",
    }
    season = seasons.write(tmp_path / "season", earlier)
    assert _run("build", season, "--out", tmp_path / "o", "--formats", "none").exit_code == 0
    old = _run("build", season, "--out", tmp_path / "o", "--formats", "none", "--day", "2026-05-15")
    assert old.exit_code == 1
    both = _run("build", season, "--out", tmp_path / "o", "--formats", "none", "--day", "all")
    assert both.exit_code == 1


@pytest.mark.parametrize(
    ("files", "sentence"),
    [
        ({"roster.csv": None}, "has no roster.csv"),
        ({f"{DAY_FOLDER}/day.toml": None}, "No testing day"),
        ({f"{DAY_FOLDER}/day.toml": "date = "}, "day.toml cannot be read"),
        ({f"{DAY_FOLDER}/day.toml": 'term = "x"'}, "needs a line like: date ="),
        ({"other/day.toml": seasons.DAY}, "Two folders hold the testing day 2026-09-15"),
        ({"battery.toml": "season = 'x"}, "battery.toml cannot be read"),
    ],
)
@pytest.mark.parametrize("command", ["build", "check"])
def test_what_cannot_start_is_one_sentence_and_exit_2(
    tmp_path: Path, files: dict[str, str | bytes | None], sentence: str, command: str
) -> None:
    season = seasons.write(tmp_path / "season", files)
    out = ["--out", tmp_path / "out"] if command == "build" else []
    done = _run(command, season, *out)
    assert done.exit_code == 2
    assert sentence in done.output
    assert "Traceback" not in done.output
    assert len(done.output.strip().splitlines()) == 1
    assert not list((tmp_path / "out").glob("2*"))


def test_a_folder_that_is_not_there_and_a_day_that_is_not_there(tidy: Path, tmp_path: Path) -> None:
    assert _run("build", tmp_path / "nowhere").exit_code == 2
    missing = _run("check", tidy, "--day", "2020-01-01")
    assert missing.exit_code == 2
    assert "no testing day 2020-01-01; it has 2026-09-15" in missing.output


def test_check_shows_the_grid_first_and_writes_nothing(tidy: Path) -> None:
    before = _hashes(tidy)
    done = _run("check", tidy)
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert [line.split() for line in lines[:3]] == [
        ["counterm"], ["ovement", "back"], ["60", "m", "jump", "squat"],
    ]  # fmt: skip
    assert lines[3].split() == ["Ada", "Quillon", "(A01)", "+", "2/3", "."]
    assert "warning: roster.csv [A03]: On the roster, but with no result" in done.output
    assert _hashes(tidy) == before


@pytest.mark.slow
def test_check_with_out_writes_its_three_files(tidy: Path, tmp_path: Path) -> None:
    out = tmp_path / "check"
    assert _run("check", tidy, "--out", out).exit_code == 0
    assert sorted(p.name for p in out.iterdir()) == [
        "account.csv", "findings.csv", "testing_day.html",
    ]  # fmt: skip


@pytest.mark.slow
def test_a_build_never_changes_an_input(tidy: Path, tmp_path: Path) -> None:
    before = _hashes(tidy)
    assert _run("build", tidy, "--out", tmp_path / "out").exit_code == 0
    assert _hashes(tidy) == before


def test_measures_lists_every_measure_with_formula_and_source() -> None:
    done = _run("measures")
    assert done.exit_code == 0
    assert "jump_height (cm): jump height; better: higher" in done.output
    assert "typical error for countermovement jump: 4 %, grade A" in done.output


def test_findings_lists_every_code_with_its_severity_and_the_mend() -> None:
    done = _run("findings")
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert len(lines) == 2 * len(CATALOGUE)
    assert {line.split(" (")[0] for line in lines[::2]} == set(CATALOGUE)
    assert lines[1::2] == [f"  {kind.fix}" for _, kind in listed()]
    assert "{" not in done.output


def test_an_unknown_format_is_refused(tidy: Path) -> None:
    done = _run("build", tidy, "--formats", "docx")
    assert done.exit_code == 2
    assert "choose from html, pdf, ipynb, or none" in done.output


def test_verify_of_no_report_folder_is_a_sentence(tidy: Path, tmp_path: Path) -> None:
    done = _run("verify", tmp_path, tidy)
    assert done.exit_code == 2
    assert "holds no manifest.json" in done.output


def test_only_of_an_athlete_without_results_is_a_sentence(tidy: Path, tmp_path: Path) -> None:
    done = _run("build", tidy, "--out", tmp_path / "out", "--only", "A03", "--formats", "html")
    assert done.exit_code == 2
    assert "No results on 2026-09-15 for A03" in done.output
    assert not list((tmp_path / "out").glob("2*"))
