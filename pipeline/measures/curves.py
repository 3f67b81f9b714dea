"""The speed curve of a sprint, fitted to its gate times, for many sprints at once.

One model for both curves, t in s from the first movement, d in m, v in m/s::

    v(t) = k − m·t − k·exp(−t/T)
    d(t) = k·t − m·t²/2 − k·T·(1 − exp(−t/T))
    observed clock at distance d = t0 + t(d)

Acceleration alone is m = 0, the mono-exponential curve (Furusawa, Hill & Parkinson 1927, memory;
Samozino et al. 2016, Scand J Med Sci Sports 26:648, formulas from memory); its inverse is
t(d) = d/V + T + T·W0(−exp(−1 − d/(V·T))). It cannot follow the last 30 m of a 100 m: there m is
free, a linear decay of the propulsion. t0 is the clock at the first movement, positive where a
reaction is still in the times and negative where the clock starts late.

Least squares is on the times, which are what a gate measures: Levenberg–Marquardt on all sprints
together, each with its own damping. The Jacobian is that of the inverse function,
∂t/∂θ = −(∂d/∂θ)/v. Parameters stand in the order k, m, T, t0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.measures.spec import Array

Mask = NDArray[np.bool_]

PARAMETERS = ("k", "m", "T", "t0")
LOWEST = np.array([3.0, -0.5, 0.2, -np.inf])
HIGHEST = np.array([25.0, 1.0, 4.0, np.inf])
"""k in m/s, m in m/s², T in s. A fit that ends on a bound is no fit.

With decay k is the speed the propulsion would have led to, not one that is run: 11 to 16.5 m/s over
the 42 finalists of ``tests/reference`` (recomputed). ``TOP_SPEEDS`` holds what is run.
"""

TOP_SPEEDS = (3.0, 14.0)
"""What a runner can be, in m/s: the top of the curve as far as the sprint went."""

START_TIME_CONSTANTS_S = (1.2, 0.7, 2.0)
"""Tried in turn, the later ones only for the sprints an earlier one did not bring home."""

START_DECAY = 0.05
START_ABOVE = 1.03
"""k against the fastest stretch between two gates: k is the speed with no decay yet."""

FIRST_DAMPING = 1e-3
LEAST_DAMPING = 1e-10
LAST_DAMPING = 1e-4
"""A step counts as the last only under so little damping that it is a Gauss–Newton step."""

STUCK_DAMPING = 1e10
DAMPING_STEP = 10.0
MOST_STEPS = 80

LAST_STEP = 1e-12
"""The last step changes the sum of squares by less than this share of it …"""

EXACT_S2 = 1e-26
"""… or by less than this in s², where the gates are met exactly."""

MOST_NEWTON_STEPS = 60
NEWTON_STEP = 1e-9
"""Relative. Newton's error is squared at each step: after one this small it is rounding."""


@dataclass(frozen=True, slots=True)
class Fits:
    """n fitted sprints; NaN throughout where ``converged`` is False.

    Attributes:
        speed: k in m/s, (n,); the top speed V of the mono-exponential curve.
        decay: m in m/s², (n,); 0 where not fitted.
        time_constant: T in s, (n,).
        offset: t0 in s, (n,); 0 where not fitted.
        rms: root mean square residual in s, (n,): √(SSE ÷ gates).
        covariance: of (k, m, T, t0), (n, 4, 4): s²·(JᵀJ)⁻¹, s² = SSE ÷ ``degrees``. Rows and
            columns of fixed parameters are 0; NaN where no degree of freedom is left.
        degrees: gates − free parameters, (n,).
        converged: the least squares were found, inside the bounds, (n,).
    """

    speed: Array
    decay: Array
    time_constant: Array
    offset: Array
    rms: Array
    covariance: Array
    degrees: Array
    converged: Mask


@dataclass(frozen=True, slots=True)
class _Gates:
    """n sprints × g gates in order of distance, the missing ones last: m, s, which are there."""

    distance: Array
    time: Array
    there: Mask

    def rows(self, at: NDArray[np.intp]) -> _Gates:
        return _Gates(self.distance[at], self.time[at], self.there[at])


