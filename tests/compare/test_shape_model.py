"""The shape of a sprint, held against the published finals (sources in their file)."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from pipeline.compare import published_shape, shape_model
from pipeline.compare.published_shape import MEN
from pipeline.measures.spec import Array
from tests.compare.published_phases import phase_times
from tests.finals import finalists

TIMES, RACES = phase_times("M")
WHOLE = TIMES.sum(axis=1)
_, RACE = np.unique(RACES, return_inverse=True)


def test_the_slopes_are_the_published_finals() -> None:
    # slopes recomputed from the 42 rows by the project's sources
    model = shape_model.fit(TIMES, RACES, MEN.ends_m)
    assert model.slope.tolist() == pytest.approx([0.43, 0.70, 1.11, 1.37], abs=0.005)


@pytest.mark.parametrize("phase", range(4))
def test_each_line_is_the_regression_scipy_fits(phase: int) -> None:
    line = stats.linregress(np.log(WHOLE), np.log(TIMES[:, phase]))
    model = shape_model.fit(TIMES, RACES, MEN.ends_m)
    assert model.slope[phase] == pytest.approx(line.slope, rel=1e-9)
    at_zero = model.level[phase] - model.slope[phase] * model.centre
    assert at_zero == pytest.approx(line.intercept, rel=1e-9)


def test_the_uncertainty_of_the_line_is_the_one_of_its_coefficients() -> None:
    x = np.log(WHOLE)
    design = np.column_stack([np.ones_like(x), x])
    inverse = np.linalg.inv(design.T @ design)
    at = np.array([1.0, np.log(9.6)])
    assert shape_model.leverage(MEN, np.array(9.6)) == pytest.approx(at @ inverse @ at, rel=1e-6)


def test_leaving_one_race_out_predicts_within_eight_hundredths() -> None:
    predicted, _ = shape_model.left_out(TIMES, RACE)
    off = np.abs(TIMES - predicted)
    assert off.max() <= 0.08
    assert off.mean() <= 0.03


def test_finalists_of_equal_time_spread_as_published() -> None:
    # .030/.026/.020/.036 s, one race left out, recomputed from the 42 rows by the sources
    predicted, _ = shape_model.left_out(TIMES, RACE)
    spread = (TIMES - predicted).std(axis=0, ddof=1)
    assert spread.tolist() == pytest.approx([0.030, 0.026, 0.020, 0.036], abs=0.0005)


def test_a_row_left_out_is_predicted_by_the_others_alone() -> None:
    predicted, leverages = shape_model.left_out(TIMES, RACE)
    own = np.array([race == "2009 WC" for race in RACES])
    others = shape_model.fit(TIMES[~own], RACE[~own], MEN.ends_m)
    np.testing.assert_allclose(predicted[own], shape_model.expected(others, WHOLE[own]))
    np.testing.assert_allclose(leverages[own], shape_model.leverage(others, WHOLE[own]))


def test_the_shipped_figures_are_the_fit_of_the_published_rows() -> None:
    model = shape_model.fit(TIMES, RACES, MEN.ends_m)
    for name in ("centre", "squares", "level", "slope", "style"):
        shipped, fitted = getattr(MEN, name), getattr(model, name)
        np.testing.assert_allclose(shipped, fitted, rtol=5e-10, err_msg=name)
    assert (MEN.rows, MEN.sprints) == (len(TIMES), len(TIMES))


def test_the_published_range_is_that_of_official_times_less_the_mean_reaction() -> None:
    men = finalists().query("sex == 'M'")
    assert men["reaction_s"].mean() == pytest.approx(published_shape.REACTION_S, abs=0.0005)
    assert men["official_s"].between(*published_shape.OFFICIAL_S).all()
    assert pytest.approx((9.35, 10.25)) == MEN.range_s
    fastest, slowest = MEN.range_s
    assert fastest <= WHOLE.min() <= WHOLE.max() <= slowest


def test_the_source_names_every_report() -> None:
    men = finalists().query("sex == 'M'")
    given = published_shape.SOURCE.replace("ü", "ue")
    for report in men["source"].unique():
        author, year = re.findall(r"\w+", report)[0], re.findall(r"\b\d{4}\b", report)[0]
        assert author in given, report
        assert year in given, report


def test_two_women_of_world_class_look_weak_at_the_start_in_the_mens_line() -> None:
    # .03-.08 s, so the project's sources: why the line is for men alone
    women, _ = phase_times("F")
    start = (women - shape_model.expected(MEN, women.sum(axis=1)))[:, :2]
    assert women.shape == (2, 4)
    assert ((start >= 0.03) & (start < 0.085)).all()
    assert start.round(2).max() == 0.08


@pytest.mark.parametrize("whole", [9.4, 9.8, 10.2])
def test_expected_times_sum_to_the_whole_and_grow_as_their_derivative(whole: float) -> None:
    step = 1e-5
    at = [shape_model.expected(MEN, np.array(whole + d)) for d in (-step, 0, step)]
    assert at[1].sum() == pytest.approx(whole, abs=1e-12)
    growth = shape_model.growth(MEN, np.array(whole))
    np.testing.assert_allclose(growth, (at[2] - at[0]) / (2 * step), rtol=1e-6)
    assert growth.sum() == pytest.approx(1)


def test_growth_is_share_times_slope() -> None:
    share = shape_model.expected(MEN, np.array(9.8)) / 9.8
    np.testing.assert_allclose(shape_model.growth(MEN, np.array(9.8)), share * MEN.slope, atol=5e-4)


def _drawn(seed: int, *shape: int) -> Array:
    rng = np.random.default_rng(seed)
    line = shape_model.expected(MEN, rng.normal(9.8, 0.15, shape))
    return np.asarray(line * np.exp(rng.normal(0, 0.01, (*shape, 4))))


def test_a_stack_of_models_is_the_models_one_by_one() -> None:
    people = _drawn(3, 5, 12)
    stack = shape_model.fit(people, np.arange(12), MEN.ends_m)
    for number, one in enumerate(people):
        alone = shape_model.fit(one, np.arange(12), MEN.ends_m)
        for name in ("centre", "squares", "level", "slope", "style"):
            np.testing.assert_allclose(getattr(stack, name)[number], getattr(alone, name))


def test_the_spread_of_style_is_estimated_without_bias() -> None:
    """Small references: residuals of a fit would say a fifth too little, left out ones too much."""
    rng = np.random.default_rng(11)
    true = np.array([0.016, 0.013, 0.007, 0.010])
    line = shape_model.expected(MEN, np.exp(rng.normal(MEN.centre, 0.015, (4000, 10))))
    share = line / line.sum(axis=-1, keepdims=True)
    style = rng.standard_normal((4000, 10, 4)) * true
    style -= (style * share).sum(axis=-1, keepdims=True)  # no style changes the whole time
    model = shape_model.fit(line * np.exp(style), np.arange(10), MEN.ends_m)
    drawn = (style**2).mean(axis=(0, 1))
    found = np.diagonal(model.style, axis1=-2, axis2=-1).mean(axis=0)
    np.testing.assert_allclose(found, drawn, rtol=0.03)


def test_the_finals_themselves_are_not_in_the_package() -> None:
    held = {path.name for path in Path(shape_model.__file__).parents[1].rglob("*")}
    assert "men_100m_finals_10m_splits.csv" not in held
    assert "published_shape.py" in held
