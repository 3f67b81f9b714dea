"""Jumps, lifts and short sprints against published figures, through intake and the measures."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pandas as pd
import pytest

from pipeline import computing, reading
from pipeline.battery import EQUATIONS
from pipeline.bundle import DayBundle
from tests import seasons
from tests.finals import REFERENCE

LOAD_KG = 100
MOST_REPETITIONS = 10
BATTERY_40_M = """\
[tests."40 m"]
kind = "sprint"
distance_m = 40
"""


def compute(folder: Path, athletes: list[str], files: Mapping[str, str | None]) -> DayBundle:
    """The tables of a season of one day with these athletes and files only."""
    roster = "".join(f"{key},Athlete {key},,,,,,,full\n" for key in athletes)
    day = {
        f"{seasons.DAY_FOLDER}/{name}.csv": None for name in ("sprints", "jumps", "lifts", "body")
    }
    head = seasons.ROSTER.splitlines(keepends=True)[0]
    seasons.write(folder, {**day, "roster.csv": head + roster, **files})
    return computing.compute(reading.read(folder, None))


def values(computed: DayBundle, measure: str) -> pd.Series:
    results = computed.tables["results"]
    return results[results["measure"] == measure].set_index("athlete_id")["value"]


def sheet(head: str, lines: list[str]) -> str:
    return "\n".join([head, *lines]) + "\n"


# --- jumps -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def flights() -> pd.DataFrame:
    """Flight time, take-off speed and height, one row a jump, indexed by an athlete of its own."""
    table = pd.read_csv(REFERENCE / "flight_time_height.csv", dtype={"flight_time_s": str})
    return table.set_axis([f"J{n}" for n in range(len(table))], axis="index")


@pytest.fixture(scope="module")
def jumped(flights: pd.DataFrame, tmp_path_factory: pytest.TempPathFactory) -> DayBundle:
    lines = [
        f"gym,{key},countermovement jump,1,hips,{time}"
        for key, time in flights["flight_time_s"].items()
    ]
    jumps = sheet("session,athlete_id,test,attempt,arms,flight_time_s", lines)
    files = {f"{seasons.DAY_FOLDER}/jumps.csv": jumps}
    return compute(tmp_path_factory.mktemp("flights"), list(flights.index), files)


def test_jump_height_agrees_with_the_table_of_flight_times(
    jumped: DayBundle, flights: pd.DataFrame
) -> None:
    """h = g·t²/8, Bosco et al. 1983, Linthorne 2001 (formula seen; table recomputed at 9.80665)."""
    found = values(jumped, "jump_height")
    assert found.to_dict() == pytest.approx(
        (flights["height_m_g9.80665"] * 100).to_dict(), abs=1e-4
    )


def test_jump_height_at_another_gravity_would_not_agree(
    jumped: DayBundle, flights: pd.DataFrame
) -> None:
    """The control: the same table at 9.81 and 9.80 (recomputed) is told apart in every row."""
    found = values(jumped, "jump_height")
    for other in ("height_m_g9.81", "height_m_g9.80"):
        assert ((found - flights[other] * 100).abs() > 1e-3).all()


def test_takeoff_speed_agrees_with_the_table_of_flight_times(
    jumped: DayBundle, flights: pd.DataFrame
) -> None:
    """v = g·t/2, Linthorne 2001 (formula seen; table recomputed at 9.80665)."""
    found = values(jumped, "takeoff_speed")
    assert found.to_dict() == pytest.approx(flights["takeoff_velocity_m_s"].to_dict(), abs=1e-6)


# --- lifts -----------------------------------------------------------------------------------


def lift(folder: Path, sets: Mapping[int, float], equation: str) -> pd.Series:
    """One-rep max by repetitions, from one maximal set (repetitions → load in kg) an athlete."""
    people = {f"L{reps}": reps for reps in sets}
    lines = [f"gym,{key},back squat,{sets[reps]:g},{reps},good,yes" for key, reps in people.items()]
    files = {
        "battery.toml": f'one_rep_max_equation = "{equation}"\n',
        f"{seasons.DAY_FOLDER}/lifts.csv": sheet(
            "session,athlete_id,lift,load_kg,reps,result,maximal", lines
        ),
    }
    return values(compute(folder, list(people), files), "one_rep_max").rename(people)


@pytest.mark.parametrize(
    ("equation", "column"),
    [
        ("epley", "Epley 1/30"),
        ("brzycki", "Brzycki 36/(37-r)"),
        ("lander", "Lander"),
        ("lombardi", "Lombardi"),
        ("mayhew", "Mayhew"),
        ("oconner", "O'Conner"),
        ("wathan", "Wathan"),
    ],
)
def test_one_rep_max_agrees_with_the_table_of_equations(
    tmp_path: Path, equation: str, column: str
) -> None:
    """100 kg for 2 to 10 repetitions; the equations as later comparisons tabulate them.

    Status: equations second-hand, table recomputed.
    """
    table = pd.read_csv(REFERENCE / "one_rm_equations_100kg.csv").set_index("reps")[column]
    table = table[(table.index > 1) & (table.index <= MOST_REPETITIONS)]
    found = lift(tmp_path, dict.fromkeys(table.index, LOAD_KG), equation)
    assert list(table.index) == [2, 3, 4, 5, 6, 8, 10]
    assert found.to_dict() == pytest.approx(table.to_dict(), abs=0.001)


@pytest.mark.parametrize("equation", EQUATIONS)
def test_a_single_is_its_own_one_rep_max(tmp_path: Path, equation: str) -> None:
    """By definition. Epley's 103.333 for one repetition (same table) must not be given out."""
    assert lift(tmp_path, {1: LOAD_KG}, equation).to_dict() == {1: LOAD_KG}


