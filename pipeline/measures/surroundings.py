"""What stands beside a run: the air of its session, the runner's body on that day."""

from __future__ import annotations

import pandas as pd

from pipeline.measures.spec import Trials, joined

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
        own = trials.of_kind(name, "body").merge(
            attempts[["day", "athlete_id"]], left_on="key", right_index=True
        )
        own = own.drop_duplicates(["day", "athlete_id"]).set_index(["day", "athlete_id"])
        found[name] = own["value"].reindex(day_of).to_numpy(dtype=float)
        sources.append(own["source"].reindex(day_of).to_list())
    found["body_source"] = [joined(*pair) for pair in zip(*sources, strict=True)]
    return found
