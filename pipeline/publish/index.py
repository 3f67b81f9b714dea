"""The index of a day's folder: what is there, what was set aside, what could not be made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape


def to_html(templates: Path, texts: Mapping[str, str], groups: Sequence[Mapping[str, Any]]) -> str:
    """The index page.

    Args:
        templates: the folder of HTML templates.
        texts: ``title``, ``lead``, ``note`` and ``revision``.
        groups: each with ``heading`` and ``lines``; a line has ``text`` and ``links``, each link
            ``text`` and ``href`` relative to the page.
    """
    environment = Environment(
        loader=FileSystemLoader(templates),
        autoescape=select_autoescape(["html", "j2"], default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    page = environment.get_template("index/index.html.j2").render(groups=groups, **texts)
    return page.rstrip() + "\n"
