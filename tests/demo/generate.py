"""Writes the demo season: `python -m tests.demo.generate FOLDER`.

Every number is drawn from its own seed: the same code gives the same bytes, in any order of work.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from .days import DAYS
from .people import ATHLETES
from .season import BATTERY, season_sheets
from .sheets import day_sheets
from .trouble import TROUBLES


def write_season(folder: Path) -> None:
    """Write the season folder; files of the same names are written over, others left alone."""
    season = {
        day.folder: day_sheets(day, tuple(a for a in ATHLETES if a.belongs(day.date)))
        for day in DAYS
    }
    for trouble in TROUBLES:
        trouble.strike(season)
    for name, table in season_sheets().items():
        table.write(folder / name)
    (folder / "battery.toml").write_bytes(BATTERY.encode())
    for day in DAYS:
        for name, table in season[day.folder].items():
            table.write(folder / day.folder / name)
        (folder / day.folder / "day.toml").write_bytes(day.toml().encode())


def _main() -> None:
    parser = argparse.ArgumentParser(description="Write the demo season.")
    parser.add_argument("folder", type=Path)
    write_season(parser.parse_args().folder)


if __name__ == "__main__":
    _main()