@pytest.mark.parametrize("equation", ["epley", "brzycki"])
def test_one_rep_max_agrees_with_the_load_chart_within_two_and_a_half_percent(
    tmp_path: Path, equation: str
) -> None:
    """NSCA load chart, share of the one-rep max for 2 to 10 repetitions (seen).

    The chart is no equation, so it agrees roughly: the bound is recomputed from its rows.
    """
    chart = pd.read_csv(REFERENCE / "nsca_percent_1rm.csv").set_index("reps")["pct_1rm"]
    chart = chart[(chart.index > 1) & (chart.index <= MOST_REPETITIONS)]
    found = lift(tmp_path, chart.to_dict(), equation)
    assert len(found) == 9
    assert found.between(97.5, 102.5).all()


def test_strength_is_scaled_for_body_mass_as_published(tmp_path: Path) -> None:
    """150 kg at 80 kg: 150 / 80^0.67 = 7.9620, Jaric 2002, Sports Med 32:615 (seen, recomputed)."""
    lifts = sheet(
        "session,athlete_id,lift,load_kg,reps,result,maximal", ["gym,S1,back squat,150,1,good,yes"]
    )
    body = sheet("session,athlete_id,body_mass_kg", ["gym,S1,80"])
    files = {
        f"{seasons.DAY_FOLDER}/lifts.csv": lifts,
        f"{seasons.DAY_FOLDER}/body.csv": body,
    }
    computed = compute(tmp_path, ["S1"], files)
    assert values(computed, "scaled_strength").to_dict() == {"S1": pytest.approx(7.9620, abs=5e-5)}
    assert values(computed, "relative_strength").to_dict() == {"S1": pytest.approx(1.875)}


# --- short sprints ---------------------------------------------------------------------------


def test_published_group_means_pass_intake_without_a_finding(tmp_path: Path) -> None:
    """Mean 10 to 40 m times of 11 groups, Haugen et al. 2019, PLOS ONE 14:e0215551 (seen).

    No plausible limit may stand in the way of what trained groups run on average.
    """
    table = pd.read_csv(REFERENCE / "group_means_10_to_40m.csv", dtype=str)
    table = table.set_axis([f"G{n}" for n in range(len(table))], axis="index")
    gates = ["t10", "t20", "t30", "t40"]
    lines = [f"track,{key},40 m,1,{','.join(row[gates])}" for key, row in table.iterrows()]
    head = "session,athlete_id,test,attempt,t10_s,t20_s,t30_s,t40_s"
    files = {"battery.toml": BATTERY_40_M, f"{seasons.DAY_FOLDER}/sprints.csv": sheet(head, lines)}
    computed = compute(tmp_path, list(table.index), files)
    findings = computed.tables["findings"]
    assert set(findings["code"]) == {"attempts-short"}  # one mean is one attempt of two
    assert values(computed, "time").to_dict() == table["t40"].astype(float).to_dict()
    top = 20 / (table["t40"].astype(float) - table["t20"].astype(float))
    assert values(computed, "top_speed").to_dict() == pytest.approx(top.to_dict(), abs=0.001)
