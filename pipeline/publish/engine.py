"""A papermill engine that runs notebooks inside this process, on one warm IPython shell.

A kernel costs seconds for each notebook; a shell that has its libraries loaded costs hundredths.
For a notebook that only displays rich objects the outputs are the same, which a test holds.
"""

from __future__ import annotations

import atexit
import contextlib
import io
import json
import shutil
import tempfile
import warnings
from typing import Any

from IPython.core.displayhook import DisplayHook
from IPython.core.displaypub import DisplayPublisher
from IPython.core.interactiveshell import InteractiveShell
from nbformat import NotebookNode
from nbformat.v4 import new_output
from papermill.engines import Engine, NBClientEngine, NotebookExecutionManager, papermill_engines
from traitlets import Type
from traitlets.config import Config

from pipeline.publish.notebook import KERNEL, WORKER


def register() -> None:
    """Make both engines known to papermill. An entry point would import papermill in a circle."""
    papermill_engines.register(WORKER, InProcessEngine)
    papermill_engines.register(KERNEL, NBClientEngine)


class _Collector(DisplayPublisher):
    """Keeps what ``display(...)`` publishes."""

    def publish(self, data: Any, metadata: Any = None, *_: Any, **__: Any) -> None:
        shell: Any = self.shell
        shell.collected.append(_output("display_data", data, metadata))


class _ResultCollector(DisplayHook):
    """Keeps the value of a cell's last expression."""

    def __call__(self, result: object = None) -> None:
        if result is None or self.quiet():
            return
        data, metadata = self.compute_format_data(result)
        shell: Any = self.shell
        count = shell.execution_count
        shell.collected.append(_output("execute_result", data, metadata, execution_count=count))


class _Shell(InteractiveShell):
    """An IPython shell that collects outputs instead of printing them."""

    displayhook_class = Type(_ResultCollector)
    display_pub_class = Type(_Collector)
    collected: list[NotebookNode]

    def showtraceback(self, *_: Any, **__: Any) -> None:
        """An error is reported by the engine, not printed."""

    def showsyntaxerror(self, *_: Any, **__: Any) -> None:
        """As above."""


def _output(kind: str, data: Any, metadata: Any, **more: Any) -> NotebookNode:
    """An output whose data went through JSON once, as a kernel's would."""
    return new_output(kind, data=json.loads(json.dumps(data)), metadata=metadata or {}, **more)


def _shell() -> _Shell:
    if not _Shell.initialized():
        config = Config({"HistoryManager": {"enabled": False}})
        home = tempfile.mkdtemp(prefix="testing-reports-ipython-")
        atexit.register(shutil.rmtree, home, ignore_errors=True)
        _Shell.instance(config=config, ipython_dir=home)
    shell = _Shell.instance()
    shell.reset(new_session=True, aggressive=False)
    shell.collected = []
    return shell


class InProcessEngine(Engine):
    """Runs each code cell on the warm shell; stops at the first that fails."""

    @classmethod
    def execute_managed_notebook(
        cls, nb_man: NotebookExecutionManager, kernel_name: str, **_: Any
    ) -> None:
        """Papermill's hook: fill the outputs of ``nb_man.nb`` in place."""
        del kernel_name  # the language is Python, this one
        shell = _shell()
        for index, cell in enumerate(nb_man.nb.cells):
            nb_man.cell_start(cell, index)
            try:
                if cell.cell_type == "code":
                    _run(shell, cell)
                    if any(o.output_type == "error" for o in cell.outputs):
                        nb_man.cell_exception(cell, cell_index=index)
                        break
            finally:
                nb_man.cell_complete(cell, cell_index=index)


def _run(shell: _Shell, cell: NotebookNode) -> None:
    shell.collected = []
    out, err = io.StringIO(), io.StringIO()
    # catch_warnings forgets which warnings were shown, so a warm process warns like a new one
    with (
        warnings.catch_warnings(),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        cell.execution_count = shell.execution_count
        result = shell.run_cell(cell.source, store_history=True)
    cell.outputs = [
        new_output("stream", name=name, text=text.getvalue())
        for name, text in (("stdout", out), ("stderr", err))
        if text.getvalue()
    ] + shell.collected
    error = result.error_before_exec or result.error_in_exec
    if error is not None:
        cell.outputs.append(
            new_output("error", ename=type(error).__name__, evalue=str(error), traceback=[])
        )
