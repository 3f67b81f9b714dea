"""Refreshes ``reports/sample/``: the README's picture, one athlete's report, the coaches' report.

Run it from the root of a checkout: ``python -m tests.demo.sample``.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import nbformat
import typst

from pipeline import build, reading
from pipeline.battery import TEMPLATES
from pipeline.publish import fonts, html, pdf
from tests import troubles

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "reports" / "sample"
ATHLETE = "S01"
PIXELS_PER_INCH = 88


def taken(day: Path, folder: Path) -> dict[str, bytes]:
    """The sample's files by name.

    Args:
        day: a build of the demo's latest day.
        folder: where the day full of troubles may be written, and its check report.
    """
    return {
        "troubles.html": _troubles(folder),
        "athlete.html": (day / "athletes" / f"{ATHLETE}.html").read_bytes(),
        "athlete.pdf": (day / "athletes" / f"{ATHLETE}.pdf").read_bytes(),
        "squad.html": (day / "squad.html").read_bytes(),
        "squad.pdf": (day / "squad.pdf").read_bytes(),
        "athlete.png": _picture(day),
    }


def _troubles(folder: Path) -> bytes:
    """The check report of a day with everything wrong that goes wrong."""
    season = troubles.write(folder / "season")
    build.write_check(season, None, folder / "check")
    return (folder / "check" / "testing_day.html").read_bytes()


def _picture(day: Path) -> bytes:
    """The first page of the athlete's report, drawn by Typst from the same data as the PDF."""
    notebook = nbformat.read(day / "notebooks" / f"{ATHLETE}.ipynb", as_version=4)
    sources = pdf.sources(
        html.to_blocks(notebook, TEMPLATES / "html"),
        title=html.title_of(notebook),
        date=reading.read(ROOT / "inputs_demo", None).day.date,
        templates=TEMPLATES / "typst",
    )
    pages = typst.compile(
        sources,
        format="png",
        ppi=PIXELS_PER_INCH,
        font_paths=[str(fonts.FOLDER)],
        ignore_system_fonts=True,
    )
    return bytes(pages[0])


def main() -> None:
    """Write the sample."""
    with tempfile.TemporaryDirectory() as folder:
        request = build.Request(ROOT / "inputs_demo", Path(folder), workers=os.cpu_count() or 1)
        (built,) = build.build(request, lambda *_: None)
        SAMPLE.mkdir(parents=True, exist_ok=True)
        for name, data in taken(built.folder, Path(folder) / "troubles").items():
            (SAMPLE / name).write_bytes(data)


if __name__ == "__main__":
    main()
