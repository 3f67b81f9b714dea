"""Before any test: the demo's tables, which the shipped notebooks read by default."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).parent
NOTEBOOKS = ROOT / "templates" / "notebooks"


@pytest.hookimpl(tryfirst=True)
def pytest_sessionstart(session: pytest.Session) -> None:
    """Build the demo's tables once, in the process that starts the others, if they are needed.

    A day that is there is kept unless the season, the code or the templates are newer.
    """
    asked = [(ROOT / arg.split("::")[0]).resolve() for arg in session.config.args]
    if hasattr(session.config, "workerinput") or not any(
        NOTEBOOKS.is_relative_to(path) or path.is_relative_to(NOTEBOOKS) for path in asked
    ):
        return
    from pipeline import build, reading  # noqa: PLC0415  # heavy; a worker must not pay for it
    from pipeline.publish import manifest  # noqa: PLC0415

    season = ROOT / "inputs_demo"
    day = reading.read(season, None).day.key
    folder = ROOT / "reports" / day
    formats: tuple[str, ...] = ()
    if (folder / manifest.NAME).exists():
        built = (folder / manifest.NAME).stat().st_mtime
        sources = [*ROOT.glob("pipeline/**/*.py"), *ROOT.glob("templates/**/*.*")]
        sources += [path for path in season.rglob("*") if path.is_file()]
        if all(path.stat().st_mtime <= built for path in sources):
            return
        formats = tuple(manifest.read(folder)["parameters"]["formats"])
    request = build.Request(season, ROOT / "reports", formats=formats, workers=2)
    for _ in build.build(request, lambda *_: None):
        pass
