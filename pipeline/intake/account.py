"""The account: every input row is used, flagged or set aside, and their sum is checked.

Rows are counted a second time, straight from the file and by other means than the reader
(``second_count``), so that a row the reader lost shows up as a difference.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import pandas as pd

from pipeline import tables
from pipeline.catalogue import CATALOGUE, Severity
from pipeline.errors import Finding, Place, finding
from pipeline.intake.files import UnreadableError
from pipeline.intake.readers import RowMark
from pipeline.intake.second_count import count_rows
from pipeline.measures.spec import USED, Trials


def account(
    season: Path, rows: Iterable[RowMark], findings: Iterable[Finding], trials: Trials
) -> tuple[pd.DataFrame, list[Finding]]:
    """One line for each sheet: ``rows`` = ``used`` + ``flagged`` + ``set_aside``.

    A row is *set aside* when an error kept all of it out or when it holds no result, *flagged* when
    it was used but a warning or an error touches it, else *used*.

    Returns:
        The table, with ``rows`` from the second count, and a finding wherever the two differ.
    """
    worst: dict[tuple[str, str, int], Severity] = {}
    for one in findings:
        weight = Severity.ERROR if CATALOGUE[one.code].no_result else one.severity
        if one.place.row is not None and weight is not Severity.NOTE:
            place = (one.place.file, one.place.sheet, one.place.row)
            worst[place] = min(worst.get(place, weight), weight, key=lambda s: s.rank)
    alive = _rows_alive(trials)
    states: dict[tuple[str, str], Counter[str]] = {}
    for mark in rows:
        place = (mark.file, mark.sheet, mark.row)
        severity = worst.get(place)
        state = "used" if severity is None else "flagged"
        if severity is Severity.ERROR and place not in alive:
            state = "set_aside"
        counts = states.setdefault((mark.file, mark.sheet), Counter())
        counts[state] += mark.row > 0
    counts_of = {file: _counted(season / file) for file, _ in states}
    lines: list[dict[str, object]] = []
    differing: list[Finding] = []
    for (file, sheet), counts in states.items():
        counted = counts_of[file].get(sheet, 0)
        read = sum(counts.values())
        if counted != read:
            differing.append(finding("rows-lost", Place(file, sheet), counted=counted, read=read))
        lines.append({"file": file, "sheet": sheet, "rows": counted, **_states(counts)})
    columns = list(tables.SCHEMAS["account"].columns)
    return tables.shape("account", pd.DataFrame(lines, columns=columns)), differing


def _counted(path: Path) -> dict[str, int]:
    """The second count; nothing for a file that has become unreadable since it was read."""
    try:
        return count_rows(path)
    except UnreadableError:
        return {}


def _states(counts: Counter[str]) -> dict[str, int]:
    return {state: counts[state] for state in ("used", "flagged", "set_aside")}


def _rows_alive(trials: Trials) -> set[tuple[str, str, int]]:
    """Rows of which at least one value is used."""
    used = trials.values[(trials.values["status"] == USED) & trials.values["resolution"].notna()]
    places = (Place.last_of(source) for source in used["source"])
    return {(p.file, p.sheet, p.row) for p in places if p.row is not None}
