"""What an athlete reads of the own phases, targets and choices: words, tables, one small drawing.

Nothing is judged here. Only a gap for the athlete's own time is said to stand out; beside others a
phase is one to look at, no more. No sentence ranks anybody or says what to train.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import ROUND_FLOOR, Decimal
from typing import Any

import pandas as pd

from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import key_fields
from pipeline.report import charts, wording
from pipeline.report.blocks import (
    NUMBER,
    TEXT,
    VERDICT,
    Block,
    Bullets,
    Heading,
    Prose,
    Section,
    Table,
)
from pipeline.report.facts import TWO_LINES, Report, ends_in_words, label_of, stretch
from pipeline.report.saying import said
from pipeline.report.wording import say
from pipeline.tables import (
    BALANCED,
    LATE,
    MOST_TO_GAIN,
    OF_PHASE,
    PUBLISHED_LINE,
    REACHED,
    STANDS_OUT,
    SUGGESTED,
    TOO_THIN,
)

_TIME = MEASURES["phase_time"]


def _held(report: Report, test: str) -> list[dict[str, Any]]:
    """The phases of a sprint in the order they are run; missing figures are NaN."""
    rows = report.phases[report.phases["test"] == test].sort_values("from_m", kind="stable")
    return [
        {str(name): math.nan if value is None else value for name, value in row.items()}
        for row in rows.to_dict("records")
    ]


def _states(report: Report) -> list[dict[str, Any]]:
    """What is said of each sprint, in the battery's order."""
    order = list(report.facts["tests"])
    return sorted(report.facts["athlete"]["phase_states"], key=lambda one: order.index(one["test"]))


def _time(seconds: float) -> str:
    return wording.value(seconds, _TIME)


def _span(low: float, high: float) -> str:
    """Two ends with one unit."""
    ends = (wording.number(end, _TIME.decimals) for end in (low, high))
    return say("interval", **dict(zip(("low", "high"), ends, strict=True))) + f" {_TIME.unit}"


def _runs(count: int) -> str:
    """What a time rests on, in words."""
    key = {1: "runs one", 2: "runs both"}.get(count, "runs many")
    return say(key, count=count)


# --- the first page -----------------------------------------------------------------------------


def next_tenth(report: Report) -> Section:
    """Where the main sprint may hold more, and what is talked about next."""
    lead = say("next lead")
    state = next((one for one in _states(report) if one["main"]), None)
    if state is None:
        ran = bool(report.tests("sprint"))
        return Section.of(Prose(say("next none gates" if ran else "next none"), lead=lead))
    told = _told(report, state)
    talk = _talk(report, state["test"])
    again = say("next again")
    if not talk:
        return Section.of(Prose(" ".join([*told, again]), lead=lead))
    return Section.of(
        Prose(" ".join(told), lead=lead),
        Prose(" ".join([*talk, again]), lead=say("next talk lead")),
    )


def _told(report: Report, state: dict[str, Any]) -> list[str]:
    """What is said of the sprint, a sentence or two for each phase that is named."""
    if state["state"] == TOO_THIN:
        whys = _too_thin(report, state)
        helps = dict.fromkeys(say(f"thin help {key}") for key, _ in whys)
        return [say("next thin", why=wording.listed([why for _, why in whys])), *helps]
    if state["state"] == BALANCED:
        if state["reference"]:
            return [say("next balanced", test=state["test"])]
        return [say("next balanced group", test=state["test"], others=_others(state))]
    rows = [row for row in _held(report, state["test"]) if row["finding"] == state["state"]]
    told = [sentence for row in rows for sentence in _of_phase(state, row)]
    return [*told, say("next hint")] if state["hint"] else told


def _of_phase(state: dict[str, Any], row: dict[str, Any]) -> Iterator[str]:
    place = {
        "phase": ends_in_words(row),
        "test": state["test"],
        "time": say(
            "next time one" if state["runs"] == 1 else "next time",
            time=_time(row["time"]),
            runs=_runs(state["runs"]),
        ),
    }
    like = say(f"like {state['reference']}", test=state["test"]) if state["reference"] else ""
    if row["finding"] == STANDS_OUT:
        yield say("next out", **place)
        span = _usual_below(row)
        if span:
            yield say("next usual", like=like, span=span)
        else:
            yield say("next about", like=like, expected=_time(row["expected"]))
        yield say("next cost", cost=_time(row["own_gap"]), span=_span(row["low"], row["high"]))
        return
    yield say("next most", **place)
    if like:
        yield say("next about", like=like, expected=_time(row["expected"]))
        if row["low"] <= 0:
            yield say("next within")
    else:
        yield say("next mean", others=_others(state), mean=_time(row["group_reference"]))
        yield say("next beside")


