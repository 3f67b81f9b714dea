"""Results and attempts written by hand, and what the comparison makes of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import battery as batteries
from pipeline import tables
from pipeline.battery import Battery
from pipeline.compare import typical_errors
from pipeline.compare.changes import Data, Judged, changes
from pipeline.compare.pairs import Days
from pipeline.compare.squad import Member
from pipeline.measures.registry import RESULT_COLUMNS

BATTERY, _ = batteries.load(Path("no season of its own"))
SPRING, SUMMER, AUTUMN = "2026-05-12", "2026-07-01", "2026-09-15"
GATES = "start=three-point; timing=gates"
NO_DAYS = Days({}, frozenset())

CMJ: dict[str, object] = {
    "test": "countermovement jump", "measure": "jump_height", "unit": "cm", "conditions": "",
    "n_attempts": 3,
}  # fmt: skip
FORTY: dict[str, object] = {"test": "40 m", "n_attempts": 2}
SQUAT: dict[str, object] = {
    "test": "back squat", "measure": "one_rep_max", "unit": "kg", "conditions": "",
}  # fmt: skip


def result(day: str, value: float, **cells: object) -> dict[str, object]:
    """One row of results; the judged score is the value unless given."""
    row = {
        "day": day, "session": "", "athlete_id": "A01", "test": "60 m", "part": "",
        "measure": "time", "value": value, "unit": "s", "low": value, "high": value,
        "resolution": 0.01, "n_attempts": 2, "attempt": 1, "basis": "measured", "source": "",
        "flags": "", "conditions": GATES, "score": value, "scored": "1", "wind": 0.0, **cells,
    }  # fmt: skip
    assert set(row) == set(RESULT_COLUMNS)
    return row


def results(*rows: Mapping[str, object]) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=list(RESULT_COLUMNS))


def tries(day: str, *values: float, **cells: object) -> list[dict[str, object]]:
    """Rows of attempts of one athlete on one day, in order."""
    return [
        {
            "key": f"{day}{cells.get('athlete_id', 'A01')}{cells.get('part', '')}{number}",
            "day": day, "athlete_id": "A01", "test": "60 m", "part": "", "measure": "time",
            "value": value, "attempt": number, "basis": "measured", "conditions": GATES,
            **{k: v for k, v in cells.items() if k not in ("unit", "n_attempts")},
        }
        for number, value in enumerate(values, start=1)
    ]  # fmt: skip


NO_TRIES = pd.DataFrame(tries(SPRING, 1.0)).head(0)


def battery(folder: Path, text: str) -> Battery:
    """The default battery with a season's own settings laid over it."""
    (folder / "battery.toml").write_text(text, encoding="utf-8")
    made, findings = batteries.load(folder)
    assert not findings
    return made


def squad(ids: set[str], **facts: Any) -> dict[str, Member]:
    return {
        key: Member(
            key,
            facts.get("sex", "F"),
            facts.get("event", "sprint"),
            facts.get("age", 20),
            facts.get("groups", ("sprint",)),
        )
        for key in sorted(ids)
    }


@dataclass
class World:
    """What a comparison is given; all but the results may be left out."""

    rows: list[dict[str, object]]
    attempts: list[dict[str, object]] = field(default_factory=list)
    battery: Battery = BATTERY
    days: Days = NO_DAYS
    members: dict[str, Member] | None = None

    @property
    def data(self) -> Data:
        attempts = pd.DataFrame(self.attempts) if self.attempts else NO_TRIES
        return Data(results(*self.rows), attempts)

    @property
    def squad(self) -> dict[str, Member]:
        return self.members or squad({str(row["athlete_id"]) for row in self.rows})

    @property
    def errors(self) -> typical_errors.Errors:
        return typical_errors.learn(self.data.results, self.data.attempts, self.battery, self.days)

    def judged(self, day: str = AUTUMN) -> Judged:
        return changes(self.data, day, self.battery, self.errors, self.days, self.squad)

    def table(self, day: str = AUTUMN) -> list[dict[str, Any]]:
        """The table ``changes``, row by row."""
        shaped = tables.shape("changes", self.judged(day).table)
        return [{str(k): v for k, v in row.items()} for row in shaped.to_dict("records")]


def compared(*rows: dict[str, object], day: str = AUTUMN, **more: Any) -> list[dict[str, Any]]:
    """The table ``changes`` of some rows of results."""
    return World(list(rows), **more).table(day)
