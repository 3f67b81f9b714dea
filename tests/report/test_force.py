"""The section of force traces: two heights, forces, a drawing, and nobody else's samples."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

from pipeline import bundle, computing, reading
from pipeline.measures.force_traces import DROP_JUMP, ISOMETRIC, JUMP, MOST_POINTS
from pipeline.report import athlete, force
from pipeline.report.wording import SENTENCES
from tests import seasons
from tests.measures.synthetic import Jump, drop, pull
from tests.seasons import DAY_FOLDER

RATE = 500.0
LIST = """\
file,athlete_id,test,attempt,rate_hz,unit,drop_height_cm,session
a.csv,A01,countermovement jump,1,500,N,,gym
b.csv,A02,countermovement jump,1,500,N,,gym
d.csv,A02,drop jump,1,500,N,30,gym
p.csv,A02,isometric mid-thigh pull,1,500,N,,gym
"""


def csv(force_n: np.ndarray, seed: int) -> str:  # type: ignore[type-arg]  # of floats
    noisy = force_n + np.random.default_rng(seed).normal(0, 1, len(force_n))
    return "force_N\n" + "\n".join(f"{v:.1f}" for v in noisy) + "\n"


TRACES = {
    f"{DAY_FOLDER}/force/traces.csv": LIST,
    f"{DAY_FOLDER}/force/a.csv": csv(Jump(mass=56.4, speed=2.45).force(RATE), 1),
    f"{DAY_FOLDER}/force/b.csv": csv(Jump(mass=77.5, speed=3.0).force(RATE), 2),
    f"{DAY_FOLDER}/force/d.csv": csv(drop(77.5, 0.27, 0.2, 0.5, RATE), 3),
    f"{DAY_FOLDER}/force/p.csv": csv(pull(77.5, 1800, RATE), 4),
}


@pytest.fixture(name="data")
def _data(tmp_path: Path) -> Path:
    season = seasons.write(tmp_path / "season", TRACES)
    made = computing.compute(reading.read(season, None))
    bundle.write(tmp_path / "data", made)
    return tmp_path / "data"


def words(data: Path, key: str) -> str:
    report = athlete.load(str(data / "athletes" / f"{key}.json"))
    return athlete.traces(report)._repr_mimebundle_()["text/plain"]


def test_both_heights_and_the_forces_stand_on_the_page(data: Path) -> None:
    """v = 2.45 m/s is 30.6 cm either way (v squared over 2 g); at 500 Hz flight knows no tenths."""
    said = words(data, "A01")
    by_impulse, by_flight = re.findall(r"(\d+(?:\.\d)?) cm", said)[:2]
    assert float(by_impulse) == pytest.approx(30.6, abs=0.3)  # the trapezoid's step at 500 Hz
    assert by_flight == "31"
    assert "height by impulse" in said
    assert "height by flight time" in said
    assert "braking" in said
    assert "Drop jumps on the force plate" not in said


def test_every_kind_of_trace_has_its_row(data: Path) -> None:
    said = words(data, "A02")
    for text in ("Drop jump, 30 cm", "Isometric mid-thigh pull", "0–100 ms", "0–200 ms"):
        assert text in said
    assert "The ratio sets the peak force of the countermovement jump" in said


def test_the_drawing_names_its_phases_and_moments(data: Path) -> None:
    report = athlete.load(str(data / "athletes" / "A02.json"))
    charts = [b.data() for b in athlete.traces(report).blocks if b.data()["type"] == "chart"]
    assert len(charts) == force.DRAWN
    jump, rebound = charts
    for phase in ("unweighting", "braking", "propulsion", "flight", "landing", "body weight"):
        assert phase in jump["svg"]
    assert "take-off at 0.7" in jump["caption"]
    assert "contact" in rebound["svg"]
    assert "touchdown at 0.00" in rebound["caption"]


def test_samples_stay_in_the_athletes_own_slice_and_tell_no_newtons(data: Path) -> None:
    slices = {p.stem: json.loads(p.read_text()) for p in (data / "athletes").glob("*.json")}
    assert {key: len(s["traces"]) for key, s in slices.items()} == {"A01": 1, "A02": 3}
    for one in slices.values():
        for trace in one["traces"]:
            assert len(trace["times"]) == len(trace["force"]) <= MOST_POINTS
            assert max(trace["force"]) < 12  # body weights
    assert "traces" not in json.loads((data / "day.json").read_text())
    measures = {r["measure"] for r in slices["A01"]["results"]}
    assert "relative_impulse" in measures
    assert not measures & {"net_impulse", "peak_force"}  # with the former they tell body mass


def test_nobody_without_a_trace_gets_more_than_a_sentence(tmp_path: Path) -> None:
    season = seasons.write(tmp_path / "season", {})
    bundle.write(tmp_path / "data", computing.compute(reading.read(season, None)))
    assert words(tmp_path / "data", "A01") == "No force trace was taken on this day."


def test_a_jump_on_the_plate_only_does_not_lose_the_other_sections(tmp_path: Path) -> None:
    """The same drop height on a mat and on a plate: two rows, each with its own contact."""
    mat = "session,athlete_id,attempt,drop_height_cm,contact_time_s,flight_time_s\n"
    files = {**TRACES, f"{DAY_FOLDER}/drop_jumps.csv": f"{mat}gym,A02,2,30,0.190,0.510\n"}
    season = seasons.write(tmp_path / "season", files)
    bundle.write(tmp_path / "data", computing.compute(reading.read(season, None)))
    report = athlete.load(str(tmp_path / "data" / "athletes" / "A02.json"))
    said = athlete.reactive(report)._repr_mimebundle_()["text/plain"]
    assert "0.190 s" in said
    assert "0.20 s" in said  # a plate at 500 Hz: two samples, 4 ms, so no third digit
    assert athlete.first_table(report).blocks


def test_a_drop_jump_whose_box_nobody_noted_has_its_row(tmp_path: Path) -> None:
    files = {**TRACES, f"{DAY_FOLDER}/force/traces.csv": LIST.replace(",30,", ",,")}
    season = seasons.write(tmp_path / "season", files)
    bundle.write(tmp_path / "data", computing.compute(reading.read(season, None)))
    report = athlete.load(str(tmp_path / "data" / "athletes" / "A02.json"))
    for section in (athlete.reactive, athlete.traces):
        assert "0.20 s" in section(report)._repr_mimebundle_()["text/plain"]


def test_every_word_the_section_puts_together_is_there() -> None:
    tables = {name for name, _, _ in force.TABLES}
    columns = {key for _, _, keys in force.TABLES for key in keys}
    phases = {word for of_kind in force.PHASES.values() for word, _, _ in of_kind}
    wanted = {f"traces caption {t}" for t in tables} | {f"traces col {c}" for c in columns}
    wanted |= {f"traces phase {p}" for p in phases}
    wanted |= {f"traces axis {kind}" for kind in (JUMP, DROP_JUMP, ISOMETRIC)}
    wanted |= {
        f"traces moment {k} {m}" for k in (JUMP, DROP_JUMP) for m in ("onset", "takeoff", "landing")
    }
    wanted.add(f"traces moment {ISOMETRIC} onset")
    built = ("caption", "col", "phase", "axis", "moment")
    assert wanted == {k for k in SENTENCES if k.startswith(tuple(f"traces {b} " for b in built))}
