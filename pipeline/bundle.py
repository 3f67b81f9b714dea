"""The data folder of a day: written once, read by every notebook.

An athlete's slice holds that athlete's own data and nothing of anybody else, so the notebook that
reads it, and the pages made from it, cannot either.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from pipeline import outgoing, tables
from pipeline.errors import CannotStartError
from pipeline.hiding import Names
from pipeline.measures import registry

ATHLETES, DAY, WORKBOOK = "athletes", "day.json", "results.xlsx"
_FINDING_COLUMNS = ("severity", "code", "file", "sheet", "row", "column")
"""What an athlete's page may show of a finding: a message may name someone else."""

_OWN_TABLES = ("results", "changes", "phases", "targets", "plan")
"""Tables of which a slice holds the athlete's own rows whole, and findings beside them in part."""

_BY_MEASURE = ("results", "changes", "targets", "plan")
"""Of these the rows of measures that are not for the athlete stay out."""

_SHARED = (
    "unread_kinds",
    "season",
    "date",
    "term",
    "tests",
    "key_measures",
    "charts",
    "angles",
    "joined_phases",
    "repeats",
)
"""The day's facts that a slice may hold; a new fact stays out until it is named here."""


@dataclass(frozen=True)
class DayBundle:
    """Everything a build computed: the tables of the design, and the day's facts.

    ``traces`` holds the outlines of each athlete's force traces; they go into the athlete's own
    slice and nowhere else, so a day read back has none. ``unnamed`` holds the own name of each
    athlete whose slice must not hold it.
    """

    tables: Mapping[str, pd.DataFrame]
    day: Mapping[str, Any]
    traces: Mapping[str, Sequence[Mapping[str, Any]]] = field(default_factory=dict)
    unnamed: Mapping[str, Names] = field(default_factory=dict)


_WHOLE = frozenset({"source", "message"})
"""Columns whose text is made here, from parts that were cut: they may be long."""


def plain(made: DayBundle) -> DayBundle:
    """The day with every text visible and of bounded length, the same wherever it stands."""
    return with_texts(
        made, lambda text, key: outgoing.visible(text) if key in _WHOLE else outgoing.plain(text)
    )


def with_texts(made: DayBundle, change: Callable[[str, str], str]) -> DayBundle:
    """The day with every text changed.

    Args:
        made: the day.
        change: from a text and the column or fact it stands under (that of the nearest mapping)
            to the text that is to stand there; keys that are the staff's words are changed too.
    """
    return replace(
        made,
        tables={name: _frame_with(frame, change) for name, frame in made.tables.items()},
        day={name: _with(value, name, change) for name, value in made.day.items()},
        traces={
            athlete: [_with(one, "", change) for one in outlines]
            for athlete, outlines in made.traces.items()
        },
    )


_BY_WORDS = frozenset({"tests", "headlines", "emphases", "angles"})
"""Facts whose keys are the staff's own words; those of all others are ours, or ids."""


def _as_it_is(text: str, _: str) -> str:
    return text


def _frame_with(frame: pd.DataFrame, change: Callable[[str, str], str]) -> pd.DataFrame:
    changed = {}
    for column in frame.columns:
        if not pd.api.types.is_numeric_dtype(frame[column]):
            known = {t: change(t, column) for t in frame[column].unique() if isinstance(t, str)}
            if any(old != new for old, new in known.items()):
                cells = [known[c] if isinstance(c, str) else c for c in frame[column]]
                changed[column] = pd.Series(cells, index=frame.index, dtype=object)
    return frame.assign(**changed)


def _with(value: Any, key: str, change: Callable[[str, str], str]) -> Any:
    if isinstance(value, str):
        return change(value, key)
    if isinstance(value, Mapping):
        named = change if key in _BY_WORDS else _as_it_is
        return {named(name, ""): _with(one, name, change) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_with(one, key, change) for one in value]
    return value


@dataclass(frozen=True)
class AthleteSlice:
    """One athlete's part: ``facts`` (person, day, battery) and the own rows of the tables."""

    facts: Mapping[str, Any]
    results: pd.DataFrame
    changes: pd.DataFrame
    phases: pd.DataFrame
    targets: pd.DataFrame
    plan: pd.DataFrame
    findings: pd.DataFrame


