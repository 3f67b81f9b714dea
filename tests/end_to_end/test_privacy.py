"""An athlete's page holds nobody else, asks nothing from outside, and runs no script."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from pipeline import reading
from tests.end_to_end.builds import ROOT

pytestmark = pytest.mark.slow
SEASON = ROOT / "inputs_demo"


def _contents(day: Path, athlete: str) -> dict[str, str]:
    """Everything handed out about one athlete, as text, metadata included."""
    pdf = PdfReader(day / "athletes" / f"{athlete}.pdf")
    printed = "\n".join(page.extract_text() for page in pdf.pages)
    described = pdf.xmp_metadata.stream.get_data().decode() if pdf.xmp_metadata else ""
    return {
        "html": (day / "athletes" / f"{athlete}.html").read_text(),
        "pdf": f"{printed}\n{pdf.metadata}\n{described}",
        "ipynb": (day / "notebooks" / f"{athlete}.ipynb").read_text(),
        "json": (day / "data" / "athletes" / f"{athlete}.json").read_text(),
    }


def test_no_athletes_page_holds_another_athlete(demo_day: Path) -> None:
    people = reading.read(SEASON, None).roster.athletes
    pages = sorted(p.stem for p in (demo_day / "athletes").glob("*.html"))
    assert len(pages) >= 3
    for athlete in pages:
        for kind, text in _contents(demo_day, athlete).items():
            own = people[athlete]
            assert own.shown_name in text, f"{kind} of {athlete} lacks its own name"
            assert own.shown_name == own.name or own.name not in text, f"{kind} of {athlete}"
            for other, person in people.items():
                if other != athlete:
                    assert not re.search(rf"\b{other}\b", text), f"{kind} of {athlete}: {other}"
                    assert person.name not in text, f"{kind} of {athlete}: {person.name}"


def test_the_first_page_prints_alone(demo_day: Path) -> None:
    """All of it stands on one sheet, from the name to the word to parents, and no working."""
    for path in sorted((demo_day / "athletes").glob("*.pdf")):
        first, second = (page.extract_text() for page in PdfReader(path).pages[:2])
        assert "Where the next tenth may be." in first, path.stem
        assert "For parents:" in first, path.stem
        assert second.startswith("Sprint"), path.stem


def test_no_page_asks_for_anything_from_outside_or_runs_anything(demo_day: Path) -> None:
    pages = list(demo_day.rglob("*.html"))
    assert pages
    for page in pages:
        text = page.read_text()
        assert "<script" not in text
        assert not re.search(r'(src|href)="(?!#)(https?:)?//', text)
        assert "@import" not in text
        assert "url(http" not in text


def test_a_minors_page_shows_no_body_mass_and_no_strength_for_it(demo_day: Path) -> None:
    read = reading.read(SEASON, None)
    minors = [
        a.athlete_id
        for a in read.roster.athletes.values()
        if (a.age_on(read.day.date) or 0) < 18
        and (demo_day / "athletes" / f"{a.athlete_id}.html").exists()
    ]
    assert minors
    for athlete in minors:
        text = (demo_day / "athletes" / f"{athlete}.html").read_text()
        assert "body mass" not in text
        assert "kg/kg" not in text
        slice_text = (demo_day / "data" / "athletes" / f"{athlete}.json").read_text()
        for measure in ("body_mass", "relative_strength", "scaled_strength"):
            assert f'"measure": "{measure}"' not in slice_text
