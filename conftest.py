"""Before any test: the demo's tables, which the shipped notebooks read by default."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).parent


@pytest.hookimpl(tryfirst=True)
def pytest_sessionstart(session: pytest.Session) -> None:
    """Build the demo's tables once, in the process that starts the others.

    A day that is there and whole is kept unless its inputs have changed.
    """
    if hasattr(session.config, "workerinput"):
        return
    from pipeline import build  # noqa: PLC0415  # heavy; a worker must not pay for it
    from pipeline.publish import manifest  # noqa: PLC0415

    season = ROOT / "inputs_demo"
    day = build.read(season, None).day.key
    folder = ROOT / "reports" / day
    if (folder / manifest.NAME).exists():
        was = manifest.read(folder)["inputs"]
        if all(
            (season / name).is_file() and manifest.digest(season / name) == digest
            for name, digest in was.items()
        ):
            return
    request = build.Request(season, ROOT / "reports", formats=())
    for _ in build.build(request, lambda *_: None):
        pass
