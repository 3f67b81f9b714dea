"""Blocks: one thing, three renderings (HTML, data for the PDF, plain text).

Text enters a block as plain text and is escaped here for HTML; the PDF gets it as data. So no
name can break or run anything.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any, Protocol

BLOCKS_TYPE = "application/vnd.testing-reports.blocks+json"
"""Media type of a section as data. ``publish.html.BLOCKS`` is the same word; a test holds it."""

NUMBER, TEXT, FIGURE, VERDICT = "number", "text", "figure", "verdict"
"""Kinds of columns: numbers on one line, texts, figures whose heading may be long, and what is said
of a row, the last column, which a phone shows on a line of its own."""

_BOUND = re.compile(
    r"(?<![\w#&])[+\u2212\u00b1]?(?:\d[\d.]*\u2013)?\d[\d.,]* (?:%|[^\W\d_]+(?:[/\u00b7][^\W_]+)*)"
)
"""A number and the word after it, which no line end may part; ``report.typ`` has the same."""


class Block(Protocol):
    """Anything a section may hold."""

    def html(self) -> str:
        """A fragment of a page."""

    def data(self) -> dict[str, Any]:
        """The same for the PDF."""

    def text(self) -> str:
        """The same for a terminal."""


@dataclass(frozen=True, slots=True)
class Title:
    """The page's title and the lines under it; once a page, first. Wide pages hold wide tables."""

    title: str
    lines: Sequence[str] = ()
    wide: bool = False

    def html(self) -> str:
        """As ``h1`` and paragraphs."""
        lines = "".join(f'<p class="under-title">{escape(line)}</p>' for line in self.lines)
        return f"<h1>{escape(self.title)}</h1>{lines}"

    def data(self) -> dict[str, Any]:
        """Text and lines."""
        lines = list(self.lines)
        return {"type": "title", "text": self.title, "lines": lines, "wide": self.wide}

    def text(self) -> str:
        """One line each."""
        return "\n".join([self.title, *self.lines])


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading below the notebook's own (level 3)."""

    title: str

    def html(self) -> str:
        """As ``h3``."""
        return f"<h3>{escape(self.title)}</h3>"

    def data(self) -> dict[str, Any]:
        """Level and text."""
        return {"type": "heading", "level": 3, "text": self.title}

    def text(self) -> str:
        """The text."""
        return self.title


