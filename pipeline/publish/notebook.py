"""One page: run its notebook, make it steady, export it, write it."""

from __future__ import annotations

import ast
import datetime as dt
import logging
import os
import warnings
from dataclasses import dataclass, field
from pathlib import Path

import nbformat
from nbformat import NotebookNode
from traitlets.config import Config

from pipeline.errors import PageError

FORMATS = ("html", "pdf", "ipynb")
WORKER, KERNEL = "worker", "kernel"
"""The engines: in this process, or a stock kernel for each notebook."""


@dataclass(frozen=True, slots=True)
class Job:
    """What to make. Paths are absolute; parameters are plain texts relative to the notebook.

    ``footer`` stands small at the foot of the page: which revision it is.
    """

    name: str
    template: Path
    templates: Path
    notebook: Path
    parameters: dict[str, str]
    date: dt.date
    engine: str
    html: Path | None = None
    pdf: Path | None = None
    keep_notebook: bool = True
    footer: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a job; ``why`` is empty when the page was made."""

    name: str
    why: str = ""
    files: tuple[Path, ...] = field(default=())


def make(job: Job) -> Outcome:
    """Make a page. A page that fails leaves no file, and never stops the others."""
    try:
        return Outcome(job.name, files=_make(job))
    except PageError as error:
        return Outcome(job.name, why=str(error))
    except Exception as error:  # noqa: BLE001  # whatever a page meets, the others must be made
        return Outcome(job.name, why=f"{type(error).__name__}: {error}")


def _make(job: Job) -> tuple[Path, ...]:
    # Imported late: the parent process only schedules and must start at once.
    from pipeline.publish import html, pdf, steady  # noqa: PLC0415  # as the comment says

    executed = steady.steady(_execute(job))
    _refuse_streams(executed)
    files: dict[Path, bytes] = {}
    if job.keep_notebook:
        files[job.notebook] = steady.to_bytes(executed)
    if job.html is not None:
        files[job.html] = html.to_html(executed, job.templates / "html", job.footer).encode()
    if job.pdf is not None:
        files[job.pdf] = pdf.to_pdf(
            html.to_blocks(executed, job.templates / "html"),
            title=html.title_of(executed),
            date=job.date,
            templates=job.templates / "typst",
            footer=job.footer,
        )
    for path, data in files.items():
        write_whole(path, data)
    return tuple(files)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = path.with_name(f".{path.name}.part")
    partial.write_bytes(data)
    partial.replace(path)


def parameters_of(notebook: NotebookNode) -> set[str]:
    """The names that a template's one ``parameters`` cell sets.

    Raises:
        PageError: there is no such cell, or more than one.
    """
    cells = [c for c in notebook.cells if "parameters" in c.metadata.get("tags", [])]
    if len(cells) != 1:
        raise PageError(f"the notebook has {len(cells)} cells tagged “parameters”, not one")
    return {
        target.id
        for node in ast.parse(cells[0].source).body
        if isinstance(node, ast.Assign)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def _execute(job: Job) -> NotebookNode:
    import papermill  # noqa: PLC0415  # heavy, and only workers need it
    from papermill.exceptions import PapermillExecutionError  # noqa: PLC0415  # as above

    from pipeline.publish import engine  # noqa: PLC0415  # as above

    engine.register()
    logging.getLogger("papermill").setLevel(logging.ERROR)
    template = nbformat.read(job.template, as_version=4)
    known = parameters_of(template)
    if known != set(job.parameters):
        raise PageError(
            f"the notebook takes {sorted(known)}, but was given {sorted(job.parameters)}"
        )
    job.notebook.parent.mkdir(parents=True, exist_ok=True)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # papermill's own, not the page's
            executed: NotebookNode = papermill.execute_notebook(
                template,
                None,
                parameters=job.parameters,
                engine_name=job.engine,
                kernel_name="python3",
                progress_bar=False,
                cwd=str(job.notebook.parent),
                config=_kernel_config(),
            )
    except PapermillExecutionError as error:
        where = f"cell {error.cell_index}"  # from 1, without the defaults that steady() drops
        raise PageError(f"{where} stopped with {error.ename}: {error.evalue}") from error
    return executed


def _kernel_config() -> Config:
    """Kernels talk through files where the system can: ports collide when many start at once."""
    return Config({"KernelManager": {"transport": "tcp" if os.name == "nt" else "ipc"}})


def _refuse_streams(notebook: NotebookNode) -> None:
    """A print or a warning in a notebook is a fault in the working; no page hides one."""
    for number, cell in enumerate(notebook.cells, start=1):
        for output in cell.get("outputs", []):
            if output.output_type == "stream":
                first = output.text.strip().splitlines()[0]
                raise PageError(f"cell {number} wrote to {output.name}: {first}")
