"""Who is held against whom, and the rows of the table ``phases``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd
import pytest

from pipeline import tables
from pipeline.compare import phase_reference, shape_model
from pipeline.compare.phase_table import SPRINT_COLUMNS, STATE_COLUMNS, phases
from pipeline.compare.published_shape import MEN
from pipeline.measures.spec import Array
from pipeline.tables import PUBLISHED_LINE, SQUAD_LINE
from tests.compare.published_phases import phase_times

NAMES = ("start", "drive", "maximum velocity", "maintenance")
ENDS = (0, 10, 30, 60, 100)
BLOCKS = "start=blocks; clock=gun; timing=electronic"
GATES = "start=three-point; timing=gates"

Rows = list[dict[str, object]]


def _run(athlete: str, times: Iterable[float], run: str = "1", **cells: object) -> Rows:
    """The rows of one run of a 100 m, judged unless ``current`` says otherwise."""
    common = {
        "athlete_id": athlete, "sex": "M", "test": "100 m", "conditions": BLOCKS, "run": run,
        "event": "", "band": "", "current": True, "listed": False, "fade": np.nan,
        "split_error_s": 0.010,
        "start_error_s": 0.0,
    }  # fmt: skip
    names: Sequence[str] = cells.pop("names", NAMES)  # type: ignore[assignment]  # given as such
    ends: Sequence[float] = cells.pop("ends", ENDS)  # type: ignore[assignment]  # given as such
    rows = [
        {**common, "phase": name, "from_m": start, "to_m": end, "time": time, **cells}
        for name, start, end, time in zip(names, ends[:-1], ends[1:], times, strict=True)
    ]
    assert all(set(row) == set(SPRINT_COLUMNS) for row in rows)
    return rows


def _squad(people: int, runs: int, **cells: object) -> Rows:
    """A squad's history: slower than the finals, styles drawn, ``runs`` sprints each."""
    rng = np.random.default_rng(17)
    rows: Rows = []
    for number in range(people):
        line = shape_model.expected(MEN, np.array(11.0 + 0.1 * number))
        own = line * np.exp(rng.normal(0, [0.016, 0.012, 0.008, 0.008]))
        for run in range(runs):
            given = {"current": False, "conditions": GATES, **cells}
            rows += _run(f"S{number:02}", own + rng.normal(0, 0.007, 4), f"h{run}", **given)
    return rows


def _slow(loss: Sequence[float] = (0, 0, 0, 0), whole: float = 11.4) -> Array:
    return np.asarray(shape_model.expected(MEN, np.array(whole)) + np.array(loss))


def _made(*rows: Rows) -> tuple[pd.DataFrame, dict[str, object]]:
    """The rows and the state of athlete A."""
    table, states = phases(pd.DataFrame([row for part in rows for row in part]))
    (state,) = states[states["athlete_id"] == "A"].to_dict("records")
    own = table[table["athlete_id"] == "A"].reset_index(drop=True)
    return own, {str(name): value for name, value in state.items()}


def _two(times: Array, **cells: object) -> Rows:
    return _run("A", times, "1", **cells) + _run("A", times, "2", **cells)


FAST = shape_model.expected(MEN, np.array(9.8))


# --- which line -----------------------------------------------------------------------------


def test_a_man_in_the_published_range_is_held_against_the_published_finals() -> None:
    _, state = _made(_two(FAST))
    assert (state["reference"], state["reason"]) == (PUBLISHED_LINE, "")


@pytest.mark.parametrize(
    ("cells", "reason"),
    [
        ({"sex": "F"}, phase_reference.TOO_FEW),
        ({"sex": ""}, phase_reference.NO_SEX),
        ({"sex": None}, phase_reference.NO_SEX),
        ({"conditions": "start=three-point"}, phase_reference.TOO_FEW),
        ({"conditions": "start=blocks; timing=hand"}, phase_reference.TOO_FEW),
        ({"names": ("start, from gun", *NAMES[1:])}, phase_reference.NOT_FROM_MOVEMENT),
        ({"ends": (10, 20, 30, 60, 100)}, phase_reference.NOT_FROM_MOVEMENT),
        ({"ends": (0, 20, 30, 60, 100)}, phase_reference.TOO_FEW),
    ],
)
def test_the_published_finals_serve_nobody_else(cells: dict[str, object], reason: str) -> None:
    _, state = _made(_two(FAST, **cells))
    assert (state["reference"], state["reason"]) == ("", reason)


