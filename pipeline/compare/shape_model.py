"""The shape of a sprint: how long each phase takes in runners who finish in one's own time.

The time p_k in phase k grows with the whole time T as p_k = A_k·T^b_k, a line in logarithms. A
faster runner gains more in some phases than in others (b is not 1 everywhere), so a phase is held
against runners of equal whole time, not against a fixed share of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.measures.spec import Array

Groups = NDArray[np.int64]

FITTED = 2
"""Figures taken from the data in each phase (level and slope): what the degrees of freedom lose."""


@dataclass(frozen=True, slots=True)
class ShapeModel:
    """A fitted shape; every array may have the same leading axes (…) for a stack of models.

    Attributes:
        ends_m: the ends of the phases in m, K + 1 of them.
        centre: mean of ln(T/s), shape (…).
        squares: sum of (ln T − centre)² over the reference, shape (…).
        level: ln(p_k/s) at the centre, shape (…, K).
        slope: b_k, shape (…, K).
        style: covariance between phases of ln(p_k ÷ expected) among runners of equal whole time,
            shape (…, K, K), singular: what one phase gains at equal time another loses.
        rows: people (or published rows) the line was fitted to, each counted once.
        sprints: sprints behind those rows.
        range_s: whole times from first movement in s the model may serve, both ends included.
    """

    ends_m: tuple[float, ...]
    centre: Array
    squares: Array
    level: Array
    slope: Array
    style: Array
    rows: int
    sprints: int
    range_s: tuple[float, float]

    @property
    def freedom(self) -> int:
        """Degrees of freedom of the spread of style."""
        return self.rows - FITTED


def _line(x: Array, y: Array, kept: Array) -> tuple[Array, Array, Array, Array]:
    """Least squares of ``y`` (…, n, K) on ``x`` (…, n) over the rows ``kept`` (n, of 0 and 1)."""
    n = kept.sum()
    centre = (x * kept).sum(axis=-1) / n
    level = (y * kept[:, None]).sum(axis=-2) / n
    dx = (x - centre[..., None]) * kept
    squares = (dx**2).sum(axis=-1)
    slope = (dx[..., None] * y).sum(axis=-2) / squares[..., None]
    return centre, squares, level, slope


def _rescaled(logs: Array, whole: Array) -> Array:
    """Times exp(``logs``) (…, K) in s, scaled to sum to ``whole`` (…) in s."""
    raw = np.exp(logs)
    return np.asarray(raw * (whole / raw.sum(axis=-1))[..., None])


def left_out(times: Array, groups: Groups) -> tuple[Array, Array]:
    """Predict each row from the rows of the other groups.

    Args:
        times: phase times in s, shape (…, n, K).
        groups: what is left out together (a race, a person), shape (n,).

    Returns:
        The expected phase times in s, rescaled, shape (…, n, K); and the leverage of each
        prediction, 1/m + (ln T − centre)²/squares over the m other rows, shape (…, n).
    """
    whole = times.sum(axis=-1)
    x, y = np.log(whole), np.log(times)
    predicted, leverages = np.empty_like(times), np.empty_like(whole)
    for group in np.unique(groups):
        own = groups == group
        kept = (~own).astype(float)
        centre, squares, level, slope = _line(x, y, kept)
        dx = x[..., own] - centre[..., None]
        logs = level[..., None, :] + dx[..., None] * slope[..., None, :]
        predicted[..., own, :] = _rescaled(logs, whole[..., own])
        leverages[..., own] = 1 / kept.sum() + dx**2 / squares[..., None]
    return predicted, leverages


def fit(
    times: ArrayLike, groups: ArrayLike, ends_m: tuple[float, ...], sprints: int | None = None
) -> ShapeModel:
    """Fit the lines ln p_k on ln T by least squares, and the spread of style about them.

    The lines use every row. The spread is that of the residuals with a row's whole group left
    out, each divided by √(1 + leverage), the factor by which a prediction from other rows is less
    certain than one runner's style: so the spread holds what differs between races or people,
    is not made small by the fit to the same rows, and counts no uncertainty of the line twice.

    Args:
        times: phase times in s from first movement, shape (…, n, K), n ≥ 4.
        groups: what belongs together (a race, a person), shape (n,), at least two different.
        ends_m: the ends of the phases in m.
        sprints: how many sprints the rows stand for; n where left out.

    Returns:
        The model; its range is that of the rows, widened by one SD of ln T on either side.
    """
    times = np.asarray(times, dtype=float)
    _, numbers = np.unique(np.asarray(groups), return_inverse=True)
    whole = times.sum(axis=-1)
    n = times.shape[-2]
    centre, squares, level, slope = _line(np.log(whole), np.log(times), np.ones(n))
    predicted, leverages = left_out(times, np.asarray(numbers, dtype=np.int64))
    apart = np.log(times / predicted) / np.sqrt(1 + leverages)[..., None]
    margin = float(np.exp(np.log(whole).std(ddof=1)))
    return ShapeModel(
        ends_m=ends_m,
        centre=centre,
        squares=squares,
        level=level,
        slope=slope,
        style=np.swapaxes(apart, -1, -2) @ apart / n,
        rows=n,
        sprints=n if sprints is None else sprints,
        range_s=(float(whole.min()) / margin, float(whole.max()) * margin),
    )


def expected(model: ShapeModel, whole: Array) -> Array:
    """Phase times in s (…, K) of a runner of whole time ``whole`` (…) in s; they sum to it."""
    dx = np.log(whole) - model.centre
    return _rescaled(model.level + dx[..., None] * model.slope, whole)


def leverage(model: ShapeModel, whole: Array) -> Array:
    """Uncertainty of the line at ``whole`` in s, as a share of the variance of style.

    1/n + (ln T − centre)²/squares, the textbook variance of a fitted line; covariances between
    phases follow suit, as all phases are fitted on the same T.
    """
    dx = np.log(whole) - model.centre
    return np.asarray(1 / model.rows + dx**2 / model.squares)


def growth(model: ShapeModel, whole: Array) -> Array:
    """How much of a second lost at the finish the model expects in each phase, shape (…, K).

    The derivative of ``expected``: share_k·(b_k + 1 − Σ share·b), in which share_k is the phase's
    expected share of the whole. Rescaling makes the shares add up to 1 and adds 1 − Σ share·b to
    the slope, which is 0 but for .001 where the phases fill the whole.
    """
    share = expected(model, whole) / whole[..., None]
    return np.asarray(share * (model.slope + 1 - (share * model.slope).sum(axis=-1)[..., None]))
