"""Nothing is read from outside the season folder, and nothing is written among the inputs."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline import build, computing, reading
from pipeline.cli import main
from pipeline.errors import CannotStartError
from tests import seasons
from tests.intake import small
from tests.seasons import DAY, DAY_FOLDER

OTHERS = "athlete_id,name\nA01,Nobody's Secret\n"


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def _linked(path: Path, target: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    path.unlink(missing_ok=True)
    path.symlink_to(target)


TRACES = "file,athlete_id,test,attempt,rate_hz,column,unit\n" + "".join(
    f"{name},A01,countermovement jump,{n},1000,,N\n"
    for n, name in enumerate(
        ("../../x.csv", "/etc/hosts.csv", "..\\x.csv", "link.csv", ".", "C:x.csv", "a/../b.csv"), 1
    )
)


def test_links_and_names_that_lead_out_are_findings_and_nothing_is_read(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    other = seasons.write(outside / "season", {f"{DAY_FOLDER}/day.toml": DAY.replace("-15", "-16")})
    (outside / "x.csv").write_text("1\n2\n3\n")
    season = small.season(
        tmp_path, {"sprints.csv": seasons.SPRINTS, "force/traces.csv": TRACES}, {"plan.csv": "a\n"}
    )
    day = season / DAY_FOLDER
    _linked(day / "body.csv", other / DAY_FOLDER / "body.csv")
    _linked(day / "status.csv", outside / "x.csv")
    _linked(day / "Force plates", outside)
    _linked(day / "force" / "link.csv", outside / "x.csv")
    _linked(season / "plan.csv", outside / "x.csv")
    _linked(season / "2026-09-16", other / DAY_FOLDER)
    intake = reading.read(season, None)
    assert intake.day.key == "2026-09-15"
    found = {(f.place.file, f.code) for f in intake.findings}
    assert found >= {
        ("2026-09-16/day.toml", "link-not-read"),
        (f"{DAY_FOLDER}/Force plates", "link-not-read"),
        (f"{DAY_FOLDER}/body.csv", "file-unreadable"),
        (f"{DAY_FOLDER}/status.csv", "file-unreadable"),
        ("plan.csv", "file-unreadable"),
    }
    refused = [f.place.row for f in intake.findings if f.code == "trace-file"]
    assert refused == [2, 3, 4, 5, 6, 7, 8]
    assert small.adds_up(intake)
    assert not intake.trials.traces
    (built,) = build.build(build.Request(season, tmp_path / "o", formats=()), lambda *_: None)
    inputs = json.loads((built.folder / "manifest.json").read_text())["inputs"]
    assert {Path(name).name for name in inputs} == {
        "roster.csv", "battery.toml", "day.toml", "sprints.csv", "traces.csv",
    }  # fmt: skip


def test_a_linked_folder_force_is_not_read(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "traces.csv").write_text(TRACES)
    season = small.season(tmp_path, {"sprints.csv": seasons.SPRINTS})
    _linked(season / DAY_FOLDER / "force", outside)
    intake = reading.read(season, None)
    assert ("link-not-read", None, "") in small.found(intake)
    assert "trace-file" not in small.codes(intake)


@pytest.mark.parametrize(
    ("name", "sentence"), [("roster.csv", "roster.csv could not be read"),
                           ("battery.toml", "battery.toml is a link"),
                           (DAY_FOLDER, "No testing day")],
)  # fmt: skip
def test_a_needed_file_that_is_a_link_cannot_start(
    tmp_path: Path, name: str, sentence: str
) -> None:
    season = seasons.write(tmp_path / "season", {})
    target = seasons.write(tmp_path / "other", {"battery.toml": "", "roster.csv": OTHERS}) / name
    _linked(season / name, target)
    done = _run("check", season)
    assert done.exit_code == 2
    assert sentence in done.output
    assert "Secret" not in done.output


def test_outputs_never_lie_among_the_inputs(tidy: Path, tmp_path: Path) -> None:
    before = sorted(tidy.rglob("*"))
    link = tmp_path / "link"
    link.symlink_to(tidy / DAY_FOLDER)
    for out in (tidy, tidy / DAY_FOLDER, tidy / DAY_FOLDER / "deep", tidy / "x" / "..", link):
        done = _run("build", tidy, "--out", out)
        assert done.exit_code == 2, out
        assert "holds raw files" in done.output
    with pytest.raises(CannotStartError, match="holds raw files"):
        build.write_check(tidy, None, link)
    assert sorted(tidy.rglob("*")) == before


@pytest.mark.parametrize("name", ["../x", "/etc", "2026-09-15/..", "", "2026-09-autumn"])
def test_a_day_is_a_date_and_never_a_path(tidy: Path, tmp_path: Path, name: str) -> None:
    done = _run("build", tidy, "--day", name, "--out", tmp_path / "o", "--formats", "none")
    assert done.exit_code == 2
    assert "no testing day" in done.output
    assert not list((tmp_path / "o").glob("*"))


def test_only_takes_ids_and_never_a_path(tidy: Path) -> None:
    intake = reading.read(tidy, None)
    made = computing.compute(intake)
    for key in ("../A01", "A01/../A02", "/A01", "a01", "A01.html"):
        request = build.Request(tidy, tidy.parent / "o", only=(key,))
        with pytest.raises(CannotStartError, match="No results on 2026-09-15"):
            build._jobs(request, intake.day, tidy.parent, made, {})  # noqa: SLF001  # ids → paths


def test_a_folder_that_holds_anything_but_reports_is_never_replaced(
    tidy: Path, tmp_path: Path
) -> None:
    mine = tmp_path / "out" / "2026-09-15"
    mine.mkdir(parents=True)
    (mine / "my notes.docx").write_text("a year's work")
    done = _run("build", tidy, "--out", tmp_path / "out", "--formats", "none")
    assert done.exit_code == 2
    assert "is no folder of reports, so it was not replaced" in done.output
    assert [p.name for p in mine.iterdir()] == ["my notes.docx"]
    (mine / "my notes.docx").rename(tmp_path / "kept.docx")
    assert _run("build", tidy, "--out", tmp_path / "out", "--formats", "none").exit_code == 0