@pytest.mark.parametrize(
    ("whole", "serves"), [(9.34, False), (9.36, True), (10.24, True), (10.26, False)]
)
def test_the_published_finals_serve_their_own_range(whole: float, *, serves: bool) -> None:
    # official 9.5 to 10.4 s less a mean reaction of .15 s
    _, state = _made(_two(shape_model.expected(MEN, np.array(whole))))
    assert state["reference"] == (PUBLISHED_LINE if serves else "")


def test_the_mens_line_is_refused_to_the_two_women() -> None:
    women, _ = phase_times("F")
    for times in women:
        table, state = _made(_two(times, sex="F"))
        assert (state["reference"], state["state"]) == ("", "too thin")
        assert table["own_gap"].isna().all()
    # and were their time in the range, sex alone would refuse it
    _, state = _made(_two(women[0] * 9.9 / women[0].sum(), sex="F"))
    assert state["reference"] == ""


@pytest.mark.parametrize(
    ("people", "runs", "line"), [(10, 2, True), (9, 3, False), (19, 1, False), (20, 1, True)]
)
def test_a_squads_line_needs_twenty_sprints_by_ten_others(
    people: int, runs: int, *, line: bool
) -> None:
    _, state = _made(_two(_slow(), conditions=GATES), _squad(people, runs))
    assert state["reference"] == (SQUAD_LINE if line else "")
    assert state["reason"] == ("" if line else phase_reference.TOO_FEW)
    assert (state["sprints"], state["people"]) == (people * runs, people)


def test_a_womens_squad_serves_women_and_no_man() -> None:
    squad = _squad(12, 2, sex="F")
    _, woman = _made(_two(_slow(), conditions=GATES, sex="F"), squad)
    _, man = _made(_two(_slow(), conditions=GATES), squad)
    assert (woman["reference"], man["reference"]) == (SQUAD_LINE, "")


@pytest.mark.parametrize(
    "other",
    [
        {"test": "120 m"},
        {"conditions": "start=standing; timing=gates"},
        {"ends": (0, 20, 30, 60, 100)},
        {"names": ("start, from gun", *NAMES[1:])},
    ],
)
def test_sprints_of_another_kind_make_no_reference(other: dict[str, object]) -> None:
    _, state = _made(_two(_slow(), conditions=GATES), _squad(12, 2, **other))
    assert (state["reference"], state["sprints"], state["group_people"]) == ("", 0, 0)


def test_nobody_is_in_their_own_reference() -> None:
    """Ten people, of whom the athlete is one, are nine others; more own runs change no line."""
    squad = _squad(10, 3)
    own = _slow()
    mine = [row | {"athlete_id": "A"} for row in squad if row["athlete_id"] == "S04"]
    rest = [row for row in squad if row["athlete_id"] != "S04"]
    _, state = _made(_two(own, conditions=GATES), mine, rest)
    assert (state["reason"], state["people"]) == (phase_reference.TOO_FEW, 9)
    more = _squad(11, 2)
    weird = _run("A", own * [2, 1, 1, 1], "h", conditions=GATES, current=False)
    without, _ = _made(_two(own, conditions=GATES), more)
    with_own, _ = _made(_two(own, conditions=GATES), weird, more)
    pd.testing.assert_frame_equal(without, with_own)


def test_a_squads_line_takes_over_from_the_published_one() -> None:
    rows = [
        row | {"time": float(str(row["time"])) * 9.8 / 11.5, "conditions": BLOCKS}
        for row in _squad(10, 2)
    ]
    fewer = [row for row in rows if row["athlete_id"] != "S09"]
    assert _made(_two(FAST), rows)[1]["reference"] == SQUAD_LINE
    assert _made(_two(FAST), fewer)[1]["reference"] == PUBLISHED_LINE


