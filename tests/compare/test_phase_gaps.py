"""Own-time gaps: their size, their error, and what may be said of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import stats

from pipeline.compare import phase_gaps, shape_model
from pipeline.compare.phase_gaps import OwnGaps
from pipeline.compare.published_shape import MEN
from pipeline.measures.spec import Array
from pipeline.tables import MOST_TO_GAIN, STANDS_OUT
from tests.compare.published_phases import phase_times

TIMES, RACES = phase_times("M")
ERROR = phase_gaps.error_covariance(4, 0.010)


def _line(whole: float) -> Array:
    return shape_model.expected(MEN, np.array(whole))


def _judge(*runs: Array, error: Array = ERROR) -> OwnGaps:
    times = np.array(runs)
    return phase_gaps.own_gaps(MEN, times, np.broadcast_to(error, (len(runs), 4, 4)))


# --- measurement error ----------------------------------------------------------------------


def test_neighbouring_phases_share_a_split_with_opposite_signs() -> None:
    # by hand: p1 = s1 - s0, p2 = s2 - s1, p3 = s3 - s2
    by_hand = [[0.0005, -0.0004, 0], [-0.0004, 0.0008, -0.0004], [0, -0.0004, 0.0008]]
    np.testing.assert_allclose(phase_gaps.error_covariance(3, 0.02, 0.01), by_hand, atol=1e-15)


def test_the_error_of_the_whole_is_that_of_its_two_ends() -> None:
    error = phase_gaps.error_covariance(5, 0.02, 0.01)
    assert error.sum() == pytest.approx(0.02**2 + 0.01**2)


# --- gaps -----------------------------------------------------------------------------------

people = hnp.arrays(np.float64, (3, 4), elements=st.floats(-0.08, 0.08))


@given(people, st.floats(9.4, 10.2), st.lists(st.floats(0.5, 2), min_size=3, max_size=3))
def test_gaps_sum_to_nought_before_the_cost_correction(
    apart: Array, whole: float, precision: list[float]
) -> None:
    errors = ERROR * np.array(precision)[:, None, None]
    _, gap, error = phase_gaps.combined(MEN, _line(whole) + apart, errors)
    assert gap.sum() == pytest.approx(0, abs=1e-9)
    assert error.sum() == pytest.approx(0, abs=1e-9)


@given(st.floats(9.4, 10.2))
def test_a_runner_on_the_line_has_no_gap_whatever_the_level(whole: float) -> None:
    gaps = _judge(_line(whole), _line(whole))
    np.testing.assert_allclose(gaps.cost, 0, atol=1e-9)
    assert (phase_gaps.findings(gaps, 2) == "").all()


@given(hnp.arrays(np.float64, 4, elements=st.floats(-0.03, 0.03)), st.floats(0.98, 1.02))
def test_the_same_shape_at_another_level_keeps_the_sign_of_every_gap(
    style: Array, factor: float
) -> None:
    """Slower along the line (each phase by the same share of its own slope) is level, not shape."""
    at, then = 9.8, 9.8 * factor
    own = _line(at) * np.exp(style)
    moved = own * _line(then) / _line(at)
    here, there = _judge(own, own), _judge(moved, moved)
    clear = np.abs(here.cost) > 0.005
    assert (np.sign(here.cost) == np.sign(there.cost))[clear].all()
    np.testing.assert_allclose(there.z, here.z, atol=0.15)


def test_every_phase_slower_by_one_factor_is_judged_by_the_slopes() -> None:
    """A constant factor is no move along the line: phases that grow less than T look slow."""
    slower = _judge(*[_line(9.8) * 1.02] * 2)
    assert np.sign(slower.cost).tolist() == np.sign(1 - MEN.slope).tolist()


@pytest.mark.parametrize("phase", range(4))
@pytest.mark.parametrize("loss", [0.02, 0.10])
def test_the_cost_of_a_loss_in_one_phase_is_that_loss(phase: int, loss: float) -> None:
    own = _line(9.8) + np.where(np.arange(4) == phase, loss, 0)
    gaps = _judge(own, own)
    assert gaps.cost[phase] == pytest.approx(loss, rel=0.01)
    assert gaps.time[phase] - gaps.expected[phase] < loss
    others = np.arange(4) != phase
    assert (gaps.cost[others] < 0).all()


def test_the_cost_is_the_gap_over_one_less_share_times_slope() -> None:
    # share and slope of the published finals, by hand to three digits
    gaps = _judge(TIMES[0])
    gap = gaps.time - gaps.expected
    share = TIMES.mean(axis=0) / TIMES.sum(axis=1).mean()
    by_hand = gap / (1 - share * np.array([0.43, 0.70, 1.11, 1.37]))
    np.testing.assert_allclose(gaps.cost, by_hand, rtol=0.01)


# --- runs together --------------------------------------------------------------------------


def test_equally_good_runs_are_averaged_and_their_error_shrinks() -> None:
    one, two = _line(9.80) + np.array([0.05, 0, 0, 0]), _line(9.84) + np.array([0, 0.02, 0, 0.01])
    whole, gap, error = phase_gaps.combined(MEN, np.array([one, two]), np.array([ERROR, ERROR]))
    each = [phase_gaps.combined(MEN, run[None], ERROR[None]) for run in (one, two)]
    assert whole == pytest.approx((one.sum() + two.sum()) / 2)
    np.testing.assert_allclose(gap, (each[0][1] + each[1][1]) / 2, atol=1e-5)
    np.testing.assert_allclose(error, (each[0][2] + each[1][2]) / 4, rtol=1e-3, atol=1e-9)


def test_runs_are_combined_as_one_great_least_squares_with_style_in_it() -> None:
    """Held against the textbook form (XᵀV⁻¹X)⁻¹XᵀV⁻¹y, with the style of the athlete in V."""
    rng = np.random.default_rng(5)
    times = _line(9.9) + rng.normal(0, 0.02, (3, 4))
    splits = (0.004, 0.010, 0.020)
    errors = np.array([phase_gaps.error_covariance(4, s, s / 2) for s in splits])
    _, gap, error = phase_gaps.combined(MEN, times, errors)
    rows, blocks = [], np.zeros((9, 9))
    style = (MEN.style * np.outer(_line(9.9), _line(9.9)))[:3, :3]
    for number, run in enumerate(times):
        whole = np.array(run.sum())
        turned = np.eye(4) - shape_model.growth(MEN, whole)[:, None]
        rows.append((run - shape_model.expected(MEN, whole))[:3])
        span = slice(3 * number, 3 * number + 3)
        blocks[span, span] = (turned @ errors[number] @ turned.T)[:3, :3]
    known = np.linalg.inv(blocks + np.kron(np.ones((3, 3)), style))
    design = np.kron(np.ones((3, 1)), np.eye(3))
    total = np.linalg.inv(design.T @ known @ design)
    np.testing.assert_allclose(gap[:3], total @ design.T @ known @ np.concatenate(rows), rtol=1e-6)
    np.testing.assert_allclose(error[:3, :3] + style, total, rtol=1e-6)


def test_which_phase_follows_from_the_sum_does_not_matter() -> None:
    rng = np.random.default_rng(6)
    times = _line(9.9) + rng.normal(0, 0.02, (2, 4))
    errors = np.array([phase_gaps.error_covariance(4, s) for s in (0.005, 0.02)])
    order = [3, 1, 0, 2]
    turned = replace(
        MEN,
        level=MEN.level[order],
        slope=MEN.slope[order],
        style=MEN.style[np.ix_(order, order)],
    )
    here = phase_gaps.combined(MEN, times, errors)[1]
    there = phase_gaps.combined(turned, times[:, order], errors[:, order][:, :, order])[1]
    np.testing.assert_allclose(here[order], there, rtol=1e-9)


def test_more_runs_narrow_the_interval_but_not_below_the_spread_of_style() -> None:
    own = _line(9.8)
    widths = [_judge(*[own] * runs) for runs in (1, 2, 50)]
    high = np.array([gaps.high for gaps in widths])
    assert (np.diff(high, axis=0) < 0).all()
    style = np.sqrt(np.diag(MEN.style)) * own
    shrunk = 1 - shape_model.growth(MEN, np.array(9.8))
    assert (high[-1] > phase_gaps.simultaneous(4) * style / shrunk).all()


# --- variance -------------------------------------------------------------------------------


def test_a_limit_holds_error_style_and_reference() -> None:
    """Put together by hand for two runs at the mean of the finals, with scipy's t."""
    whole = np.array(float(np.exp(MEN.centre)))
    own = shape_model.expected(MEN, whole)
    growth = shape_model.growth(MEN, whole)
    turned = np.eye(4) - growth[:, None]
    error = np.diag(turned @ ERROR @ turned.T) / 2
    style = np.diag(MEN.style) * own**2 * (1 + 1 / 42)
    freedom = 40 * ((error + style) / style) ** 2
    limit = stats.t.isf((1 - phase_gaps.SIDE) / 4, freedom) * np.sqrt(error + style)
    np.testing.assert_allclose(_judge(own, own).high, limit / (1 - growth), rtol=1e-6)


