"""Growth between testing days, and the years from the fastest of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pipeline import bundle, computing
from pipeline.measures.growing import GROWING_FAST
from tests import seasons

SPRING = "2026-05-12"
ROSTER = (
    "athlete_id,name,sex,birth_date\nA01,Ada Quillon,M,2012-09-15\nA02,Bo Ostrander,F,2014-09-15\n"
)


def _season(folder: Path, bodies: dict[str, str], heading: str) -> Path:
    files: dict[str, str | bytes | None] = {
        f"{seasons.DAY_FOLDER}/{name}.csv": None for name in ("sprints", "jumps", "lifts")
    }
    files["roster.csv"] = ROSTER
    for day, text in bodies.items():
        place = seasons.DAY_FOLDER if day == "2026-09-15" else day
        files[f"{place}/day.toml"] = f"date = {day}\n"
        files[f"{place}/body.csv"] = f"athlete_id,{heading}\n{text}\n"
    return seasons.write(folder, files)


def _grown(folder: Path, heights: dict[str, float]) -> list[dict[Any, Any]]:
    bodies = {day: f"A01,50.0,{height}" for day, height in heights.items()}
    results = computing.check(_season(folder, bodies, "body_mass_kg,height_cm"), None).tables[
        "results"
    ]
    rows = results[(results["measure"] == "growth") & (results["day"] == "2026-09-15")]
    return rows.to_dict("records")


@pytest.mark.parametrize(
    ("now", "rate", "flag"),
    [
        # 126 days are 4.1396 months of 365.25/12 days
        (162.0, 2.0 / 4.1396, ""),
        (162.4, 2.4 / 4.1396, ""),  # 0.58
        (162.6, 2.6 / 4.1396, GROWING_FAST),  # 0.63; 0.6 is common practice, no source
    ],
)
def test_growth_is_by_the_month_and_more_than_six_millimetres_is_fast(
    tmp_path: Path, now: float, rate: float, flag: str
) -> None:
    (row,) = _grown(tmp_path, {SPRING: 160.0, "2026-09-15": now})
    assert (row["value"], row["flags"]) == (pytest.approx(rate, abs=1e-4), flag)


def test_a_height_of_last_month_is_passed_over(tmp_path: Path) -> None:
    """A tape tells nothing over a few weeks; 60 days are common practice, no source."""
    (row,) = _grown(tmp_path, {SPRING: 160.0, "2026-08-25": 170.0, "2026-09-15": 162.0})
    assert row["value"] == pytest.approx(2.0 / 4.1396, abs=1e-4)
    assert _grown(tmp_path / "b", {"2026-08-25": 161.0, "2026-09-15": 162.0}) == []


def test_growth_is_context_and_never_a_verdict(tmp_path: Path) -> None:
    bodies = {day: f"A01,50.0,{h}" for day, h in (("2026-01-12", 158), (SPRING, 160),
                                                  ("2026-09-15", 163))}  # fmt: skip
    made = computing.check(_season(tmp_path, bodies, "body_mass_kg,height_cm"), None)
    assert (made.tables["results"]["measure"] == "growth").sum() == 2
    changes = made.tables["changes"]
    assert "growth" not in set(changes["measure"])
    assert set(changes["verdict"]) == {""}


HEADING = "body_mass_kg,height_cm,sitting_height_cm"


def test_the_offset_is_given_a_year_either_way_and_to_staff_only(tmp_path: Path) -> None:
    """A boy of 14.0 y, 165 cm, sitting 85 cm, 54 kg: 0.08 (Mirwald et al. 2002, recomputed)."""
    season = _season(tmp_path / "s", {"2026-09-15": "A01,54.0,165.0,85.0"}, HEADING)
    made = computing.check(season, None)
    results = made.tables["results"]
    (row,) = results[results["measure"] == "maturity_offset"].to_dict("records")
    assert row["value"] == pytest.approx(0.08, abs=0.02)  # age in days over 365.25
    assert (row["low"], row["high"]) == (
        pytest.approx(row["value"] - 1), pytest.approx(row["value"] + 1),
    )  # fmt: skip
    bundle.write(tmp_path / "data", made)
    assert "maturity_offset" not in (tmp_path / "data/athletes/A01.json").read_text()
    assert "maturity_offset" not in set(made.tables["changes"]["measure"])


def test_girls_and_boys_have_their_own_equation(tmp_path: Path) -> None:
    """A girl of 12.0 y, 154 cm, sitting 80 cm, 44 kg: 0.0937 (the same source)."""
    season = _season(tmp_path, {"2026-09-15": "A02,44.0,154.0,80.0"}, HEADING)
    results = computing.check(season, None).tables["results"]
    (row,) = results[results["measure"] == "maturity_offset"].to_dict("records")
    assert row["value"] == pytest.approx(0.0937, abs=0.02)


def test_no_offset_without_a_sitting_height(tmp_path: Path) -> None:
    season = _season(tmp_path, {"2026-09-15": "A01,54.0,165.0"}, "body_mass_kg,height_cm")
    results = computing.check(season, None).tables["results"]
    assert "maturity_offset" not in set(results["measure"])


def test_the_grown_have_no_offset_and_keep_their_row(tmp_path: Path) -> None:
    """The equations were made of ages 8 to 16; of a woman of 26 they say 10 years and more."""
    season = _season(tmp_path, {"2026-09-15": "A02,61.0,171.0,89.0"}, HEADING)
    roster = (season / "roster.csv").read_text()
    (season / "roster.csv").write_text(roster.replace(",2014-", ",2000-"))
    made = computing.check(season, None)
    assert "maturity_offset" not in set(made.tables["results"]["measure"])
    assert "value-implausible" not in set(made.tables["findings"]["code"])
