"""How well a value repeats: the error of measurement, and how it becomes that of a judged score.

Pure arithmetic on arrays: athletes down the rows, attempts or days along the columns, NaN where
nothing was done. Which repeats are true repeats (a repeat day, not a term) is the caller's matter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import integrate, stats

from pipeline.measures.spec import Array

CONFIDENCE = 0.90
"""Every interval of a comparison holds this share, two-sided."""

PRIOR_DF = {"A": 30.0, "B": 20.0}
"""What a published typical error counts for, in degrees of freedom; grade C counts for nothing.

An SD on ν degrees of freedom is known to about 1/√(2ν): 13 % at 30 (two or more studies between
days) and 16 % at 20 (one, or several within a day). Chosen, not measured: the published values of
one measure differ more than that (log SD near 0.4), since squads and gear differ, and a default
known only so well (3 or 4 degrees of freedom) would miss a third of changes of four typical
errors. At 20 a change of four typical errors is found in 85.6 % where the truth is as published; 15
gave 84.9 %. With these the calibration in
``tests/benchmarks/calibration.py`` holds; what an error half as large again does stands there too,
and is why repeat days are asked for.
"""

WORTHWHILE_SHARE = 0.2
"""Of the SD between athletes: Hopkins 2004, Sportscience 8:1."""
WORTHWHILE_FROM = 12
"""Fewer people of one sex say too little about their spread."""

DAY_FLOOR = 0.5
"""The variance between days is taken to be at least this part of that between attempts.

Published pairs give about 1: jump height 3.0 % within a day and 3.5 % for the day's mean; 40 m 0.7
to 1.0 % and 1.3 %. Without a floor a squad that repeats badly within the day would use up the
published error, be left with no day error at all, and be judged by a *smaller* error than others.
"""

_MDC_Z = 1.96  # as Weir 2005 prints it


@dataclass(frozen=True, slots=True)
class Repeatability:
    """A typical error with its limits.

    ``error``, ``low`` and ``high`` are in the values' unit, or in natural logarithms where ``log``;
    ``mean`` is in the values' unit (a geometric mean where ``log``).
    """

    error: float
    low: float
    high: float
    df: int
    athletes: int
    mean: float
    log: bool

    @property
    def cv_raw(self) -> float:
        """100 · typical error / mean, in %; NaN for an error of logarithms."""
        return math.nan if self.log else 100 * self.error / self.mean

    @property
    def cv_log(self) -> float:
        """100 · (exp(s) − 1) of the error s of logarithms, in %; NaN for a raw error."""
        return 100 * math.expm1(self.error) if self.log else math.nan


def typical_error(
    values: Array, *, log: bool = False, confidence: float = CONFIDENCE
) -> Repeatability | None:
    """The SD of one athlete's repeats, after removing the order of attempts.

    Residual SD of athlete + column fitted by least squares, so an athlete may lack columns. With
    two columns it is SD(difference)/√2, Hopkins 2000, Sports Med 30:1; the limits are
    TE·√(ν/χ²), from the same paper.

    Args:
        values: athletes × repeats, NaN where missing. Who has fewer than two counts for nothing.
        log: work on logarithms, for an error that grows with the value; a value of zero or less
            has none and is left out.
        confidence: share of the limits, two-sided.

    Returns:
        The typical error, or ``None`` where no degree of freedom is left.
    """
    table = np.asarray(values, dtype=float)
    if log:
        table = np.log(np.where(table > 0, table, np.nan))
    seen = np.isfinite(table)
    repeated = seen.sum(axis=1) > 1
    table, seen = table[repeated], seen[repeated]
    if not len(table):
        return None
    share = seen / seen.sum(axis=1, keepdims=True)
    filled = np.where(seen, table, 0.0)
    residual = (filled - (filled * share).sum(axis=1, keepdims=True))[seen]
    order = (np.eye(table.shape[1]) - share[:, np.newaxis, :])[seen]
    effects, _, rank, _ = np.linalg.lstsq(order, residual)
    df = int(seen.sum()) - len(table) - int(rank)
    if df < 1:
        return None
    error = math.sqrt(float(np.sum((residual - order @ effects) ** 2)) / df)
    low, high = error_limits(error, df, confidence)
    mean = float(table[seen].mean())
    return Repeatability(error, low, high, df, len(table), math.exp(mean) if log else mean, log)


def error_limits(error: float, df: float, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """The two-sided limits TE·√(ν/χ²) of an SD on ``df`` degrees of freedom."""
    tail = (1 - confidence) / 2
    below, above = stats.chi2.ppf([1 - tail, tail], df)
    return error * math.sqrt(df / below), error * math.sqrt(df / above)


@dataclass(frozen=True, slots=True)
class SumsOfSquares:
    """A complete table of n rows and k columns, split: between rows, between columns, the rest."""

    n: int
    k: int
    rows: float
    columns: float
    rest: float

    @property
    def mean_rows(self) -> float:
        """Mean square between rows."""
        return self.rows / (self.n - 1)

    @property
    def mean_columns(self) -> float:
        """Mean square between columns."""
        return self.columns / (self.k - 1)

    @property
    def mean_rest(self) -> float:
        """Mean square left when rows and columns are taken out."""
        return self.rest / ((self.n - 1) * (self.k - 1))

    @property
    def mean_within(self) -> float:
        """Mean square within rows, the columns' differences included."""
        return (self.columns + self.rest) / (self.n * (self.k - 1))


