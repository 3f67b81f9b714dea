"""The sample in the repository is what the pinned versions build from the demo."""

from __future__ import annotations

import importlib.metadata
import re
from pathlib import Path

import pytest

from tests.demo import sample

ROOT = Path(__file__).parents[2]
SCREENSHOT = "troubles.png"
"""A browser's picture of ``troubles.html``: its bytes are the browser's."""


def _unpinned() -> list[str]:
    """Packages whose installed version is not the one in constraints.txt."""
    pins = dict(
        re.findall(
            r"^([A-Za-z0-9_.-]+)==(\S+)$", (ROOT / "constraints.txt").read_text(), re.MULTILINE
        )
    )
    names = ("typst", "matplotlib", "seaborn", "nbconvert", "pandas", "numpy", "papermill")
    return [n for n in names if importlib.metadata.version(n) != pins[n]]


@pytest.mark.slow
def test_the_sample_is_what_the_demo_builds(demo_day: Path, tmp_path: Path, in_ci: bool) -> None:
    other = _unpinned()
    if other and not in_ci:
        pytest.skip(f"other versions than constraints.txt: {', '.join(other)}")
    assert other == []
    made = sample.taken(demo_day, tmp_path)
    kept = {p.name: p.read_bytes() for p in sample.SAMPLE.iterdir() if p.name != SCREENSHOT}
    assert sorted(made) == sorted(kept)
    stale = [name for name in made if made[name] != kept[name]]
    assert stale == [], "refresh it: python -m tests.demo.sample"
