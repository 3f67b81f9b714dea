"""From a phase to what may be trained: two signs suggest, one is talked about, none is silent."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from pipeline import tables
from pipeline.compare.emphasis import ANY_BY_CHANCE, Evidence, emphasis, serves, wanted
from pipeline.compare.norms import OWN_BAND, OWN_EVENT
from pipeline.compare.squad import Member
from pipeline.compare.standing import Standing
from tests.compare.made import AUTUMN, BATTERY, result, results

ADULT = {"A": Member("A", "F", "100/200 m", 22, ())}
CHILD = {"A": Member("A", "F", "100/200 m", 15, ())}
RSI = ("drop jump", "rsi")
SQUAT = ("back squat", "relative_strength")


def _phase(phase: str, finding: str = "stands out", **cells: object) -> pd.DataFrame:
    row = {
        "athlete_id": "A", "test": "60 m", "phase": phase, "from_m": 30.0, "to_m": 60.0, "runs": 2,
        "finding": finding, **cells,
    }  # fmt: skip
    columns = list(tables.SCHEMAS["phases"].columns)
    return tables.shape("phases", pd.DataFrame([row], columns=columns))


def _stands(which: tuple[str, str], z: float, n: int | None = 9, **cells: Any) -> Standing:
    """Somebody ``z`` SDs towards better of n others."""
    one = Standing("A", which[0], "", which[1], "", OWN_BAND, n, 1.0, 0.1, 50.0, 50 + 10 * z)
    return replace(one, **cells)


NONE = pd.DataFrame()


def _fell(which: tuple[str, str], p: float = 0.01, **cells: object) -> pd.DataFrame:
    row = {
        "athlete_id": "A", "test": which[0], "part": "", "measure": which[1], "conditions": "",
        "verdict": tables.WORSE, "p": p, **cells,
    }  # fmt: skip
    return pd.DataFrame([row])


def _angle(degrees: float, part: str = "block exit: body") -> pd.DataFrame:
    cells: dict[str, Any] = {"measure": "angle", "part": part, "unit": "°"}
    return results(result(AUTUMN, degrees, **{**cells, "athlete_id": "A", "test": "100 m"}))


def _made(
    phases: pd.DataFrame,
    *standings: Standing,
    judged: pd.DataFrame = NONE,
    angles: pd.DataFrame | None = None,
    aims: dict[str, float] | None = None,
    squad: dict[str, Member] | None = None,
) -> list[dict[str, Any]]:
    battery = replace(BATTERY, angles=aims or {})
    shown = results() if angles is None else angles
    table = emphasis(phases, standings, judged, shown, battery, squad or ADULT)
    return [{str(k): v for k, v in row.items()} for row in table.to_dict("records")]


FAST = _phase("maximum velocity")
START = _phase("start", from_m=0.0, to_m=10.0)
NO_PHASE = FAST.head(0)


# --- two signs, one, none ----------------------------------------------------------------------


def test_a_phase_and_a_measure_behind_it_that_lags_are_a_suggestion() -> None:
    (row,) = _made(FAST, _stands(RSI, -3.0))
    assert row["says"] == "suggested"
    assert row["emphasis"] == "short contacts"
    assert (row["phase"], row["finding"]) == ("maximum velocity", "stands out")
    assert (row["sign"], row["sign_test"], row["sign_measure"]) == ("lags", *RSI)


def test_a_measure_that_fell_serves_as_well() -> None:
    (row,) = _made(_phase("drive", "most to gain"), judged=_fell(SQUAT))
    assert (row["says"], row["sign"]) == ("suggested", "fell")
    assert row["emphasis"] == "single-leg strength and Olympic lifts"


def test_a_phase_alone_is_talked_about() -> None:
    (row,) = _made(FAST)
    assert (row["says"], row["emphasis"], row["sign"]) == ("talk about", "short contacts", "")
    (start,) = _made(START)  # two emphases serve a start: neither is named without a sign
    assert (start["says"], start["emphasis"]) == ("talk about", "")


def test_a_measure_alone_is_talked_about() -> None:
    (row,) = _made(NO_PHASE, _stands(RSI, -3.0))
    assert (row["says"], row["phase"], row["sign_measure"]) == ("talk about", "", "rsi")


def test_neither_says_nothing() -> None:
    assert _made(NO_PHASE, _stands(RSI, 0.3)) == []
    assert _made(NO_PHASE) == []


def test_a_measure_of_another_phase_is_no_second_sign() -> None:
    told = _made(START, _stands(RSI, -3.0))
    assert [(row["phase"], row["says"]) for row in told] == [
        ("", "talk about"),
        ("start", "talk about"),
    ]


def test_a_phase_that_rests_on_one_run_is_talked_about_even_with_a_sign() -> None:
    (row,) = _made(_phase("maximum velocity", "most to gain", runs=1), _stands(RSI, -3.0))
    assert (row["says"], row["sign"]) == ("talk about", "lags")


def test_a_change_that_is_not_clearly_worse_is_no_sign() -> None:
    for verdict in (tables.BETTER, tables.CANNOT_TELL, tables.STEADY, ""):
        (row,) = _made(FAST, judged=_fell(RSI, verdict=verdict))
        assert (row["says"], row["sign"]) == ("talk about", "")


def test_a_joined_phase_counts_under_each_of_its_names() -> None:
    for phase in ("start and drive", "start and drive, from gun"):
        told = _made(_phase(phase, from_m=0.0, to_m=30.0), _stands(SQUAT, -3.0))
        assert {row["emphasis"] for row in told} == {
            "long-impulse strength", "single-leg strength and Olympic lifts",
        }  # fmt: skip
    strength = BATTERY.emphases["long-impulse strength"]
    assert not serves(strength, "maintenance")


# --- how far behind is behind --------------------------------------------------------------------


@pytest.mark.parametrize("measures", [1, 2, 4])
def test_the_limit_holds_for_all_measures_looked_at(measures: int) -> None:
    """Student's t of one more person beside n, Bonferroni: scipy's quantile, both sides of it."""
    tests = ["drop jump", "ten rebounds", "five rebounds"]
    others = [_stands((test, "rsi"), 1.0) for test in tests][: measures - 1]
    others += [_stands(("60 m", "contact_time"), 1.0)] * (measures == 4)
    limit = stats.t.ppf(ANY_BY_CHANCE / measures, 8) * math.sqrt(1 + 1 / 9)
    which = ("60 m", "theoretical_speed")
    for z, sign in ((limit - 0.01, "lags"), (limit + 0.01, "")):
        (row,) = _made(FAST, *others[: measures - 1], _stands(which, z))
        assert row["sign"] == sign


def test_of_athletes_behind_in_nothing_one_in_five_shows_a_sign() -> None:
    """The claim of ``ANY_BY_CHANCE`` by simulation: 10 people, 3 measures, 4,000 athletes."""
    rng = np.random.default_rng(5)
    drawn = rng.standard_normal((4_000, 3, 10))
    others = drawn[..., 1:]
    z = (drawn[..., 0] - others.mean(-1)) / others.std(-1, ddof=1) / math.sqrt(1 + 1 / 9)
    lag = stats.t.cdf(z, 8)
    shown = np.array([
        any(Evidence("", "", "rsi", "", lag=float(one)).sign(3) for one in athlete)
        for athlete in lag
    ])  # fmt: skip
    assert shown.mean() == pytest.approx(1 - (1 - ANY_BY_CHANCE / 3) ** 3, abs=0.02)
    assert shown.mean() <= ANY_BY_CHANCE + 0.01


def test_several_drop_heights_are_one_measure_by_their_mean() -> None:
    parts = [_stands(RSI, z, part=f"{cm} cm") for cm, z in ((20, -3.2), (30, -2.8))]
    (row,) = _made(FAST, *parts)
    assert (row["sign"], row["sign_part"]) == ("lags", "")
    mixed = [_stands(RSI, z, part=f"{cm} cm") for cm, z in ((20, -3.0), (30, 2.0))]
    assert _made(FAST, *mixed)[0]["sign"] == ""


def test_the_young_lag_behind_their_own_age_alone() -> None:
    older = _stands(RSI, -3.0, rung=OWN_EVENT)
    assert _made(FAST, older)[0]["sign"] == "lags"
    assert _made(FAST, older, squad=CHILD)[0]["sign"] == ""
    assert _made(FAST, _stands(RSI, -3.0), squad=CHILD)[0]["sign"] == "lags"


def test_steps_count_in_the_zones_that_lie_in_the_phase() -> None:
    contact = ("60 m", "contact_time")
    (inside,) = _made(FAST, _stands(contact, -3.0, part="40-60 m"))
    assert (inside["sign"], inside["sign_part"]) == ("lags", "40-60 m")
    outside = _made(FAST, _stands(contact, -3.0, part="0-10 m"))
    assert [row["sign"] for row in outside if row["phase"]] == [""]


# --- angles --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "aims", "sign"),
    [
        (51, {"block exit: body": 45.0}, "off"),
        (39, {"block exit: body": 45.0}, "off"),
        (50, {"block exit: body": 45.0}, ""),
        (70, {}, ""),
    ],
)
def test_an_angle_off_the_staffs_reference_is_a_sign(
    degrees: float, aims: dict[str, float], sign: str
) -> None:
    """About 45° out of the blocks and 5° of tolerance: common practice, no source."""
    (row,) = _made(START, angles=_angle(degrees), aims=aims)
    assert row["sign"] == sign
    if sign:
        assert (row["says"], row["emphasis"]) == ("suggested", "mobility and trunk control")


# --- what is looked at ---------------------------------------------------------------------------


def test_only_measures_with_a_result_are_looked_at_and_stiffness_has_its_side() -> None:
    rows = [
        result(AUTUMN, 1.0, test="60 m", measure=name)
        for name in ("vertical_stiffness", "theoretical_speed", "top_speed")
    ]
    assert wanted(results(*rows), BATTERY) == {
        ("60 m", "vertical_stiffness"): "higher", ("60 m", "theoretical_speed"): "",
    }  # fmt: skip