def sums_of_squares(values: Array) -> SumsOfSquares:
    """Split a table's squares; a row that lacks a value is left out.

    Raises:
        ValueError: fewer than two complete rows, or than two columns.
    """
    table = np.asarray(values, dtype=float)
    table = table[np.isfinite(table).all(axis=1)]
    n, k = table.shape
    if min(n, k) < 2:  # noqa: PLR2004  # a spread takes two
        raise ValueError("two complete rows and two columns are needed")
    table = table - table.mean()  # first, so that nothing is lost to a large mean
    rows, columns = table.mean(axis=1), table.mean(axis=0)
    rest = table - rows[:, np.newaxis] - columns
    return SumsOfSquares(
        n, k, k * float(rows @ rows), n * float(columns @ columns), float(np.sum(rest**2))
    )


@dataclass(frozen=True, slots=True)
class Agreement:
    """The six intraclass correlations, named as Shrout & Fleiss do, and the limits of ICC(3,1)."""

    icc11: float
    icc21: float
    icc31: float
    icc1k: float
    icc2k: float
    icc3k: float
    low31: float
    high31: float


def agreement(values: Array, confidence: float = CONFIDENCE) -> Agreement:
    """Intraclass correlations of a table, Shrout & Fleiss 1979, Psychol Bull 86:420.

    Args:
        values: athletes × repeats; a row that lacks a value is left out.
        confidence: share of the limits, two-sided.

    Raises:
        ValueError: fewer than two complete rows, or than two columns.
    """
    s = sums_of_squares(values)
    n, k = s.n, s.k
    between, order, rest, within = s.mean_rows, s.mean_columns, s.mean_rest, s.mean_within
    tail = (1 + confidence) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.float64(between) / rest
        low = ratio / stats.f.ppf(tail, n - 1, (n - 1) * (k - 1))
        high = ratio * stats.f.ppf(tail, (n - 1) * (k - 1), n - 1)
        forms = np.array(
            [
                (between - within) / np.float64(between + (k - 1) * within),
                (between - rest) / np.float64(between + (k - 1) * rest + k * (order - rest) / n),
                (between - rest) / np.float64(between + (k - 1) * rest),
                (between - within) / np.float64(between),
                (between - rest) / np.float64(between + (order - rest) / n),
                (between - rest) / np.float64(between),
                (low - 1) / (low + k - 1),
                (high - 1) / (high + k - 1),
            ]
        )
    return Agreement(*(float(form) for form in forms))


def minimal_detectable_change(error: float) -> float:
    """1.96·√2·TE, the change beyond which 95 % of unchanged people do not go; Weir 2005."""
    return _MDC_Z * math.sqrt(2) * error


def smallest_worthwhile(values: Array, error: float) -> float | None:
    """A fifth of the true spread between athletes, 0.2·√(SD² − TE²).

    Hopkins 2004, Sportscience 8:1, with the error of measurement taken out of the spread.

    Args:
        values: one value a person, all of one sex, all comparable; NaN left out.
        error: typical error of those values, same unit.

    Returns:
        In the values' unit, 0 where the spread is no wider than the error; ``None`` for fewer
        than ``WORTHWHILE_FROM`` people.
    """
    known = np.asarray(values, dtype=float)
    known = known[np.isfinite(known)]
    if len(known) < WORTHWHILE_FROM:
        return None
    return WORTHWHILE_SHARE * math.sqrt(max(float(known.var(ddof=1)) - error**2, 0.0))


