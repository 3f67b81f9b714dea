"""Takes out of an executed notebook what differs between two runs of the same working.

Injected cell ids, papermill's and nbclient's timings and paths, the kernel's version and its
execution counts say nothing about the athlete; they stand in no file we hand out.
"""

from __future__ import annotations

import nbformat
from nbformat import NotebookNode

_KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}
_DEFAULTS, _INJECTED = "parameters", "injected-parameters"
_KEPT_TAGS = (_DEFAULTS, "note")


def steady(notebook: NotebookNode) -> NotebookNode:
    """The same notebook, equal for equal inputs: sources and outputs are untouched.

    The parameters that were given take the place of the template's defaults, which point at
    somebody else's data.
    """
    made = nbformat.v4.new_notebook(
        metadata={"kernelspec": dict(_KERNEL), "language_info": {"name": "python"}}
    )
    made.nbformat_minor = 5
    count = 0
    for number, cell in enumerate(_with_given_parameters(notebook.cells), start=1):
        tags = [tag for tag in cell.metadata.get("tags", []) if tag in _KEPT_TAGS]
        common = {
            "id": f"cell-{number:03d}",
            "metadata": {"tags": tags} if tags else {},
            "source": cell.source,
        }
        if cell.cell_type == "code":
            count += 1
            outputs = [_steady_output(output, count) for output in cell.outputs]
            made.cells.append(
                nbformat.v4.new_code_cell(execution_count=count, outputs=outputs, **common)
            )
        else:
            made.cells.append(nbformat.v4.new_markdown_cell(**common))
    nbformat.validate(made)
    return made


def _with_given_parameters(cells: list[NotebookNode]) -> list[NotebookNode]:
    given = [c for c in cells if _INJECTED in c.metadata.get("tags", [])]
    for cell in given:
        cell.metadata["tags"] = [_DEFAULTS]
    return [c for c in cells if not given or c in given or _DEFAULTS not in c.metadata["tags"]]


def _steady_output(output: NotebookNode, count: int) -> NotebookNode:
    if output.output_type == "execute_result":
        return NotebookNode({**output, "execution_count": count})
    return output


def to_bytes(notebook: NotebookNode) -> bytes:
    """The notebook file, with sorted keys and one line end."""
    return (nbformat.writes(notebook) + "\n").encode()
