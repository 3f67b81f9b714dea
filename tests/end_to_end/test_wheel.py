"""An installed wheel builds reports in any folder: its templates travel inside it."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from tests import seasons
from tests.end_to_end.builds import ROOT

pytestmark = pytest.mark.slow


def _pip(python: str | Path, *arguments: str) -> None:
    done = subprocess.run(
        [str(python), "-m", "pip", "--quiet", "--disable-pip-version-check", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_reports_from_an_installed_wheel(tmp_path: Path) -> None:
    _pip(sys.executable, "wheel", "--no-deps", "--wheel-dir", str(tmp_path), str(ROOT))
    (wheel,) = tmp_path.glob("testing_reports-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    assert "pipeline/templates/notebooks/athlete.ipynb" in names
    assert not any(name.startswith(("tests/", "inputs_demo/")) for name in names)

    # The heavy libraries are borrowed from this environment; the package itself is the wheel's.
    place = tmp_path / "venv"
    venv.create(place, with_pip=True, symlinks=True)
    python = place / "bin" / "python"
    _pip(python, "install", "--no-deps", "--no-index", str(wheel))
    site = next((place / "lib").glob("python*/site-packages"))
    borrowed = [p for p in sys.path if p.endswith("site-packages")]
    (site / "borrowed.pth").write_text("\n".join(borrowed) + "\n")

    season = seasons.write(tmp_path / "season", {})
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    env = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    where = subprocess.run(
        [str(python), "-c", "import pipeline.battery as b; print(b.TEMPLATES)"],
        cwd=elsewhere, env=env, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert str(site) in where.stdout
    done = subprocess.run(
        [str(place / "bin" / "testing-reports"), "build", str(season), "--workers", "1"],
        cwd=elsewhere, env=env, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    made = elsewhere / "reports" / "2026-09-15"
    assert (made / "athletes" / "A01.pdf").read_bytes().startswith(b"%PDF")
    assert (made / "athletes" / "A01.html").exists()
