"""The day on which everything goes wrong: each slip is named, and nothing is lost."""

from __future__ import annotations

import pytest

from pipeline import reading
from pipeline.reading import Intake
from tests import troubles
from tests.intake.small import adds_up
from tests.troubles import TROUBLES, Trouble


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Intake:
    return reading.read(troubles.write(tmp_path_factory.mktemp("troubles") / "season"), None)


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: f"{t.file} {t.row} {t.code}")
def test_each_trouble_is_named_where_it_stands(day: Intake, trouble: Trouble) -> None:
    found = {Trouble(f.code, f.place.file, f.place.row, f.place.column) for f in day.findings}
    near = [t for t in found if t.file == trouble.file and t.row == trouble.row]
    assert trouble in found, near


def test_there_are_twenty_kinds_of_trouble_and_the_day_is_accounted_for(day: Intake) -> None:
    assert len({trouble.code for trouble in TROUBLES}) >= 20
    assert adds_up(day)
    rows, used, flagged, aside = day.account[["rows", "used", "flagged", "set_aside"]].sum()
    assert rows == used + flagged + aside
    assert used > 0
    assert flagged > 0
    assert aside > 0
