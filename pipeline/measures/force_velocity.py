"""Force, velocity and power of an acceleration, and the impulse of each phase.

Macroscopic model: the runner's centre of mass follows the fitted curve; horizontal force is mass
times acceleration plus air drag. Shown to coaches only.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.measures import air, curves, profile
from pipeline.measures.model import ACCELERATION_M, fitted, of_rows
from pipeline.measures.phases import FROM_GUN, phases
from pipeline.measures.registry import measure, view
from pipeline.measures.spec import Array, Trials, TypicalError, joined
from pipeline.measures.surroundings import WIND_UNKNOWN, beside

FEWEST_GATES, FIRST_GATE_M, LAST_GATE_M, FEWEST_RUNS = 5, 5.0, 30.0, 2
STEPS = 101
"""Points of a phase at which drag is added up; more change nothing in the third decimal."""


@view("force and velocity", "cumulative_time")
def force_and_velocity(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each acceleration that allows it, from its curve and what stood beside it.

    Allowed with five gates, one at 5 m or nearer, the last at 30 m or beyond, the distance behind
    the first gate known, body and air known, and two runs of the day; the runs are averaged.
    """
    runs = fitted(trials, battery)
    if runs is None:
        return pd.DataFrame()
    table = runs.table.assign(V=runs.fits.speed, T=runs.fits.time_constant)
    table = pd.concat([table, beside(trials, table["key"])], axis=1)
    table["no_wind"] = table["wind"].isna() & (table["indoor"] != "yes")
    allowed = (
        runs.fits.converged
        & ~table["decays"]
        & (table["gates"] >= FEWEST_GATES)
        & (table["first_m"] <= FIRST_GATE_M)
        & table["last_m"].between(LAST_GATE_M, ACCELERATION_M)
        & table[["start_distance_m", "body_mass", "height"]].notna().all(axis=1)
        & table[["temperature_c", "pressure_hpa"]].notna().all(axis=1)
    )
    table = table[allowed].join(
        trials.attempts[["day", "athlete_id", "test", "conditions"]], on="key"
    )
    same = table.groupby(["day", "athlete_id", "test", "conditions"])["key"].transform("size")
    table = table[same >= FEWEST_RUNS]
    body_and_air = ("body_mass", "height", "pressure_hpa", "temperature_c")
    made = profile.profile(
        top_speed=table["V"].to_numpy(dtype=float),
        time_constant=table["T"].to_numpy(dtype=float),
        wind=table["wind"].fillna(0.0).to_numpy(dtype=float),
        **{name: table[name].to_numpy(dtype=float) for name in body_and_air},
    )
    return pd.DataFrame(
        {
            "key": table["key"],
            "part": "",
            "source": [
                joined(*pair) for pair in zip(table["source"], table["body_source"], strict=True)
            ],
            "average": True,
            "flags": np.where(table["no_wind"], WIND_UNKNOWN, ""),
            "force": made.relative_force,
            "speed": made.theoretical_speed,
            "power": made.relative_power,
            "ratio": made.force_ratio_max,
            "slope": made.force_ratio_slope,
        }
    )


@view("phase impulse", "cumulative_time")
def phase_impulse_view(trials: Trials, battery: Battery) -> pd.DataFrame:
    """One row for each phase of each fitted run whose body and air are known.

    Columns: ``gained`` m/s, the change of the curve's speed; ``drag`` N·s/kg, the impulse that
    air took; ``duration`` s of the phase.
    """
    runs = fitted(trials, battery)
    stretches = phases.build(trials, battery)
    if runs is None or stretches.empty:
        return pd.DataFrame()
    place = pd.Series(np.arange(len(runs.table)), index=runs.table["key"])
    stretches = stretches[stretches["key"].isin(place.index)]
    stretches = stretches[~stretches["part"].str.endswith(FROM_GUN)].reset_index(drop=True)
    rows = stretches["key"].map(place).to_numpy()
    # a curve says nothing beyond the gates it was fitted to
    within = stretches["to_m"].to_numpy() <= runs.table["last_m"].to_numpy()[rows]
    stretches, rows = stretches[within].reset_index(drop=True), rows[within]
    if stretches.empty:
        return pd.DataFrame()
    fits = of_rows(runs.fits, rows)
    around = beside(trials, stretches["key"])
    lead = runs.table["lead"].to_numpy()[rows]
    ends = stretches[["from_m", "to_m"]].to_numpy(dtype=float) + lead[:, None]
    times = curves.time_at(ends, fits)
    grid = times[:, :1] + (times[:, 1:] - times[:, :1]) * np.linspace(0, 1, STEPS)
    speeds = curves.speed_at(grid, fits)
    density = air.density(around["pressure_hpa"].to_numpy(), around["temperature_c"].to_numpy())
    mass = around["body_mass"].to_numpy()
    factor = air.drag_factor(mass, around["height"].to_numpy(), density)
    wind = around["wind"].fillna(0.0).to_numpy()
    drag = profile.phase_drag_impulse(grid, speeds, mass, factor, wind)
    no_wind = around["wind"].isna() & (around["indoor"] != "yes")
    made = stretches[["key", "part", "rank", "extra"]].assign(
        source=[
            joined(*pair)
            for pair in zip(
                runs.table["source"].to_numpy()[rows], around["body_source"], strict=True
            )
        ],
        flags=np.where(no_wind, WIND_UNKNOWN, ""),
        gained=speeds[:, -1] - speeds[:, 0],
        drag=drag,
        duration=times[:, 1] - times[:, 0],
    )
    known = pd.Series(np.isfinite(drag) & fits.converged, index=made.index)
    return pd.DataFrame(made[known])


