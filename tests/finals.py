"""Published 100 m finals as a season folder the tool reads, and their figures in whole steps.

The rows stand in ``tests/reference`` with their sources. No person is named: a finalist is a
race, a sex and a place.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pandas as pd

REFERENCE = Path(__file__).parent / "reference"

DAY = "2024-12-31"
DAY_FOLDER = "2024-finals"
TEST = "100 m"
GUN, MOVEMENT = "gun", "movement"

GATES_M = tuple(range(10, 101, 10))
PHASES = {"drive": (10, 30), "maximum velocity": (30, 60), "maintenance": (60, 100)}
"""The phases that no reaction touches, by their ends in metres."""

WINDOW_M = 20

_ROSTER_HEAD = "athlete_id,name,sex,birth_date,groups,event,joined,left,share"
_RUN = ("session", "athlete_id", "test", "attempt", "start", "timing", "clock")


def finalists() -> pd.DataFrame:
    """Every published row, men then women, indexed by ``athlete_id``.

    Added to the printed columns: ``name``, ``session`` (the race) and ``clock``, which is
    ``movement`` where the report took the reaction off. The women's file has no such column:
    its splits run from the gun.
    """
    men = pd.read_csv(REFERENCE / "men_100m_finals_10m_splits.csv", dtype={"place": str})
    women = pd.read_csv(REFERENCE / "women_100m_10m_splits.csv", dtype={"place": str})
    rows = pd.concat([men, women.assign(splits_include_reaction="yes")], ignore_index=True)
    woman = rows["sex"] == "F"
    event = rows["race"].mask(woman, rows["race"] + " women")
    place = rows["place"].replace("?", "unknown")
    rows = rows.assign(
        athlete_id="R" + rows["race"].str.replace(" ", "") + "-" + place.mask(woman, "W" + place),
        name=event + " " + rows["round"] + ", place " + place,
        session=event.str.replace(" ", "-"),
        clock=rows["splits_include_reaction"].map({"yes": GUN, "no": MOVEMENT}),
    )
    return rows.set_index("athlete_id")


def hundredths(rows: pd.DataFrame) -> pd.DataFrame:
    """The printed splits in whole hundredths of a second, rows × gate in m: ties are ties."""
    splits = rows[[f"t{at}" for at in GATES_M]].set_axis(list(GATES_M), axis="columns")
    return (splits * 100).round().astype(int)


def write_finals_season(folder: Path, clocks: Mapping[str, str] | None = None) -> pd.DataFrame:
    """Write the finals as a season of one day, a session for each race.

    The sheet has the digits a report prints: two for a split, three for a reaction. The date of
    a session is the first of January of its race's year: it stands for the year alone.

    Args:
        folder: the season folder; it is made.
        clocks: clocks to declare against the report's word, by athlete id.

    Returns:
        The published rows, indexed by ``athlete_id``; their ``clock`` is what was declared.
    """
    rows = finalists()
    declared = rows["clock"].to_dict() | dict(clocks or {})
    rows = rows.assign(clock=rows.index.map(declared))
    (folder / DAY_FOLDER).mkdir(parents=True)
    _write(folder / "roster.csv", [_ROSTER_HEAD, *_roster(rows)])
    _write(folder / DAY_FOLDER / "day.toml", _day(rows))
    _write(folder / DAY_FOLDER / "sprints.csv", _sprints(rows))
    return rows


def _write(path: Path, lines: list[str]) -> None:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def _roster(rows: pd.DataFrame) -> list[str]:
    people = zip(rows.index, rows["name"], rows["sex"], strict=True)
    return [f'{key},"{name}",{sex},,finals,{TEST},,,full' for key, name, sex in people]


def _day(rows: pd.DataFrame) -> list[str]:
    lines = [f"date = {DAY}", 'term = "published finals"', "indoor = false"]
    for race in dict.fromkeys(rows["session"]):
        lines += ["", f"[session.{race}]", f"date = {race[:4]}-01-01"]
    return lines


def _sprints(rows: pd.DataFrame) -> list[str]:
    lines = [",".join([*_RUN, "wind_mps", "reaction_s", *(f"t{at}_s" for at in GATES_M)])]
    for key, row in rows.iterrows():
        run = [row["session"], key, TEST, "1", "blocks", "electronic", row["clock"]]
        measured = [f"{row['wind_mps']:.1f}", f"{row['reaction_s']:.3f}"]
        splits = [f"{row[f't{at}']:.2f}" for at in GATES_M]
        lines.append(",".join([*run, *measured, *splits]))
    return lines
