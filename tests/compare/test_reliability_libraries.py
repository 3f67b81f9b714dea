"""Our sums against two independent libraries."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pingouin
import pytest
import statsmodels.api as statsmodels_api
from statsmodels.stats.multitest import multipletests

from pipeline.compare import reliability, verdicts
from pipeline.measures.spec import Array

SHROUT_FLEISS = Path(__file__).parents[1] / "reference" / "shrout_fleiss_1979.csv"


def tables() -> list[Array]:
    rng = np.random.default_rng(11)
    ratings = pd.read_csv(SHROUT_FLEISS).drop(columns="target").to_numpy(dtype=float)
    made = [
        rng.normal(100, 9, (n, 1)) + rng.normal(0, 3, (n, k)) + rng.normal(0, 2, k)
        for n, k in ((8, 2), (15, 3), (40, 4))
    ]
    return [ratings, *made]


@pytest.mark.filterwarnings("ignore:The inplace keyword")  # pingouin 0.7.0 on pandas 3.1
@pytest.mark.parametrize("table", tables())
def test_intraclass_correlations_as_pingouin_has_them(table: Array) -> None:
    n, k = table.shape
    long = pd.DataFrame(
        {
            "who": np.repeat(np.arange(n), k),
            "when": np.tile(np.arange(k), n),
            "value": table.ravel(),
        }
    )
    theirs = pingouin.intraclass_corr(long, targets="who", raters="when", ratings="value")
    got = reliability.agreement(table, 0.95)
    forms = [got.icc11, got.icc21, got.icc31, got.icc1k, got.icc2k, got.icc3k]
    np.testing.assert_allclose(forms, theirs["ICC"].to_numpy(dtype=float), atol=1e-9)
    np.testing.assert_allclose([got.low31, got.high31], theirs["CI95"].iloc[2], atol=0.0051)


def test_typical_error_as_a_regression_has_it() -> None:
    rng = np.random.default_rng(12)
    values = rng.normal(40, 4, (11, 1)) + rng.normal(0, 1.5, (11, 3))
    values[rng.random(values.shape) < 0.2] = np.nan
    repeated = np.isfinite(values).sum(axis=1) > 1
    athlete, column = np.nonzero(np.isfinite(values) & repeated[:, np.newaxis])
    design = np.hstack([np.eye(11)[athlete], np.eye(3)[column][:, 1:]])
    fit = statsmodels_api.OLS(values[athlete, column], design).fit()
    found = reliability.typical_error(values)
    assert found is not None
    assert found.df == fit.df_resid
    assert found.error == pytest.approx(np.sqrt(fit.mse_resid))


def test_slope_as_a_regression_has_it() -> None:
    rng = np.random.default_rng(13)
    days = np.array([0.0, 61, 118, 240, 301])
    values = 0.01 * days + rng.normal(0, 1, 5)
    fit = statsmodels_api.OLS(values, statsmodels_api.add_constant(days)).fit()
    error = float(np.sqrt(fit.mse_resid))
    got = verdicts.trend(days, values, error, fit.df_resid)
    assert got is not None
    assert got.slope == pytest.approx(fit.params[1])
    # With the scatter itself for the known error the interval is the regression's own.
    np.testing.assert_allclose([got.low, got.high], fit.conf_int(0.10)[1])


def test_false_discoveries_as_statsmodels_counts_them() -> None:
    rng = np.random.default_rng(14)
    change = np.concatenate([rng.normal(0, 1.5, 60), rng.normal(5, 1.5, 12)])
    judged = verdicts.judge(change, 1.0, 20.0, 0.0)
    kept, *_ = multipletests(judged["p"], alpha=0.10, method="fdr_bh")
    clear = judged["verdict"].str.startswith("clearly").to_numpy()
    assert (verdicts.front_list(judged) == kept & clear).all()
    assert kept.sum() > 5
