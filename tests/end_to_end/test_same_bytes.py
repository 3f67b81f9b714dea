"""The same inputs give the same bytes, whatever differs around them. Outputs are unfiltered."""

from __future__ import annotations

import os
import shutil
from collections import Counter
from pathlib import Path

import pytest

from tests.end_to_end.builds import ROOT, digests, run

pytestmark = pytest.mark.slow
SEASON = ROOT / "inputs_demo"
ONLY = ("--only", "S01", "--only", "S02", "--only", "S03")


@pytest.fixture(scope="module", name="reference")
def _reference(demo_day: Path) -> dict[str, str]:
    return digests(demo_day)


def _moved(folder: Path) -> Path:
    """The season elsewhere, its files written in another order and dated otherwise."""
    season = folder / "deep" / "er" / "season éà"
    for path in sorted(SEASON.rglob("*"), reverse=True):
        if path.is_file():
            target = season / path.relative_to(SEASON)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)
            os.utime(target, (1_000_000_000, 1_000_000_000))
    return season


def test_the_reference_holds_every_kind_of_file(reference: dict[str, str]) -> None:
    kinds = Counter(Path(name).suffix for name in reference)
    assert set(kinds) == {".csv", ".html", ".ipynb", ".json", ".pdf", ".xlsx"}


def test_other_folder_place_zone_locale_seed_and_workers(
    reference: dict[str, str], tmp_path: Path
) -> None:
    season = _moved(tmp_path)
    elsewhere = tmp_path / "cwd"
    elsewhere.mkdir()
    env = {
        "TZ": "Pacific/Apia",
        "LC_ALL": "C",
        "LANG": "tr_TR.UTF-8",
        "PYTHONHASHSEED": "77",
        "COLUMNS": "40",
        "MPLBACKEND": "agg",
    }
    done = run("build", season, "--out", "out", "--workers", 1, cwd=elsewhere, env=env)
    assert done.returncode == 0, done.stderr
    (day,) = (p for p in (elsewhere / "out").iterdir() if p.is_dir())
    assert digests(day).pop("manifest.json") == reference["manifest.json"]
    assert digests(day) == reference


def test_a_stock_kernel_gives_the_same_pages(reference: dict[str, str], tmp_path: Path) -> None:
    done = run("build", SEASON, "--out", tmp_path, "--engine", "kernel", *ONLY)
    assert done.returncode == 0, done.stderr
    (day,) = (p for p in tmp_path.iterdir() if p.is_dir())
    made = digests(day)
    pages = {name for name in made if Path(name).suffix in {".html", ".pdf", ".ipynb"}}
    pages -= {"index.html"}  # it lists the pages of its own build
    assert len(pages) == 3 * len(ONLY) // 2 + 2
    assert {n: made[n] for n in pages} == {n: reference[n] for n in pages}


def test_verify_agrees_and_names_what_was_touched(tmp_path: Path) -> None:
    done = run("build", SEASON, "--out", tmp_path, "--only", "S01")
    assert done.returncode == 0, done.stderr
    (day,) = (p for p in tmp_path.iterdir() if p.is_dir())
    same = run("verify", day, SEASON)
    assert (same.returncode, same.stdout) == (0, "Every file is the same.\n")
    page = day / "athletes" / "S01.html"
    page.write_text(page.read_text().replace("S", "s", 1))
    other = run("verify", day, SEASON)
    assert other.returncode == 1
    assert "on disk, differs: athletes/S01.html" in other.stdout