def _usual_below(row: dict[str, Any]) -> str:
    """The usual times, their slow end cut down so that it never looks reached by a time beyond it.

    Nothing where two decimals cannot part the time from that end.
    """
    step = Decimal(1).scaleb(-_TIME.decimals)
    high = float(Decimal(repr(float(row["usual_high"]))).quantize(step, ROUND_FLOOR))
    if wording.number(high, _TIME.decimals) == wording.number(row["time"], _TIME.decimals):
        return ""
    return _span(row["usual_low"], high)


def _others(state: dict[str, Any]) -> str:
    return say(f"beside {state['group']}", n=state["group_people"])


def _too_thin(report: Report, state: dict[str, Any]) -> list[tuple[str, str]]:
    """Why nothing can be said, each with its key: one run, a gate missed, nobody alike."""
    whys = []
    if state["runs"] == 1:
        times = report.of("time", state["test"])["n_attempts"]
        timed = int(times.max()) if len(times) else 1
        key = "gate" if timed > 1 else "one"
        whys.append((key, say(f"thin why {key}", test=state["test"], count=timed)))
    if not state["reference"] and not state["group"]:
        reason = state["reason"]
        whys.append((reason, say(f"thin why {reason}", test=state["test"])))
    return whys


def _talk(report: Report, test: str) -> list[str]:
    """What the coach will, or may, talk about; never what to do."""
    own = [one for one in report.facts["athlete"]["proposals"] if one["test"] == test]
    sure = dict.fromkeys(one["talk"] for one in own if one["says"] == SUGGESTED and one["talk"])
    named = {row["phase"]: stretch(row) for row in _held(report, test)}
    suggested = {one["phase"] for one in own if one["says"] == SUGGESTED and one["talk"]}
    maybe = dict.fromkeys(named[one["phase"]] for one in own if one["phase"] not in suggested)
    told = []
    if sure:
        told.append(say("next talk", talk=wording.listed(list(sure))))
    if maybe:
        told.append(say("next maybe", phases=wording.listed(list(maybe))))
    return told


# --- the working page ---------------------------------------------------------------------------


def time_goes(report: Report) -> Section:
    """Each sprint's phases beside what is usual at the athlete's own time, and the others' mean."""
    states = _states(report)
    if not states:
        return Section.of(Prose(say("where none")))
    lead = [Prose(say("where lead"))] if any(one["reference"] for one in states) else []
    return Section.of(lead, *(_sprint(report, state) for state in states))


def _sprint(report: Report, state: dict[str, Any]) -> Iterator[Block]:
    rows = _held(report, state["test"])
    yield Heading(state["test"])
    several = len(report.runs(state["test"])) > 1
    how = wording.conditions(key_fields(state["conditions"])) if several else ""
    rests = say("where run how" if how else "where runs", runs=_runs(state["runs"]), how=how)
    told = [rests, *_line(state), _group(report, state)]
    if not (state["reference"] or state["group"]):
        yield Prose(" ".join([*told, say("where nothing")]))
        return
    yield Prose(" ".join(told))
    yield _table(state, rows)
    if state["reference"]:
        yield _drawing(state, rows)


def _line(state: dict[str, Any]) -> Iterator[str]:
    """Which line is in use and how far it reaches, or why none is."""
    if not state["reference"]:
        counts = {"sprints": state["sprints"], "people": state["people"]}
        why = say(f"thin why {state['reason']}", test=state["test"])
        yield say("where no line", why=why, **counts)
        return
    listed = say("where listed", n=state["listed_people"]) if state["listed_people"] else ""
    yield say(
        f"where line {state['reference']}",
        sprints=state["sprints"],
        people=state["people"],
        listed=listed if state["reference"] != PUBLISHED_LINE else "",
    )
    yield say("where z", z=wording.number(state["z_used"], 2))


def _group(report: Report, state: dict[str, Any]) -> str:
    if state["group"]:
        return say("where group", others=_others(state))
    return say("where no group young" if report.facts["athlete"]["minor"] else "where no group")