@dataclass(frozen=True, slots=True)
class KnownError:
    """A typical error and the degrees of freedom it is known by."""

    error: float
    df: float


def pooled(own: KnownError | None, published: float | None, grade: str) -> KnownError | None:
    """A squad's own typical error pooled with the published one, which counts as prior.

    s² = (ν₁·s₁² + ν₀·s₀²)/(ν₁ + ν₀) with ν₀ = ``PRIOR_DF`` of the grade: the usual conjugate
    estimate of a variance with a scaled inverse χ² prior.

    Args:
        own: of the judged score, from the squad's repeat days; ``None`` where there are none.
        published: same unit, made one of the judged score by ``score_error``.
        grade: A, B or C.

    Returns:
        ``None`` where only a grade C value, or nothing, is known: such a change has no verdict.
    """
    known = [own] if own is not None and own.df > 0 else []
    if published is not None and grade in PRIOR_DF:
        known.append(KnownError(published, PRIOR_DF[grade]))
    df = sum(k.df for k in known)
    if not known:
        return None
    return KnownError(math.sqrt(sum(k.df * k.error**2 for k in known) / df), df)


@dataclass(frozen=True, slots=True)
class Selection:
    """The mean of the best few of n attempts, in within-day SDs of a single attempt.

    ``shift`` is how far it lies on the better side of the athlete's level that day, ``sd`` how
    much it varies about its own mean.
    """

    shift: float
    sd: float


@lru_cache(maxsize=128)
def best_of(attempts: int, counted: int = 1) -> Selection:
    """What choosing the ``counted`` best of ``attempts`` does to a score.

    Attempts are independent and normal. Given the best of those left out, u, the counted ones are
    a sample of the normal above u, with mean λ = φ(u)/(1 − Φ(u)) and variance 1 + uλ − λ²; both are
    integrated over the density of that order statistic.

    Raises:
        ValueError: fewer than one counted, or fewer attempts than counted.
    """
    if not 1 <= counted <= attempts:
        raise ValueError("at least one attempt is counted, and no more than were made")
    left_out = attempts - counted
    if left_out == 0:
        return Selection(0.0, 1 / math.sqrt(counted))
    scale = left_out * math.comb(attempts, left_out)

    def moment(power: int, u: float) -> float:
        above = float(stats.norm.sf(u))
        at = float(stats.norm.pdf(u))
        density = scale * (1 - above) ** (left_out - 1) * at * above**counted
        mean = at / above
        spread = (1 + u * mean - mean**2) / counted
        return density * (mean if power == 1 else spread + mean**2)

    first, second = (
        integrate.quad(lambda u, p=power: moment(p, u), -12, 12, epsabs=1e-12, limit=200)[0]
        for power in (1, 2)
    )
    return Selection(first, math.sqrt(second - first**2))


def score_error(single: float, within: float, attempts: int, counted: int) -> float:
    """Typical error, day to day, of the mean of the ``counted`` best of ``attempts``.

    Model: an attempt = the athlete's level + the day (SD d) + the attempt (SD w), independent and
    normal, so a single attempt's day-to-day error is √(d² + w²) and the score's √(d² + w²·c²), with
    c of ``best_of``. Assumed besides: the published error is that of a *single* attempt on another
    day, and no tiring or learning from attempt to attempt (take the order out first).

    Args:
        single: typical error of one attempt from day to day.
        within: SD of one athlete's attempts of one day, same unit; 0 where it is not known, which
            gives the score no better than a single attempt.
        attempts: attempts made.
        counted: how many of the best are averaged.

    Returns:
        Same unit. Within-day repeats are a floor: d² is never below ``DAY_FLOOR``·w².
    """
    day = max(single**2 - within**2, DAY_FLOOR * within**2)
    return math.sqrt(day + (within * best_of(attempts, counted).sd) ** 2)


def attempts_shift(within: float, before: int, after: int, counted: int) -> float:
    """How much better a score gets only because ``after`` attempts were made instead of ``before``.

    Args:
        within: SD of one athlete's attempts of one day, in the score's unit.
        before: attempts on the earlier day.
        after: attempts on the later day.
        counted: how many of the best are averaged, on both days.

    Returns:
        In the score's unit, positive when more attempts flatter the later day; to be taken off a
        change that is positive when better.
    """
    return within * (best_of(after, counted).shift - best_of(before, counted).shift)
