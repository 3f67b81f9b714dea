"""How often the rule for phases says what it should, by simulation.

The world: the published line is true, whole times spread as in the finals, styles spread by
.030/.026/.020/.036 s (the published finalists of equal time, leave one race out) and go together
as theirs do, a split errs by .010 s, an athlete runs twice. The reference is the published line,
taken as true, or (harder) drawn anew for every athlete, so that the uncertainty of its line and of
its spread counts in full.

``python -m tests.phase_calibration`` prints the table.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from unittest import mock

import numpy as np
import pandas as pd

from pipeline.compare import phase_gaps, shape_model
from pipeline.compare.phase_gaps import OwnGaps
from pipeline.compare.published_shape import MEN
from pipeline.compare.shape_model import ShapeModel
from pipeline.measures.spec import Array
from pipeline.tables import MOST_TO_GAIN, STANDS_OUT

PHASES = ("0-10 m", "10-30 m", "30-60 m", "60-100 m")
STYLE_S = np.array([0.030, 0.026, 0.020, 0.036])
SPLIT_S = 0.010
RUNS = 2
TIMES = 4
"""The extra loss, in error and style together."""

RACES, LANES = 7, 6
SEED = 20_240_804
NAMED = "either"
"""Column: the phase is named in one way or the other."""

ANOTHER, LOWER, UPPER = "another stands out", "all lower limits", "all upper limits"
COVERS = tuple(f"covers {name}" for name in PHASES)

TWO_SIDED = 0.95
"""Each side of a region that holds on both sides with 90 %: the rule before it was mended."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the rule said of many athletes, arrays of shape (athletes, K)."""

    gaps: OwnGaps
    said: Array
    true_cost: Array


def _people(rng: np.random.Generator, *shape: int) -> Array:
    """True phase times in s of people with styles of their own, shape (…, K)."""
    apart = np.sqrt(np.diag(MEN.style))
    together = MEN.style / np.outer(apart, apart) * np.outer(STYLE_S, STYLE_S)
    values, axes = np.linalg.eigh(together)
    root = axes * np.sqrt(np.clip(values, 0, None))
    logs = rng.normal(MEN.centre, np.sqrt(MEN.squares / MEN.rows), shape)
    line = np.asarray(shape_model.expected(MEN, np.exp(logs)))
    return np.asarray(line + rng.standard_normal((*shape, len(PHASES))) @ root.T)


def _measured(rng: np.random.Generator, times: Array, runs: int) -> Array:
    """``times`` (…, K) as ``runs`` runs with split errors, shape (…, runs, K)."""
    shape = (*times.shape[:-1], runs, times.shape[-1])
    return np.asarray(
        times[..., None, :] + np.diff(rng.normal(0, SPLIT_S, shape), axis=-1, prepend=0)
    )


def published(rng: np.random.Generator, athletes: int) -> ShapeModel:
    """The published line, which is also the truth of this world: the same for every athlete."""
    del rng, athletes
    return MEN


def finals(rng: np.random.Generator, athletes: int) -> ShapeModel:
    """A reference like the published one for each athlete: 42 rows in 7 races."""
    races = np.repeat(np.arange(RACES), LANES)
    return shape_model.fit(_people(rng, athletes, RACES * LANES), races, MEN.ends_m)


def squad(rng: np.random.Generator, athletes: int) -> ShapeModel:
    """The smallest squad with a line of its own for each athlete: 10 people, 2 runs each."""
    runs = _measured(rng, _people(rng, athletes, 10), 2)
    each = np.exp(np.log(runs).mean(axis=-2))
    return shape_model.fit(each, np.arange(10), MEN.ends_m, sprints=20)


def losses(runs: int) -> Array:
    """Four times error and style together, in s, by phase; the error that of a mean of ``runs``."""
    error = np.diag(phase_gaps.error_covariance(len(PHASES), SPLIT_S)) / runs
    return np.asarray(TIMES * np.sqrt(error + STYLE_S**2))


def judge(rng: np.random.Generator, model: ShapeModel, athletes: int, loss: Array) -> Outcome:
    """Draw athletes with the extra ``loss`` in s, shape (K,), time their runs, apply the rule."""
    before = _people(rng, athletes)
    times = _measured(rng, before + loss, RUNS)
    error = phase_gaps.error_covariance(len(PHASES), SPLIT_S)
    gaps = phase_gaps.own_gaps(model, times, np.broadcast_to(error, (*times.shape, len(PHASES))))
    then, now = before.sum(axis=-1), (before + loss).sum(axis=-1)
    moved = shape_model.expected(MEN, then) + loss - shape_model.expected(MEN, now)
    cost = moved / (1 - shape_model.growth(MEN, now))
    return Outcome(gaps, phase_gaps.findings(gaps, RUNS), cost)


