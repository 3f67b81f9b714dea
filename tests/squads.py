"""Squads of any size out of the demo's people: two days a term apart, some away, some cut short."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import nbformat
from pypdf import PdfReader

from pipeline.battery import TEMPLATES
from pipeline.bundle import DayBundle
from pipeline.publish import html, pdf
from pipeline.report import squad
from tests.demo.days import DAYS, Day
from tests.demo.people import ATHLETES, SW, Athlete
from tests.demo.season import BATTERY
from tests.demo.sheets import day_sheets
from tests.demo.tables import Table

_ONE_GROUP = 10
"""Up to this size all are one group, as a single coach has it."""

_LATER = timedelta(days=140)


def people(count: int) -> tuple[Athlete, ...]:
    """So many athletes; names are put together from the demo's."""
    known = [a for a in ATHLETES if count > _ONE_GROUP or a.squad is SW]
    made = []
    for n in range(count):
        base, other = known[n % len(known)], known[(n // len(known) * 3 + n) % len(known)]
        given, family = base.name.split(" ", 1)[0], other.name.split(" ", 1)[1]
        made.append(
            replace(
                base,
                athlete_id=f"A{n:03}",
                name=f"{given} {family}",
                ability=base.ability + 0.2 * (n // len(known)),
                joined=date(2024, 9, 2),
                left=None,
                share="full",
            )
        )
    return tuple(made)


def days() -> tuple[Day, Day]:
    """An autumn day, and the same sessions a term later."""
    first = DAYS[0]
    sessions = {n: replace(s, date=s.date + _LATER) for n, s in first.sessions.items()}
    later = first.date + _LATER
    return first, Day("2026-02-winter", later, "winter 2026", 1, sessions)


def write(folder: Path, count: int) -> Path:
    """Write a season of two days. On the later one every twelfth is away, every ninth does not
    squat, every seventh starts from blocks in the 60 m, and every fifth jumps once.
    """
    squad = people(count)
    place = {athlete.athlete_id: n for n, athlete in enumerate(squad)}
    then, now = days()
    for day in (then, now):
        here = tuple(a for a in squad if day is then or place[a.athlete_id] % 12 != 5)
        for name, table in day_sheets(day, here).items():
            if day is now:
                _cut(name, table, place)
            table.write(folder / day.folder / name)
        (folder / day.folder / "day.toml").write_text(day.toml(), encoding="utf-8")
    rows = [
        {
            "athlete_id": a.athlete_id,
            "name": a.name,
            "sex": a.squad.sex,
            "birth_date": a.born.isoformat(),
            "groups": a.squad.name,
            "event": a.squad.event,
        }
        for a in squad
    ]
    Table(tuple(rows[0]), rows).write(folder / "roster")
    (folder / "battery.toml").write_text(BATTERY, encoding="utf-8")
    return folder


def _cut(name: str, table: Table, place: dict[str, int]) -> None:
    kept = []
    for row in table.rows:
        n = place[row["athlete_id"]]
        if name == "lifts" and row["lift"] == "back squat" and n % 9 == 4:
            continue
        if name == "jumps" and row["attempt"] != "1" and n % 5 == 2:
            continue
        if name == "sprints" and row["test"] == "60 m" and n % 7 == 3:
            row["start"] = "blocks"
        kept.append(row)
    table.rows[:] = kept
    if name == "status":
        table.rows += [
            {"athlete_id": key, "test": "back squat", "status": "not done", "reason": "exam"}
            for key, n in place.items()
            if n % 9 == 4 and n % 12 != 5
        ]


FRONT = 9
"""Sections of the first page and the first one after it."""


def pages(report: DayBundle, sections: int | None = None) -> list[str]:
    """The text of each page of the coaches' PDF, made of the shipped notebook's own calls.

    ``report`` as ``squad.load`` gives it; ``sections``: only so many of them, from the first.
    """
    notebook = nbformat.read(TEMPLATES / "notebooks" / "squad.ipynb", as_version=4)
    blocks: list[dict[str, Any]] = []
    calls = [n for n, cell in enumerate(notebook.cells) if cell.source.startswith("page.")]
    for cell in html.shown(notebook.cells[: calls[:sections][-1] + 1]):
        if cell.cell_type == "markdown":
            blocks += html.parts(cell)
        elif cell.source.startswith("page."):
            name = cell.source.removeprefix("page.").removesuffix("(report)")
            blocks += getattr(squad, name)(report)._repr_mimebundle_()[html.BLOCKS]
    made = pdf.to_pdf(
        blocks,
        title="Squad report",
        date=date.fromisoformat(report.day["date"]),
        templates=TEMPLATES / "typst",
    )
    return [page.extract_text() for page in PdfReader(io.BytesIO(made)).pages]
