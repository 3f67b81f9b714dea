"""From an executed notebook to a page and to blocks, both by nbconvert."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from nbconvert.exporters import TemplateExporter
from nbformat import NotebookNode
from traitlets import default

from pipeline.errors import PageError

BLOCKS = "application/vnd.testing-reports.blocks+json"
"""The media type of a section's blocks as data; ``report.blocks`` gives it, the PDF reads it."""


NOTE = "note"
"""The tag of a cell that speaks to who opens the notebook; no page shows it."""


class _Exporter(TemplateExporter):
    """Derived from the plain exporter: the HTML one reparses the whole page."""

    def __init__(self, templates: Path) -> None:
        super().__init__(extra_template_basedirs=[str(templates)])
        self.environment.globals |= {"refuse": _refuse, "blocks_type": BLOCKS}
        self.environment.filters |= {"shown": shown, "parts": parts, "json": json.dumps}


class PageExporter(_Exporter):
    """One self-contained HTML file."""

    template_name = "page"

    @default("file_extension")
    def _extension(self) -> str:
        return ".html"

    @default("display_data_priority")
    def _priority(self) -> list[str]:
        return ["text/html"]


class BlocksExporter(_Exporter):
    """The blocks of every section, in order, as JSON."""

    template_name = "blocks"

    @default("file_extension")
    def _extension(self) -> str:
        return ".json"

    @default("display_data_priority")
    def _priority(self) -> list[str]:
        return [BLOCKS]


def _refuse(what: str) -> str:
    raise PageError(f"an output that the page cannot show: {what}")


def shown(cells: list[NotebookNode]) -> list[NotebookNode]:
    """The cells of a page: all but the notes."""
    return [cell for cell in cells if NOTE not in cell.metadata.get("tags", [])]


def parts(cell: NotebookNode) -> list[dict[str, Any]]:
    """What a Markdown cell gives a page: headings and page breaks, nothing else.

    Raises:
        PageError: any other Markdown; sentences come from the report's catalogue.
    """
    found: list[dict[str, Any]] = []
    for line in cell.source.splitlines():
        marks, _, text = line.partition(" ")
        if line == "---":
            found.append({"type": "page_break"})
        elif marks and set(marks) == {"#"} and text:
            found.append({"type": "heading", "level": len(marks), "text": text})
        elif line.strip():
            raise PageError(f"a Markdown cell says more than a heading: {line}")
    return found


def _title_block(notebook: NotebookNode) -> dict[str, Any]:
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            for block in output.get("data", {}).get(BLOCKS, []):
                if block["type"] == "title":
                    return dict(block)
    raise PageError("no section gives the page a title")


def title_of(notebook: NotebookNode) -> str:
    """The title that the notebook's first section gives.

    Raises:
        PageError: no section gives one.
    """
    return str(_title_block(notebook)["text"])


def to_html(notebook: NotebookNode, templates: Path, footer: str = "") -> str:
    """The page, with a line at its foot. Its text was escaped in ``report.blocks``."""
    exporter = PageExporter(templates)
    body, _ = exporter.from_notebook_node(
        notebook,
        resources={
            "title": title_of(notebook),
            "wide": _title_block(notebook)["wide"],
            "footer": footer,
        },
    )
    return body.rstrip() + "\n"


def to_blocks(notebook: NotebookNode, templates: Path) -> list[dict[str, Any]]:
    """The page as data for the PDF: titles, headings, prose, tables, charts, notices."""
    body, _ = BlocksExporter(templates).from_notebook_node(notebook)
    blocks: list[dict[str, Any]] = json.loads(body)
    return blocks
