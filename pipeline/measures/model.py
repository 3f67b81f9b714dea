"""A speed curve fitted to the gates of each run: top speed, how fast it is approached, how well.

All runs of a build are fitted in one batch. An acceleration gets the mono-exponential curve; a
whole 100 m with many gates the curve whose propulsion decays. Least squares is on time, the
measured quantity, with a time offset wherever there are gates enough to tell it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from pipeline.battery import Battery
from pipeline.measures import curves
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined, once
from pipeline.measures.splits import gate_table, run_rank

ACCELERATION_M = 60.0
"""Beyond it an athlete may slow down, which the mono-exponential curve cannot show."""
WHOLE_RACE_M = 100.0
FEWEST_OF_A_RACE = 8
FEWEST, FEWEST_WITH_OFFSET = 3, 4
NEAR_TOP = 0.95
LEVEL = 0.90
ROUGH_S = 0.03
"""A residual above it is more than gates and a true sprint leave: the finals stay under 0.009 s."""

DECAYING = "curve with decay"
NO_OFFSET = "three gates: no offset, little to check the curve by"
ROUGH = "poor fit: the curve misses the gates by more than 0.03 s"
BEYOND = "95 % of the curve's top speed lies beyond the last gate"


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs with enough gates: one row each in ``table``, the padded gates, and their fits."""

    table: pd.DataFrame
    distance: Array
    time: Array
    fits: curves.Fits


@once
def fitted(trials: Trials, battery: Battery) -> Runs | None:
    """Fit every sprint of up to 100 m; ``None`` where there is none.

    ``table`` has ``key source rank gates first_m last_m lead decays offset`` a run. Times are from
    first movement where the reaction is known. A start some way behind the first gate (``lead``,
    m) is added to every distance, and the offset then holds the time it took: left out, it would
    read as a far greater force. Three gates cannot tell an offset, so a run that needs one (a lead
    before a gate's clock, a gun without its reaction) is not fitted on three.
    """
    gates = gate_table(trials)
    leads = trials.used("start_distance_m").drop_duplicates("key").set_index("key")["value"]
    gates = gates.assign(
        own=gates["time"] - gates["reaction"].fillna(0.0),
        rank=run_rank(gates, battery),
        lead=gates["key"].map(leads).fillna(0.0).astype(float),
    )
    gates = gates[gates["timing"] != "hand"]  # a stopwatch tells no curve
    gates = gates[gates["at_m"] <= WHOLE_RACE_M]
    race = gates.groupby("key")["at_m"].transform("size") >= FEWEST_OF_A_RACE
    race &= gates.groupby("key")["at_m"].transform("max") == WHOLE_RACE_M
    gates = gates[race | (gates["at_m"] <= ACCELERATION_M)]
    number = gates.groupby("key")["at_m"].transform("size")
    late = (gates["clock"] == "gate") & (gates["lead"] > 0)
    late |= (gates["clock"] == "gun") & gates["reaction"].isna()
    gates = gates[number >= np.where(late, FEWEST_WITH_OFFSET, FEWEST)]
    if gates.empty:
        return None
    place = gates.groupby("key", sort=False).cumcount()
    wide = gates.assign(place=place).pivot_table(
        index="key", columns="place", values=["at_m", "own"], aggfunc="first"
    )
    runs = gates.groupby("key", sort=True)
    table = pd.DataFrame(
        {
            "source": runs["source"].agg(lambda s: joined(*s)),
            "rank": runs["rank"].first(),
            "gates": runs.size(),
            "first_m": runs["at_m"].min(),
            "last_m": runs["at_m"].max(),
            "lead": runs["lead"].first(),
        }
    ).reset_index()
    decays = (table["last_m"] == WHOLE_RACE_M).to_numpy()
    offset = (table["gates"] >= FEWEST_WITH_OFFSET).to_numpy()
    distance = wide["at_m"].to_numpy(dtype=float) + table["lead"].to_numpy()[:, None]
    time = wide["own"].to_numpy(dtype=float)
    fits = curves.fit(distance, time, decay=decays, offset=offset)
    return Runs(table.assign(decays=decays, offset=offset), distance, time, fits)


def of_rows(fits: curves.Fits, rows: NDArray[np.int_]) -> curves.Fits:
    """The fits of some runs, one for each of ``rows``."""
    return curves.Fits(**{f.name: getattr(fits, f.name)[rows] for f in fields(fits)})


