"""Small sheets as people write them, each with what must be made of it in a file beside it.

``NAME.csv`` is laid into a day as the sheet that ``NAME.expected.toml`` names: ``sheet``; ``rows``
as read, used, flagged, set aside; ``values`` as athlete, quantity, part, value in SI, of the values
that count; ``findings`` as code, row, column (the whole list); under ``[files]`` further files of
the season. In ``valid`` nothing may be worse than a note.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from pipeline.catalogue import CATALOGUE, Severity
from pipeline.intake.files import SUFFIXES
from pipeline.measures.spec import SIDE_INFORMATION, USED
from pipeline.reading import Intake
from tests.intake.small import adds_up, found, read, states

HERE = Path(__file__).parent
EXPECTED = ".expected.toml"


def _examples(folder: str) -> list[Path]:
    return sorted(p for p in (HERE / folder).iterdir() if p.suffix.lower() in SUFFIXES)


def _expected(path: Path) -> dict[str, Any]:
    return tomllib.loads((path.parent / f"{path.stem}{EXPECTED}").read_text(encoding="utf-8"))


def _read(place: Path, example: Path, expected: dict[str, Any]) -> Intake:
    sheet = f"{expected['sheet']}{example.suffix}"
    return read(place, {sheet: example.read_bytes()}, expected.get("files"))


def _values(day: Intake) -> list[tuple[str, str, str, float]]:
    """Used values but side information, in the order read."""
    values = day.trials.values
    values = values[(values["status"] == USED) & values["resolution"].notna()]
    values = values[~values["quantity"].isin(SIDE_INFORMATION - {"reps"})]
    who = values["key"].map(day.trials.attempts["athlete_id"])
    return list(zip(who, values["quantity"], values["part"], values["value"], strict=True))


def _hold(day: Intake, example: Path, expected: dict[str, Any]) -> None:
    told = [(f["code"], f.get("row"), f.get("column", "")) for f in expected.get("findings", [])]
    assert sorted(found(day), key=str) == sorted(told, key=str)
    assert states(day, f"{expected['sheet']}{example.suffix}") == tuple(expected["rows"])
    assert adds_up(day)
    wanted = [tuple(value) for value in expected["values"]]
    got = _values(day)
    assert [value[:3] for value in got] == [value[:3] for value in wanted]
    assert [value[3] for value in got] == pytest.approx([v[3] for v in wanted], abs=1e-9)


@pytest.mark.parametrize("example", _examples("valid"), ids=lambda path: path.name)
def test_a_valid_sheet_is_read_as_its_neighbour_says(tmp_path: Path, example: Path) -> None:
    expected = _expected(example)
    day = _read(tmp_path, example, expected)
    assert all(CATALOGUE[code].severity is Severity.NOTE for code, _, _ in found(day))
    assert expected["values"]
    _hold(day, example, expected)


@pytest.mark.parametrize("example", _examples("invalid"), ids=lambda path: path.name)
def test_an_invalid_sheet_gives_the_findings_beside_it(tmp_path: Path, example: Path) -> None:
    expected = _expected(example)
    assert expected["findings"]
    _hold(_read(tmp_path, example, expected), example, expected)


@pytest.mark.parametrize(("folder", "least"), [("valid", 20), ("invalid", 20)])
def test_there_are_examples_and_none_lacks_its_neighbour(folder: str, least: int) -> None:
    examples = {path.stem for path in _examples(folder)}
    neighbours = {p.name.removesuffix(EXPECTED) for p in (HERE / folder).glob(f"*{EXPECTED}")}
    assert len(examples) >= least
    assert examples == neighbours