@dataclass(frozen=True, slots=True)
class Prose:
    """A paragraph, with an optional lead in bold."""

    body: str
    lead: str = ""

    def html(self) -> str:
        """As a paragraph."""
        lead = f"<strong>{escape(self.lead)}</strong> " if self.lead else ""
        return f"<p>{lead}{_bound(self.body)}</p>"

    def data(self) -> dict[str, Any]:
        """Lead and text."""
        return {"type": "prose", "lead": self.lead, "text": self.body}

    def text(self) -> str:
        """One line."""
        return f"{self.lead} {self.body}".strip()


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of short sentences."""

    items: Sequence[str]

    def html(self) -> str:
        """As ``ul``."""
        return "<ul>" + "".join(f"<li>{_bound(item)}</li>" for item in self.items) + "</ul>"

    def data(self) -> dict[str, Any]:
        """The items."""
        return {"type": "bullets", "items": list(self.items)}

    def text(self) -> str:
        """A line each."""
        return "\n".join(f"- {item}" for item in self.items)


@dataclass(frozen=True, slots=True)
class Notice:
    """Something to heed: the kind is a word in the frame, never a colour alone."""

    kind: str
    body: str

    def html(self) -> str:
        """As an aside."""
        return (
            f'<aside class="notice"><p><strong>{escape(self.kind)}</strong> '
            f"{_bound(self.body)}</p></aside>"
        )

    def data(self) -> dict[str, Any]:
        """Kind and text."""
        return {"type": "notice", "kind": self.kind, "text": self.body}

    def text(self) -> str:
        """One line."""
        return f"{self.kind} {self.body}"


@dataclass(frozen=True, slots=True)
class Table:
    """A table of texts. ``kinds`` aligns columns: numbers to the right; a verdict comes last."""

    caption: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    kinds: Sequence[str] = ()

    def _kinds(self) -> list[str]:
        return list(self.kinds) or [TEXT] * len(self.columns)

    def html(self) -> str:
        """As a table with caption and column headings; the first cell of a row heads the row."""
        classes = [f' class="{kind}"' for kind in self._kinds()]
        head = "".join(
            f'<th scope="col"{c}>{escape(name)}</th>'
            for c, name in zip(classes, self.columns, strict=True)
        )
        body = "".join(self._row(classes, row) for row in self.rows)
        return (
            f'<div class="scroll"><table{self._told()}>'
            f"<caption>{escape(self.caption)}</caption>"
            f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
        )

    def _told(self) -> str:
        """How a phone lays out rows with a verdict: how many columns stand above it."""
        if VERDICT not in self._kinds():
            return ""
        between = len(self.columns) - 2
        return f' class="told{" many" if between > _BESIDE else ""}" style="--between: {between}"'

    @staticmethod
    def _row(classes: Sequence[str], row: Sequence[str]) -> str:
        cells = [
            f'<th scope="row"{c}>{_lines(cell)}</th>' if i == 0 else f"<td{c}>{_lines(cell)}</td>"
            for i, (c, cell) in enumerate(zip(classes, row, strict=True))
        ]
        return f"<tr>{''.join(cells)}</tr>"

    def data(self) -> dict[str, Any]:
        """Caption, columns, kinds, rows."""
        return {
            "type": "table",
            "caption": self.caption,
            "columns": list(self.columns),
            "kinds": self._kinds(),
            "rows": [list(row) for row in self.rows],
        }

    def text(self) -> str:
        """Columns set with blanks."""
        lines = [[cell.replace("\n", " ") for cell in row] for row in (self.columns, *self.rows)]
        widths = [max(len(line[i]) for line in lines) for i in range(len(self.columns))]
        body = ["  ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)).rstrip()
                for line in lines]  # fmt: skip
        return "\n".join([self.caption, *body])


def _lines(cell: str) -> str:
    """A cell for HTML; a line end in it is kept."""
    return _bound(cell).replace("\n", "<br>")


def _bound(text: str) -> str:
    """Text for HTML in which no number parts from its unit."""
    return _BOUND.sub(r'<span class="bound">\g<0></span>', escape(text))


_BESIDE = 2
"""Columns that fit beside a row's label on a phone."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A drawing with the words for who cannot see it.

    ``outlined`` has its text as shapes, for pages on any machine; ``lettered`` has real text, for
    the PDF, which ships the font.
    """

    caption: str
    alt: str
    outlined: str
    lettered: str
    width_mm: float = 170.0

    def html(self) -> str:
        """As a figure; the drawing is inline and needs nothing from outside."""
        return (
            f'<figure><div role="img" aria-label="{escape(self.alt)}">{self.outlined}</div>'
            f"<figcaption>{escape(self.caption)}</figcaption></figure>"
        )

    def data(self) -> dict[str, Any]:
        """Drawing, words, width."""
        return {
            "type": "chart",
            "caption": self.caption,
            "alt": self.alt,
            "svg": self.lettered,
            "width_mm": self.width_mm,
        }

    def text(self) -> str:
        """The words."""
        return f"[{self.caption}: {self.alt}]"


@dataclass(frozen=True)
class Section:
    """The blocks of one call; what a notebook cell shows."""

    blocks: tuple[Block, ...] = field(default=())

    @classmethod
    def of(cls, *blocks: Block | Iterable[Block]) -> Section:
        """A section of blocks, or of iterables of blocks, in order."""
        flat: list[Block] = []
        for item in blocks:
            if isinstance(item, Iterable):
                flat.extend(item)
            else:
                flat.append(item)
        return cls(tuple(flat))

    def _repr_mimebundle_(self, **_: Any) -> dict[str, Any]:
        return {
            "text/html": "\n".join(block.html() for block in self.blocks),
            "text/plain": "\n\n".join(block.text() for block in self.blocks),
            BLOCKS_TYPE: [block.data() for block in self.blocks],
        }