def test_far_from_the_middle_of_the_reference_the_interval_is_wider() -> None:
    middle = float(np.exp(MEN.centre))
    near, far = _judge(_line(middle)), _judge(_line(10.25))
    assert ((far.high - far.low) / _line(10.25) > (near.high - near.low) / _line(middle)).all()


def test_the_limits_hold_at_once_for_gaps_that_sum_to_nought() -> None:
    """Bonferroni at K phases, against a simulated multivariate normal with the gaps' covariance."""
    own = _line(9.8)
    spread = MEN.style * np.outer(own, own)
    draws = np.random.default_rng(8).multivariate_normal(np.zeros(4), spread, 200_000)
    z = draws / np.sqrt(np.diag(spread))
    held = (z < phase_gaps.simultaneous(4)).all(axis=1).mean()
    assert held == pytest.approx(phase_gaps.SIDE, abs=0.005)


# --- what is said ---------------------------------------------------------------------------


def _lost(seconds: float, runs: int) -> list[str]:
    own = _line(9.8) + np.array([0, seconds, 0, 0])
    return [str(said) for said in phase_gaps.findings(_judge(*[own] * runs), runs)]


def test_a_great_loss_in_two_runs_stands_out() -> None:
    assert _lost(0.15, 2) == ["", STANDS_OUT, "", ""]