@dataclass(frozen=True, slots=True)
class _Slope:
    """The sum of squares (n,) and, by the free parameters, JᵀJ (n, 4, 4) and Jᵀr (n, 4)."""

    cost: Array
    normal: Array
    gradient: Array

    def rows(self, at: NDArray[np.intp]) -> _Slope:
        return _Slope(self.cost[at], self.normal[at], self.gradient[at])

    def put(self, at: NDArray[np.intp], new: _Slope) -> None:
        self.cost[at], self.normal[at], self.gradient[at] = new.cost, new.normal, new.gradient


def fit(distance: Array, time: Array, *, decay: Mask, offset: Mask) -> Fits:
    """The curve of each sprint by least squares on its gate times.

    A sprint is left NaN and not converged where it has fewer gates than free parameters, where a
    time or distance is infinite, not positive or not rising, or where the best curve lies on or
    past the bounds of what a runner can be. Never raises on data, never warns.

    Args:
        distance: gate distances in m, (n, g), NaN where a gate is missing.
        time: clock times in s, (n, g), NaN where a gate is missing.
        decay: which sprints have m free, (n,).
        offset: which sprints have t0 free, (n,).
    """
    n = len(distance)
    free = np.column_stack([np.ones(n, np.bool_), decay, np.ones(n, np.bool_), offset])
    parameters = np.full((n, 4), np.nan)
    rms = np.full(n, np.nan)
    covariance = np.full((n, 4, 4), np.nan)
    converged = np.zeros(n, np.bool_)
    with np.errstate(all="ignore"):
        gates, degrees, sane = _in_order(distance, time, free)
        for time_constant in START_TIME_CONSTANTS_S:
            at = np.flatnonzero(sane & ~converged)
            if at.size == 0:
                break
            start = _start(gates.rows(at), free[at], time_constant)
            found, slope, settled = _least_squares(start, gates.rows(at), free[at])
            inverse, regular = _inverse(slope.normal, free[at])
            home = settled & regular & _plausible(found, gates.rows(at))
            done = at[home]
            converged[done] = True
            parameters[done] = found[home]
            cost, left = slope.cost[home], degrees[done]
            rms[done] = np.sqrt(cost / gates.there[done].sum(axis=1))
            variance = np.where(left > 0, cost / left, np.nan)
            covariance[done] = variance[:, None, None] * inverse[home]
    k, m, tau, t0 = parameters.T
    degrees = np.where(converged, degrees, np.nan)
    return Fits(k, m, tau, t0, rms, covariance, degrees, converged)


def position(t: Array, fits: Fits) -> Array:
    """Distance run in m at the times ``t`` (n, …) in s from the first movement; 0 before it."""
    with np.errstate(all="ignore"):
        return _position(np.maximum(t, 0), *_curve(fits, np.ndim(t)))


def speed_at(t: Array, fits: Fits) -> Array:
    """Speed in m/s at the times ``t`` (n, …) in s from the first movement; 0 before it."""
    with np.errstate(all="ignore"):
        return _speed(np.maximum(t, 0), *_curve(fits, np.ndim(t)))


def time_at(distance: Array, fits: Fits) -> Array:
    """Time in s from the first movement to each distance (n, …) in m; the offset is not in it.

    NaN where the distance is negative or the curve has stopped before it.
    """
    with np.errstate(all="ignore"):
        return _time(distance, *_curve(fits, np.ndim(distance)))


def top_speed(fits: Fits) -> tuple[Array, Array]:
    """Top speed in m/s and the time in s from the first movement it is reached at, each (n,).

    With decay v′ = 0 at t = T·ln(k/(m·T)), where v = k − m·t − m·T. The mono-exponential curve
    nears V without end: (V, inf). A fitted decay under 0 has no top: NaN.
    """
    k, m, tau = fits.speed, fits.decay, fits.time_constant
    with np.errstate(all="ignore"):
        peak = tau * np.log(k / (m * tau))
        peak = np.where(peak > 0, peak, np.nan)
        endless = m == 0
        return np.where(endless, k, k - m * (peak + tau)), np.where(endless, np.inf, peak)


