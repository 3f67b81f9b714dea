"""What changed between two builds of one day: inputs, corrections, results.

A rebuild of the same inputs says what the build before it said, so that it gives the same bytes:
what is told is always the difference to the last build whose inputs were others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path, PurePosixPath
from typing import Any

import pandas as pd

from pipeline import tables
from pipeline.errors import CannotStartError
from pipeline.publish import manifest

INPUTS, TOOLS, CORRECTIONS, RESULTS = "inputs", "tools", "corrections", "results"
_MADE_BY = ("templates", "versions")
_SAME_RESULT = ["athlete_id", "test", "part", "measure", "conditions", "basis", "session"]
SIGNED = ("cell-corrected", "cell-excluded", "row-excluded", "finding-accepted")
"""Codes of findings that are a correction in force."""


def last_build(
    folder: Path, begun: Mapping[str, Any], now: Mapping[str, pd.DataFrame], known: Iterable[str]
) -> dict[str, Any]:
    """What changed since the last build that differed; empty where there is none.

    Args:
        folder: the day's folder of the last build; may be absent or none of ours.
        begun: the manifest of this build, as far as it is written.
        now: this build's tables.
        known: ids that may be named; results of others are counted only.
    """
    try:
        before = manifest.read(folder)
        parts = {part: dict(before[part]) for part in (INPUTS, *_MADE_BY)}
        told = dict(before.get("since", {}))
    except (CannotStartError, KeyError, TypeError, ValueError):
        return {}
    if all(parts[part] == begun[part] for part in parts):
        return told
    tools = [part for part in _MADE_BY if parts[part] != begun[part]]
    return {
        INPUTS: _inputs(parts[INPUTS], begun[INPUTS]),
        TOOLS: tools,
        CORRECTIONS: _corrections(_table(folder, "findings"), now["findings"]),
        RESULTS: _results(
            _table(folder, "results"), now["results"], begun["parameters"]["day"], set(known)
        ),
    }


def _table(folder: Path, name: str) -> pd.DataFrame | None:
    """A table of the last build; none where it cannot be read any more."""
    try:
        return tables.from_csv(name, (folder / "data" / f"{name}.csv").read_bytes())
    except (CannotStartError, OSError, ValueError):
        return None


def _inputs(before: Mapping[str, str], now: Mapping[str, str]) -> dict[str, Any]:
    """Files changed, new, and how many are gone from each folder: a name may be somebody's."""
    gone = Counter(str(PurePosixPath(name).parent) for name in before.keys() - now.keys())
    return {
        "changed": sorted(n for n in before.keys() & now.keys() if before[n] != now[n]),
        "new": sorted(now.keys() - before.keys()),
        "gone": dict(sorted(gone.items())),
    }


def _corrections(before: pd.DataFrame | None, now: pd.DataFrame) -> list[dict[str, Any]]:
    """Corrections in force that were not before."""
    columns = ["code", "file", "sheet", "row", "column", "message"]
    signed = now[now["code"].isin(SIGNED)][columns]
    old = set() if before is None else set(before[columns].itertuples(index=False, name=None))
    fresh = (row for row in signed.itertuples(index=False, name=None) if row not in old)
    return [
        {"code": code, "file": file, "sheet": sheet, "row": int(row), "column": column}
        for code, file, sheet, row, column, _ in fresh
    ]


def _results(
    before: pd.DataFrame | None, now: pd.DataFrame, day: str, known: set[str]
) -> dict[str, Any]:
    """The day's results that are new, gone or others; those of people not known are counted."""
    if before is None:
        return {"compared": False}
    old, new = (t[t["day"] == day].set_index(_SAME_RESULT)["value"] for t in (before, now))
    both = pd.concat({"before": old, "after": new}, axis=1, join="outer")
    both = both[(both["before"] != both["after"]) & both.notna().any(axis=1)].sort_index()
    rows = both.reset_index()
    mine = rows["athlete_id"].isin(sorted(known))
    return {
        "compared": True,
        "changed": [
            {str(k): None if pd.isna(v) else v for k, v in row.items()}
            for row in rows[mine].to_dict("records")
        ],
        "others": int((~mine).sum()),
    }
