"""The demo season is what its generator writes, and its troubles are found as they should be."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline import computing, reading
from pipeline.bundle import DayBundle
from pipeline.catalogue import Severity
from pipeline.errors import Finding
from pipeline.measures.registry import MEASURES, VIEWS
from pipeline.reading import Intake
from tests.demo.generate import write_season
from tests.demo.people import ATHLETES, SW
from tests.demo.trouble import TROUBLES, Trouble

SHIPPED = Path(__file__).parents[2] / "inputs_demo"
SPRINT_WOMEN = {a.athlete_id for a in ATHLETES if a.squad is SW}
DATES = {
    "2025-09-autumn": "2025-09-16",
    "2026-01-winter": "2026-01-20",
    "2026-05-spring": "2026-05-12",
    "2026-10-autumn": "2026-10-13",
}


def _files(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def test_the_shipped_season_is_what_the_generator_writes(tmp_path: Path) -> None:
    write_season(tmp_path)
    made, shipped = _files(tmp_path), _files(SHIPPED)
    assert sorted(made) == sorted(shipped)
    assert [name for name in made if made[name] != shipped[name]] == []


def test_the_generator_knows_nothing_of_the_pipeline() -> None:
    folder = Path(__file__).parent
    sources = {p for p in folder.glob("*.py") if not p.name.startswith("test_")}
    sources -= {folder / "sample.py"}  # it builds the demo; it writes none of it
    assert len(sources) > 5
    assert [p.name for p in sources if "pipeline" in p.read_text().replace("`pipeline`", "")] == []


@pytest.fixture(scope="module", name="days")
def _days() -> dict[str, Intake]:
    return {folder: reading.read(SHIPPED, date) for folder, date in DATES.items()}


def _about(day: Intake, trouble: Trouble) -> list[Finding]:
    """Findings of the day about the trouble's file and athlete."""
    return [
        f
        for f in day.findings
        if (not trouble.file or f.place.file == f"{trouble.day}/{trouble.file}")
        and (
            not trouble.athlete_id
            or f.athlete_id == trouble.athlete_id
            or dict(f.details).get("raw") == trouble.athlete_id
        )
    ]


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: f"{t.day}-{t.file}-{t.athlete_id}")
def test_a_trouble_is_found_and_no_worse_than_it_is(
    days: dict[str, Intake], trouble: Trouble
) -> None:
    found = _about(days[trouble.day], trouble)
    severities = {str(f.severity) for f in found}
    if trouble.expected == "note":
        # Some notes need no finding: pounds or a decimal comma are simply read.
        assert "error" not in {
            str(f.severity) for f in found if trouble.athlete_id or f.place.row is None
        }
    else:
        assert trouble.expected in severities


def test_the_latest_day_has_no_error_and_every_earlier_day_has_its_own(
    days: dict[str, Intake],
) -> None:
    errors = {
        folder: sum(f.severity is Severity.ERROR for f in day.findings)
        for folder, day in days.items()
    }
    wanted = {
        folder: sum(t.expected == "error" and t.day == folder for t in TROUBLES) for folder in DATES
    }
    assert errors == wanted
    assert errors["2026-10-autumn"] == 0


def test_the_latest_day_has_every_measure_of_a_force_trace(days: dict[str, Intake]) -> None:
    latest = days["2026-10-autumn"]
    results = computing.compute(latest).tables["results"]
    made = set(results[results["day"] == latest.day.key]["measure"])
    wanted = {m.key for m in MEASURES.values() if m.section == "force"}
    assert len(wanted) >= 12
    assert wanted <= made
    assert not [f.code for f in latest.findings if f.code.startswith("trace-")]


def test_a_view_has_no_row_without_the_quantities_it_names(days: dict[str, Intake]) -> None:
    """So that a day without them need not ask it."""
    day = days["2026-10-autumn"]
    trials, filled = day.trials, 0
    for built in VIEWS.values():
        others = trials.values[~trials.values["quantity"].isin(built.quantities)]
        assert built.build(replace(trials, values=others), day.battery).empty, built.name
        filled += len(built.build(trials, day.battery)) > 0
    assert filled >= len(VIEWS) - 2