def reaches(fraction: float, fits: Fits) -> Array:
    """Distance in m at which the share ``fraction`` (0 to 1) of top speed is first reached, (n,).

    Newton's method from the time the curve without decay would take to that speed: the curve
    bends downward, so from the slow side no step passes the mark.
    """
    k, m, tau = fits.speed, fits.decay, fits.time_constant
    if not 0 <= fraction <= 1:
        return np.full_like(k, np.nan)
    with np.errstate(all="ignore"):
        speed, peak = top_speed(fits)
        aim = fraction * speed
        t = -tau * np.log1p(-aim / k)
        for _ in range(MOST_NEWTON_STEPS):
            slope = k / tau * np.exp(-t / tau) - m
            step = np.where(m == 0, 0.0, (aim - _speed(t, k, m, tau)) / slope)
            t = np.minimum(t + step, peak)
            if not (np.abs(step) > NEWTON_STEP * t).any():
                break
        if fraction == 1:
            t = peak
        return np.where(np.isinf(t), np.inf, _position(t, k, m, tau))


def standard_errors(fits: Fits) -> Array:
    """Standard errors of k, m, T and t0, (n, 4); 0 for a fixed parameter."""
    with np.errstate(all="ignore"):
        return np.sqrt(np.diagonal(fits.covariance, axis1=1, axis2=2))


def top_speed_error(fits: Fits) -> Array:
    """Standard error of the top speed in m/s, (n,).

    By the delta method. At the peak ∂v/∂t = 0, so the gradient is that of v at a fixed time:
    ∂v/∂k = 1 − m·T/k, ∂v/∂m = −t, ∂v/∂T = −m·t/T. For m = 0 it is the error of V.
    """
    k, m, tau = fits.speed, fits.decay, fits.time_constant
    with np.errstate(all="ignore"):
        _, peak = top_speed(fits)
        by_m, by_tau = (np.where(m == 0, 0.0, slope) for slope in (-peak, -m * peak / tau))
        gradient = np.stack([1 - m * tau / k, by_m, by_tau, np.zeros_like(k)], axis=1)
        variance: Array = np.einsum("ni,nij,nj->n", gradient, fits.covariance, gradient)
        return np.sqrt(variance)


def _curve(fits: Fits, dimensions: int) -> tuple[Array, Array, Array]:
    """k, m and T shaped (n, 1, …), against an array of so many dimensions."""
    shape = (-1, *[1] * (dimensions - 1))
    return fits.speed.reshape(shape), fits.decay.reshape(shape), fits.time_constant.reshape(shape)


def _position(t: Array, k: Array, m: Array, tau: Array) -> Array:
    return k * (t + tau * np.expm1(-t / tau)) - m * t**2 / 2


def _speed(t: Array, k: Array, m: Array, tau: Array) -> Array:
    return -k * np.expm1(-t / tau) - m * t


def _time(distance: Array, k: Array, m: Array, tau: Array) -> Array:
    """The inverse of the position on its rising branch, by Newton kept in a bracket.

    exp(−t/T) lies between 0 and 1 − t/T + (t/T)²/2, which makes d(t) lie between two parabolas;
    where they reach ``distance`` is the bracket. The later end is the start: it is the curve
    itself once the exponential has died away.
    """
    distance = np.where(distance >= 0, distance, np.nan)
    beyond = np.maximum(k**2 - 2 * m * (distance + k * tau), 0)
    late = 2 * (distance + k * tau) / (k + np.sqrt(beyond))
    early = np.sqrt(2 * distance / (k / tau - m))
    early = np.where(early < late, early, 0.0)
    t = late
    for _ in range(MOST_NEWTON_STEPS):
        excess = _position(t, k, m, tau) - distance
        early, late = np.where(excess < 0, t, early), np.where(excess > 0, t, late)
        new = t - excess / _speed(t, k, m, tau)
        newton = (new >= early) & (new <= late) | (excess == 0)
        new = np.where(newton, np.where(excess == 0, t, new), (early + late) / 2)
        moved = np.abs(new - t) > NEWTON_STEP * t
        t = new
        if not moved.any():
            break
    missed = np.abs(_position(t, k, m, tau) - distance) > NEWTON_STEP * (1 + distance)
    return np.where(missed | np.isnan(distance), np.nan, np.where(distance == 0, 0.0, t))


