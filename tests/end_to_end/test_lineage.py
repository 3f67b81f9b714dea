"""Any value of a day leads to the cells it came from, read here by the csv module alone."""

from __future__ import annotations

import csv
import json
from functools import cache
from pathlib import Path
from urllib.parse import unquote

import pytest

from tests.end_to_end.builds import ROOT

pytestmark = pytest.mark.slow
SEASON = ROOT / "inputs_demo"
AS_RECORDED = {
    "time": "t",
    "split_time": "t",
    "distance": "distance_m",
    "reaction_time": "reaction_s",
}
"""Measures that are what one cell says, in its own unit, and how its heading begins."""


@cache
def _cells(file: str) -> list[dict[str, str]]:
    with (SEASON / file).open(encoding="utf-8-sig", newline="") as text:
        return list(csv.DictReader(text))


def _cell(source: str) -> tuple[str, str]:
    """The heading and the text of the cell a source names; a source may name a whole row."""
    file, _, row, column = (unquote(part) for part in source.split("!"))
    cells = _cells(file)[int(row) - 2]
    return column, cells[column] if column else " ".join(cells.values())


def _results(day: Path) -> list[dict[str, str]]:
    with (day / "data" / "results.csv").open(encoding="utf-8", newline="") as text:
        return [row for row in csv.DictReader(text) if row["day"] == day.name]


def test_every_result_of_the_day_leads_to_cells_that_hold_something(demo_day: Path) -> None:
    results = _results(demo_day)
    assert len(results) > 1000
    for result in results:
        assert result["source"], result
        for source in result["source"].split(";"):
            _, text = _cell(source)
            assert text.strip(), source


def test_a_value_that_is_one_cell_is_the_number_in_it(demo_day: Path) -> None:
    compared = 0
    for result in _results(demo_day):
        heading, text = _cell(result["source"].split(";")[0])
        start = AS_RECORDED.get(result["measure"])
        if start is None or ";" in result["source"] or not heading.startswith(start):
            continue
        assert float(result["value"]) == pytest.approx(float(text), abs=5e-6), result
        compared += 1
    assert compared > 200


def test_the_executed_notebook_shows_the_cells_of_every_result(demo_day: Path) -> None:
    path = demo_day / "notebooks" / "S01.ipynb"
    notebook = json.loads(path.read_text(encoding="utf-8"))
    shown = json.dumps(notebook["cells"][-1]["outputs"])
    slices = json.loads((demo_day / "data" / "athletes" / "S01.json").read_text(encoding="utf-8"))
    own = [row for row in slices["results"] if row["day"] == demo_day.name]
    assert own
    for result in own:
        for source in result["source"].split(";"):
            file, sheet, row, column = (unquote(part) for part in source.split("!"))
            line = "".join(f"<td{k}>{t}</td>" for k, t in (
                ("", file), ("", sheet), (' class=\\"number\\"', row), ("", column)))  # fmt: skip
            assert line in shown.replace(' class=\\"text\\"', ""), source
    page = (demo_day / "athletes" / "S01.html").read_text(encoding="utf-8")
    assert "Where each number comes from" not in page
