"""The working pages of a sprint: phases, gates, curve, steps and angles."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from pipeline.measures import air
from pipeline.measures.model import DECAYING, FEWEST
from pipeline.measures.phases import FROM_GUN
from pipeline.measures.registry import MEASURES
from pipeline.measures.spec import key_fields
from pipeline.measures.velocity import STILL_RISING, WINDOW_M
from pipeline.report import charts, wording
from pipeline.report.blocks import NUMBER, TEXT, Block, Heading, Prose, Section, Table
from pipeline.report.facts import (
    Report,
    Run,
    attempts,
    ends_of,
    flags_of,
    in_run_order,
    label_of,
    table_row,
)
from pipeline.report.wording import say


def sprint(report: Report) -> Section:
    """Phases, gates, top speed and the chart of speed by distance, test by test."""
    tests = report.tests("sprint")
    flying, repeated = report.tests("flying"), report.tests("repeated")
    if not (tests or flying or repeated):
        return Section.of(Prose(say("sprint none")))
    runs = [run for test in tests for run in report.runs(test)]
    blocks: list[Block] = [block for run in runs for block in _run(report, run, runs)]
    if flying:
        blocks += [Heading(say("flying heading")), _flying_table(report, flying)]
    if repeated:
        blocks += [Heading(say("repeats heading")), Prose(say("repeats lead"))]
        blocks += [_repeats_table(run) for test in repeated for run in report.runs(test)]
    return Section.of(blocks)


def _repeats_table(run: Run) -> Block:
    keys = ("best_time", "mean_time", "last_time", "repeat_decrement")
    parts = {key: run.by_part(key) for key in keys}
    rows = []
    for row in run.of("best_time").to_dict("records"):
        name = ", ".join([run.test, row["part"] or say("whole set"), *flags_of(row["flags"])])
        values = (parts[key].get(row["part"], float("nan")) for key in keys)
        rows.append(
            [name, *(wording.value(v, MEASURES[k]) for k, v in zip(keys, values, strict=True))]
        )
    columns = [say(c) for c in ("col set", "col set best", "col mean", "col last", "col decrement")]
    return Table(say("repeats caption"), columns, rows, [TEXT, *[NUMBER] * 4])


def _flying_table(report: Report, tests: list[str]) -> Block:
    rows = [
        [*table_row(report, row)[:3], wording.value(time["value"], MEASURES["time"])]
        for test in tests
        for row, time in zip(
            report.of("speed", test).to_dict("records"),
            report.of("time", test).to_dict("records"),
            strict=True,
        )
    ]
    columns = [say(c) for c in ("col test", "col before", "col now", "col time")]
    return Table(say("flying caption"), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _run(report: Report, run: Run, runs: list[Run]) -> Iterator[Block]:
    """One sprint under one set of conditions, all from the same whole run."""
    several = sum(other.test == run.test for other in runs) > 1
    words = wording.capital(wording.conditions(key_fields(run.base)))
    yield Heading(say("run heading", test=run.test, conditions=words) if several else run.test)
    between = run.of("segment_time")
    if between.empty:
        return
    count = attempts(int(between.iloc[0]["n_attempts"]))
    if run.of("time").empty:
        count = say("unfinished")
    key = "sprint conditions" if words else "sprint conditions none"
    yield Prose(say(key, count=count, conditions=words))
    if len(between) > 1:
        yield _phase_table(run)
    sentences = [
        *_bend(report, run),
        *_another_run(run),
        *_joined(report, run),
        *_reaction(run),
        *_top_speed(run),
        *_still_air(run),
    ]
    if sentences:
        yield Prose(" ".join(sentences))
    if len(between) > 1:
        yield _gate_table(run)
        yield _speed_chart(report, run)
    yield from _model(run)


_TWO_BENDS_M = 200


def _bend(report: Report, run: Run) -> list[str]:
    """Where bend and straight lie in an outdoor 200 m."""
    whole = report.facts["tests"][run.test]["distance_m"]
    outdoors = key_fields(run.base).get("indoor") == "no"
    return [say("bend")] if whole == _TWO_BENDS_M and outdoors else []


def _another_run(run: Run) -> list[str]:
    """Whether the best time is of another run, one that lacked a gate."""
    best, whole = (set(run.of(key)["attempt"].dropna()) for key in ("time", "segment_time"))
    return [say("another run")] if best and whole and best != whole else []


def _joined(report: Report, run: Run) -> list[str]:
    """Whether phases stand as one because a gate gave no time."""
    parts = run.of("phase_time")["part"]
    planned = set(report.facts["joined_phases"])
    return (
        [say("joined")]
        if any(" and " in part and part.removesuffix(FROM_GUN) not in planned for part in parts)
        else []
    )


def _still_air(run: Run) -> list[str]:
    times = run.of("time_still_air")["value"].head(1)
    record = MEASURES["time_still_air"]
    model = air.MODEL_200 if run.test.startswith("200") else air.MODEL
    return [
        say("still air", value=wording.value(v, record), model=model, caution=air.CAUTION)
        for v in times
    ]


def _model(run: Run) -> Iterator[Block]:
    """What the fitted curve says, and the impulse of each phase on it."""
    tops = run.of("model_top_speed")
    if tops.empty:
        if len(run.of("split_time")) >= FEWEST:
            yield Prose(say("model none"))
        return
    top = tops.iloc[0]
    record = MEASURES["model_top_speed"]
    interval = ""
    if top["low"] < top["value"]:
        low, high = (wording.number(top[end], record.decimals) for end in ("low", "high"))
        interval = say("model interval", low=low, high=high)

    def shown(key: str) -> str:
        values = run.of(key)["value"]
        return wording.value(values.iloc[0] if len(values) else float("nan"), MEASURES[key])

    yield Heading(say("model heading", test=run.test))
    sentences = [
        say(
            "model sentence",
            top=wording.value(top["value"], record),
            interval=interval,
            rms=shown("model_rms"),
            near=shown("model_near_top_at"),
        )
    ]
    if DECAYING in top["flags"]:
        sentences.append(say("model top at", at=shown("model_top_speed_at")))
    else:
        sentences.append(say("model constant", constant=shown("model_time_constant")))
    yield Prose(" ".join(sentences))
    cares = [f for f in flags_of(top["flags"]) if f != DECAYING and not f.startswith("wind")]
    if cares:
        yield Prose(say("model flags", flags="; ".join(cares)))
    gained = run.of("phase_speed_gained")
    if gained.empty:
        return
    columns = [say(c) for c in ("col phase", "col gained", "col impulse", "col force")]
    rest = {
        key: run.of(key).set_index("part")["value"] for key in ("phase_impulse", "phase_mean_force")
    }
    rows = [
        [
            label_of(row),
            wording.value(row["value"], MEASURES["phase_speed_gained"]),
            *(wording.value(rest[key][row["part"]], MEASURES[key]) for key in rest),
        ]
        for row in in_run_order(gained).to_dict("records")
    ]
    yield Prose(say("model mean"))
    yield Table(say("model caption"), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _phases(run: Run) -> pd.DataFrame:
    times = in_run_order(run.of("phase_time"))
    return times.assign(ends=[ends_of(c)[1] for c in times["conditions"]])


def _phase_table(run: Run) -> Block:
    times = _phases(run)
    if times.empty:
        return Prose(say("phases none"))
    columns = [say(c) for c in ("col phase", "col time", "col speed", "col share")]
    others = {key: run.of(key).set_index("part")["value"] for key in ("phase_speed", "phase_share")}
    rows = [
        [
            say("phase row", ends=row["ends"], name=row["part"]),
            wording.value(row["value"], MEASURES["phase_time"]),
            *(wording.value(others[key][row["part"]], MEASURES[key]) for key in others),
        ]
        for row in times.to_dict("records")
    ]
    gun = times["part"].str.endswith(FROM_GUN).any()
    caption = say("phases caption gun" if gun else "phases caption", test=run.test)
    return Table(caption, columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _reaction(run: Run) -> list[str]:
    taken = run.of("reaction_time")
    record = MEASURES["reaction_time"]
    return [say("reaction", value=wording.value(v, record)) for v in taken["value"].head(1)]


def _top_speed(run: Run) -> list[str]:
    speed = run.of("top_speed")
    if speed.empty:
        return []
    row = speed.iloc[0]
    at = run.of("top_speed_at").iloc[0]["value"]
    key = "top speed rising" if STILL_RISING in row["flags"] else "top speed"
    sentences = [
        say(
            key,
            speed=wording.value(row["value"], MEASURES["top_speed"]),
            at=wording.value(at, MEASURES["top_speed_at"]),
        )
    ]
    if key == "top speed":
        sentences.append(say("zone"))
    for name, sentence in (("speed_decrement", "decrement"), ("fade", "fade")):
        values = run.of(name)["value"].head(1)
        sentences += [say(sentence, value=wording.value(v, MEASURES[name])) for v in values]
    return sentences


def _by_distance(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows whose part is ``"10 m"`` or ``"10-20 m"``, by distance; one without a part first."""
    starts = [float(str(p or "0").removesuffix(" m").split("-")[0]) for p in rows["part"]]
    return rows.assign(at=starts).sort_values("at", kind="stable")