def _in_order(distance: Array, time: Array, free: Mask) -> tuple[_Gates, Array, Mask]:
    """The gates by distance, the degrees of freedom (n,), and which sprints can be fitted (n,)."""
    there = ~(np.isnan(distance) | np.isnan(time))
    order = np.argsort(np.where(there, distance, np.inf), axis=1, kind="stable")
    there = np.take_along_axis(there, order, axis=1)
    there = there[:, : int(there.sum(axis=1).max(initial=0))]
    order = order[:, : there.shape[1]]
    # a missing gate stands at 0 m and 0 s for the arithmetic, and counts for nothing
    d = np.where(there, np.take_along_axis(distance, order, axis=1), 0.0)
    t = np.where(there, np.take_along_axis(time, order, axis=1), 0.0)
    before = [np.diff(x, axis=1, prepend=0.0) for x in (d, t)]
    rising = (before[0] > 0) & (before[1] > 0) & np.isfinite(d) & np.isfinite(t)
    degrees = there.sum(axis=1) - free.sum(axis=1)
    sane = (rising | ~there).all(axis=1) & (degrees >= 0)
    return _Gates(d, t, there), degrees.astype(np.float64), sane


def _plausible(parameters: Array, gates: _Gates) -> Mask:
    """Which curves (n,) lie inside the bounds and have a top speed a runner can have."""
    inside = ((parameters > LOWEST) & (parameters < HIGHEST)).all(axis=1)
    k, m, tau, t0 = parameters.T
    run = gates.time.max(axis=1) - t0
    peak = np.fmin(tau * np.log(k / (m * tau)), run)
    top = np.where(m == 0, k, _speed(peak, k, m, tau))
    return inside & (top > TOP_SPEEDS[0]) & (top < TOP_SPEEDS[1])


def _start(gates: _Gates, free: Mask, time_constant: float) -> Array:
    """Starting values (n, 4).

    k from the last stretch between two gates, or from the fastest where speed decays. Far from
    the start d = k·(t − T): that settles T where the clock is fixed, and t0 where it is free.
    """
    last = (gates.there.sum(axis=1) - 1)[:, None]
    stretch = np.diff(gates.distance, axis=1) / np.diff(gates.time, axis=1)
    stretch = np.where(gates.there[:, 1:], stretch, 0.0)
    with_decay = free[:, 1]
    final = np.take_along_axis(stretch, last - 1, axis=1)[:, 0]
    k = np.where(with_decay, START_ABOVE * stretch.max(axis=1), final)
    k = np.clip(k, *TOP_SPEEDS)
    m = np.where(with_decay, START_DECAY, 0.0)
    time = np.take_along_axis(gates.time, last, axis=1)[:, 0]
    lost = time - np.take_along_axis(gates.distance, last, axis=1)[:, 0] / k
    tau = np.full(len(k), time_constant)
    t0 = np.where(free[:, 3], lost - tau, 0.0)
    return np.stack([k, m, tau, t0], axis=1)


