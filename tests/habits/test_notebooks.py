"""The shipped notebooks are thin: a heading and one call a section, nothing computed in them."""

from __future__ import annotations

import ast
from pathlib import Path

import nbformat
import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "templates" / "notebooks").glob("*.ipynb"))
IDS = [path.stem for path in NOTEBOOKS]


def test_the_three_notebooks_are_there() -> None:
    assert IDS == ["athlete", "squad", "testing_day"]


def _code(path: Path) -> list[nbformat.NotebookNode]:
    notebook = nbformat.read(path, as_version=4)
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=IDS)
def test_parameters_are_plain_texts_in_one_tagged_cell(path: Path) -> None:
    tagged = [c for c in _code(path) if "parameters" in c.metadata.get("tags", [])]
    assert len(tagged) == 1
    body = ast.parse(tagged[0].source).body
    assert body
    for node in body:
        assert isinstance(node, ast.Assign)
        assert isinstance(node.value, ast.Constant)
        assert isinstance(node.value.value, str)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=IDS)
def test_the_load_cell_imports_and_assigns_one_call(path: Path) -> None:
    *imports, load = ast.parse(_code(path)[1].source).body
    assert imports
    assert all(isinstance(node, ast.ImportFrom) for node in imports)
    assert isinstance(load, ast.Assign)
    assert isinstance(load.value, ast.Call)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=IDS)
def test_every_section_is_one_call_on_the_report(path: Path) -> None:
    sections = _code(path)[2:]
    assert sections
    for cell in sections:
        (node,) = ast.parse(cell.source).body
        assert isinstance(node, ast.Expr), cell.source
        call = node.value
        assert isinstance(call, ast.Call), cell.source
        assert isinstance(call.func, ast.Attribute)
        assert [type(a) for a in call.args] == [ast.Name]
        assert not call.keywords


@pytest.mark.parametrize("path", NOTEBOOKS, ids=IDS)
def test_no_output_is_stored(path: Path) -> None:
    assert all(not c.outputs and c.execution_count is None for c in _code(path))
