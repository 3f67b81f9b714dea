"""The working page of force traces: heights two ways, forces, and each trace as a drawing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pipeline.measures.force_traces import DROP_JUMP, ISOMETRIC, JUMP
from pipeline.measures.registry import MEASURES
from pipeline.report import charts, wording
from pipeline.report.blocks import FIGURE, NUMBER, TEXT, Chart, Prose, Section, Table
from pipeline.report.facts import TWO_LINES, Report, flags_of, table_row
from pipeline.report.wording import say

DRAWN = 2
"""Drawings of one report: the first test of each kind, and no more kinds than this."""

_LEADS = {
    JUMP: "flight_jump_height",
    DROP_JUMP: "plate_contact_time",
    ISOMETRIC: "peak_relative_force",
}
"""The measure every trace of a kind has: one row of a table for each of its results."""

TABLES = (
    (
        "heights",
        (JUMP,),
        ("impulse_jump_height", "flight_jump_height", "time_to_takeoff", "rsi_modified"),
    ),
    (
        "drops",
        (DROP_JUMP,),
        ("drop_height_real", "plate_contact_time", "flight_jump_height", "peak_relative_force"),
    ),
    ("forces", (JUMP, ISOMETRIC), ("peak_relative_force", "rate_of_force", "strength_index")),
)
"""Each table: its name, whose rows it has, its measures; the value before is the first one's."""


def traces(report: Report) -> Section:
    """Heights, drop jumps and forces as tables; the best trace of the first tests is drawn."""
    rows = {kind: _rows(report, kind, lead) for kind, lead in _LEADS.items()}
    blocks: list[Prose | Table] = []
    for name, kinds, keys in TABLES:
        own = [row for kind in kinds for row in rows[kind]]
        if own:
            blocks += [*_sentences(report, name, own), _table(report, name, own, keys)]
    if not blocks:
        return Section.of(Prose(say("traces none")))
    drawn = [chart for own in rows.values() for row in own[:1] for chart in _charts(report, row)]
    return Section.of(Prose(say("traces lead")), blocks, drawn[:DRAWN])


def _rows(report: Report, kind: str, lead: str) -> list[Any]:
    return [row for test in report.tests(kind) for row in report.of(lead, test).to_dict("records")]


def _table(report: Report, name: str, rows: list[Any], keys: tuple[str, ...]) -> Table:
    cells = [
        [
            _name(row),
            _cell(report, row, keys[0]),
            table_row(report, _first(report, row, keys[0]) or row, TWO_LINES)[1],
            *(_cell(report, row, key) for key in keys[1:]),
        ]
        for row in rows
    ]
    columns = [
        "col test", f"traces col {keys[0]}", "col before", *(f"traces col {k}" for k in keys[1:])
    ]  # fmt: skip
    kinds = [TEXT, FIGURE, NUMBER, *[FIGURE] * (len(keys) - 1)]
    return Table(say(f"traces caption {name}"), [say(c) for c in columns], cells, kinds)


def _name(row: Any) -> str:
    part = f", {row['part']}" if row["part"] else ""
    flags = "".join(f" ({flag})" for flag in flags_of(row["flags"]))
    return f"{wording.capital(row['test'])}{part}{flags}"


def _same(report: Report, row: Any, key: str) -> Iterator[Any]:
    """The day's results of a measure from the same trace; a ratio by the test alone."""
    for other in report.of(key, row["test"]).to_dict("records"):
        if key == "strength_index" or other["source"] == row["source"]:
            yield other


def _first(report: Report, row: Any, key: str) -> Any | None:
    return next(_same(report, row, key), None)


_UNIT_IN_HEADING = ("peak_relative_force", "rate_of_force")


def _cell(report: Report, row: Any, key: str) -> str:
    """A value; rates of force with their windows, one below the other."""
    record = MEASURES[key]
    told = []
    for found in _same(report, row, key):
        shown = wording.value(found["value"], record, found["resolution"])
        if key in _UNIT_IN_HEADING:
            shown = wording.number(found["value"], wording.digits(record, found["resolution"]))
        if key == "rate_of_force":
            shown = say("traces window", value=shown, window=_window(found["part"]))
        told.append(shown)
    return "\n".join(told) or wording.NOTHING


def _window(part: str) -> str:
    return wording.dashed(part.rpartition(", ")[2])


def _sentences(report: Report, name: str, rows: list[Any]) -> list[Prose]:
    """What a table cannot say by itself: of the two drop heights, of the ratio of forces."""
    if name == "drops":
        return [Prose(say("traces drop"))]
    ratios = [r for row in rows for r in _same(report, row, "strength_index")]
    told = dict.fromkeys(say("traces index", jump=r["part"], isometric=r["test"]) for r in ratios)
    return [Prose(" ".join(told))] if name == "forces" and told else []


def _charts(report: Report, row: Any) -> Iterator[Chart]:
    """The drawing of the trace a result came from."""
    for trace in report.facts["traces"]:
        if trace["source"] == row["source"]:
            yield _chart(trace, _name(row))


PHASES = {
    JUMP: (
        ("unweighting", "onset", "lowest"),
        ("braking", "lowest", "turn"),
        ("propulsion", "turn", "takeoff"),
        ("flight", "takeoff", "landing"),
        ("landing", "landing", "rest"),
    ),
    DROP_JUMP: (("contact", "onset", "takeoff"), ("flight", "takeoff", "landing")),
    ISOMETRIC: (),
}


def _chart(trace: Any, name: str) -> Chart:
    moments = trace["moments"]
    phases = [
        (say(f"traces phase {word}"), moments[begin], moments[end])
        for word, begin, end in PHASES[trace["kind"]]
        if begin in moments and end in moments and moments[end] > moments[begin]
    ]
    marks = [
        (
            say(f"traces moment {trace['kind']} {key}", seconds=wording.number(moments[key], 2)),
            moments[key],
        )
        for key in ("onset", "takeoff", "landing")
        if key in moments
    ]
    told = wording.listed([text for text, _ in marks])
    return charts.force_by_time(
        f"force {trace['source']}",
        charts.Force(trace["times"], trace["force"], phases, [at for _, at in marks]),
        {
            "x": say(f"traces axis {trace['kind']}"),
            "y": say("axis force"),
            "weight": say("body weight line"),
            "caption": say("force chart", name=name, moments=told),
            "alt": say(
                "force chart alt",
                name=name,
                peak=wording.number(max(trace["force"]), 1),
                phases=", ".join(
                    say("force phase", name=word, seconds=wording.number(end - begin, 2))
                    for word, begin, end in phases
                )
                or say("force phases none"),
            ),
        },
    )