def _linearise(parameters: Array, gates: _Gates, free: Mask) -> _Slope:
    """The sum of squares and its slope at the parameters (n, 4); inf where a gate is not met."""
    k, m, tau, t0 = (parameters[:, [i]] for i in range(4))
    t = _time(gates.distance, k, m, tau)
    decline = np.exp(-t / tau)
    ran = np.expm1(-t / tau)
    by_parameter = [t + tau * ran, -(t**2) / 2, k * (ran + decline * t / tau)]
    speed = -k * ran - m * t
    jacobian = np.stack([*(-x / speed for x in by_parameter), np.ones_like(t)], axis=2)
    jacobian = np.where(gates.there[:, :, None] & free[:, None, :], jacobian, 0.0)
    residual = np.where(gates.there, gates.time - t0 - t, 0.0)
    cost = (residual**2).sum(axis=1)
    transposed = jacobian.transpose(0, 2, 1)
    return _Slope(
        np.where(np.isnan(cost), np.inf, cost),
        transposed @ jacobian,
        (transposed @ residual[:, :, None])[:, :, 0],
    )


def _least_squares(parameters: Array, gates: _Gates, free: Mask) -> tuple[Array, _Slope, Mask]:
    """Levenberg–Marquardt from the parameters (n, 4): where it ends, the slope there, settled.

    A sprint leaves the loop once its step is the last (``LAST_STEP``) or its damping has grown
    past use; the loop runs on for the rest.
    """
    parameters = parameters.copy()
    slope = _linearise(parameters, gates, free)
    damping = np.full(len(parameters), FIRST_DAMPING)
    settled = np.zeros(len(parameters), np.bool_)
    active = np.isfinite(slope.cost)
    for _ in range(MOST_STEPS):
        at = np.flatnonzero(active)
        if at.size == 0:
            break
        now = slope.rows(at)
        trial = parameters[at] + _step(now, free[at], damping[at])
        trial = np.clip(np.where(np.isnan(trial), np.inf, trial), LOWEST, HIGHEST)
        step = trial - parameters[at]
        new = _linearise(trial, gates.rows(at), free[at])
        change = np.einsum("ni,nij,nj->n", step, now.normal, step)
        last = change <= LAST_STEP * now.cost + EXACT_S2
        last &= (damping[at] <= LAST_DAMPING) & np.isfinite(new.cost)
        taken = last | (new.cost < now.cost)
        parameters[at[taken]] = trial[taken]
        slope.put(at[taken], new.rows(np.flatnonzero(taken)))
        eased = np.maximum(damping[at] / DAMPING_STEP, LEAST_DAMPING)
        damping[at] = np.where(taken, eased, damping[at] * DAMPING_STEP)
        settled[at] = last
        active[at] = ~last & (damping[at] < STUCK_DAMPING)
    return parameters, slope, settled


def _scaled(normal: Array, free: Mask) -> tuple[Array, Array]:
    """JᵀJ with a diagonal of ones (n, 4, 4), and the scale it was divided by (n, 4).

    A fixed parameter stands apart from the rest: its row and column are those of the unit matrix.
    """
    diagonal = np.diagonal(normal, axis1=1, axis2=2)
    scale = np.where(free & (diagonal > 0), np.sqrt(diagonal), 1.0)
    unit = normal / (scale[:, :, None] * scale[:, None, :])
    unit[:, range(4), range(4)] = 1.0
    return unit, scale


def _step(slope: _Slope, free: Mask, damping: Array) -> Array:
    """The damped step (n, 4): (JᵀJ + damping·diag JᵀJ)⁻¹ Jᵀr; 0 for a fixed parameter."""
    unit, scale = _scaled(slope.normal, free)
    unit[:, range(4), range(4)] += damping[:, None]
    step = np.linalg.solve(unit, (slope.gradient / scale)[:, :, None])[:, :, 0]
    return np.where(free, step / scale, 0.0)


def _inverse(normal: Array, free: Mask) -> tuple[Array, Mask]:
    """(JᵀJ)⁻¹ over the free parameters, else 0 (n, 4, 4), and which matrices have one (n,)."""
    unit, scale = _scaled(normal, free)
    regular = np.linalg.det(unit) > 0
    inverse = np.linalg.inv(np.where(regular[:, None, None], unit, np.eye(4)))
    inverse /= scale[:, :, None] * scale[:, None, :]
    return np.where(free[:, :, None] & free[:, None, :], inverse, 0.0), regular