@measure(
    key="relative_force",
    label="theoretical greatest force",
    unit="N/kg",
    better="higher",
    decimals=2,
    plausible=(3, 14),
    formula="F0: horizontal force ÷ mass, read off its line on speed at standstill",
    sources=("samozino2016", "arsac2002"),
    typical_errors=(TypicalError(5.0, "%", "B", "2.7 (radar, same day), 6.9, 7.8 quoted"),),
    view="force and velocity",
    combine="mean",
    section="force and velocity",
    staff_only=True,
)
def relative_force(force: Array) -> Array:
    """F0 in N/kg."""
    return force * 1.0


@measure(
    key="theoretical_speed",
    label="theoretical greatest speed",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(4, 15),
    formula="V0: the speed at which that line reaches no force",
    sources=("samozino2016", "arsac2002"),
    typical_errors=(TypicalError(1.5, "%", "C", "radar 1.12 and video 1.43, same day"),),
    view="force and velocity",
    combine="mean",
    section="force and velocity",
    staff_only=True,
)
def theoretical_speed(speed: Array) -> Array:
    """V0 in m/s."""
    return speed * 1.0


@measure(
    key="relative_power",
    label="greatest power",
    unit="W/kg",
    better="higher",
    decimals=1,
    plausible=(4, 40),
    formula="F0 · V0 ÷ 4",
    sources=("samozino2016", "arsac2002"),
    typical_errors=(TypicalError(3.5, "%", "C", "radar 2.23 and video 3.19, same day"),),
    view="force and velocity",
    combine="mean",
    section="force and velocity",
    staff_only=True,
)
def relative_power(power: Array) -> Array:
    """Greatest horizontal power in W/kg."""
    return power * 1.0


@measure(
    key="force_ratio_max",
    label="greatest ratio of forces",
    unit="%",
    better="higher",
    decimals=1,
    plausible=(15, 80),
    formula="horizontal ÷ whole force on the ground, 0.3 s after the start",
    sources=("morin2019",),
    view="force and velocity",
    combine="mean",
    section="force and velocity",
    staff_only=True,
)
def force_ratio_max(ratio: Array) -> Array:
    """Ratio of forces at 0.3 s in %."""
    return ratio * 1.0


@measure(
    key="force_ratio_slope",
    label="fall of the ratio with speed",
    unit="%/(m/s)",
    better="higher",
    decimals=2,
    plausible=(-20, -2),
    formula="slope of the ratio of forces on speed, from 0.3 s to 5 T in steps of 0.01 s",
    sources=("morin2019",),
    view="force and velocity",
    combine="mean",
    section="force and velocity",
    staff_only=True,
)
def force_ratio_slope(slope: Array) -> Array:
    """Slope of the ratio of forces on speed in % per m/s."""
    return slope * 1.0


@measure(
    key="phase_impulse",
    label="impulse in the phase",
    unit="N.s/kg",
    better="higher",
    decimals=2,
    plausible=(-3, 12),
    formula="speed gained by the fitted curve + impulse that air drag took, for each kg",
    sources=("samozino2016", "arsac2002"),
    view="phase impulse",
    combine="best run",
    section="model",
)
def phase_impulse(gained: Array, drag: Array) -> Array:
    """Horizontal impulse of a phase for each kg in N·s/kg."""
    return gained + drag


@measure(
    key="phase_speed_gained",
    label="speed gained in the phase",
    unit="m/s",
    better="higher",
    decimals=2,
    plausible=(-3, 12),
    formula="speed of the fitted curve at the phase's end − at its start",
    sources=("samozino2016",),
    view="phase impulse",
    combine="best run",
    section="model",
)
def phase_speed_gained(gained: Array) -> Array:
    """Speed gained in a phase by the fitted curve in m/s."""
    return gained * 1.0


@measure(
    key="phase_mean_force",
    label="mean force in the phase",
    unit="N/kg",
    better="higher",
    decimals=2,
    plausible=(-3, 12),
    formula="impulse in the phase ÷ time in it, on the fitted curve",
    sources=("samozino2016", "arsac2002"),
    view="phase impulse",
    combine="best run",
    section="model",
)
def phase_mean_force(gained: Array, drag: Array, duration: Array) -> Array:
    """Mean horizontal force of a phase for each kg in N/kg; ``duration`` in s."""
    return (gained + drag) / duration
