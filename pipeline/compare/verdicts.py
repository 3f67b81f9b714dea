"""Whether a change is more than its error: for one athlete, for a row of days, for a whole day.

Changes are positive when better throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from pipeline import tables
from pipeline.compare.norms import AGGREGATE_FROM
from pipeline.compare.reliability import CONFIDENCE
from pipeline.measures.spec import Array

FALSE_DISCOVERIES = 0.10
"""Of the front list, at most this share is expected to be no change at all."""

FALSE_ALARMS = 0.05
"""On at most this share of days without any shift is one reported."""

TREND_FROM = 3
"""Days a trend takes."""

_WALSH_EFFICIENCY = 3 / math.pi  # of the median of pair means against the mean, normal data


def judge(
    change: ArrayLike,
    typical_error: ArrayLike,
    df: ArrayLike,
    worthwhile: ArrayLike,
    *,
    extra: ArrayLike = 0.0,
    confidence: float = CONFIDENCE,
) -> pd.DataFrame:
    """Judge changes against their error; the one place where a verdict is made.

    The standard error of a change is √(2·TE² + extra). *Clearly better* or *worse*: beyond
    t·SE, and at least the smallest worthwhile change. *Steady*: the interval lies within
    ± worthwhile. Else *cannot tell*. Chances are those of a flat prior, t with ``df``.

    Args:
        change: n changes, positive when better; NaN where there is none.
        typical_error: of the judged score, same unit. Where the two days' differ (another number
            of attempts), the root mean square of the two.
        df: degrees of freedom of the typical error; ``inf`` where it is known.
        worthwhile: smallest worthwhile change, same unit, ≥ 0. NaN where unknown: the error alone
            decides and nothing is steady.
        extra: further variance of the change (unit²): a wind correction, a day's shift.
        confidence: of the interval, two-sided.

    Returns:
        n rows: ``low``, ``high``, ``chance_better``, ``chance_trivial``, ``chance_worse`` (%),
        ``p`` (two-sided, against no change), ``by_chance`` (chance of a clear verdict were there
        no change), ``verdict`` and ``reason`` (words of ``tables``; a reason may be empty).
    """
    moved, error, freedom, least, more = (
        np.atleast_1d(part).astype(float)
        for part in np.broadcast_arrays(change, typical_error, df, worthwhile, extra)
    )
    known = (error > 0) & (freedom > 0)
    judged = known & np.isfinite(moved)
    spread = np.where(known, np.sqrt(2 * error**2 + more), np.nan)
    freedom = np.where(known, freedom, np.nan)
    least = np.where(np.isnan(least), 0.0, least)
    reach = stats.t.ppf((1 + confidence) / 2, freedom) * spread
    low, high = moved - reach, moved + reach
    better = stats.t.sf((least - moved) / spread, freedom)
    worse = stats.t.sf((least + moved) / spread, freedom)

    beyond = judged & (np.abs(moved) > reach)
    clear = beyond & (np.abs(moved) >= least)
    steady = judged & ~clear & (low > -least) & (high < least)
    verdict = np.select(
        [clear & (moved > 0), clear, steady],
        [tables.BETTER, tables.WORSE, tables.STEADY],
        tables.CANNOT_TELL,
    )
    reason = np.select(
        [~np.isfinite(moved), ~known, clear | steady, beyond],
        [tables.NO_VALUE, tables.NO_ERROR, "", tables.TOO_SMALL],
        tables.WITHIN_ERROR,
    )
    return pd.DataFrame(
        {
            "low": low,
            "high": high,
            "chance_better": 100 * better,
            "chance_trivial": 100 * (1 - better - worse),
            "chance_worse": 100 * worse,
            "p": 2 * stats.t.sf(np.abs(moved) / spread, freedom),
            "by_chance": np.where(
                judged, 2 * stats.t.sf(np.maximum(reach, least) / spread, freedom), np.nan
            ),
            "verdict": verdict.astype(object),
            "reason": reason.astype(object),
        }
    )


def front_list(judged: pd.DataFrame, rate: float = FALSE_DISCOVERIES) -> NDArray[np.bool_]:
    """Which clear verdicts may stand on the front list.

    Benjamini & Hochberg 1995, J R Stat Soc B 57:289, over every judged change, clear or not.

    Args:
        judged: rows of ``judge`` (``p`` and ``verdict``), of all athletes and key measures.
        rate: share of false discoveries allowed.
    """
    p = judged["p"].to_numpy(dtype=float)
    there = np.isfinite(p)
    adjusted = np.ones(len(p))
    if there.any():
        adjusted[there] = stats.false_discovery_control(p[there])
    clear = judged["verdict"].isin([tables.BETTER, tables.WORSE]).to_numpy(dtype=bool)
    return clear & (adjusted <= rate)


def clear_by_chance(judged: pd.DataFrame) -> float:
    """How many clear verdicts the rows of ``judge`` would hold if nobody had changed."""
    return float(judged["by_chance"].sum())


@dataclass(frozen=True, slots=True)
class Trend:
    """A straight line through days: slope per ``per_days`` with its limits, in the values' unit.

    ``straight`` is the chance of days this far off a line through error alone: when it is small,
    the athlete did not move in a line and the interval says little.
    """

    slope: float
    low: float
    high: float
    per_days: float
    days: int
    straight: float


def trend(
    days: Array,
    values: Array,
    typical_error: float,
    df: float,
    *,
    per_days: float = 1.0,
    confidence: float = CONFIDENCE,
) -> Trend | None:
    """Least-squares slope over comparable days, its interval from the known typical error.

    The slope's standard error is TE/√Σ(t − t̄)², each value carrying one typical error (a change
    between two days carries two). The scatter about the line is not used for it: with three days
    it has one degree of freedom.

    Args:
        days: day numbers, any start.
        values: the judged score of each, signed so that more is better; NaN left out.
        typical_error: of the judged score, same unit.
        df: its degrees of freedom; ``inf`` where known.
        per_days: the stretch the slope is given for, such as the mean length of a term.
        confidence: of the interval, two-sided.

    Returns:
        ``None`` for fewer than ``TREND_FROM`` different days or without a typical error.
    """
    there = np.isfinite(days) & np.isfinite(values)
    t, y = np.asarray(days, dtype=float)[there], np.asarray(values, dtype=float)[there]
    if len(np.unique(t)) < TREND_FROM or not (typical_error > 0 and df > 0):
        return None
    t, y = t - t.mean(), y - y.mean()
    length = float(t @ t)
    slope = float(t @ y) / length
    reach = float(stats.t.ppf((1 + confidence) / 2, df)) * typical_error / math.sqrt(length)
    rest = float(np.sum((y - slope * t) ** 2)) / (len(t) - 2) / typical_error**2
    law = stats.chi2(len(t) - 2, scale=1 / (len(t) - 2)) if math.isinf(df) else None
    straight = law.sf(rest) if law is not None else stats.f.sf(rest, len(t) - 2, df)
    low, high = slope - reach, slope + reach
    return Trend(
        slope * per_days, low * per_days, high * per_days, per_days, len(t), float(straight)
    )


@dataclass(frozen=True, slots=True)
class Spread:
    """The SD of true individual changes with its limits; ``sd`` None: no wider than error."""

    sd: float | None
    low: float
    high: float
    n: int


def true_spread(
    change: Array, typical_error: float, df: float, confidence: float = CONFIDENCE
) -> Spread | None:
    """How far athletes truly differ in their change, √(SD² − 2·TE²).

    The limits are those of a normal difference of two variances, with variances 2·SD⁴/(n − 1) and
    2·(2·TE²)²/ν; Hopkins 2015, Sportscience 19:17 (memory).

    Args:
        change: one change an athlete, NaN left out.
        typical_error: of the judged score, same unit.
        df: its degrees of freedom; ``inf`` where known.
        confidence: of the limits, two-sided.

    Returns:
        ``None`` for fewer than five athletes.
    """
    known = np.asarray(change, dtype=float)
    known = known[np.isfinite(known)]
    if len(known) < AGGREGATE_FROM:
        return None
    seen, noise = float(known.var(ddof=1)), 2 * typical_error**2
    reach = float(stats.norm.ppf((1 + confidence) / 2)) * math.sqrt(
        2 * seen**2 / (len(known) - 1) + 2 * noise**2 / df
    )
    low, middle, high = (math.sqrt(max(seen - noise + step, 0.0)) for step in (-reach, 0.0, reach))
    return Spread(middle if middle > 0 else None, low, high, len(known))


def day_shift(
    changes: Array, change_error: ArrayLike, df: ArrayLike, alarms: float = FALSE_ALARMS
) -> pd.DataFrame:
    """Whether everyone moved together: gates moved, wind, surface, new kit, or the whole squad.

    The group's centre is the median of the means of all pairs (Hodges & Lehmann 1963, Ann Math
    Stat 34:598), not the plain median: one odd athlete in eight moves it no further to speak of,
    and its error is 1.023·SD/√n instead of 1.2533·SD/√n, without which a moved gate stays unseen.
    The SD is that of error alone, or the athletes' own where wider. The columns of one call are
    held together to ``alarms`` a day (Benjamini & Hochberg 1995); gates and values go in two calls,
    since a squad that got faster moves every value and no gate.

    Args:
        changes: athletes × values tested on one day (measures, splits, ``gate_balance``), NaN
            where missing.
        change_error: SD of one athlete's change from error alone, √2·TE, one for each column.
        df: degrees of freedom of each; ``inf`` where known.
        alarms: share of days without a shift on which one is reported all the same.

    Returns:
        A row a column: ``n``, ``shift``, ``se`` (the values' unit), ``p``, ``fired``. NaN and not
        fired for fewer than five athletes.
    """
    table = np.asarray(changes, dtype=float)
    errors, freedoms = (
        np.broadcast_to(np.asarray(part, dtype=float), table.shape[1:])
        for part in (change_error, df)
    )
    rows = [
        _centre(column[np.isfinite(column)], float(error), float(freedom))
        for column, error, freedom in zip(table.T, errors, freedoms, strict=True)
    ]
    found = pd.DataFrame(rows, columns=["n", "shift", "se", "p"])
    p = found["p"].to_numpy(dtype=float)
    there = np.isfinite(p)
    fired = np.zeros(len(p), dtype=bool)
    if there.any():
        fired[there] = stats.false_discovery_control(p[there]) <= alarms
    return found.assign(fired=fired)


def _centre(known: Array, error: float, df: float) -> tuple[int, float, float, float]:
    """Number, centre, its standard error and p of one column."""
    n = len(known)
    if n < AGGREGATE_FROM or not error > 0:
        return n, math.nan, math.nan, math.nan
    first, second = np.triu_indices(n)
    shift = float(np.median((known[first] + known[second]) / 2))
    own = float(known.std(ddof=1))
    freedom = df if error >= own else n - 1
    se = max(error, own) / math.sqrt(n * _WALSH_EFFICIENCY)
    return n, shift, se, float(2 * stats.t.sf(abs(shift) / se, freedom))


def gate_balance(before: Array, after: Array, share: float) -> Array:
    """Where a gate seems to stand, in s: the sections either side of it weighed against each other.

    share·before − (1 − share)·after. A run faster or slower as a whole leaves it alone when
    ``share`` is the later section's part of both; a gate moved up the track by x metres changes it
    by x / speed. So it shows a moved gate where the sections' own errors hide it, and a squad that
    got faster does not set it off. Its typical error comes from the runs themselves
    (``reliability.typical_error`` on this value).

    Args:
        before: times of the section that ends at the gate, in s.
        after: times of the section that starts there, in s, from the same runs.
        share: mean of ``after`` / (mean of ``before`` + mean of ``after``), one for both days.
    """
    return share * before - (1 - share) * after