def test_every_row_of_every_day_is_accounted_for(days: dict[str, Intake]) -> None:
    for folder, day in days.items():
        table = day.account
        assert (table["rows"] == table["used"] + table["flagged"] + table["set_aside"]).all(), (
            folder
        )
        assert not [f for f in day.findings if f.code == "rows-lost"]
        read = {Path(name).stem for name in table["file"]}
        assert {"sprints", "jumps", "drop_jumps", "lifts", "other", "body", "status"} <= read


def test_the_scenario_holds_the_people_and_tests_it_should(days: dict[str, Intake]) -> None:
    latest = days["2026-10-autumn"]
    people = list(latest.roster.athletes.values())
    assert len(people) >= 24
    minors = [a for a in people if (a.age_on(latest.day.date) or 99) < 18]
    assert 0.25 <= len(minors) / len(people) <= 0.45
    assert {a.sex for a in people} == {"F", "M"}
    scripts = "".join(a.name for a in people)
    assert any("\u0370" <= c <= "\u03ff" for c in scripts)  # Greek
    assert any("\u0400" <= c <= "\u04ff" for c in scripts)  # Cyrillic
    assert any("\u0600" <= c <= "\u06ff" for c in scripts)  # Arabic
    tests = set(latest.trials.attempts["test"])
    assert tests >= {
        "60 m", "100 m", "200 m", "40 m", "flying 20 m", "countermovement jump", "squat jump",
        "standing long jump", "single-leg jump", "drop jump", "back squat", "front squat",
        "power clean", "split squat", "shuttle 5-10-5", "overhead ball throw",
    }  # fmt: skip


@pytest.fixture(scope="module", name="latest")
def _latest(days: dict[str, Intake]) -> DayBundle:
    return computing.compute(days["2026-10-autumn"])


def test_the_latest_day_shows_every_state_of_phases(latest: DayBundle) -> None:
    main = [one for one in latest.day["phase_states"] if one["main"]]
    women = {one["athlete_id"]: one for one in main if one["athlete_id"] in ("S02", "S01", "S07")}
    assert {key: one["state"] for key, one in women.items()} == {
        "S02": "stands out",
        "S01": "balanced",
        "S07": "too thin",  # one run
    }
    assert "most to gain" in {one["state"] for one in main}
    lines = {
        (one["test"], one["athlete_id"] in SPRINT_WOMEN): one["reference"]
        for one in latest.day["phase_states"]
        if one["test"] == "60 m"
    }
    assert lines == {("60 m", True): "squad", ("60 m", False): ""}


def test_her_phase_that_stands_out_has_a_measure_behind_it(latest: DayBundle) -> None:
    """S02 was given a loss from 30 to 60 m and rebounds that fell; nobody else was."""
    phases = latest.tables["phases"]
    out = phases[phases["finding"] == "stands out"]
    assert out[["athlete_id", "test", "phase"]].to_numpy().tolist() == [
        ["S02", "60 m", "maximum velocity"]
    ]
    signs = latest.tables["emphasis"]
    hers = signs[(signs["athlete_id"] == "S02") & (signs["test"] == "60 m")]
    assert set(hers["says"]) == {"suggested"}
    assert set(hers["emphasis"]) == {"short contacts"}
    assert ("drop jump", "rsi") in set(zip(hers["sign_test"], hers["sign_measure"], strict=True))


def test_the_latest_day_shows_targets_and_choices_in_every_state(latest: DayBundle) -> None:
    assert set(latest.tables["targets"]["state"]) == {"reached", "open", "late"}
    plan = latest.tables["plan"]
    assert plan["athlete_id"].nunique() >= 9
    assert plan["chosen"].min() > "2026-05-18"  # older choices belong to earlier days
    assert {"clearly better", "cannot tell"} <= set(plan[plan["kind"] == "phase"]["verdict"])


def test_nobody_of_the_staffs_table_is_anywhere_but_in_the_account(latest: DayBundle) -> None:
    account = latest.tables["account"].set_index("file")
    sheet = account.loc["reference_sprints.csv"]
    assert sheet["rows"] == sheet["used"] > 0
    for name, table in latest.tables.items():
        assert "reference:" not in table.to_csv(), name
    assert "reference:" not in json.dumps(latest.day)
