"""A page fits a phone and a desk, as a browser lays it out."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow
PHONE = 390
WIDTHS = (PHONE, 1440)
LEAST_VERDICT_PX = 300
"""On a phone what is said of a row has a line of its own."""

MEASURE = """\
<!DOCTYPE html><title>frame</title>
<iframe id="page" src="{page}" style="border:0;width:{width}px;height:900px"></iframe>
<script>
addEventListener("load", () => {{
  const inner = document.getElementById("page").contentDocument;
  const words = inner.querySelector("h1").textContent;
  const all = (what) => [...inner.querySelectorAll(what)];
  const lines = (one) => new Set([...one.getClientRects()].map((box) => Math.round(box.top))).size;
  const parted = all(".bound").filter((one) => lines(one) > 1).length;
  const widths = all("td.verdict").map((one) => Math.round(one.getBoundingClientRect().width));
  document.body.textContent = "wide " + inner.documentElement.scrollWidth + " parted " + parted
    + " verdicts " + Math.min(9999, ...widths) + " says " + words;
}});
</script>
"""


@pytest.fixture(scope="module", name="chromium")
def _chromium(in_ci: bool) -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None and in_ci:
        pytest.fail("CI must have Chromium: .ci/run installs it")
    if found is None:
        pytest.skip("Chromium is not installed here; CI looks at the pages in it")
    return found


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(
    "page", ["athletes/S01.html", "squad.html", "testing_day.html", "index.html"]
)
def test_a_page_is_no_wider_than_the_screen(
    chromium: str, demo_day: Path, tmp_path: Path, page: str, width: int
) -> None:
    frame = tmp_path / "frame.html"
    frame.write_text(MEASURE.format(page=(demo_day / page).as_uri(), width=width))
    command = [
        chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        "--allow-file-access-from-files", f"--user-data-dir={tmp_path / 'profile'}",
        "--window-size=1600,1000", "--virtual-time-budget=5000", "--dump-dom", frame.as_uri(),
    ]  # fmt: skip
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, timeout=120, env=dict(os.environ)
    )
    body = done.stdout.split("<body>")[-1]
    assert "wide " in body, done.stdout[-500:]
    wide, parted, verdicts = (
        int(body.split(f"{what} ")[1].split(" ")[0]) for what in ("wide", "parted", "verdicts")
    )
    assert wide <= width
    assert parted == 0  # no number stands apart from its unit
    assert verdicts > LEAST_VERDICT_PX or width > PHONE