def _table(state: dict[str, Any], rows: list[dict[str, Any]]) -> Block:
    columns: dict[str, list[str]] = {
        "col phase": [wording.capital(stretch(row)) for row in rows],
        "col your time": [_time(row["time"]) for row in rows],
    }
    if state["reference"]:
        columns["col usual"] = [_span(row["usual_low"], row["usual_high"]) for row in rows]
        columns["col cost"] = [
            say(TWO_LINES, value=_signed(row["own_gap"]), date=_signed_span(row)) for row in rows
        ]
    if state["group"]:
        columns["col others mean"] = [_time(row["group_reference"]) for row in rows]
    columns["col verdict"] = [_verdict(state, row) for row in rows]
    key = "where caption usual" if state["reference"] else "where caption"
    caption = say(key, test=state["test"])
    kinds = [TEXT, *[NUMBER] * (len(columns) - 2), VERDICT]
    cells = [list(row) for row in zip(*columns.values(), strict=True)]
    return Table(caption, [say(name) for name in columns], cells, kinds)


def _signed(seconds: float) -> str:
    return f"{wording.signed_number(seconds, _TIME.decimals)} {_TIME.unit}"


def _signed_span(row: dict[str, Any]) -> str:
    low, high = (wording.signed_number(row[end], _TIME.decimals) for end in ("low", "high"))
    return say("interval", low=low, high=high)


def _verdict(state: dict[str, Any], row: dict[str, Any]) -> str:
    """What can be said of one phase."""
    if row["finding"] == STANDS_OUT:
        return say("phase out")
    if row["finding"] == MOST_TO_GAIN:
        if state["hint"]:
            return say("phase hint")
        return say("phase most" if state["reference"] else "phase most group")
    if state["runs"] == 1:
        return say("phase one")
    if state["reference"]:
        return say("phase quicker" if row["high"] < 0 else "phase usual")
    return _beside_others(state, row)


def _beside_others(state: dict[str, Any], row: dict[str, Any]) -> str:
    """A phase in which nothing was found, beside the others' mean."""
    if row["group_gap"] < 10.0**-_TIME.decimals / 2:
        return say("phase not slower")
    return say("phase slower less" if state["state"] == MOST_TO_GAIN else "phase slower")


def _drawing(state: dict[str, Any], rows: list[dict[str, Any]]) -> Block:
    costs = [
        charts.Cost(
            label=say(
                "before lines",
                value=ends_in_words(row),
                date=row["phase"].replace(" and ", " and\n"),
            ),
            cost=row["own_gap"],
            low=row["low"],
            high=row["high"],
            shown=_short(state, row),
            marker=_MARKERS[row["finding"]],
            found=bool(row["finding"]),
        )
        for row in rows
    ]
    told = "; ".join(
        say("cost alt one", phase=stretch(row), cost=_signed(row["own_gap"]),
            span=_signed_span(row), word=_short(state, row))
        for row in rows
    )  # fmt: skip
    words = {
        "x": say("axis cost"),
        "caption": say("cost caption", test=state["test"]),
        "alt": say("cost alt", test=state["test"], phases=told),
    }
    return charts.cost_by_phase(f"cost {state['test']}", costs, words)


_MARKERS = {STANDS_OUT: "s", MOST_TO_GAIN: "D", "": "o"}


def _short(state: dict[str, Any], row: dict[str, Any]) -> str:
    """What stands at a mark: the finding, or what can be said without one."""
    if state["runs"] == 1:
        return say("mark hint" if row["finding"] else "mark one")
    return str(row["finding"]) or _verdict(state, row)


# --- targets ------------------------------------------------------------------------------------


def targets(report: Report) -> Section:
    """Where the athlete stands against each target, and how a target time usually looks."""
    rows = report.targets.to_dict("records")
    if not rows:
        return Section.of(Prose(say("targets none")))
    kinds = [TEXT, *[NUMBER] * 4, VERDICT]
    names = ("col target", "col now", "col to go", "col a term", "col best term", "col state")
    columns = [say(name) for name in names]
    table = Table(say("targets caption"), columns, [_target(report, row) for row in rows], kinds)
    return Section.of(
        Prose(say("targets lead")),
        table,
        _ended(report, rows),
        _at_targets(report),
    )


