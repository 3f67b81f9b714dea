"""What changed since the last build, in words: for the day's index, which is the staff's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pipeline.bundle import DayBundle
from pipeline.report import testing_day, wording
from pipeline.report.facts import label_in_test, record_in
from pipeline.report.wording import say

LISTED = 40
"""Results named one by one; more are counted."""


def lines(since: Mapping[str, Any], day: DayBundle) -> list[str]:
    """A line for each file, correction and result that changed; none without a build before."""
    if not since:
        return []
    return [
        *_inputs(since["inputs"]),
        *(say(f"since {part}") for part in since["tools"]),
        *(
            say("since correction", code=one["code"], where=testing_day.where(one))
            for one in since["corrections"]
        ),
        *_results(since["results"], day),
    ]


def _inputs(inputs: Mapping[str, Any]) -> Iterator[str]:
    for state in ("changed", "new"):
        for file in inputs[state]:
            yield say(f"since {state}", file=file)
    for folder, count in inputs["gone"].items():
        yield say("since gone", folder=folder, count=count)


def _results(results: Mapping[str, Any], day: DayBundle) -> Iterator[str]:
    if not results["compared"]:
        yield say("since not compared")
        return
    changed = results["changed"]
    if not changed and not results["others"]:
        yield say("since same results")
    for row in changed[:LISTED]:
        record = record_in(day.day["tests"], row)
        before, after = (
            wording.NOTHING if row[end] is None else wording.value(row[end], record)
            for end in ("before", "after")
        )
        label = label_in_test(row)
        yield say(
            "since result", athlete_id=row["athlete_id"], label=label, before=before, after=after
        )
    if len(changed) > LISTED:
        yield say("since more", count=len(changed) - LISTED)
    if results["others"]:
        yield say("since others", count=results["others"])
