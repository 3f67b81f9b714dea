"""Small days for the tests of the door, and ways to look at what was read from them."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import openpyxl

from pipeline import reading
from pipeline.catalogue import Severity
from pipeline.reading import Intake
from tests import seasons

Content = str | bytes | None

SHEETS = ("sprints.csv", "jumps.csv", "lifts.csv", "body.csv")
ONE_ATTEMPT = """\
tests."60 m".attempts = 1
tests."countermovement jump".attempts = 1
tests."back squat".attempts = 1
"""
"""A battery that asks for one attempt only, so that a small day is a whole one."""

_OF_THE_WHOLE_DAY = ("athlete-not-tested", "attempts-short")
"""True of most small days, and seldom what a test here is about."""


def season(
    folder: Path, sheets: Mapping[str, Content], over: Mapping[str, Content] | None = None
) -> Path:
    """Write a season whose only day holds just ``sheets``; ``over`` lies over the season itself."""
    files: dict[str, Content] = {f"{seasons.DAY_FOLDER}/{name}": None for name in SHEETS}
    files["battery.toml"] = ONE_ATTEMPT
    files |= {f"{seasons.DAY_FOLDER}/{name}": content for name, content in sheets.items()}
    return seasons.write(folder / "season", {**files, **(over or {})})


def read(
    folder: Path, sheets: Mapping[str, Content], over: Mapping[str, Content] | None = None
) -> Intake:
    """What the door makes of that season."""
    return reading.read(season(folder, sheets, over), None)


def found(intake: Intake) -> list[tuple[str, int | None, str]]:
    """Findings as (code, row, column), worst first."""
    return [
        (f.code, f.place.row, f.place.column)
        for f in intake.findings
        if f.code not in _OF_THE_WHOLE_DAY
    ]


def codes(intake: Intake) -> set[str]:
    """The codes of all findings."""
    return {code for code, _, _ in found(intake)}


def message(intake: Intake, code: str) -> str:
    """The sentence of the only finding with a code."""
    (one,) = (f for f in intake.findings if f.code == code)
    return one.message


def errors(intake: Intake) -> list[tuple[str, int | None, str]]:
    """As ``found``, errors only."""
    return [
        (f.code, f.place.row, f.place.column)
        for f in intake.findings
        if f.severity is Severity.ERROR
    ]


def recorded(intake: Intake, quantity: str) -> list[tuple[str, str]]:
    """(raw, status) of every recorded value of a quantity, in the order read."""
    values = intake.trials.values
    values = values[values["quantity"] == quantity]
    return list(zip(values["raw"], values["status"], strict=True))


def conditions(intake: Intake, row: int = 0) -> dict[str, str]:
    """The comparison key of one attempt, by its place in the order read."""
    words = str(intake.trials.attempts["conditions"].iloc[row])
    return dict(pair.split("=", 1) for pair in words.split("; ") if pair)


def states(intake: Intake, file: str) -> tuple[int, int, int, int]:
    """(rows, used, flagged, set aside) of a file of the day, its sheets added up."""
    account = intake.account
    mine = account[account["file"] == f"{seasons.DAY_FOLDER}/{file}"]
    rows, used, flagged, aside = mine[["rows", "used", "flagged", "set_aside"]].sum()
    return int(rows), int(used), int(flagged), int(aside)


def adds_up(intake: Intake) -> bool:
    """Whether every row of every sheet is used, flagged or set aside, and none was lost."""
    table = intake.account
    total = table["used"] + table["flagged"] + table["set_aside"]
    return bool((total == table["rows"]).all()) and "rows-lost" not in codes(intake)


def book(sheets: Mapping[str, Iterable[Any]]) -> bytes:
    """An XLSX workbook: sheet name → rows of cells."""
    made = openpyxl.Workbook()
    made.remove(made.worksheets[0])
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    buffer = io.BytesIO()
    made.save(buffer)
    return buffer.getvalue()