def _target(report: Report, row: Any) -> list[str]:
    record = report.record(row)
    aim = say("target is", label=_aim(row), value=wording.value(row["target"], record))
    left = math.nan if row["state"] == REACHED else row["gap"]
    return [
        say("target by", target=aim, date=wording.short_date(row["by"])) if row["by"] else aim,
        _now(report, row),
        wording.NOTHING if pd.isna(left) else wording.value(left, record),
        wording.NOTHING
        if pd.isna(row["needed_per_term"])
        else say(
            "target needs one" if row["terms_left"] == 1 else "target needs",
            value=wording.value(row["needed_per_term"], record),
            terms=int(row["terms_left"]),
        ),
        wording.NOTHING
        if pd.isna(row["best_term"])
        else say(
            "target best",
            value=wording.value(row["best_term"], record),
            then=wording.month(row["best_from"]),
            now=wording.month(row["best_to"]),
        ),
        say(f"target state {row['state']}"),
    ]


def _aim(row: Any) -> str:
    """What is aimed at, without the conditions of the last value."""
    return wording.capital(label_of({**row, "conditions": "", "part": row["part"] or ""}))


def _now(report: Report, row: Any) -> str:
    """The last value, with its day where that is an earlier one."""
    if pd.isna(row["now"]):
        return wording.NOTHING
    value = wording.value(row["now"], report.record(row))
    if row["now_day"] == report.day:
        return value
    return say(TWO_LINES, value=value, date=wording.short_date(row["now_day"]))


def _ended(report: Report, rows: list[Any]) -> Iterator[Block]:
    """A sentence for the targets that are reached, and one for those whose date has passed."""
    for state, key in ((REACHED, "targets reached"), (LATE, "targets late")):
        named = [
            say(
                "target named",
                label=_aim(row),
                value=wording.value(row["target"], report.record(row)),
            )
            for row in rows
            if row["state"] == state
        ]
        if named:
            yield Prose(say(key, marks=wording.listed(named)))


def _at_targets(report: Report) -> Iterator[Block]:
    """How the phases usually look in runners of a target time, beside the athlete's own."""
    own = pd.DataFrame(report.facts["athlete"]["target_phases"])
    if own.empty:
        return
    for _, phases in own.groupby(["test", "target"], sort=False):
        test, target = str(phases["test"].iloc[0]), float(phases["target"].iloc[0])
        rows = [
            [
                wording.capital(stretch(row)),
                _time(row["now"]),
                _time(row["then"]),
                _signed(row["now"] - row["then"]),
            ]
            for row in phases.to_dict("records")
        ]
        goal = wording.value(target, MEASURES["time"])
        columns = [say(c) for c in ("col phase", "col now", "col then", "col to find")]
        yield Prose(say("at target lead", test=test, target=goal))
        if phases["then"].sum() < target - 10.0**-_TIME.decimals / 2:
            yield Prose(say("at target reaction"))
        caption = say("at target caption", test=test, target=goal)
        yield Table(caption, columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


# --- what was chosen ----------------------------------------------------------------------------


def chosen(report: Report) -> Section:
    """Each choice since the last day, beside what its phase and its measures then did."""
    if report.plan.empty:
        return Section.of(Prose(say("chosen none")))
    kept = ["chosen", "sprint_phase", "emphasis"]
    return Section.of(
        *(
            _choice(report, [str(part) for part in key], rows.to_dict("records"))
            for key, rows in report.plan.groupby(kept, sort=True, dropna=False)
        )
    )


def _choice(report: Report, key: list[str], rows: list[Any]) -> Iterator[Block]:
    day, phase, emphasis = key
    aim = say("chosen both", phase=phase, emphasis=emphasis) if phase and emphasis else ""
    yield Prose(say("chosen", date=wording.short_date(day), aim=aim or phase or emphasis))
    beside = [(row, report.change(row)) for row in rows if row["measure"]]
    items = [
        say("chosen beside", label=_beside(row), date=wording.short_date(row["from_day"]),
            verdict=said(change, report.record(row)))
        for row, change in beside
        if change is not None
    ]  # fmt: skip
    items += [say(f"chosen why {row['reason']}") for row in rows if not row["measure"]]
    yield Bullets(items)
    if any(row["verdict"] for row, _ in beside):
        yield Prose(say("chosen no proof"))


def _beside(row: Any) -> str:
    label = wording.capital(label_of(row))
    return say("of the sprint", phase=label, test=row["test"]) if row["kind"] == OF_PHASE else label
