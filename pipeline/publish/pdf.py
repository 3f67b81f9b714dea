"""From blocks to a tagged PDF (PDF/UA-1), by Typst. Typst gets data, never markup."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import typst

from pipeline.errors import PageError
from pipeline.publish import fonts

STANDARD = "ua-1"
"""Refuses a page whose headings are out of order or whose pictures say nothing."""


def to_pdf(
    blocks: list[dict[str, Any]], *, title: str, date: dt.date, templates: Path, footer: str = ""
) -> bytes:
    """Set blocks as a PDF.

    Args:
        blocks: as ``html.to_blocks`` gives them.
        title: the document's title.
        date: the testing day; it stands as the document's date, so equal inputs give equal bytes.
        templates: the folder with ``report.typ``.
        footer: what stands at the foot of each page besides title and date.

    Raises:
        PageError: Typst refused the page.
    """
    made = sources(blocks, title=title, date=date, templates=templates, footer=footer)
    return typeset(made, date=date)


def sources(
    blocks: list[dict[str, Any]], *, title: str, date: dt.date, templates: Path, footer: str = ""
) -> dict[str, bytes]:
    """The files Typst reads for a report, in memory: the template, and the blocks as data."""
    data = {"title": title, "footer": footer, "blocks": blocks}
    return files("report.typ", data, date=date, templates=templates)


def files(
    template: str, data: dict[str, Any], *, date: dt.date, templates: Path
) -> dict[str, bytes]:
    """The files Typst reads for a template: itself, and its data with the date and the font."""
    whole = {**data, "date": date.isoformat(), "font": fonts.FAMILY}
    return {
        "main.typ": (templates / template).read_bytes(),
        "data.json": json.dumps(_drawable(whole), allow_nan=False).encode(),
    }


def typeset(sources: dict[str, bytes], *, date: dt.date) -> bytes:
    """Set files in memory as a PDF.

    Args:
        sources: as ``files`` gives them.
        date: the document's date.

    Raises:
        PageError: Typst refused the page.
    """
    midnight = dt.datetime.combine(date, dt.time(), tzinfo=dt.UTC)
    try:
        made = typst.compile(  # type: ignore[call-overload]  # its stub lacks files in memory
            sources,
            format="pdf",
            font_paths=[str(fonts.FOLDER)],
            ignore_system_fonts=True,
            pdf_standards=[STANDARD],
            timestamp=midnight,
        )
    except (typst.TypstError, ValueError) as error:
        raise PageError(f"the PDF could not be set: {error}") from error
    if not isinstance(made, bytes):
        raise PageError("the PDF could not be set: Typst gave nothing")
    return made


def _drawable(value: Any) -> Any:
    """Every text in the data with only what the fonts can draw."""
    if isinstance(value, str):
        return fonts.drawable(value)
    if isinstance(value, dict):
        return {key: _drawable(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_drawable(inner) for inner in value]
    return value