@view("model", "cumulative_time")
def model(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each fitted run: what the curve says, with 90 % intervals."""
    runs = fitted(trials, battery)
    if runs is None:
        return pd.DataFrame()
    fits = runs.fits
    top, top_at_s = curves.top_speed(fits)
    near = curves.reaches(NEAR_TOP, fits)
    half = _half_width(fits.degrees)
    errors = curves.standard_errors(fits)
    speed_half = half * curves.top_speed_error(fits)
    constant_half = half * errors[:, 2]
    finite = np.isfinite(top_at_s)
    top_at = np.where(finite, curves.position(np.where(finite, top_at_s, 0.0), fits), np.nan)
    table = runs.table.assign(
        part="",
        curve_speed=top,
        curve_constant=np.where(runs.table["decays"], np.nan, fits.time_constant),
        curve_rms=fits.rms,
        curve_near=near - runs.table["lead"].to_numpy(),
        curve_top_at=top_at - runs.table["lead"].to_numpy(),
        model_top_speed_low=top - speed_half,
        model_top_speed_high=top + speed_half,
        model_time_constant_low=fits.time_constant - constant_half,
        model_time_constant_high=fits.time_constant + constant_half,
    )
    # with decay, k, m and T trade against each other: only their sum, the curve, is known well
    table["flags"] = _flags(table)
    return table[fits.converged].reset_index(drop=True)


def _half_width(degrees: Array) -> Array:
    """Standard errors of a 90 % interval; none without a degree of freedom."""
    known = degrees > 0
    quantile = stats.t.ppf(0.5 + LEVEL / 2, np.where(known, degrees, 1.0))
    return np.where(known, quantile, np.nan)


def _flags(table: pd.DataFrame) -> list[str]:
    said: list[tuple[str, NDArray[np.bool_]]] = [
        (DECAYING, table["decays"].to_numpy()),
        (NO_OFFSET, ~table["offset"].to_numpy()),
        (ROUGH, (table["curve_rms"] > ROUGH_S).to_numpy()),
        (BEYOND, (table["curve_near"] > table["last_m"]).to_numpy()),
    ]
    return [joined(*(text for text, applies in said if applies[row])) for row in range(len(table))]


@measure(
    key="model_top_speed",
    label="top speed of the curve",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(3, 14),
    formula="fitted to the gates on time: v = V · (1 − e^(−t ÷ T)), or with decay "
    "v = k − m · t − k · e^(−t ÷ T); its greatest value",
    sources=("samozino2016", "graubner2011"),
    typical_errors=(TypicalError(1.0, "%", "C", "radar, within a day: 1.00"),),
    view="model",
    combine="best run",
    section="model",
)
def model_top_speed(curve_speed: Array) -> Array:
    """Greatest speed of the fitted curve in m/s."""
    return curve_speed * 1.0


@measure(
    key="model_time_constant",
    label="time constant of the curve",
    unit="s",
    better="lower",
    decimals=2,
    plausible=(0.3, 3.5),
    formula="T of the fitted curve: after T seconds 63 % of the top speed is reached",
    sources=("samozino2016",),
    typical_errors=(TypicalError(3.4, "%", "C", "radar, within a day: 3.37"),),
    view="model",
    combine="best run",
    section="model",
)
def model_time_constant(curve_constant: Array) -> Array:
    """Time constant of the fitted curve in s."""
    return curve_constant * 1.0


@measure(
    key="model_rms",
    label="how far the curve misses the gates",
    unit="s",
    better="lower",
    decimals=3,
    plausible=(0, 0.5),
    formula="root of the mean squared residual on time",
    sources=("definition",),
    view="model",
    combine="best run",
    section="model",
)
def model_rms(curve_rms: Array) -> Array:
    """Root mean square residual of the fit in s."""
    return curve_rms * 1.0


@measure(
    key="model_near_top_at",
    label="where 95 % of the curve's top speed is reached",
    unit="m",
    better="neither",
    decimals=0,
    plausible=(3, 120),
    formula="distance at which the fitted curve first reaches 95 % of its greatest speed",
    sources=("definition",),
    view="model",
    combine="best run",
    section="model",
)
def model_near_top_at(curve_near: Array) -> Array:
    """Distance in m at which 95 % of the curve's top speed is reached."""
    return curve_near * 1.0


@measure(
    key="model_top_speed_at",
    label="where the curve's top speed is reached",
    unit="m",
    better="neither",
    decimals=0,
    plausible=(10, 100),
    formula="distance at which the curve with decay is fastest",
    sources=("definition",),
    view="model",
    combine="best run",
    section="model",
)
def model_top_speed_at(curve_top_at: Array) -> Array:
    """Distance in m at which the curve with decay is fastest."""
    return curve_top_at * 1.0
