"""What is handed out comes back: filled in it reads without a finding, blank without an error."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from pipeline import prepare, reading
from pipeline.catalogue import Severity
from pipeline.measures.spec import USED
from tests.forms import filled

ASKED = {style: prepare.Asked("autumn 2026", style) for style in ("csv", "xlsx")}


@pytest.mark.parametrize("style", ["csv", "xlsx"])
def test_every_test_of_the_default_battery_filled_in_reads_without_a_finding(
    tmp_path: Path, style: str
) -> None:
    season = filled.season(tmp_path / "season")
    listed = prepare.squad(season, filled.DATE)
    day = prepare.scaffold(listed, ASKED[style])
    rows = filled.fill(day)
    got = reading.read(season, None)
    assert [(f.code, f.place.file, f.place.row, f.place.column) for f in got.findings] == []
    account = got.account[got.account["file"].str.startswith(filled.DATE)]
    assert account["rows"].sum() == account["used"].sum() == rows
    attempts = got.trials.attempts.loc[sorted(got.trials.with_results(USED))]
    people = {"007", "A02", "A03"}
    for test in listed.battery.tests:
        assert set(attempts[attempts["test"] == test]["athlete_id"]) == people, test


@pytest.mark.parametrize("style", ["csv", "xlsx"])
def test_a_blank_scaffold_reads_without_an_error(tmp_path: Path, style: str) -> None:
    season = filled.season(tmp_path / "season")
    prepare.scaffold(prepare.squad(season, filled.DATE), ASKED[style])
    got = reading.read(season, None)
    assert {f.code for f in got.findings if f.severity is Severity.ERROR} == set()
    account = got.account[got.account["file"].str.startswith(filled.DATE)]
    assert account["used"].sum() == 0
    assert account["rows"].sum() == account[["flagged", "set_aside"]].sum(axis=None) > 200
    blank = Counter(f.place.file for f in got.findings if f.code == "row-no-value")
    many = account[account["rows"] > len(got.roster.athletes)]["file"]
    assert {blank[file] for file in many} == {1}  # said once for a sheet, not row by row