def _gate_table(run: Run) -> Block:
    columns = [say(c) for c in ("col gate", "col clock", "col segment", "col speed")]
    gates = _by_distance(run.of("split_time"))
    between = _by_distance(run.of("segment_time"))
    speeds = _by_distance(run.of("segment_speed"))
    rows = [
        [
            gate["part"],
            wording.value(gate["value"], MEASURES["split_time"]),
            wording.value(time, MEASURES["segment_time"]),
            wording.value(speed, MEASURES["segment_speed"]),
        ]
        for gate, time, speed in zip(
            gates.to_dict("records"), between["value"], speeds["value"], strict=True
        )
    ]
    return Table(say("gates caption", test=run.test), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _speed_chart(report: Report, run: Run) -> Block:
    now = run.of("segment_speed")
    history = report.results
    history = history[
        (history["measure"] == "segment_speed")
        & (history["test"] == run.test)
        & (history["conditions"] == now.iloc[0]["conditions"])
    ]
    series = []
    for day, rows in history.groupby("day", sort=True):
        stretches = [
            charts.Stretch(*_metres(str(row["part"])), float(row["value"]))
            for row in _by_distance(rows).to_dict("records")
        ]
        label = wording.short_date(str(day))
        series.append(charts.Series(label, stretches, current=str(day) == report.day))
    phases = [
        (str(row["part"]).removesuffix(FROM_GUN), *_metres(key_fields(row["conditions"])["ends"]))
        for row in _phases(run).to_dict("records")
    ]
    top = max(series[-1].stretches, key=lambda s: s.speed)
    record = MEASURES["segment_speed"]
    words = {
        "x": say("axis distance"),
        "y": say("axis speed"),
        "caption": say("speed chart", test=run.test),
        "alt": say(
            "speed chart alt",
            test=run.test,
            first=wording.value(series[-1].stretches[0].speed, record),
            top=wording.value(top.speed, record),
        ),
    }
    limits = tuple(report.facts["charts"]["speed_mps"])
    tops = run.of("top_speed")
    rising = tops["flags"].str.contains(STILL_RISING).any()
    middles = [] if rising else list(run.of("top_speed_at")["value"].head(1))
    zones = [(at - WINDOW_M / 2, at + WINDOW_M / 2) for at in middles]
    return charts.speed_by_distance(
        f"speed {run.test} {run.base}", series, phases, zones, limits, words
    )


def _metres(stretch: str) -> tuple[float, float]:
    lower, upper = stretch.removesuffix(" m").split("-")
    return float(lower), float(upper)


def steps(report: Report) -> Section:
    """Contact, flight and length by zone, and the picture of contact and impulse."""
    runs = [run for test in report.tests("sprint") for run in report.runs(test)]
    runs = [run for run in runs if not run.of("contact_time").empty]
    if not runs:
        return Section.of(Prose(say("steps none")))
    return Section.of(Prose(say("steps lead")), *(_steps_of(run) for run in runs))


_STEP_COLUMNS = {
    "contact_time": "col contact",
    "step_flight_time": "col flight",
    "step_length": "col length",
    "step_frequency": "col frequency",
    "mean_vertical_force": "col vertical",
}


def _steps_of(run: Run) -> Iterator[Block]:
    zones = _by_distance(run.of("contact_time"))
    parts = {key: run.by_part(key) for key in (*_STEP_COLUMNS, "step_impulse")}

    def shown(key: str, part: str) -> str:
        return wording.value(parts[key].get(part, float("nan")), MEASURES[key])

    rows = [
        [wording.dashed(part), *(shown(key, part) for key in _STEP_COLUMNS)]
        for part in zones["part"]
    ]
    columns = [say("col zone"), *(say(c) for c in _STEP_COLUMNS.values())]
    yield Table(say("steps caption", test=run.test), columns, rows, [TEXT, *[NUMBER] * 5])
    told = {
        key: ", ".join(
            say("step zone", value=shown(key, part), zone=wording.dashed(part))
            for part in zones["part"]
        )
        for key in ("contact_time", "step_impulse")
    }
    words = {
        "caption": say("step chart", test=run.test),
        "alt": say(
            "step chart alt",
            test=run.test,
            contacts=told["contact_time"],
            impulses=told["step_impulse"],
        ),
        "contact": say("axis contact"),
        "impulse": say("axis impulse"),
    }
    flags = dict.fromkeys(f for text in zones["flags"] for f in flags_of(text))
    cares = [f for f in flags if not f.startswith("wind")]
    if cares:
        yield Prose(say("model flags", flags="; ".join(cares)))
    bars = [
        (wording.dashed(p), float(parts["contact_time"][p]), float(parts["step_impulse"][p]))
        for p in zones["part"]
        if p in parts["step_impulse"]
    ]
    if not bars:
        return
    yield charts.contact_and_impulse(f"steps {run.test} {run.base}", bars, words)


def technique(report: Report) -> Section:
    """Angles off video beside the staff's reference."""
    angles = report.of("angle")
    if angles.empty:
        return Section.of(Prose(say("technique none")))
    rows = []
    for row in angles.to_dict("records"):
        _, before, now, _ = table_row(report, row)
        aim = report.facts["angles"].get(row["part"])
        reference = wording.NOTHING if aim is None else wording.value(aim, MEASURES["angle"])
        observers = [f for f in flags_of(row["flags"]) if "observers" in f]
        name = f"{row['test']}, {row['part']}"
        rows.append([name, before, now, reference, ", ".join(observers) or say("one observer")])
    columns = [
        say(c)
        for c in ("col checkpoint", "col before", "col now", "col reference", "col observers")
    ]
    kinds = [TEXT, NUMBER, NUMBER, NUMBER, TEXT]
    table = Table(say("technique caption"), columns, rows, kinds)
    return Section.of(Prose(say("technique lead")), table)
