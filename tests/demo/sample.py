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

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "reports" / "sample"
ATHLETE = "S01"
PIXELS_PER_INCH = 88


def taken(day: Path) -> dict[str, bytes]:
    """The sample's files by name, from a build of the demo's latest day."""
    return {
        "athlete.html": (day / "athletes" / f"{ATHLETE}.html").read_bytes(),
        "athlete.pdf": (day / "athletes" / f"{ATHLETE}.pdf").read_bytes(),
        "squad.html": (day / "squad.html").read_bytes(),
        "squad.pdf": (day / "squad.pdf").read_bytes(),
        "athlete.png": _picture(day),
    }


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
        for name, data in taken(built.folder).items():
            (SAMPLE / name).write_bytes(data)


if __name__ == "__main__":
    main()