def test_far_outside_the_squads_times_there_is_no_line() -> None:
    _, state = _made(_two(_slow(whole=14.5), conditions=GATES), _squad(12, 2))
    assert (state["reference"], state["reason"]) == ("", phase_reference.OUTSIDE)


@pytest.mark.parametrize("factor", [1.0, 1.1])
def test_a_squad_all_but_one_of_one_time_makes_no_line_and_no_warning(factor: float) -> None:
    rows = [row for n in range(19) for row in _run(f"S{n:02}", FAST * 1.2, current=False)]
    rows += _run("S19", FAST * 1.2 * factor, current=False)
    _, state = _made(_two(FAST * 1.2), rows)
    assert (state["reference"], state["reason"]) == ("", phase_reference.NO_RANGE)


def test_a_single_phase_has_no_shape() -> None:
    one = {"names": ("start and drive",), "ends": (0, 30)}
    _, state = _made(_run("A", [4.2], "1", **one) + _run("A", [4.2], "2", **one))
    assert (state["reason"], state["state"]) == (phase_reference.ONE_PHASE, "too thin")


def test_each_person_counts_once_in_a_line() -> None:
    squad = _squad(10, 2)
    often = [
        row | {"run": f"again {n}"} for n in range(9) for row in squad
        if row["athlete_id"] == "S03" and row["run"] == "h1"
    ]  # fmt: skip
    twice, state = _made(_two(_slow(), conditions=GATES), squad)
    many, more = _made(_two(_slow(), conditions=GATES), squad, often)
    assert (state["sprints"], more["sprints"], more["people"]) == (20, 29, 10)
    np.testing.assert_allclose(twice["expected"], many["expected"], atol=0.01)


# --- against the group ----------------------------------------------------------------------


def test_the_group_gap_is_ranked_by_z_and_shown_in_seconds() -> None:
    squad = _squad(8, 1)
    own = _slow((0.25, 0, 0, 0.25), whole=11.2)
    table, state = _made(_two(own, conditions=GATES), squad)
    times = np.array([row["time"] for row in squad], dtype=float).reshape(8, 4)
    logs = np.exp(np.log(times))
    mean, sd = logs.mean(axis=0), logs.std(axis=0, ddof=1)
    np.testing.assert_allclose(table["group_reference"], mean, atol=1e-5)
    np.testing.assert_allclose(table["group_gap"], own - mean, atol=1e-5)
    np.testing.assert_allclose(table["z"], (own - mean) / (sd * np.sqrt(9 / 8)), atol=1e-4)
    assert table["z"].idxmax() == 0
    assert table["finding"].tolist() == ["most to gain", "", "", ""]
    assert (state["state"], state["group_people"]) == ("most to gain", 8)
    assert np.isnan(float(str(state["z_used"])))


def test_the_group_gap_alone_never_says_stands_out() -> None:
    table, _ = _made(_two(_slow((2.0, 0, 0, 0)), conditions=GATES), _squad(8, 1))
    assert table["z"].max() > 5
    assert table["finding"].tolist() == ["most to gain", "", "", ""]


def test_four_others_are_too_few_for_a_group() -> None:
    table, state = _made(_two(_slow((2.0, 0, 0, 0)), conditions=GATES), _squad(4, 2))
    assert table[["group_reference", "group_gap", "z"]].isna().all(axis=None)
    assert (state["state"], state["group_people"]) == ("too thin", 0)


@pytest.mark.parametrize("sex", ["F", "", None])
def test_a_group_is_of_the_athletes_own_sex(sex: str | None) -> None:
    squad = _squad(8, 1, sex="M" if sex else sex)
    table, state = _made(_two(_slow((2.0, 0, 0, 0)), conditions=GATES, sex=sex), squad)
    assert table["group_gap"].isna().all()
    assert (state["state"], state["group_people"]) == ("too thin", 0)


def test_the_fastest_of_a_group_has_nothing_to_gain_on_it() -> None:
    table, state = _made(_two(_slow(whole=10.6), conditions=GATES), _squad(8, 1))
    assert (table["z"] < 0).all()
    assert state["state"] == "balanced"