def write(folder: Path, bundle: DayBundle) -> None:
    """Write the data folder: tables, workbook, ``day.json`` and a slice for each athlete.

    Args:
        folder: is made; must not exist.
        bundle: ``day`` has ``athletes``, a mapping of facts by id, for those who get a page.
    """
    folder.mkdir(parents=True)
    shaped = {
        name: tables.shape(name, frame, _decimals(name, frame))
        for name, frame in bundle.tables.items()
    }
    for name, frame in shaped.items():
        (folder / f"{name}.csv").write_bytes(tables.to_csv(name, frame))
    (folder / WORKBOOK).write_bytes(tables.to_xlsx(shaped))
    _write_json(folder / DAY, bundle.day)
    (folder / ATHLETES).mkdir()
    shared = {name: bundle.day[name] for name in _SHARED}
    for athlete_id, facts in bundle.day["athletes"].items():
        own = {
            name: shaped[name][shaped[name]["athlete_id"] == athlete_id]
            for name in (*_OWN_TABLES, "findings")
        }
        allowed = _allowed(facts["minor"])
        for name in _BY_MEASURE:
            own[name] = own[name][own[name]["measure"].isin(allowed | {""})]
        person = facts | {
            name: [one for one in facts.get(name, ()) if one["measure"] in allowed]
            for name in ("trends", "standings")
        }
        own["plan"] = own["plan"].drop(columns="note")  # it may name somebody else
        person |= _of_phases(bundle, athlete_id)
        own["findings"] = own["findings"][list(_FINDING_COLUMNS)]
        rows = {name: _records(frame) for name, frame in own.items()}
        shared["traces"] = list(bundle.traces.get(athlete_id, ()))
        content = {**shared, "athlete": person, **rows}
        if athlete_id in bundle.unnamed:
            content = _unnamed(content, bundle.unnamed[athlete_id])
        _write_json(folder / ATHLETES / f"{athlete_id}.json", content)


def _unnamed(content: dict[str, Any], names: Names) -> dict[str, Any]:
    """A slice without its athlete's name, wherever a cell or a file brought it in."""
    kept = {"id", "name", "athlete_id", "measure", "reason"}

    def change(text: str, key: str) -> str:
        return text if key in kept else names.without(text)

    return {name: _with(value, name, change) for name, value in content.items()}


def _of_phases(bundle: DayBundle, athlete_id: str) -> dict[str, list[dict[str, Any]]]:
    """What is said of an athlete's phases, and what may be talked about; never the signs behind."""
    own = {
        name: [one for one in bundle.day.get(name, ()) if one["athlete_id"] == athlete_id]
        for name in ("phase_states", "target_phases")
    }
    table = bundle.tables["emphasis"]
    told = table[(table["athlete_id"] == athlete_id) & (table["phase"] != "")]
    told = told[["test", "phase", "says", "emphasis"]].drop_duplicates()
    talk = {name: one["talk"] for name, one in bundle.day.get("emphases", {}).items()}
    own["proposals"] = [row | {"talk": talk.get(row["emphasis"], "")} for row in _records(told)]
    return own


def read_day(folder: Path) -> DayBundle:
    """Read a whole data folder back; for staff pages only."""
    day = _read_json(folder / DAY)
    frames = {
        name: tables.from_csv(name, (folder / f"{name}.csv").read_bytes())
        for name in tables.SCHEMAS
    }
    return DayBundle(frames, day)


def read_athlete(path: Path) -> AthleteSlice:
    """Read one athlete's slice."""
    facts = _read_json(path)
    frames = {
        name: pd.DataFrame(facts.pop(name), columns=columns)
        for name, columns in (
            *((name, list(tables.SCHEMAS[name].columns)) for name in _OWN_TABLES),
            ("findings", list(_FINDING_COLUMNS)),
        )
    }
    return AthleteSlice(facts, **frames)


def _allowed(minor: bool) -> set[str]:  # noqa: FBT001  # a fact of the athlete
    """Measures an athlete's slice may hold; a minor's tells no strength for body mass."""
    return {
        record.key
        for record in registry.MEASURES.values()
        if not (record.staff_only or (minor and record.for_adults))
    }


def _decimals(name: str, frame: pd.DataFrame) -> list[int] | None:
    return registry.decimals(frame) if name in ("results", "changes") else None


def _records(frame: pd.DataFrame) -> Sequence[dict[str, Any]]:
    return [
        {str(key): _plain(value) for key, value in row.items()} for row in frame.to_dict("records")
    ]


def _plain(value: Any) -> Any:
    """A value that JSON holds: no NaN, no numpy."""
    if value is pd.NA or (isinstance(value, float) and np.isnan(value)):
        return None
    return value.item() if isinstance(value, np.generic) else value


def _write_json(path: Path, content: Mapping[str, Any]) -> None:
    marked = {"schema_version": tables.SCHEMA_VERSION, **content}
    text = json.dumps(marked, indent=1, ensure_ascii=False, allow_nan=False)
    path.write_bytes((text + "\n").encode())


def _read_json(path: Path) -> dict[str, Any]:
    try:
        content: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise CannotStartError(
            f"There is no {path.name} to read: build the day first (testing-reports build SEASON)."
        ) from error
    except ValueError as error:
        raise CannotStartError(f"{path.name} cannot be read; build the day again.") from error
    if not isinstance(content, dict) or "schema_version" not in content:
        raise CannotStartError(f"{path.name} is no data of a built day; build the day again.")
    if content["schema_version"] > tables.SCHEMA_VERSION:
        raise CannotStartError(
            f"{path.name} was written by a newer version of this tool; update the tool to read it."
        )
    return content
