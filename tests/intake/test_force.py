"""The folder force/: what is read, what is refused, and where each fault stands."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import computing, reading
from pipeline.intake.force import FaultError, _numbers, _table
from pipeline.measures.spec import FORCE_TRACE, Array
from tests import seasons
from tests.intake import small
from tests.measures.synthetic import G, Jump, pull

RATE = 500.0
JUMP = Jump(mass=56.0, speed=2.45)
HEAD = "file,athlete_id,test,attempt,rate_hz,column,unit,session\n"
CMJ = "a.csv,A01,countermovement jump,1,500,,N,gym\n"
BODY = "session,athlete_id,body_mass_kg\ngym,A01,56.0\n"


def csv(*plates: Array, heading: str = "force_N", digits: int = 1) -> str:
    lines = (",".join(f"{v:.{digits}f}" for v in line) for line in zip(*plates, strict=True))
    return "\n".join([heading, *lines]) + "\n"


def one() -> Array:
    noise = np.random.default_rng(3).normal(0, 1, len(JUMP.force(RATE)))
    return JUMP.force(RATE) + noise


def read(
    folder: Path, rows: str, files: dict[str, small.Content], **sheets: small.Content
) -> reading.Intake:
    day: dict[str, small.Content] = {"force/traces.csv": HEAD + rows if rows else None}
    day |= {f"force/{name}": content for name, content in files.items()}
    day |= {f"{name}.csv": content for name, content in sheets.items()}
    return small.read(folder, day)


def measured(intake: reading.Intake) -> dict[tuple[str, str], float]:
    results = computing.compute(intake).tables["results"]
    rows = zip(results["measure"], results["conditions"], results["value"], strict=True)
    return {(m, "plate" if "device=force plate" in c else ""): v for m, c, v in rows}


def test_a_trace_is_read_and_its_row_accounted_for(tmp_path: Path) -> None:
    got = read(tmp_path, CMJ, {"a.csv": csv(one())}, body=BODY)
    assert small.states(got, "force/traces.csv") == (1, 1, 0, 0)
    assert small.adds_up(got)
    assert small.found(got) == []
    (trace,) = got.trials.traces.values()
    assert (trace.rate_hz, len(trace.force)) == (RATE, len(one()))
    made = measured(got)
    height = 100 * JUMP.speed**2 / (2 * G)
    assert made["impulse_jump_height", "plate"] == pytest.approx(height, rel=0.02)
    assert made["jump_height", "plate"] == pytest.approx(height, rel=0.02)
    assert made["net_impulse", "plate"] == pytest.approx(JUMP.impulse, rel=0.01)
    assert small.conditions(got, -1)["device"] == "force plate"


FORMS: dict[str, tuple[str, str, str]] = {
    "no heading": ("a.txt", "\n".join(f"{v:.1f}" for v in one()), ""),
    "decimal comma": ("a.txt", "\n".join(f"{v:.1f}".replace(".", ",") for v in one()), ""),
    "comma under a heading": ("a.csv", csv(one()).replace(".", ","), "force_N"),
    "semicolons": (
        "a.csv",
        "t;force_N\n"
        + "\n".join(f"{i / 500:.3f};{v:.1f}".replace(".", ",") for i, v in enumerate(one())),
        "Force_N",
    ),
    "tabs": ("a.tsv", csv(one() * 0, one(), heading="x,Force N").replace(",", "\t"), "force_n"),
    "by number": ("a.csv", "\n".join(f"0.0,{v:.1f}" for v in one()), "2"),
    "a preamble": ("a.txt", "Export\nRate,500\n\n" + csv(one()), "force_N"),
    "carriage returns": ("a.csv", csv(one()).replace("\n", "\r\n"), "force_N"),
    "with a mark": ("a.csv", "\ufeff" + csv(one()), "force_N"),
    "blanks": ("a.txt", "\n".join(f"{i / 500:.3f}   {v:.1f}" for i, v in enumerate(one())), "2"),
    "two plates": (
        "a.csv", csv(0.52 * one(), 0.48 * one(), heading="left_N,right_N", digits=4),
        "left_N+right_N",
    ),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_every_form_of_file_gives_the_same_jump(tmp_path: Path, form: str) -> None:
    name, content, column = FORMS[form]
    row = CMJ.replace("a.csv", name).replace(",,N", f",{column},N")
    got = read(tmp_path, row, {name: content}, body=BODY)
    assert small.found(got) == []
    (trace,) = got.trials.traces.values()
    np.testing.assert_allclose(trace.force, np.round(one(), 1), atol=0.06)


def test_body_weights_need_a_body_mass_for_newtons_only(tmp_path: Path) -> None:
    files = {"a.csv": csv(one() / (56 * G), digits=5)}
    row = CMJ.replace(",N,", ",BW,")
    known = measured(read(tmp_path / "1", row, files, body=BODY))
    unknown = measured(read(tmp_path / "2", row, files))
    assert known["net_impulse", "plate"] == pytest.approx(JUMP.impulse, rel=0.01)
    assert ("net_impulse", "plate") not in unknown
    assert ("peak_force", "plate") not in unknown
    for key in ("impulse_jump_height", "peak_relative_force", "rsi_modified"):
        assert unknown[key, "plate"] == pytest.approx(known[key, "plate"], rel=1e-3)


PLATES = csv(0.5 * one(), 0.5 * one(), heading="left_N,right_N")
FAULTS: dict[str, tuple[str, str, str, str]] = {
    "missing": (CMJ.replace("a.csv", "b.csv"), "trace-file", "file", "no such file"),
    "outside": (CMJ.replace("a.csv", "../body.csv"), "trace-file", "file", "plain name"),
    "absolute": (CMJ.replace("a.csv", "/etc/passwd"), "trace-file", "file", "plain name"),
    "backwards": (CMJ.replace("a.csv", "..\\a.csv"), "trace-file", "file", "plain name"),
    "no name": (CMJ.replace("a.csv", ""), "trace-file", "file", "no file is named"),
    "a workbook": (CMJ.replace("a.csv", "a.xlsx"), "trace-file", "file", "ending"),
    "no rate": (CMJ.replace(",500,", ",,"), "trace-rate", "rate_hz", "200 to 20000 Hz"),
    "slow": (CMJ.replace(",500,", ",100,"), "trace-rate", "rate_hz", "200 to 20000 Hz"),
    "a word for a rate": (CMJ.replace(",500,", ",fast,"), "trace-rate", "rate_hz", "“fast”"),
    "volts": (CMJ.replace(",N,", ",V,"), "trace-unit", "unit", "“V” is no unit"),
    "no unit": (CMJ.replace(",N,", ",,"), "trace-unit", "unit", "is no unit"),
    "no column": (CMJ.replace(",,N", ",Fz,N"), "trace-column", "column", "is not there"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_found_at_its_cell_and_the_row_set_aside(tmp_path: Path, fault: str) -> None:
    row, code, column, words = FAULTS[fault]
    got = read(tmp_path, row, {"a.csv": csv(one())}, body=BODY)
    assert (code, 2, column) in small.errors(got)
    assert words in small.message(got, code)
    assert small.states(got, "force/traces.csv") == (1, 0, 0, 1)
    assert not got.trials.traces


def test_a_planned_row_of_which_nothing_was_filled_in_is_a_row_without_a_result(
    tmp_path: Path,
) -> None:
    got = read(tmp_path, ",A01,countermovement jump,1,,,,gym\n", {})
    assert small.found(got) == [("row-no-value", 2, "")]
    assert small.states(got, "force/traces.csv") == (1, 0, 0, 1)


@pytest.mark.parametrize(
    ("column", "words"),
    [
        ("left_N+left_N", "counted twice"),
        ("", "2 columns"),
        ("left_N+middle_N", "“middle_N” is not there"),
    ],
)
def test_plates_are_named_once_each(tmp_path: Path, column: str, words: str) -> None:
    got = read(tmp_path, CMJ.replace(",,N", f",{column},N"), {"a.csv": PLATES}, body=BODY)
    assert words in small.message(got, "trace-column")


REFUSED: dict[str, tuple[str, str]] = {
    "binary": ("\x00\x01\x02" * 50, "no line of numbers"),
    "words": (csv(one()).replace("\n", "\noops\n", 50).replace("oops\n", "", 49), "sample"),
    "a blank": ("t,force_N\n" + "\n".join(f"{i},{'' if i == 7 else 550}" for i in range(900)), ""),
    "empty": ("", "no line of numbers"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_file_that_is_no_trace_is_told(tmp_path: Path, what: str) -> None:
    content, words = REFUSED[what]
    row = CMJ.replace(",,N", ",force_N,N") if what == "a blank" else CMJ
    got = read(tmp_path, row, {"a.csv": content}, body=BODY)
    assert words in small.message(got, "trace-file")
    if what == "a blank":
        assert "sample 8" in small.message(got, "trace-file")


def test_the_weight_is_held_against_the_scale(tmp_path: Path) -> None:
    """A plate counted twice under another name: 1.5 times the body."""
    files = {"a.csv": csv(one(), 0.5 * one(), heading="sum_N,left_N")}
    row = CMJ.replace(",,N", ",sum_N+left_N,N")
    got = read(tmp_path, row, files, body=BODY)
    assert "1.50 times what the athlete weighs" in small.message(got, "trace-refused")


def test_a_plate_that_clips_is_refused_though_the_sum_looks_whole(tmp_path: Path) -> None:
    left = np.minimum(0.5 * one(), 500.0)
    files = {"a.csv": csv(left, 0.5 * one(), heading="left_N,right_N")}
    got = read(tmp_path, CMJ.replace(",,N", ",left_N+right_N,N"), files)
    assert "clips" in small.message(got, "trace-refused")


def test_without_a_rate_column_no_row_is_used(tmp_path: Path) -> None:
    text = "file,athlete_id,test,unit\na.csv,A01,countermovement jump,N\n"
    day = {"force/traces.csv": text, "force/a.csv": csv(one())}
    got = small.read(tmp_path, day)
    assert ("heading-missing", 2, "rate_hz") in small.errors(got)
    assert small.states(got, "force/traces.csv") == (1, 0, 0, 1)


def test_the_same_samples_count_once(tmp_path: Path) -> None:
    rows = CMJ + CMJ.replace("jump,1", "jump,2")
    got = read(tmp_path, rows, {"a.csv": csv(one())}, body=BODY)
    assert [f for f in small.errors(got) if f[0] == "trace-file"] == [("trace-file", 3, "file")]
    assert small.states(got, "force/traces.csv") == (2, 1, 0, 1)


def test_a_file_nobody_lists_is_named(tmp_path: Path) -> None:
    got = read(tmp_path, "", {"a.csv": csv(one())})
    (one_finding,) = (f for f in got.findings if f.code == "trace-not-listed")
    assert one_finding.place.file == f"{seasons.DAY_FOLDER}/force/a.csv"


def test_another_folder_is_still_only_noted(tmp_path: Path) -> None:
    got = small.read(tmp_path, {"video/a.csv": "x\n1\n"})
    assert "folder-not-used" in small.codes(got)


SHEET = "session,athlete_id,test,attempt,flight_time_s\ngym,A01,countermovement jump,1,{}\n"


def test_a_jump_of_the_sheet_does_not_stand_twice(tmp_path: Path) -> None:
    got = read(tmp_path, CMJ, {"a.csv": csv(one())}, body=BODY, jumps=SHEET.format("0.511"))
    made = measured(got)
    assert made["jump_height", ""] == pytest.approx(100 * G * 0.511**2 / 8)
    assert ("jump_height", "plate") not in made
    assert ("flight_jump_height", "plate") in made
    assert list(got.trials.attempts["timed"])[-1] == False  # noqa: E712  # a numpy bool


@pytest.mark.parametrize("mark", ["DNF", "9.9"])
def test_where_the_sheet_has_no_used_value_the_trace_stands_in(tmp_path: Path, mark: str) -> None:
    got = read(tmp_path, CMJ, {"a.csv": csv(one())}, body=BODY, jumps=SHEET.format(mark))
    made = measured(got)
    assert ("jump_height", "") not in made
    assert ("jump_height", "plate") in made


def test_a_mats_height_is_never_compared_with_a_plates(tmp_path: Path) -> None:
    spring = seasons.DAY.replace("2026-09", "2026-05")
    over = {"2026-05-spring/day.toml": spring, "2026-05-spring/jumps.csv": SHEET.format("0.5")}
    day = {"force/traces.csv": HEAD + CMJ, "force/a.csv": csv(one())}
    got = small.read(tmp_path, day, over)
    changes = computing.compute(got).tables["changes"]
    (row,) = changes[changes["measure"] == "jump_height"].to_dict("records")
    assert row["verdict"] == "not comparable"
    assert row["reason"] == "device: not recorded → force plate"


def test_heights_that_disagree_and_a_dip_are_told(tmp_path: Path) -> None:
    tucked = one()
    landing = round((JUMP.quiet_s + JUMP.dip_s + JUMP.push_s + JUMP.flight_s) * RATE)
    tucked = np.insert(tucked, landing - 20, np.zeros(40))  # 80 ms longer in the air
    rows = CMJ + CMJ.replace("a.csv", "b.csv").replace("countermovement", "squat")
    got = read(tmp_path, rows, {"a.csv": csv(tucked), "b.csv": csv(one())}, body=BODY)
    assert ("trace-heights", 2, "file") in small.found(got)
    assert ("trace-dip", 3, "file") in small.found(got)
    assert small.states(got, "force/traces.csv") == (2, 0, 2, 0)
    results = computing.compute(got).tables["results"]
    squat = results[(results["test"] == "squat jump") & (results["measure"] == "rsi_modified")]
    assert list(squat["flags"]) == ["dip before the push"]


def test_an_isometric_pull_gives_the_strength_index(tmp_path: Path) -> None:
    rows = CMJ + "p.csv,A01,IMTP,1,500,,N,gym\n"
    tremor = np.random.default_rng(4).normal(0, 1, len(pull(56, 1200, RATE)))
    files = {"a.csv": csv(one()), "p.csv": csv(pull(56, 1200, RATE) + tremor)}
    got = read(tmp_path, rows, files, body=BODY)
    made = computing.compute(got).tables["results"]
    (row,) = made[made["measure"] == "strength_index"].to_dict("records")
    (trace, held) = got.trials.traces.values()
    expected = trace.reading.peak_n / held.reading.peak_n
    assert row["value"] == pytest.approx(expected, rel=0.01)
    assert (row["test"], row["part"]) == ("isometric mid-thigh pull", "countermovement jump")


def test_a_trace_that_gives_an_impossible_value_is_set_aside_whole(tmp_path: Path) -> None:
    battery = small.ONE_ATTEMPT + "limits.rsi_modified = [0.9, 1.0]\n"
    day = {"force/traces.csv": HEAD + CMJ, "force/a.csv": csv(one())}
    got = small.read(tmp_path, day, {"battery.toml": battery})
    assert "value-implausible" in small.codes(got)
    assert not [key for key in measured(got) if key[1] == "plate"]
    values = got.trials.values
    assert set(values[values["quantity"] == FORCE_TRACE]["status"]) == {"set aside"}


@settings(max_examples=200, deadline=None)
@given(text=st.text(max_size=300))
def test_no_text_makes_the_reader_fall(text: str) -> None:
    faults: list[str] = []
    try:
        numbers = _numbers(_table(text, "a.csv"), (0,), "a.csv")
    except FaultError as error:
        faults.append(error.fault.code)
        numbers = np.zeros((1, 1))
    assert not np.isnan(numbers).any()
    assert set(faults) <= {"trace-file"}
