"""Verdicts against published chances, closed forms, and athletes whose truth is known."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline import tables
from pipeline.compare import verdicts
from pipeline.compare.verdicts import judge
from tests.benchmarks import calibration


def one(change: float, error: float = 1.0, df: float = np.inf, least: float = 0.5) -> pd.Series:
    return judge(change, error, df, least).iloc[0]


@pytest.mark.parametrize(
    ("df", "better", "trivial", "worse"),
    [(np.inf, 85.56, 10.59, 3.85), (19, 84.89, 10.45, 4.66)],
)
def test_chances_of_the_worked_example(
    df: float, better: float, trivial: float, worse: float
) -> None:
    # Change 2, typical error 1, smallest worthwhile 0.5; recomputed. The error is √2·TE.
    row = one(2.0, df=df)
    chances = (row["chance_better"], row["chance_trivial"], row["chance_worse"])
    assert tuple(round(c, 2) for c in chances) == (better, trivial, worse)


@pytest.mark.parametrize(
    ("change", "least", "verdict", "reason"),
    [
        # 1.645·√2 = 2.326, the reach of a known error of 1
        (2.33, 0.5, tables.BETTER, ""),
        (-2.33, 0.5, tables.WORSE, ""),
        (2.32, 0.5, tables.CANNOT_TELL, tables.WITHIN_ERROR),
        (2.5, 3.0, tables.CANNOT_TELL, tables.TOO_SMALL),
        (0.1, 2.5, tables.STEADY, ""),
        (2.5, 5.0, tables.STEADY, ""),
        (0.2, 2.5, tables.CANNOT_TELL, tables.WITHIN_ERROR),
        (np.nan, 0.5, tables.CANNOT_TELL, tables.NO_VALUE),
        (2.33, np.nan, tables.BETTER, ""),
        (0.0, np.nan, tables.CANNOT_TELL, tables.WITHIN_ERROR),
    ],
)
def test_the_words(change: float, least: float, verdict: str, reason: str) -> None:
    row = one(change, least=least)
    assert (row["verdict"], row["reason"]) == (verdict, reason)


@pytest.mark.parametrize(("error", "df"), [(np.nan, 20), (0.0, 20), (1.0, np.nan), (1.0, 0)])
def test_no_error_no_verdict(error: float, df: float) -> None:
    row = one(50.0, error, df)
    assert (row["verdict"], row["reason"]) == (tables.CANNOT_TELL, tables.NO_ERROR)
    assert row[["low", "high", "chance_better", "p", "by_chance"]].isna().all()


def test_the_interval_widens_with_what_else_is_unsure() -> None:
    # √(2·1² + 2) = 2, times t(0.95, 9) = 1.8331 (table of t)
    row = judge(5.0, 1.0, 9, 0.5, extra=2.0).iloc[0]
    assert (row["low"], row["high"]) == pytest.approx((5 - 3.6662, 5 + 3.6662), abs=1e-4)
    assert row["verdict"] == tables.BETTER
    assert judge(3.0, 1.0, 9, 0.5, extra=2.0).iloc[0]["verdict"] == tables.CANNOT_TELL


@given(
    change=st.floats(-20, 20),
    error=st.floats(0.01, 10),
    df=st.sampled_from([3.0, 8.0, 30.0, math.inf]),
    least=st.floats(0, 10),
    extra=st.floats(0, 10),
)
def test_what_holds_for_every_change(
    change: float, error: float, df: float, least: float, extra: float
) -> None:
    row = judge(change, error, df, least, extra=extra).iloc[0]
    mirror = judge(-change, error, df, least, extra=extra).iloc[0]
    chances = row[["chance_better", "chance_trivial", "chance_worse"]].to_numpy(dtype=float)
    assert chances.sum() == pytest.approx(100)
    assert (chances >= -1e-9).all()
    assert row["chance_better"] == pytest.approx(mirror["chance_worse"])
    opposite = {tables.BETTER: tables.WORSE, tables.WORSE: tables.BETTER}
    assert mirror["verdict"] == opposite.get(row["verdict"], row["verdict"])
    assert (row["reason"] == "") == (row["verdict"] != tables.CANNOT_TELL)
    if row["verdict"] == tables.BETTER:
        assert row["low"] > 0
        assert row["p"] < 0.10
    if row["verdict"] == tables.STEADY:
        assert -least < row["low"] < row["high"] < least
    assert 0 <= row["by_chance"] <= 0.10 + 1e-9


def test_the_number_of_clear_verdicts_by_chance() -> None:
    rng = np.random.default_rng(3)
    judged = judge(rng.normal(0, math.sqrt(2), 40_000), 1.0, np.inf, np.repeat([0.5, 3.0], 20_000))
    clear = judged["verdict"].isin([tables.BETTER, tables.WORSE]).sum()
    # 10 % where the error decides, P(|z| > 3/√2) = 3.4 % where the worthwhile change does
    expected = 20_000 * (0.10 + 2 * stats.norm.sf(3 / math.sqrt(2)))
    assert verdicts.clear_by_chance(judged) == pytest.approx(expected)
    assert clear == pytest.approx(expected, rel=0.05)


def test_the_front_list_holds_few_that_did_not_change() -> None:
    rng = np.random.default_rng(4)
    shares = []
    for _ in range(200):
        true = np.repeat([0.0, 5.0], [45, 15])
        front = verdicts.front_list(judge(true + rng.normal(0, math.sqrt(2), 60), 1.0, np.inf, 0.5))
        shares.append((front & (true == 0)).sum() / max(front.sum(), 1))
    assert np.mean(shares) <= verdicts.FALSE_DISCOVERIES
    assert np.mean(shares) > 0.02  # else the list is so strict that it says nothing


def test_a_front_list_of_nothing() -> None:
    assert not verdicts.front_list(judge([np.nan, np.nan], 1.0, 8, 0.5)).any()


def test_a_line_through_three_days() -> None:
    # By hand: days −100, 0, 100 and values 1, 2, 3.3: slope 230/20000 a day; SE 1/√20000
    got = verdicts.trend(
        np.array([10.0, 110, 210]), np.array([1, 2, 3.3]), 1.0, np.inf, per_days=100
    )
    assert got is not None
    assert got.slope == pytest.approx(1.15)
    assert (got.low, got.high) == pytest.approx(
        (1.15 - 1.64485 / math.sqrt(2), 1.15 + 1.64485 / math.sqrt(2)), abs=1e-5
    )
    assert got.days == 3


def test_the_interval_of_a_trend_holds_its_truth() -> None:
    rng = np.random.default_rng(5)
    days = np.array([0.0, 70, 160, 240])
    held, straight = 0, 0
    for _ in range(1000):
        error = math.sqrt(rng.chisquare(8) / 8)
        got = verdicts.trend(days, 0.02 * days + rng.normal(0, 1, 4), error, 8, per_days=30)
        assert got is not None
        held += got.low <= 0.6 <= got.high
        straight += got.straight < 0.05
    assert held / 1000 == pytest.approx(0.90, abs=0.02)
    assert straight / 1000 == pytest.approx(0.05, abs=0.02)


def test_a_bent_path_is_said_not_to_be_straight() -> None:
    got = verdicts.trend(np.arange(4.0), np.array([0.0, 9, 9, 0]), 1.0, np.inf)
    assert got is not None
    assert got.straight < 0.001


@pytest.mark.parametrize(
    ("days", "values", "error"),
    [
        ([0.0, 50], [1.0, 2], 1.0),
        ([0.0, 50, 50], [1.0, 2, 3], 1.0),
        ([0.0, 50, 90], [1.0, np.nan, 3], 1.0),
        ([0.0, 50, 90], [1.0, 2, 3], np.nan),
    ],
)
def test_no_trend_of_less(days: list[float], values: list[float], error: float) -> None:
    assert verdicts.trend(np.array(days), np.array(values), error, 8) is None


def test_the_spread_of_true_changes() -> None:
    rng = np.random.default_rng(6)
    change = rng.normal(0, 2, 20_000) + rng.normal(0, math.sqrt(2), 20_000)
    got = verdicts.true_spread(change, 1.0, np.inf)
    assert got is not None
    assert got.sd == pytest.approx(2.0, rel=0.02)
    assert got.low < 2.0 < got.high


def test_changes_no_wider_than_error_have_no_spread() -> None:
    got = verdicts.true_spread(np.array([-1.5, 1.5, 1, -1, 0, np.nan]), 1.0, 20)
    assert got is not None
    assert got.sd is None
    assert got.low == 0
    assert got.high > 0
    assert got.n == 5
    assert verdicts.true_spread(np.array([-1.0, 1, 3, 5]), 1.0, 20) is None


def test_a_shift_by_hand() -> None:
    # Five changes 1, 2, 3, 4, 100: the 15 pair means in order are 1, 1.5, 2, 2, 2.5, 2.5, 3, 3,
    # 3.5, 4, 50.5, …: their median, the eighth, is 3. A wild value moves it no further.
    changes = np.array([[1.0], [2], [3], [4], [100]])
    got = verdicts.day_shift(changes, 50.0, np.inf).iloc[0]
    assert got["shift"] == 3
    assert got["n"] == 5
    assert got["se"] == pytest.approx(50 / math.sqrt(5 * 3 / math.pi))
    assert not got["fired"]


def test_four_athletes_say_nothing_of_the_day() -> None:
    changes = np.array([[5.0, 5], [5, 5], [5, 5], [5, 5], [np.nan, 5]])
    got = verdicts.day_shift(changes, 1.0, np.inf)
    assert got["fired"].tolist() == [False, True]
    assert np.isnan(got["shift"].iloc[0])


def test_alarms_on_days_without_a_shift() -> None:
    rng = np.random.default_rng(7)
    alarms = sum(
        bool(verdicts.day_shift(rng.normal(0, 1, (8, 6)), 1.0, np.inf)["fired"].any())
        for _ in range(500)
    )
    assert alarms / 500 <= 0.05
    shifted = sum(
        bool(verdicts.day_shift(rng.normal(0, 1, (8, 6)) + 2, 1.0, np.inf)["fired"].all())
        for _ in range(100)
    )
    assert shifted >= 95


def test_the_balance_of_a_gate_shows_where_it_stands() -> None:
    # 1.1 s and 1.0 s either side; the gate 10 cm further on: 1.1 + 0.011, 1.0 − 0.011 at 9.1 m/s
    share = 1.0 / 2.1
    before, after = np.array([1.1, 1.111, 1.1 * 0.98]), np.array([1.0, 0.989, 0.98])
    got = verdicts.gate_balance(before, after, share)
    assert got[0] == pytest.approx(0)
    assert got[1] == pytest.approx(0.011)
    assert got[2] == pytest.approx(0)


def test_small_calibration() -> None:
    chosen = [s for s in calibration.SQUADS if s.grade == "A" and s.factor == 1]
    got = calibration.change_table(1200, tuple(chosen))
    assert (got["false"] <= 10).all()
    assert (got["found"] >= 82).all()
    assert (got["coverage"] - 90).abs().max() <= 3


def test_small_calibration_of_a_moved_gate() -> None:
    still, moved = calibration.DAYS[0], calibration.DAYS[4]
    got = calibration.gate_table(60, kinds=(still, moved))
    assert got.loc[still.name, "gate fires"] <= 10
    assert got.loc[moved.name, "gate fires"] >= 85
    assert got.loc[moved.name, "stands"] <= 5