def _figures(reference: str, athletes: int, runs: int) -> Iterator[dict[str, object]]:
    """One row without a weakness, then one for a loss in each phase; shares in %."""
    draw = {"published": published, "finals": finals, "squad": squad}[reference]
    for number, phase in enumerate(("none", *PHASES)):
        rng = np.random.default_rng([SEED, number])
        loss = np.where(np.array(PHASES) == phase, losses(runs), 0.0)
        made = judge(rng, draw(rng, athletes), athletes, loss)
        there = loss > 0 if loss.any() else np.ones(len(PHASES), dtype=bool)
        out, most = made.said == STANDS_OUT, made.said == MOST_TO_GAIN
        lower, upper = made.gaps.low <= made.true_cost, made.gaps.high >= made.true_cost
        yield {
            "loss in": phase,
            "loss s": loss.sum(),
            STANDS_OUT: 100 * out[:, there].any(axis=1).mean(),
            MOST_TO_GAIN: 100 * most[:, there].any(axis=1).mean(),
            NAMED: 100 * (out | most)[:, there].any(axis=1).mean(),
            ANOTHER: 100 * out[:, ~there].any(axis=1).mean() if loss.any() else 0.0,
            LOWER: 100 * lower.all(axis=1).mean(),
            UPPER: 100 * upper.all(axis=1).mean(),
            **{
                name: 100 * share
                for name, share in zip(COVERS, (lower & upper).mean(axis=0), strict=True)
            },
        }


def nominal(side: float = phase_gaps.SIDE) -> float:
    """Chance that the two limits of one phase hold its cost between them."""
    return 1 - 2 * (1 - side) / len(PHASES)


def table(
    athletes: int = 2000, reference: str = "published", runs: int = 1, side: float = phase_gaps.SIDE
) -> pd.DataFrame:
    """The calibration by phase.

    Args:
        athletes: how many are drawn for each row.
        reference: ``published``, or drawn anew: ``finals`` (42 rows), ``squad`` (10 people, 20
            sprints).
        runs: the loss is four times style and the error of a phase time in one run (1), or in the
            mean of two (2), which is a smaller loss.
        side: chance that all limits of one side hold.

    Returns:
        One row without a weakness and one for a loss in each phase, shares in %; last the mean
        over the four.
    """
    with mock.patch.object(phase_gaps, "SIDE", side):
        rows = pd.DataFrame(list(_figures(reference, athletes, runs)))
    mean = rows.iloc[1:].mean(numeric_only=True).to_frame().T
    return pd.concat([rows, mean.assign(**{"loss in": "mean of the four"})], ignore_index=True)


def main(athletes: int = 20_000) -> None:
    """Print the tables: the rule, the smaller loss, the rule before, and the smallest squad."""
    worlds = (
        ("published line; loss 4 x (style and one run's error)", "published", 1, phase_gaps.SIDE),
        ("published line; loss 4 x (style and the mean's error)", "published", 2, phase_gaps.SIDE),
        ("finals drawn anew; loss as in the first", "finals", 1, phase_gaps.SIDE),
        ("finals drawn anew; loss as in the second", "finals", 2, phase_gaps.SIDE),
        ("smallest squad drawn anew; loss as in the first", "squad", 1, phase_gaps.SIDE),
        ("rule before (two-sided 90 %); published line; as the first", "published", 1, TWO_SIDED),
    )
    for title, reference, runs, side in worlds:
        point = 100 * nominal(side)
        sys.stdout.write(
            f"\n{title}; nominal {100 * side:.1f} % all of a side, {point:.2f} % one phase;"
            f" {athletes} athletes a row\n"
        )
        made = table(athletes, reference, runs, side)
        made["loss s"] = made["loss s"].map("{:.3f}".format)
        made = made.rename(
            columns=lambda name: name.removeprefix("covers ").removesuffix(" limits")
        )
        sys.stdout.write(made.to_string(index=False, float_format=lambda v: f"{v:.1f}") + "\n")


if __name__ == "__main__":
    main()