def test_a_slow_end_that_is_no_fade_is_not_the_phase_to_gain() -> None:
    """60-100 m stands out by z, but against the own best 20 m nothing is lost there."""
    squad = _squad(8, 1)
    for number, row in enumerate(squad):
        row["fade"] = 0.07 + 0.02 * ((number // 4) % 3 - 1)
    own = _slow((0.10, 0, 0, 0.9))
    fading, _ = _made(_two(own, conditions=GATES, fade=0.30), squad)
    steady, _ = _made(_two(own, conditions=GATES, fade=0.06), squad)
    unknown, _ = _made(_two(own, conditions=GATES), squad)
    assert fading["finding"].tolist() == unknown["finding"].tolist() == ["", "", "", "most to gain"]
    assert steady["finding"][3] == ""
    assert steady["z"][3] < 0 < fading["z"][3] == unknown["z"][3]
    fades = np.array([row["fade"] for row in squad[::4]], dtype=float)
    by_hand = (0.06 - fades.mean()) / (fades.std(ddof=1) * np.sqrt(9 / 8))
    assert steady["z"][3] == pytest.approx(by_hand, abs=1e-5)


# --- what is said of the whole --------------------------------------------------------------


@pytest.mark.parametrize(
    ("loss", "finding", "state"),
    [
        ((0, 0.15, 0, 0), "stands out", "stands out"),
        ((0, 0.04, 0, 0), "most to gain", "most to gain"),
        ((0, 0.005, 0, 0), "", "balanced"),
    ],
)
def test_two_runs_and_a_line_say_what_there_is(
    loss: tuple[float, ...], finding: str, state: str
) -> None:
    table, made = _made(_two(FAST + loss))
    assert table["finding"].tolist() == ["", finding, "", ""]
    assert (made["state"], made["hint"], made["runs"]) == (state, False, 2)
    assert (table["low"] < table["own_gap"]).all()
    assert (table["own_gap"] < table["high"]).all()
    assert (table["low"][1] > 0) == (state == "stands out")
    assert (table["z"][1] > float(str(made["z_used"]))) == (state == "stands out")


def test_one_run_hints_or_is_too_thin() -> None:
    table, hint = _made(_run("A", FAST + np.array([0, 0.15, 0, 0])))
    assert table["finding"].tolist() == ["", "most to gain", "", ""]
    assert (hint["state"], hint["hint"]) == ("most to gain", True)
    _, thin = _made(_run("A", FAST))
    assert (thin["state"], thin["hint"]) == ("too thin", False)


def test_the_cost_follows_from_the_columns_of_the_row() -> None:
    table, _ = _made(_two(FAST + np.array([0, 0.15, 0, 0])))
    gap = table["time"] - table["expected"]
    assert gap.sum() == pytest.approx(0, abs=1e-5)
    share = np.array([0.178, 0.201, 0.266, 0.356])  # of the finals, by hand
    slope = np.array([0.43, 0.70, 1.11, 1.37])
    np.testing.assert_allclose(table["own_gap"], gap / (1 - share * slope), rtol=0.01, atol=1e-4)


# --- rows -----------------------------------------------------------------------------------


def test_rows_have_the_tables_shape_whatever_the_order_of_the_input() -> None:
    rows = [*_two(FAST), *_squad(11, 2, current=True), *_run("B", FAST * 1.01)]
    table, states = phases(pd.DataFrame(rows))
    assert list(table.columns) == list(tables.SCHEMAS["phases"].columns)
    assert list(states.columns) == list(STATE_COLUMNS)
    assert len(table) == 13 * 4
    mixed, again = phases(pd.DataFrame(rows).sample(frac=1, random_state=3))
    assert tables.to_csv("phases", mixed) == tables.to_csv("phases", table)
    pd.testing.assert_frame_equal(again, states)


def test_of_two_kinds_of_runs_the_one_with_more_runs_is_judged() -> None:
    table, state = _made(_two(FAST), _run("A", FAST + 1, "3", conditions=GATES))
    assert (state["runs"], state["conditions"]) == (2, BLOCKS)
    assert table["time"].sum() == pytest.approx(9.8, abs=1e-4)


def test_the_ends_in_a_comparison_key_tear_no_run_apart() -> None:
    rows = _two(FAST)
    for row in rows:
        row["conditions"] = f"{BLOCKS}; ends={row['from_m']}-{row['to_m']} m"
    assert _made(rows)[0].equals(_made(_two(FAST))[0])


@pytest.mark.parametrize("time", [np.nan, 0.0, -1.0])
def test_a_run_without_one_of_its_times_is_left_out(time: float) -> None:
    broken = _run("A", [*FAST[:3], time], "3")
    _, state = _made(_two(FAST), broken)
    assert state["runs"] == 2


def test_a_run_that_lacks_a_phase_in_its_middle_is_left_out() -> None:
    broken = [row for row in _run("A", FAST, "3") if row["phase"] != "drive"]
    _, state = _made(_two(FAST), broken)
    assert state["runs"] == 2


def test_no_sprints_give_empty_tables() -> None:
    table, states = phases(pd.DataFrame(columns=list(SPRINT_COLUMNS)))
    assert (len(table), len(states)) == (0, 0)
    assert list(table.columns) == list(tables.SCHEMAS["phases"].columns)


def test_a_reference_alone_is_judged_of_nobody() -> None:
    table, states = phases(pd.DataFrame(_squad(12, 2)))
    assert (len(table), len(states)) == (0, 0)


# --- who the others are -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("own", "others", "group"),
    [
        (
            {"event": "100 m", "band": "18 and over"},
            {"event": "100 m", "band": "18 and over"},
            "own band",
        ),
        (
            {"event": "100 m", "band": "18 and over"},
            {"event": "hockey", "band": "18 and over"},
            "own age",
        ),
        (
            {"event": "100 m", "band": "18 and over"},
            {"event": "100 m", "band": "14-15"},
            "own event",
        ),
        (
            {"event": "100 m", "band": "18 and over"},
            {"event": "hockey", "band": "14-15"},
            "own sex",
        ),
        ({"event": "100 m", "band": "14-15"}, {"event": "hockey", "band": "14-15"}, "own age"),
        ({"event": "100 m", "band": "14-15"}, {"event": "100 m", "band": "16-17"}, ""),
        ({"event": "100 m", "band": "16-17"}, {"event": "100 m", "band": "18 and over"}, ""),
    ],
)
def test_the_others_are_nearest_first_and_the_young_stand_beside_no_other_age(
    own: dict[str, object], others: dict[str, object], group: str
) -> None:
    table, state = _made(_two(_slow(), conditions=GATES, **own), _squad(6, 1, **others))
    assert (state["group"], state["group_people"]) == (group, 6 if group else 0)
    assert table["group_gap"].notna().all() == bool(group)
    assert state["state"] == ("too thin" if not group else state["state"])


# --- the staff's own table ----------------------------------------------------------------------


def test_the_staffs_table_makes_a_line_where_blank_conditions_fit_any() -> None:
    bare = "start=three-point"
    table, state = _made(
        _two(_slow((0, 0.3, 0, 0)), conditions=GATES),
        _squad(12, 2, listed=True, conditions=bare),
    )
    assert (state["reference"], state["people"], state["listed_people"]) == (SQUAD_LINE, 12, 12)
    assert state["group_people"] == 0  # the table is no group to stand beside
    assert table.loc[table["phase"] == "drive", "finding"].item() == "stands out"


@pytest.mark.parametrize(
    "other",
    [
        {"conditions": "start=blocks"},
        {"conditions": "start=three-point; indoor=yes"},
        {"test": "60 m"},
        {"sex": "F"},
    ],
)
def test_a_table_that_says_otherwise_makes_none(other: dict[str, object]) -> None:
    given = {"listed": True, "conditions": "start=three-point", **other}
    _, state = _made(_two(_slow(), conditions=GATES), _squad(12, 2, **given))
    assert (state["reference"], state["people"]) == ("", 0)


def test_the_squad_and_the_staffs_table_count_together() -> None:
    listed = [row | {"athlete_id": f"L{row['athlete_id']}"}
              for row in _squad(6, 2, listed=True, conditions="start=three-point")]  # fmt: skip
    _, state = _made(_two(_slow(), conditions=GATES), _squad(6, 2), listed)
    assert (state["reference"], state["people"], state["listed_people"]) == (SQUAD_LINE, 12, 6)
