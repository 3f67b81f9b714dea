"""One sheet read by itself: what the door makes of it, without a whole day around it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipeline import battery as batteries
from pipeline.battery import Battery
from pipeline.intake import account, folder, roster, trials
from pipeline.intake.columns import SHEETS
from pipeline.intake.folder import Season
from pipeline.intake.roster import Roster
from pipeline.intake.trials import DayTrials
from tests import seasons

WHAT = ["athlete_id", "session", "test", "attempt", "side", "quantity", "part", "value", "status"]


@dataclass(frozen=True)
class Door:
    """A season without sheets, opened once, through which a test passes one sheet after another."""

    season: Season
    people: Roster
    battery: Battery

    @classmethod
    def at(cls, path: Path, day: str = seasons.DAY, battery: str = "") -> Door:
        """Write a season of one day and open it."""
        seasons.write(
            path,
            {
                **dict.fromkeys(seasons.TIDY),
                "roster.csv": seasons.ROSTER,
                f"{seasons.DAY_FOLDER}/day.toml": day,
                "battery.toml": battery,
            },
        )
        season, _ = folder.open_season(path)
        people, _ = roster.read(path)
        return cls(season, people, batteries.load(path)[0])

    def read(self, kind: str, text: str) -> DayTrials:
        """One sheet of a kind, read, and its rows counted a second time."""
        (day,) = self.season.days
        path = day.folder / f"{kind}.csv"
        path.write_text(text, encoding="utf-8")
        taken = trials.read_sheet(self.season, day, self.people, self.battery, (path, SHEETS[kind]))
        table, lost = account.account(self.season.path, taken.rows, taken.findings, taken.trials)
        assert not lost
        assert (table[["used", "flagged", "set_aside"]].sum(axis=1) == table["rows"]).all()
        return taken


def values(taken: DayTrials) -> pd.DataFrame:
    """What was recorded, whichever cells it came from: one row a value, sorted."""
    found = taken.trials.values[taken.trials.values["resolution"].notna()]
    beside = taken.trials.attempts[["athlete_id", "session", "test", "attempt", "side"]]
    table = found.join(beside, on="key")[WHAT]
    return table.sort_values(WHAT, ignore_index=True)


def said(taken: DayTrials) -> list[tuple[str, int | None, str]]:
    """Findings as (code, row, column), without the note on the layout."""
    found = [(f.code, f.place.row, f.place.column) for f in taken.findings]
    return sorted({one for one in found if one[0] != "layout-across"}, key=str)


def keys(taken: DayTrials) -> list[dict[str, str]]:
    """The comparison key of each attempt."""
    words = taken.trials.attempts["conditions"]
    return [dict(pair.split("=", 1) for pair in str(w).split("; ") if pair) for w in words]


def states(taken: DayTrials, season: Path) -> tuple[int, int, int]:
    """(used, flagged, set aside) rows of a sheet."""
    table, _ = account.account(season, taken.rows, taken.findings, taken.trials)
    used, flagged, aside = table[["used", "flagged", "set_aside"]].sum()
    return int(used), int(flagged), int(aside)