def test_one_run_gives_a_hint_at_most() -> None:
    assert _lost(0.15, 1) == ["", MOST_TO_GAIN, "", ""]


def test_a_loss_within_the_usual_spread_has_most_to_gain() -> None:
    assert _lost(0.04, 2) == ["", MOST_TO_GAIN, "", ""]


def test_a_loss_within_measurement_error_is_not_told() -> None:
    assert _lost(0.01, 2) == ["", "", "", ""]


def test_the_most_to_gain_is_ranked_by_z_not_by_seconds() -> None:
    own = _line(9.8) + np.array([0, -0.06, 0.03, 0.03])
    gaps = _judge(own, own)
    assert gaps.cost.argmax() == 3
    assert [str(said) for said in phase_gaps.findings(gaps, 2)] == ["", "", MOST_TO_GAIN, ""]


def test_with_the_spread_of_style_few_finalists_stand_out() -> None:
    """At most 3 of 42, one race left out; judged without style more than half would be told."""
    _, race = np.unique(RACES, return_inverse=True)
    out = told = 0
    for number in np.unique(race):
        own = race == number
        model = shape_model.fit(TIMES[~own], race[~own], MEN.ends_m)
        errors = np.broadcast_to(ERROR, (own.sum(), 1, 4, 4))
        gaps = phase_gaps.own_gaps(model, TIMES[own][:, None], errors)
        out += int((gaps.low > 0).any(axis=1).sum())
        told += int(gaps.measured.any(axis=1).sum())
    assert out <= 3
    assert told == pytest.approx(27, abs=2)  # 27 of 42 by the project's sources


def test_many_athletes_at_once_are_the_athletes_one_by_one() -> None:
    times = TIMES[:12].reshape(6, 2, 4)
    errors = np.broadcast_to(ERROR, (6, 2, 4, 4))
    together = phase_gaps.own_gaps(MEN, times, errors)
    for number, runs in enumerate(times):
        alone = phase_gaps.own_gaps(MEN, runs, errors[0])
        for name in ("time", "expected", "cost", "low", "high", "z", "used"):
            np.testing.assert_allclose(
                getattr(together, name)[number], getattr(alone, name), atol=1e-12
            )
