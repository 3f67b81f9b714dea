"""Errors of measurement against published examples and closed forms.

The data sets stand in ``tests/reference``, with their sources in its README.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from pipeline import computing, reading
from pipeline.compare import reliability
from pipeline.compare.reliability import KnownError, best_of, typical_error
from pipeline.measures.spec import Array
from tests import seasons

REFERENCE = Path(__file__).parents[1] / "reference"
_BESIDE = Path("shared", "reference", "statistics")
TWO_TRIALS = next((up / _BESIDE for up in Path(__file__).parents if (up / _BESIDE).is_dir()), None)
NOT_HERE = "the two-trial file lies beside the project, not in it"


def read(name: str) -> pd.DataFrame:
    return pd.read_csv(REFERENCE / name)


def two_trials() -> tuple[pd.DataFrame, pd.DataFrame]:
    assert TWO_TRIALS is not None
    expected = pd.read_csv(TWO_TRIALS / "two_trials_expected.csv").set_index("measure")
    return pd.read_csv(TWO_TRIALS / "two_trials_21_measures.csv"), expected


def error_of(values: Array, *, log: bool = False) -> reliability.Repeatability:
    found = typical_error(values, log=log)
    assert found is not None
    return found


@pytest.mark.parametrize(("meter", "te"), [("wright", 15.361), ("mini", 20.416)])
def test_bland_and_altman_1986(meter: str, te: float) -> None:
    # SD of the differences / √2, recomputed from their table; their own repeatability 2·√(Σd²/n)
    # is printed as 43.2 and 56.4 from rounded steps.
    flow = read("bland_altman_1986_pefr.csv")
    found = error_of(flow[[f"{meter}_first", f"{meter}_second"]].to_numpy(dtype=float))
    assert found.error == pytest.approx(te, abs=5e-4)
    assert (found.df, found.athletes) == (16, 17)
    difference = (flow[f"{meter}_first"] - flow[f"{meter}_second"]).to_numpy(dtype=float)
    assert 2 * math.sqrt(np.mean(difference**2)) == pytest.approx(
        {"wright": 43.294, "mini": 56.316}[meter], abs=5e-4
    )


def test_two_meters_of_bland_and_altman_differ_as_printed() -> None:
    # Mean difference −2.1 and SD 38.8 l/min (Lancet i:307); the typical error is the SD over √2.
    flow = read("bland_altman_1986_pefr.csv")
    both = flow[["wright_first", "mini_first"]].to_numpy(dtype=float)
    assert (both[:, 0] - both[:, 1]).mean() == pytest.approx(-2.1176, abs=5e-5)
    assert error_of(both).error * math.sqrt(2) == pytest.approx(38.7651, abs=5e-5)


def test_six_intraclass_correlations_of_shrout_and_fleiss_1979() -> None:
    ratings = read("shrout_fleiss_1979.csv").drop(columns="target").to_numpy(dtype=float)
    got = reliability.agreement(ratings)
    printed = (0.17, 0.29, 0.71, 0.44, 0.62, 0.91)
    forms = (got.icc11, got.icc21, got.icc31, got.icc1k, got.icc2k, got.icc3k)
    assert tuple(round(form, 2) for form in forms) == printed


def test_weir_2005_set_a() -> None:
    # SEM 7.6 (7.5569) and MDC95 20.95, recomputed. A lecture on the same eight people prints
    # F(1,7) = .530 between the trials and .973 for the consistency of their mean (seen); the
    # single-trial .9470 is that form's 2·.9470/(1 + .9470).
    squat = read("weir_2005_1rm_squat_set_a.csv")[["A1", "A2"]].to_numpy(dtype=float)
    error = error_of(squat).error
    assert error == pytest.approx(7.5569, abs=5e-5)
    s, found = reliability.sums_of_squares(squat), reliability.agreement(squat)
    assert s.mean_columns / s.mean_rest == pytest.approx(0.530, abs=5e-4)
    assert found.icc3k == pytest.approx(0.973, abs=5e-4)
    assert found.icc31 == pytest.approx(0.9470, abs=5e-5)
    assert reliability.minimal_detectable_change(error) == pytest.approx(20.95, abs=0.005)
    assert reliability.minimal_detectable_change(1.0) == pytest.approx(2.77186, abs=5e-6)


def test_sums_of_squares_of_nist_sirstv() -> None:
    # Certified: F 1.18046237440255, residual SD 1.04076068334656E-01, one way by instrument
    wafers = read("nist_strd_sirstv.csv").to_numpy(dtype=float).T
    s = reliability.sums_of_squares(wafers)
    assert s.mean_rows / s.mean_within == pytest.approx(1.18046237440255, rel=1e-11)
    assert math.sqrt(s.mean_within) == pytest.approx(1.04076068334656e-01, rel=1e-12)


@pytest.mark.parametrize(("pairs", "low", "high"), [(10, 0.6878, 1.8256), (20, 0.7605, 1.4606)])
def test_limit_factors_of_a_typical_error(pairs: int, low: float, high: float) -> None:
    # Hopkins 2000, Sports Med 30:1 (from memory), recomputed; 95 % limits
    assert reliability.error_limits(1.0, pairs - 1, 0.95) == pytest.approx((low, high), abs=5e-5)


def test_an_order_effect_is_no_error() -> None:
    values = np.array([[10.0, 10.5, 11.0], [12.1, 12.6, 13.1], [9.4, 9.9, 10.4]])
    assert error_of(values).error == pytest.approx(0, abs=1e-12)


def test_gaps_are_the_least_squares_of_what_is_there() -> None:
    # Against an ordinary regression on dummy variables of athletes and columns.
    rng = np.random.default_rng(5)
    values = rng.normal(50, 5, (14, 1)) + rng.normal(0, 2, (14, 4)) + np.array([0, 1, 1.5, 3])
    values[rng.random(values.shape) < 0.3] = np.nan
    values[3, 1:] = np.nan  # one value only: says nothing of repeats
    athlete, column = np.nonzero(np.isfinite(values))
    design = np.hstack([np.eye(14)[athlete], np.eye(4)[column]])
    y = values[athlete, column]
    effects, _, rank, _ = np.linalg.lstsq(design, y)
    df = len(y) - rank
    found = error_of(values)
    assert found.df == df
    assert found.error == pytest.approx(math.sqrt(np.sum((y - design @ effects) ** 2) / df))
    assert found.athletes == (np.isfinite(values).sum(axis=1) > 1).sum()


def test_an_error_that_grows_with_size_is_one_percentage() -> None:
    rng = np.random.default_rng(6)
    values = rng.uniform(20, 200, (4000, 1)) * np.exp(rng.normal(0, 0.05, (4000, 2)))
    found = error_of(values, log=True)
    assert found.cv_log == pytest.approx(100 * (math.exp(0.05) - 1), rel=0.03)
    assert math.isnan(found.cv_raw)
    assert math.isnan(error_of(values).cv_log)


@pytest.mark.parametrize(
    "values",
    [np.full((4, 2), np.nan), np.array([[1.0, np.nan], [np.nan, 2.0]]), np.array([[1.0, 2.0]])],
)
def test_too_few_repeats_have_no_typical_error(values: Array) -> None:
    assert typical_error(values) is None


def test_a_table_of_one_person_has_no_correlation() -> None:
    with pytest.raises(ValueError, match="two complete rows"):
        reliability.agreement(np.array([[1.0, 2.0], [3.0, np.nan]]))


# Expected value and SD of the largest of n normal values: 1/√π and 3/(2√π) are exact for 2 and 3;
# variances 1 − 1/π (exact), 0.5595 and 0.4917, and 1.0294, from tables of normal order statistics
# (memory; Teichroew 1956, Ann Math Stat 27:410); the two-digit ones are recomputed elsewhere.
@pytest.mark.parametrize(
    ("n", "shift", "sd"),
    [
        (1, 0.0, 1.0),
        (2, 1 / math.sqrt(math.pi), math.sqrt(1 - 1 / math.pi)),
        (3, 1.5 / math.sqrt(math.pi), math.sqrt(0.5595)),
        (4, 1.0294, math.sqrt(0.4917)),
    ],
)
def test_the_best_of_n_attempts(n: int, shift: float, sd: float) -> None:
    got = best_of(n)
    assert (got.shift, got.sd) == pytest.approx((shift, sd), abs=5e-5)
    printed = {1: (0, 1), 2: (0.56, 0.83), 3: (0.85, 0.75), 4: (1.03, 0.70)}[n]
    assert (round(got.shift, 2), round(got.sd, 2)) == printed


def test_the_mean_of_the_best_two() -> None:
    # Of two: their mean. Of three: all three less the worst, whose covariance with the sum is 1, so
    # the variance is (3 + v − 2)/4 with v that of the best of three, and the shift half its shift.
    of_three = best_of(3)
    assert best_of(2, 2) == reliability.Selection(0.0, 1 / math.sqrt(2))
    assert best_of(3, 2).shift == pytest.approx(of_three.shift / 2, abs=1e-9)
    assert best_of(3, 2).sd == pytest.approx(math.sqrt((1 + of_three.sd**2) / 4), abs=1e-9)


@pytest.mark.parametrize("counted", [1, 2, 3])
@pytest.mark.parametrize("n", range(3, 11))
def test_selection_against_chance(n: int, counted: int) -> None:
    draws = np.random.default_rng(n).normal(size=(200_000, n))
    scores = np.sort(draws, axis=1)[:, -counted:].mean(axis=1)
    got = best_of(n, counted)
    assert got.shift == pytest.approx(scores.mean(), abs=0.006)
    assert got.sd == pytest.approx(scores.std(), abs=0.006)


def test_more_than_was_done_cannot_be_counted() -> None:
    with pytest.raises(ValueError, match="no more than were made"):
        best_of(1, 2)


def test_the_error_of_a_score_is_that_of_its_repeats() -> None:
    rng = np.random.default_rng(8)
    day, within, athletes = 3.0, 2.5, 100_000
    attempts = rng.normal(0, day, (athletes, 2, 1)) + rng.normal(0, within, (athletes, 2, 4))
    scores = np.sort(attempts, axis=2)[..., -2:].mean(axis=2)
    single = math.hypot(day, within)
    expected = reliability.score_error(single, within, 4, 2)
    assert error_of(scores).error == pytest.approx(expected, rel=0.01)
    assert error_of(attempts[..., 0]).error == pytest.approx(single, rel=0.01)


def test_repeats_of_the_day_are_a_floor() -> None:
    worse = [reliability.score_error(1.0, within, 3, 2) for within in (0.9, 1.2, 2.0, 4.0)]
    assert worse == sorted(worse)
    assert reliability.score_error(1.0, 2.0, 3, 2) > 2.0 * best_of(3, 2).sd
    assert reliability.score_error(1.0, 0.0, 3, 2) == 1.0


def test_more_attempts_flatter_the_day() -> None:
    # best of 4 against best of 2: (1.03 − 0.56) SDs of the day
    assert reliability.attempts_shift(2.0, 2, 4, 1) == pytest.approx(
        2 * (1.0294 - 0.5642), abs=1e-3
    )
    assert reliability.attempts_shift(2.0, 3, 3, 2) == 0


def test_smallest_worthwhile_change_leaves_the_error_out() -> None:
    values = np.array([10.0, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, np.nan])
    sd = float(np.nanstd(values, ddof=1))
    assert reliability.smallest_worthwhile(values, 3.0) == pytest.approx(0.2 * math.sqrt(sd**2 - 9))
    assert reliability.smallest_worthwhile(values, sd + 1) == 0
    assert reliability.smallest_worthwhile(values[1:], 3.0) is None


def test_a_squad_and_the_published_error_are_pooled_by_degrees_of_freedom() -> None:
    prior = reliability.PRIOR_DF["A"]
    both = reliability.pooled(KnownError(3.0, 8), 2.0, "A")
    assert both is not None
    assert both.df == 8 + prior
    assert both.error == pytest.approx(math.sqrt((8 * 9 + prior * 4) / (8 + prior)))
    assert reliability.pooled(None, 2.0, "B") == KnownError(2.0, reliability.PRIOR_DF["B"])
    assert reliability.pooled(None, None, "A") is None


def test_a_grade_c_error_never_reaches_a_verdict() -> None:
    assert reliability.pooled(None, 2.0, "C") is None
    assert reliability.pooled(KnownError(3.0, 8), 2.0, "C") == KnownError(3.0, 8)


def test_limits_of_a_correlation_hold_it() -> None:
    # ρ = 0.8 by construction; 90 % limits over 400 squads of 12.
    rng = np.random.default_rng(9)
    held = 0
    for _ in range(400):
        level, noise = rng.normal(0, 2, (12, 1)), rng.normal(0, 1, (12, 2))
        got = reliability.agreement(level + noise)
        held += got.low31 <= 0.8 <= got.high31
    assert held / 400 == pytest.approx(0.90, abs=0.04)


@pytest.mark.skipif(TWO_TRIALS is None, reason=NOT_HERE)
def test_two_trials_of_21_measures() -> None:
    trials, expected = two_trials()
    assert len(expected) == 21
    for measure, row in expected.iterrows():
        pair = trials[[f"{measure}_1", f"{measure}_2"]].to_numpy(dtype=float)
        raw, log = error_of(pair), error_of(pair, log=True)
        icc31 = reliability.agreement(pair).icc31
        assert raw.athletes == row["n"], measure
        assert round(raw.error, 4) == row["te"], measure
        assert round(raw.cv_raw, 2) == row["te_pct"], measure
        assert round(log.cv_log, 2) == row["cv_log_pct"], measure
        assert round(icc31, 3) == row["icc31"], measure
        if not np.isnan(row["printed_n"]):
            assert (round(raw.cv_raw, 2), round(icc31, 3)) == (
                row["printed_cv"],
                row["printed_icc"],
            ), measure


@pytest.mark.skipif(TWO_TRIALS is None, reason=NOT_HERE)
def test_the_best_of_a_timed_test_is_the_quicker_run(tmp_path: Path) -> None:
    # The file's authors kept the greater of two times as the best (best_column_holds: max).
    trials, expected = two_trials()
    timed = ["sprint5_s", "sprint10_s", "t_test_s", "square_s"]
    assert (expected.loc[timed, "best_column_holds"] == "max").all()
    names = {f"P{row:02}": row for row in range(len(trials))}
    header = seasons.ROSTER.splitlines()[0]
    roster = [f"{name},Nobody,F,2010-01-01,,,,,full" for name in names]
    rows = [
        f"{name},{test},{attempt},,{trials.loc[row, f'{test}_{attempt}']}"
        for name, row in names.items()
        for test in timed
        for attempt in (1, 2)
        if pd.notna(trials.loc[row, f"{test}_{attempt}"])
    ]
    own = [f'[tests."{test}"]\nkind = "other"\nunit = "s"\nbetter = "lower"\n' for test in timed]
    day = seasons.DAY_FOLDER
    folder = seasons.write(
        tmp_path / "season",
        {
            **dict.fromkeys(f"{day}/{s}.csv" for s in ("sprints", "jumps", "lifts", "body")),
            "roster.csv": "\n".join([header, *roster, ""]),
            "battery.toml": "".join(own),
            f"{day}/other.csv": "\n".join(["athlete_id,test,attempt,side,value", *rows, ""]),
        },
    )
    results = computing.compute(reading.read(folder, None)).tables["results"]
    for test in timed:
        ours = results[results["test"] == test].set_index("athlete_id")["value"]
        quicker = trials[[f"{test}_1", f"{test}_2"]].min(axis=1).to_numpy()
        there = [name for name, row in names.items() if not np.isnan(quicker[row])]
        np.testing.assert_allclose(ours.loc[there], [quicker[names[n]] for n in there])
        assert len(ours) == expected.loc[test, "n"]


def test_a_larger_error_in_the_pool_is_a_larger_error() -> None:
    law = stats.chi2(8)
    own = [KnownError(math.sqrt(law.ppf(q) / 8), 8) for q in (0.05, 0.5, 0.95)]
    got = [reliability.pooled(one, 1.0, "A") for one in own]
    errors = [one.error for one in got if one is not None]
    assert errors == sorted(errors)
    assert 0.5 < errors[0] < errors[2] < 1.5
