"""Phase against phase: where an athlete loses time, and whether that can be said at all.

Two questions. *For your own time*: is a phase slow for a runner who finishes in this athlete's
own time? *Against the group*: is it slow beside the others' phase?

The own-time gap. Let e(T) be the expected phase times at whole time T (``shape_model``), p the
observed ones, T = Σ p. The gap is g = p − e(T); gaps sum to 0. A loss of L seconds in phase k
alone also slows the finish by L, and with it the expectation, by growth_k·L, growth = share·slope:
g_k = L − growth_k·L. Hence the cost L = g_k ÷ (1 − share·slope).

Its variance. In matrices, dg = H dp with H = I − growth·1ᵀ.

- Measurement: splits at the ends of the phases err independently, so neighbouring phases share an
  error with opposite signs; with D the matrix of differences, one run's phase times err by
  E = σ²·D·Dᵀ and its gaps by F = H·E·Hᵀ. Runs are combined by generalised least squares,
  g = (Σ F⁻¹)⁻¹·Σ F⁻¹g, of covariance M = (Σ F⁻¹)⁻¹, in any K − 1 of the phases, the last following
  from the sum. The style of one athlete is the same in each run, so it changes no weight.
- Style: S, between runners of equal whole time; it does not shrink with runs.
- Reference: the line is known to within leverage·S.

Together V = M + (1 + leverage)·S. M is known and S estimated with n − 2 degrees of freedom, so a
gap's own are (n − 2)·(V ÷ (1 + leverage)S)² (Satterthwaite 1946).

Limits hold for all phases at once, each side with the chance ``SIDE``: Bonferroni, Student's t at
1 − (1 − SIDE)/K. Gaps that sum to 0 are negatively correlated, where Bonferroni is all but exact.
Each side by itself, because only a loss can stand out: a two-sided region would spend half of its
error on gains, and then finds too few of the losses that are there (tests/phase_calibration.py).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from pipeline.compare import shape_model
from pipeline.compare.shape_model import ShapeModel
from pipeline.measures.spec import Array
from pipeline.tables import MOST_TO_GAIN, STANDS_OUT

SIDE = 0.91
"""Chance that all lower limits hold at once; the same for the upper ones. The spread of style is
itself estimated: at 0.90 a little over one athlete in ten without a weakness was told of one."""

ENOUGH_RUNS = 2
"""Fewer runs than this give a hint at most."""


@dataclass(frozen=True, slots=True)
class OwnGaps:
    """Own-time gaps; every array has shape (…, K), in s where not said otherwise.

    Attributes:
        time: mean phase time of the runs.
        expected: ``time`` less the gap.
        usual_low: ``expected`` − z used·(error, style and reference together).
        usual_high: the same on the slow side. A time above it is one whose ``low`` is above 0: what
            runners of this whole time usually need, as far as it can be told from these runs.
        cost: the gap ÷ (1 − share·slope): what the phase costs at the finish.
        low: simultaneous lower limits of the cost.
        high: simultaneous upper limits of the cost.
        z: the gap ÷ its standard deviation, error, style and reference together.
        used: the z beyond which a gap stands out, by phase.
        measured: whether the gap is a loss beyond measurement error alone.
    """

    time: Array
    expected: Array
    usual_low: Array
    usual_high: Array
    cost: Array
    low: Array
    high: Array
    z: Array
    used: Array
    measured: NDArray[np.bool_]


def error_covariance(phases: int, split_s: float, start_s: float = 0.0) -> Array:
    """Covariance of the phase times of one run, in s².

    Args:
        phases: how many phases, K.
        split_s: SD of one split's error in s.
        start_s: SD of the error of first movement in s (of the reaction time, on a gun's clock).

    Returns:
        D·diag(start², split², …)·Dᵀ, shape (K, K): neighbours share a split with opposite signs.
    """
    difference = np.eye(phases, phases + 1, 1) - np.eye(phases, phases + 1)
    squares = np.full(phases + 1, split_s**2)
    squares[0] = start_s**2
    return np.asarray((difference * squares) @ difference.T)


def simultaneous(phases: int, freedom: Array | float = np.inf) -> Array:
    """The z used: Student's t that holds on one side for ``phases`` phases at once.

    Args:
        phases: how many phases are judged together.
        freedom: degrees of freedom, any shape; infinite for the normal distribution.
    """
    return np.asarray(stats.t.ppf(1 - (1 - SIDE) / phases, freedom))


def combined(model: ShapeModel, times: Array, errors: Array) -> tuple[Array, Array, Array]:
    """The gap at the athlete's own finish from one or more runs.

    Args:
        model: the reference.
        times: phase times in s, shape (…, R, K).
        errors: covariance of each run's phase times in s², shape (…, R, K, K), positive definite.

    Returns:
        The whole time in s, the mean of the runs', shape (…); the gap in s (…, K), summing to 0;
        and the covariance of its measurement error in s² (…, K, K).
    """
    whole = times.sum(axis=-1)
    each = _stacked(model)
    gaps = times - shape_model.expected(each, whole)
    phases = times.shape[-1]
    turned = np.eye(phases) - shape_model.growth(each, whole)[..., None]
    covariance = turned @ errors @ np.swapaxes(turned, -1, -2)
    weights = np.linalg.inv(covariance[..., :-1, :-1])
    part = np.linalg.inv(weights.sum(axis=-3))
    first = (part @ (weights @ gaps[..., :-1, None]).sum(axis=-3))[..., 0]
    closing = np.vstack([np.eye(phases - 1), -np.ones(phases - 1)])
    return whole.mean(axis=-1), first @ closing.T, closing @ part @ closing.T


def _stacked(model: ShapeModel) -> ShapeModel:
    """The model with an axis for the runs, so that a stack of models meets a stack of runs."""
    return ShapeModel(
        ends_m=model.ends_m,
        centre=np.asarray(model.centre)[..., None],
        squares=np.asarray(model.squares)[..., None],
        level=model.level[..., None, :],
        slope=model.slope[..., None, :],
        style=model.style[..., None, :, :],
        rows=model.rows,
        sprints=model.sprints,
        range_s=model.range_s,
    )


def own_gaps(model: ShapeModel, times: Array, errors: Array) -> OwnGaps:
    """Judge the phases of one athlete, or of many with equally many runs, for their own time.

    Args:
        model: the reference, without the athlete.
        times: phase times in s from first movement, shape (…, R, K).
        errors: covariance of each run's phase times in s², shape (…, R, K, K).
    """
    whole, gap, error = combined(model, times, errors)
    at_own = shape_model.expected(model, whole)
    known = np.diagonal(error, axis1=-2, axis2=-1)
    style = np.diagonal(model.style, axis1=-2, axis2=-1) * at_own**2
    style = style * (1 + shape_model.leverage(model, whole))[..., None]
    spread = np.sqrt(known + style)
    phases = times.shape[-1]
    used = simultaneous(phases, model.freedom * ((known + style) / style) ** 2)
    wide = used * spread
    shrunk = 1 - shape_model.growth(model, whole)
    time = times.mean(axis=-2)
    return OwnGaps(
        time=time,
        expected=time - gap,
        usual_low=time - gap - wide,
        usual_high=time - gap + wide,
        cost=gap / shrunk,
        low=(gap - wide) / shrunk,
        high=(gap + wide) / shrunk,
        z=gap / spread,
        used=used,
        measured=gap > simultaneous(phases) * np.sqrt(known),
    )


def findings(gaps: OwnGaps, runs: int) -> NDArray[np.str_]:
    """What is said of each phase for the athlete's own time, shape (…, K).

    A phase *stands out* when its lower limit is above 0 and there are two runs or more. Where none
    does, the phase with the largest z has *most to gain* if its gap is a loss beyond measurement
    error: ranked by z, since seconds alone point at the longest phase.
    """
    out = (gaps.low > 0) & (runs >= ENOUGH_RUNS)
    largest = np.asarray(np.arange(gaps.z.shape[-1]) == gaps.z.argmax(axis=-1)[..., None])
    most = largest & gaps.measured & ~np.asarray(out.any(axis=-1))[..., None]
    return np.where(out, STANDS_OUT, np.where(most, MOST_TO_GAIN, ""))
