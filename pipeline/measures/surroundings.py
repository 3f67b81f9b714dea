"""What stands beside a run: the air of its session, the runner's body on that day."""

from __future__ import annotations

from typing import Literal

import pandas as pd

from pipeline.measures.spec import Trials, joined

TAKEN_EARLIER = "body mass taken {days} days before"
"""The flag of a value that rests on an older weighing."""

_AIR = ("temperature_c", "pressure_hpa", "altitude_m", "start_distance_m", "wind", "lane")
WIND_UNKNOWN = "wind not known, taken as none"


def beside(trials: Trials, keys: pd.Series) -> pd.DataFrame:
    """For each attempt of ``keys``: air, lane, body and their sources; NaN where not recorded.

    Columns: ``temperature_c pressure_hpa altitude_m start_distance_m wind lane`` as recorded,
    ``body_mass`` kg and ``height`` m of the same day, ``indoor`` (yes, no or empty), ``sex``, and
    ``body_source`` and ``wind_source``. Indexed like ``keys``.
    """
    attempts = trials.attempts
    found = pd.DataFrame(index=keys.index)
    for name in _AIR:
        used = trials.used(name).drop_duplicates("key").set_index("key")
        found[name] = keys.map(used["value"]).astype(float)
        if name == "wind":
            found["wind_source"] = keys.map(used["source"])
    indoor = trials.values[trials.values["quantity"] == "indoor"].set_index("key")["raw"]
    words = dict(zip(indoor.index, indoor, strict=True))
    found["indoor"] = [words.get(key, "") for key in keys]
    found["wind"] = found["wind"].mask(found["indoor"] == "yes", 0.0)  # there is none in a hall
    found["sex"] = keys.map(attempts["sex"])
    day_of = pd.MultiIndex.from_frame(attempts.loc[keys, ["day", "athlete_id"]])
    sources = []
    for name in ("body_mass", "height"):
        own = taken(trials, name)
        own = own.drop_duplicates(["day", "athlete_id"]).set_index(["day", "athlete_id"])
        found[name] = own["value"].reindex(day_of).to_numpy(dtype=float)
        sources.append(own["source"].reindex(day_of).to_list())
    found["body_source"] = [joined(*pair) for pair in zip(*sources, strict=True)]
    return found


def taken(trials: Trials, quantity: str) -> pd.DataFrame:
    """The used values of a quantity of the body, each with its ``day`` and ``athlete_id``."""
    return trials.of_kind(quantity, "body").merge(
        trials.attempts[["day", "athlete_id"]], left_on="key", right_index=True
    )


def last_mass(wanted: pd.DataFrame, weighings: pd.DataFrame) -> pd.DataFrame:
    """The body mass that stands beside each row: of its day, else the last one before.

    A later weighing is never used, so that a day says the same whenever it is built.

    Args:
        wanted: rows with ``day`` (ISO date) and ``athlete_id``.
        weighings: ``day athlete_id value resolution source``.

    Returns:
        ``body_mass body_mass_resolution body_mass_source body_mass_flag``, indexed like
        ``wanted``; NaN and empty where nobody weighed. The flag tells the age of an older one.
    """
    left = _dated(wanted[["day", "athlete_id"]].assign(row=wanted.index))
    columns = ["day", "athlete_id", "value", "resolution", "source"]
    right = _dated(weighings[columns].drop_duplicates(["day", "athlete_id"]))
    both = pd.merge_asof(
        left,
        right,
        on="at",
        by="athlete_id",
        suffixes=("", "_taken"),
    ).set_index("row")
    days = (both["at"] - pd.to_datetime(both["day_taken"]).astype(_DATES)).dt.days
    return pd.DataFrame(
        {
            "body_mass": both["value"].astype(float),
            "body_mass_resolution": both["resolution"].astype(float),
            "body_mass_source": both["source"].fillna(""),
            "body_mass_flag": [
                TAKEN_EARLIER.format(days=int(age)) if age > 0 else "" for age in days
            ],
        }
    ).reindex(wanted.index)


_DATES: Literal["datetime64[s]"] = "datetime64[s]"


def _dated(rows: pd.DataFrame) -> pd.DataFrame:
    """The rows in order of time, with their day as the date ``at``."""
    dated = rows.assign(
        at=pd.to_datetime(rows["day"]).astype(_DATES), athlete_id=rows["athlete_id"].astype(str)
    )
    return dated.sort_values("at", kind="stable")
