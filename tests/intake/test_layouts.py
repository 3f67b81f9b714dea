"""Every layout of the same day gives the same trials; what cannot be told apart is asked for.

The unfolding is held against ``pandas.melt`` and ``pandas.wide_to_long``.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pipeline import reading
from pipeline.measures.spec import NO_MARK, USED
from tests import seasons
from tests.intake import small
from tests.intake.sheets import Door, keys, said, states, values


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Door:
    """The tidy season, without sheets."""
    return Door.at(tmp_path_factory.mktemp("door") / "season")


JUMPS = """\
athlete_id,test,attempt,side,height_cm
A01,countermovement jump,1,,33.0
A01,countermovement jump,2,,34.5
A01,countermovement jump,3,,x
A02,countermovement jump,1,,50.1
A02,countermovement jump,2,,49.0
A01,single-leg jump,1,left,19.5
A01,single-leg jump,1,right,20.5
A02,single-leg jump,1,left,28.0
"""
OTHER_JUMPS = {
    "attempts across": (
        "jumps",
        (
            "athlete_id,test,side,1 (cm),2 (cm),3 (cm)\n"
            "A01,CMJ,,33.0,34.5,x\nA02,CMJ,,50.1,49.0,\n"
            "A01,single-leg jump,left,19.5,,\nA01,single-leg jump,right,20.5,,\n"
            "A02,single-leg jump,left,28.0,,\n"
        ),
    ),
    "numbered words": (
        "jumps",
        (
            "athlete_id,test,side,Trial 1 (cm),Versuch_2_cm,height 3 [cm]\n"
            "A01,CMJ,,33.0,34.5,x\nA02,CMJ,,50.1,49.0,\n"
            "A01,single-leg jump,left,19.5,,\nA01,single-leg jump,right,20.5,,\n"
            "A02,single-leg jump,left,28.0,,\n"
        ),
    ),
    "tests and sides across": (
        "jumps",
        (
            "athlete_id,CMJ 1 (cm),CMJ_2_cm,cmj trial 3 [cm],single-leg jump L 1 (cm),"
            "Single-Leg Jump_R_1_cm\n"
            "A01,33.0,34.5,x,19.5,20.5\nA02,50.1,49.0,,28.0,\n"
        ),
    ),
    "sides across": (
        "jumps",
        (
            "athlete_id,test,attempt,left (cm),right (cm),height_cm\n"
            "A01,single-leg jump,1,19.5,20.5,\nA02,single-leg jump,1,28.0,,\n"
        ),
    ),
    "one row a value": (
        "jumps",
        (
            "athlete_id,test,attempt,side,measure,value,unit\n"
            "A01,CMJ,1,,height,33.0,cm\nA01,CMJ,2,,height,0.345,m\nA01,CMJ,3,,jump height,x,cm\n"
            "A02,CMJ,1,,height,501,mm\nA02,CMJ,2,,height,49.0 cm,\n"
            "A01,single-leg jump,1,left,height,19.5,cm\n"
            "A01,single-leg jump,1,right,height,20.5,cm\n"
            "A02,single-leg jump,1,left,height,28.0,cm\n"
        ),
    ),
    "one row a value, the test says which": (
        "jumps",
        (
            "athlete_id,test,attempt,side,value_cm\n"
            "A01,CMJ,1,,33.0\nA01,CMJ,2,,34.5\nA01,CMJ,3,,x\nA02,CMJ,1,,50.1\nA02,CMJ,2,,49.0\n"
            "A01,single-leg jump,1,left,19.5\nA01,single-leg jump,1,right,20.5\n"
            "A02,single-leg jump,1,left,28.0\n"
        ),
    ),
    "any tests across": (
        "results",
        (
            "athlete_id,CMJ 1 (cm),CMJ 2 (cm),CMJ 3 (cm),single-leg jump left 1 (cm),"
            "single-leg jump right 1 (cm)\n"
            "A01,33.0,34.5,x,19.5,20.5\nA02,50.1,49.0,,28.0,\n"
        ),
    ),
    "any tests, one row a value": (
        "results",
        (
            "athlete_id,test,attempt,side,value,unit\n"
            "A01,CMJ,1,,33.0,cm\nA01,CMJ,2,,34.5,cm\nA01,CMJ,3,,x,cm\nA02,CMJ,1,,50.1,cm\n"
            "A02,CMJ,2,,49.0,cm\nA01,single-leg jump,1,left,19.5,cm\n"
            "A01,single-leg jump,1,right,20.5,cm\nA02,single-leg jump,1,left,28.0,cm\n"
        ),
    ),
}


@pytest.mark.parametrize("layout", sorted(OTHER_JUMPS))
def test_every_layout_of_the_jumps_gives_the_same_trials(door: Door, layout: str) -> None:
    expected = values(door.read("jumps", JUMPS))
    assert (expected["status"] == NO_MARK).sum() == 1
    kind, text = OTHER_JUMPS[layout]
    taken = door.read(kind, text)
    if layout == "sides across":
        expected = expected[expected["side"] != ""].reset_index(drop=True)
        assert said(taken) == [("heading-which-attempt", None, "height_cm")]
    pd.testing.assert_frame_equal(values(taken), expected)


SPRINTS = """\
athlete_id,test,attempt,wind_mps,t10_s,t30_s,t60_s
A01,60 m,1,0.3,2.04,4.28,7.70
A01,60 m,2,2.4,2.05,,7.74
A02,60 m,1,-0.1,1.87,3.95,6.90
"""
OTHER_SPRINTS = {
    "attempts across": (
        "sprints",
        (
            "athlete_id,test,t10_1_s,t30 1 (s),T60 trial 1 [s],wind 1 (mps),"
            "t10_2_s,t30_2_s,t60 Lauf 2_s,t60_2_s,wind_2_mps\n"
            "A01,60 m,2.04,4.28,7.70,0.3,2.05,,,7.74,2.4\nA02,60 m,1.87,3.95,6.90,-0.1,,,,,\n"
        ),
    ),
    "the test before the split": (
        "sprints",
        (
            "athlete_id,60 m 1 t10 (s),60 m 1 t30 (s),60 m 1 (s),60 m 1 wind (mps),"
            "60 m 2 t10 (s),60 m 2 t30 (s),60 m 2 (s),60 m 2 wind (mps)\n"
            "A01,2.04,4.28,7.70,0.3,2.05,,7.74,2.4\nA02,1.87,3.95,6.90,-0.1,,,,\n"
        ),
    ),
    "one row a value": (
        "sprints",
        (
            "athlete_id,test,attempt,measure,value,unit\n"
            "A01,60 m,1,t10,2.04,s\nA01,60 m,1,t30,4280,ms\nA01,60 m,1,t60,7.70,s\n"
            "A01,60 m,1,wind,0.3,m/s\nA02,60 m,1,t60,6.90,s\nA02,60 m,1,t10,1.87,s\n"
            "A01,60 m,2,t60,7.74,s\nA01,60 m,2,wind,2.4,m/s\nA01,60 m,2,t10,2.05,s\n"
            "A02,60 m,1,t30,3.95,s\nA02,60 m,1,wind,-0.1,m/s\n"
        ),
    ),
}


@pytest.mark.parametrize("layout", sorted(OTHER_SPRINTS))
def test_every_layout_of_the_sprints_gives_the_same_trials(door: Door, layout: str) -> None:
    expected = door.read("sprints", SPRINTS)
    kind, text = OTHER_SPRINTS[layout]
    taken = door.read(kind, text)
    pd.testing.assert_frame_equal(values(taken), values(expected))
    assert sorted(taken.trials.attempts["flags"]) == sorted(expected.trials.attempts["flags"])
    assert keys(taken) == keys(expected)


def test_a_value_names_its_own_row_and_heading(door: Door) -> None:
    taken = door.read("jumps", "athlete_id,CMJ 1 (cm),CMJ 2 (cm)\nA01,33.0,34.5\n")
    found = taken.trials.used("height")
    assert [s.split("!", 1)[1] for s in found["source"]] == ["!2!CMJ 1 (cm)", "!2!CMJ 2 (cm)"]
    long = door.read("sprints", OTHER_SPRINTS["one row a value"][1])
    rows = {v["part"]: v["source"].split("!")[2] for v in _of(long, "A02")}
    assert rows == {"60 m": "6", "10 m": "7", "30 m": "11", "": "12"}


def _of(taken: object, who: str) -> list[dict[str, str]]:
    trials = taken.trials  # type: ignore[attr-defined]  # a day's trials
    mine = trials.attempts.index[trials.attempts["athlete_id"] == who]
    found = trials.values[trials.values["key"].isin(mine) & trials.values["resolution"].notna()]
    return [{str(k): v for k, v in row.items()} for row in found.to_dict("records")]


# --- against pandas -----------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_attempts_across_unfold_as_pandas_unfolds_them(door: Door, seed: int) -> None:
    draw = np.random.default_rng(seed)
    most = int(draw.integers(2, 7))
    wide = pd.DataFrame(
        draw.integers(2000, 6000, (3, most)) / 100,
        index=pd.Index(["A01", "A02", "A03"], name="athlete_id"),
        columns=[f"CMJ {n} (cm)" for n in draw.permutation(most) + 1],
    ).mask(draw.random((3, most)) < 0.3)
    wide = wide.dropna(how="all")
    taken = values(door.read("jumps", wide.to_csv(float_format="%.2f")))
    melted = wide.reset_index().melt("athlete_id", value_name="height").dropna()
    melted["attempt"] = melted["variable"].str.extract(r"(\d+)").astype(int)
    melted = melted.sort_values(["athlete_id", "attempt"], ignore_index=True)
    assert taken["athlete_id"].tolist() == melted["athlete_id"].tolist()
    assert taken["attempt"].tolist() == melted["attempt"].tolist()
    assert taken["value"].tolist() == pytest.approx((melted["height"] / 100).tolist(), rel=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_splits_of_several_runs_unfold_as_pandas_unfolds_them(door: Door, seed: int) -> None:
    draw = np.random.default_rng(seed)
    runs = np.cumsum(draw.integers(100, 300, (3, 2, 3)) / 100, axis=2)
    columns = [f"t{at}_{run}" for run in (1, 2) for at in (10, 30, 60)]
    wide = pd.DataFrame(runs.reshape(3, 6), columns=columns)
    wide.insert(0, "athlete_id", ["A01", "A02", "A03"])
    long = pd.wide_to_long(wide, ["t10", "t30", "t60"], "athlete_id", "attempt", sep="_")
    long.columns = [f"{name[1:]} m" for name in long.columns]
    melted = long.melt(ignore_index=False, var_name="part").set_index("part", append=True)
    expected = melted["value"].sort_index()
    sheet = wide.rename(columns={name: f"{name}_s" for name in columns}).assign(test="60 m")
    taken = values(door.read("sprints", sheet.to_csv(index=False, float_format="%.2f")))
    found = taken.set_index(["athlete_id", "attempt", "part"])["value"].sort_index()
    assert found.index.tolist() == expected.index.tolist()
    np.testing.assert_allclose(found.to_numpy(), expected.to_numpy(), rtol=1e-12)


# --- what belongs to whom -----------------------------------------------------------------------


def test_blank_blocks_are_skipped_and_a_blank_row_is_said_once(door: Door) -> None:
    text = "athlete_id,CMJ 1 (cm),CMJ 2 (cm),SJ 1 (cm)\nA01,33.0,,\nA02,,,\n,30,,\nZZ,31,32,\n"
    taken = door.read("jumps", text)
    assert values(taken)["value"].tolist() == [0.33]
    assert said(taken) == [
        ("athlete-blank", 4, "athlete_id"), ("athlete-unknown", 5, "athlete_id"),
        ("row-no-value", 3, ""),
    ]  # fmt: skip
    assert states(taken, door.season.path) == (1, 0, 3)


@pytest.mark.parametrize("word", ["best", "max", "mean", "Mittelwert", "SD"])
def test_a_column_that_sums_up_the_attempts_is_none(door: Door, word: str) -> None:
    text = f"athlete_id,CMJ 1 (cm),CMJ 2 (cm),CMJ {word} (cm)\nA01,33.0,34.0,34.0\n"
    taken = door.read("jumps", text)
    assert values(taken)["value"].tolist() == [0.33, 0.34]
    assert said(taken) == [("column-summary", None, f"CMJ {word} (cm)")]
    alone = door.read("jumps", f"athlete_id,{word} CMJ (cm)\nA01,34.0\n")
    assert values(alone).empty
    assert ("summary-alone", None, f"{word} CMJ (cm)") in said(alone)


def test_a_lifts_best_beside_its_trials_is_the_best_and_no_trial(door: Door) -> None:
    text = (
        "athlete_id,lift,reps,load 1 (kg),load 2 (kg),load 3 (kg),load best (kg)\n"
        "A01,back squat,1,80,90,95,90\n"
    )
    found = values(door.read("lifts", text))
    assert found[found["quantity"] == "load"]["value"].tolist() == [80, 90, 95]
    assert found[found["quantity"] == "best"]["value"].tolist() == [90, 90, 90]
    assert found["attempt"].unique().tolist() == [1, 2, 3]


def test_a_maximum_of_n_repetitions_says_its_repetitions(door: Door) -> None:
    taken = door.read("results", "athlete_id,squat 1RM (kg),squat 3RM (lb)\nA02,140,290\n")
    loads, reps = taken.trials.used("load"), taken.trials.used("reps")
    assert loads["value"].tolist() == pytest.approx([140, 131.541787], rel=1e-6)
    assert reps["value"].tolist() == [1, 3]
    assert set(taken.trials.attempts["maximal"]) == {"yes"}


def test_wind_of_no_one_run_is_asked_for(door: Door) -> None:
    text = "athlete_id,test,wind_mps,T1 (s),T2 (s)\nA01,60 m,2.4,7.70,7.74\n"
    taken = door.read("sprints", text)
    assert said(taken) == [("heading-which-attempt", None, "wind_mps")]
    assert taken.trials.attempts["flags"].tolist() == ["", ""]
    assert taken.trials.used("cumulative_time")["part"].tolist() == ["60 m", "60 m"]


def test_t1_and_t2_are_runs_where_t10_and_t30_are_splits(door: Door) -> None:
    unclear = door.read("sprints", "athlete_id,test,T5,T10\nA01,60 m,1.2,2.04\n")
    assert {code for code, _, _ in said(unclear)} == {"heading-unit", "row-no-value"}
    splits = door.read("sprints", "athlete_id,test,t5_s,t10_s\nA01,60 m,1.2,2.04\n")
    assert splits.trials.used("cumulative_time")["part"].tolist() == ["5 m", "10 m"]
    assert len(splits.trials.attempts) == 1


def test_a_series_of_repeated_sprints_across_is_one_set(door: Door) -> None:
    times = ["4.40", "4.43", "4.47", "4.52", "4.55", "4.60"]
    heads = ",".join(f"rep {n} (s)" for n in range(1, 7))
    taken = door.read("sprints", f"athlete_id,test,{heads}\nA01,6 x 30 m,{','.join(times)}\n")
    assert set(taken.trials.attempts["kind"]) == {"repeated"}
    assert taken.trials.attempts["attempt"].tolist() == [1, 2, 3, 4, 5, 6]
    by_test = door.read(
        "results",
        f"athlete_id,{','.join(f'6 x 30 m {n} (s)' for n in range(1, 7))}\nA01,{','.join(times)}\n",
    )  # fmt: skip
    pd.testing.assert_frame_equal(values(by_test), values(taken))


def test_contacts_of_a_rebound_series_across_are_one_series(door: Door) -> None:
    heads = ",".join(f"contact_time_{n}_ms,flight_time_{n}_ms" for n in range(1, 6))
    taken = door.read("rebounds", f"athlete_id,test,{heads}\nA01,five rebounds{',170,510' * 5}\n")
    assert set(taken.trials.attempts["attempt"]) == {1}
    assert taken.trials.used("rep")["value"].tolist() == [1, 2, 3, 4, 5]


def test_drop_jumps_across_have_the_row_s_height(door: Door) -> None:
    text = (
        "athlete_id,drop_height_cm,contact 1 (ms),contact_time_1_ms,flight_time_1_ms,"
        "contact_time_2_ms,flight_time_2_ms\nA01,40,,170,510,165,505\n"
    )
    taken = door.read("drop_jumps", text)
    assert taken.trials.attempts["drop_height_m"].tolist() == [0.4, 0.4]
    assert taken.trials.used("contact_time")["value"].tolist() == pytest.approx([0.170, 0.165])


@pytest.mark.parametrize(
    ("kind", "heading", "code"),
    [
        ("jumps", "CMJ 1", "heading-unit"),
        ("jumps", "CMJ 1 (kg)", "heading-unknown"),
        ("jumps", "hop 1 (cm)", "heading-unknown"),
        ("results", "10 m (s)", "heading-unknown"),
        ("results", "CMJ", "heading-unit"),
        ("results", "60 m left (s)", "heading-unknown"),
        ("jumps", "CMJ 99 (cm)", "heading-unknown"),
    ],
)
def test_a_heading_that_is_not_clear_is_named_and_not_read(
    door: Door, kind: str, heading: str, code: str
) -> None:
    taken = door.read(kind, f"athlete_id,SJ 1 (cm),{heading}\nA01,30,31\n")
    assert said(taken) == [(code, None, heading)]
    assert values(taken)["test"].tolist() == ["squat jump"]


def test_an_attempt_said_twice_over_is_not_read(door: Door) -> None:
    text = "athlete_id,test,attempt,height_cm,height 2 (cm)\nA01,CMJ,1,33,34\n"
    taken = door.read("jumps", text)
    assert said(taken) == [("heading-unknown", None, "height 2 (cm)")]
    assert values(taken)["value"].tolist() == [0.33]


def test_a_distance_and_a_number_are_the_split_of_that_run(door: Door) -> None:
    text = "athlete_id,test,10 m 1,10 m trial 2,60 m run 2 (s)\nA01,60 m,2.04,2.05,7.74\n"
    taken = door.read("sprints", text)
    assert {c for c, _, _ in said(taken)} == {"heading-seconds"}
    found = values(taken)[["attempt", "part", "value"]].to_numpy().tolist()
    assert found == [[1, "10 m", 2.04], [2, "10 m", 2.05], [2, "60 m", 7.74]]


def test_a_row_of_units_and_the_day_file_say_the_unit_too(tmp_path: Path) -> None:
    expected = [0.33, 0.345]
    units = Door.at(tmp_path / "units")
    taken = units.read("jumps", "athlete_id,CMJ 1,CMJ 2\n,cm,mm\nA01,33.0,345\n")
    assert values(taken)["value"].tolist() == pytest.approx(expected)
    own = '[columns.jumps]\n"CMJ 1" = "cm"\n"second" = "CMJ 2 (mm)"\n"CMJ 3" = "ignore"\n'
    mapped = Door.at(tmp_path / "mapped", day=f"{seasons.DAY}\n{own}")
    taken = mapped.read("jumps", "athlete_id,CMJ 1,second,CMJ 3\nA01,33.0,345,9\n")
    assert values(taken)["value"].tolist() == pytest.approx(expected)
    assert values(taken)["attempt"].tolist() == [1, 2]


# --- before and after ---------------------------------------------------------------------------


def test_before_and_after_need_two_sessions_and_are_never_compared(tmp_path: Path) -> None:
    text = "athlete_id,CMJ pre (cm),CMJ post (cm)\nA01,33.0,31.0\n"
    one = Door.at(tmp_path / "one").read("jumps", text)
    assert {c for c, _, _ in said(one)} == {"occasion-unknown", "heading-missing"}
    assert values(one).empty
    toml = "date = 2026-09-15\n[session.pre]\nindoor = true\n[session.post]\nindoor = true\n"
    two = Door.at(tmp_path / "two", day=toml)
    taken = two.read("jumps", text)
    assert not said(taken)
    assert values(taken)[["session", "value"]].to_numpy().tolist() == [
        ["post", 0.31],
        ["pre", 0.33],
    ]
    assert [key["occasion"] for key in keys(taken)] == ["pre", "post"]
    rows = two.read(
        "jumps",
        "session,athlete_id,test,height_cm\npre,A01,CMJ,33.0\npost,A01,CMJ,31.0\n",
    )
    assert keys(rows) == keys(taken)


# --- one row a value ----------------------------------------------------------------------------


def test_rows_of_one_run_without_a_number_are_joined_only_where_that_is_clear(door: Door) -> None:
    head = "athlete_id,test,measure,value,unit\n"
    clear = door.read("sprints", f"{head}A01,60 m,t10,2.04,s\nA01,60 m,t60,7.70,s\n")
    assert len(clear.trials.attempts) == 1
    text = f"{head}A01,60 m,t10,2.04,s\nA01,60 m,t60,7.70,s\nA01,60 m,t60,7.74,s\n"
    unclear = door.read("sprints", text)
    assert said(unclear) == [("attempt-needed", row, "value") for row in (2, 3, 4)]
    assert states(unclear, door.season.path) == (0, 0, 3)


def test_what_a_long_row_leaves_open_sets_that_row_aside(door: Door) -> None:
    text = (
        "athlete_id,test,attempt,measure,value,unit\n"
        "A01,60 m,1,t10,2.04,s\n"
        "A01,60 m,1,t10,2.04,s\n"
        "A01,60 m,1,spin,3,s\n"
        "A01,60 m,1,t30,4.28,parsec\n"
        "A01,60 m,1,reaction,0.15,\n"
        "A01,60 m,1,t60,,s\n"
        "ZZ,60 m,1,t10,2.04,s\n"
        "ZZ,60 m,1,t60,7.7,s\n"
    )
    taken = door.read("sprints", text)
    assert said(taken) == [
        ("athlete-unknown", 8, "athlete_id"), ("athlete-unknown", 9, "athlete_id"),
        ("measure-unknown", 4, "measure"), ("row-no-value", 7, ""), ("row-twice", 3, ""),
        ("unit-blank", 6, "measure"), ("unit-unknown", 5, "unit"),
    ]  # fmt: skip
    assert states(taken, door.season.path) == (1, 0, 7)


def test_a_unit_that_does_not_suit_the_test_sets_the_value_aside(door: Door) -> None:
    text = "athlete_id,test,value,unit\nA01,CMJ,33,kg\nA01,60 m,7.7,s\n"
    taken = door.read("results", text)
    assert said(taken) == [("row-no-value", 2, ""), ("unit-other", 2, "value")]
    assert taken.trials.attempts["kind"].tolist() == ["jump", "sprint"]
    assert values(taken)["value"].tolist() == [7.7]


def test_a_test_of_the_staff_s_own_takes_its_own_unit_only(tmp_path: Path) -> None:
    own = 'tests."shuttle 5-10-5" = {kind = "other", unit = "s", better = "lower"}\n'
    door = Door.at(tmp_path / "season", battery=own)
    base = values(door.read("other", "athlete_id,test,attempt,value\nA01,shuttle 5-10-5,1,5.4\n"))
    for heading in ("shuttle 5-10-5 1 (s)", "Shuttle 5-10-5 1"):
        wide = door.read("results", f"athlete_id,{heading}\nA01,5.4\n")
        pd.testing.assert_frame_equal(values(wide), base)
    wrong = door.read("results", "athlete_id,shuttle 5-10-5 1 (cm)\nA01,5.4\n")
    assert values(wrong).empty


def test_a_test_in_a_sheet_of_its_own_and_in_that_of_any_counts_once(tmp_path: Path) -> None:
    day = small.read(
        tmp_path,
        {
            "sprints.csv": "athlete_id,test,attempt,t60_s\nA01,60 m,1,7.70\n",
            "results.csv": "athlete_id,60 m (s),CMJ (cm)\nA01,7.70,33\nA02,6.90,\n",
        },
    )
    assert small.found(day)[0] == ("result-twice", 2, "60 m (s)")
    assert day.trials.used("cumulative_time")["value"].tolist() == [7.70, 6.90]
    assert small.states(day, "results.csv") == (2, 1, 1, 0)


# --- splits of two kinds ------------------------------------------------------------------------


def test_times_from_the_line_and_between_gates_side_by_side_are_held_against_each_other(
    door: Door,
) -> None:
    head = "athlete_id,test,attempt,t10_s,s10_20_s,t20_s,t40_s\n"
    good = door.read("sprints", f"{head}A01,40 m,1,2.04,1.21,3.25,5.60\n")
    assert not said(good)
    bad = door.read("sprints", f"{head}A01,40 m,1,2.04,3.25,3.25,5.60\n")
    assert said(bad) == [("splits-disagree", 2, "s10_20_s")]
    assert bad.trials.used("cumulative_time").empty
    # what of a segment that begins at the line? a gun's time holds the reaction, so it may differ
    gun = door.read("sprints", "athlete_id,test,s0_10_s,t10_s\nA01,40 m,1.90,2.04\n")
    assert not said(gun)


def test_segments_alone_become_times_from_the_line(door: Door) -> None:
    text = "athlete_id,test,s0_10_1_s,s10_30_1_s,s0_10_2_s,s10_30_2_s\nA01,60 m,2.0,2.2,2.1,2.3\n"
    used = door.read("sprints", text).trials.used("cumulative_time")
    assert used[used["status"] == USED]["value"].tolist() == pytest.approx([2.0, 4.2, 2.1, 4.4])


def test_the_mapping_says_what_stands_across(tmp_path: Path) -> None:
    sheets: dict[str, small.Content] = {
        "jumps.csv": "athlete_id,CMJ 1 (cm),CMJ 2 (cm),CMJ best (cm)\nA01,33,34,34\n",
        "sprints.csv": "athlete_id,test,measure,value,unit\nA01,60 m,t60,7.70,s\n",
    }
    lines = reading.mapping_lines(small.season(tmp_path, sheets), None)
    assert lines[1:] == [
        (
            "2026-09-autumn/jumps.csv: athlete_id, "
            "CMJ 1 (cm) = height (cm) of countermovement jump, attempt 1, "
            "CMJ 2 (cm) = height (cm) of countermovement jump, attempt 2; "
            "not read: CMJ best (cm)"
        ),
        "2026-09-autumn/sprints.csv: athlete_id, test, measure, value, unit",
    ]
