"""The oracle itself: each breach it looks for is seen when the door is made to commit it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from pipeline import reading
from pipeline.reading import Intake

from .damage import AREAS, DAMAGES
from .judge import CLEAN, HARMLESS, MANY, cases
from .made import make
from .oracle import run
from .season import chosen
from .writing import write

SEED, SUFFIXES = 3, (".csv", ".xlsx")

Spoil = Callable[[Intake, Path], Intake]


def _row_lost(intake: Intake, _: Path) -> Intake:
    table = intake.account.copy()
    table.loc[0, "used"] -= 1
    return replace(intake, account=table)


def _row_never_seen(intake: Intake, _: Path) -> Intake:
    table = intake.account.copy()
    table.loc[0, ["rows", "used"]] -= 1
    return replace(intake, account=table)


def _file_in_silence(intake: Intake, _: Path) -> Intake:
    return replace(intake, account=intake.account.iloc[1:], findings=[])


def _spoilt_values(column: str, change: Callable[[Any], Any]) -> Spoil:
    def spoil(intake: Intake, _: Path) -> Intake:
        values = intake.trials.values.copy()
        values[column] = values[column].map(change)
        return replace(intake, trials=replace(intake.trials, values=values))

    return spoil


def _input_touched(intake: Intake, season: Path) -> Intake:
    (season / "battery.toml").write_text("# tidied\n")
    return intake


def _file_added(intake: Intake, season: Path) -> Intake:
    (season / "cache.bin").write_bytes(b"")
    return intake


SPOILS: dict[str, tuple[Spoil, str]] = {
    "a row lost": (_row_lost, "rows do not add up"),
    "a row never seen": (_row_never_seen, "in the account"),
    "a file in silence": (_file_in_silence, "in silence"),
    "a value a thousandfold": (_spoilt_values("value", lambda v: v * 1000), "was written"),
    "another raw text": (_spoilt_values("raw", lambda text: f"{text}9"), "was read"),
    "a source one row on": (
        _spoilt_values("source", lambda s: s.replace("!2!", "!3!")), "was written",
    ),
    "a source beyond the file": (
        _spoilt_values("source", lambda s: s.replace("!2!", "!999!")), "leads nowhere",
    ),
    "an input touched": (_input_touched, "changed on disk"),
    "a file added": (_file_added, "changed on disk"),
}  # fmt: skip


@pytest.mark.parametrize("name", SPOILS)
def test_a_breach_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    spoil, sentence = SPOILS[name]
    honest = reading.read

    def read(season: Path, day: str | None) -> Intake:
        return spoil(honest(season, day), season)

    made = make(SEED, SUFFIXES)
    write(made)
    monkeypatch.setattr(reading, "read", read)
    told = run(made, tmp_path / "season").breaches
    assert any(sentence in breach for breach in told), told


def test_what_changes_from_one_reading_to_the_next_is_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    honest, count = reading.read, iter(range(2))

    def read(season: Path, day: str | None) -> Intake:
        intake = honest(season, day)
        return replace(intake, findings=intake.findings[:0]) if next(count) else intake

    made = make(SEED, SUFFIXES)
    made.sheets[0].rows[1][0].text = "nobody"
    write(made)
    monkeypatch.setattr(reading, "read", read)
    assert "reading twice gives other findings" in run(made, tmp_path / "s", twice=True).breaches


def test_a_crash_a_hang_and_a_stop_without_need_are_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = make(SEED, SUFFIXES)
    write(made)
    monkeypatch.setattr(reading, "read", lambda *_: 1 / 0)
    assert "ZeroDivisionError" in run(made, tmp_path / "crash").breaches[0]
    monkeypatch.undo()
    monkeypatch.setattr("tests.fuzz.oracle.LONGEST_S", 0.001)
    assert "no answer" in run(made, tmp_path / "hang").breaches[0]
    monkeypatch.undo()
    made.files["2026-09-autumn/day.toml"] = b"date"
    stopped = run(made, tmp_path / "stop")
    assert stopped.code == 2
    assert "stopped" in stopped.breaches[0]


def test_at_least_two_hundred_seasons_are_judged_and_every_kind_of_damage_is_done() -> None:
    damages = cases(*AREAS)
    assert len(damages) + len(CLEAN) + len(HARMLESS) + len(MANY) >= 200
    assert {d.name for area, seed in damages for d in chosen(seed, area)} == set(DAMAGES)
