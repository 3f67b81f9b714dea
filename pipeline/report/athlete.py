"""An athlete's report: a first page that stands alone, then the working.

Every function takes what ``load`` gives and returns one section.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle
from pipeline.battery import TestPlan
from pipeline.bundle import AthleteSlice
from pipeline.measures import air
from pipeline.measures.model import DECAYING
from pipeline.measures.phases import FROM_GUN
from pipeline.measures.registry import COMBINE, MEASURES, record_of
from pipeline.measures.sources import SOURCES
from pipeline.measures.spec import ESTIMATED, Measure, key_fields
from pipeline.measures.velocity import STILL_RISING, WINDOW_M
from pipeline.report import charts, wording
from pipeline.report.blocks import (
    NUMBER,
    TEXT,
    Block,
    Bullets,
    Heading,
    Notice,
    Prose,
    Section,
    Table,
    Title,
)
from pipeline.report.wording import say
from pipeline.tables import NOT_COMPARABLE

_LIMITED = "limited"


class Report:
    """An athlete's slice with the questions the sections ask of it."""

    def __init__(self, data: AthleteSlice) -> None:
        self.facts = data.facts
        self.results = data.results
        self.changes = data.changes
        self.findings = data.findings
        self.day = str(data.facts["date"])
        self.now = data.results[data.results["day"] == self.day]

    def of(self, measure: str, test: str | None = None) -> pd.DataFrame:
        """This day's results of a measure, in the order of the run."""
        rows = self.now[self.now["measure"] == measure]
        return rows if test is None else rows[rows["test"] == test]

    def tests(self, *kinds: str) -> list[str]:
        """Tests of some kinds that have a result on this day, in the battery's order."""
        present = set(self.now["test"])
        return [t for t, f in self.facts["tests"].items() if f["kind"] in kinds and t in present]

    def record(self, row: Any) -> Measure:
        """The record of a result's measure, in its test."""
        return record_in(self.facts["tests"], row)

    def change(self, row: Any) -> Any | None:
        """The change that belongs to a result, if the measure was ever taken before."""
        same = self.changes
        for column in ("test", "part", "measure"):
            same = same[same[column] == row[column]]
        return None if same.empty else same.iloc[0]

    def may_show(self, record: Measure) -> bool:
        """Whether a measure belongs on this athlete's page at all."""
        minor = self.facts["athlete"]["minor"]
        return not (record.staff_only or (record.for_adults and minor))

    def key_rows(self) -> Iterator[Any]:
        """This day's results of the key measures, in the battery's order.

        Phases are given for one sprint only, the first that has them; a drop jump by the height
        with the greatest value.
        """
        phases_of = ""
        for key in self.facts["key_measures"]:
            rows = self.of(key["measure"], key["test"])
            if rows.empty:
                continue
            if key["measure"] == "phase_time":
                phases_of = phases_of or key["test"]
                if phases_of != key["test"]:
                    continue
                rows = in_run_order(rows)
            elif self.facts["tests"][key["test"]]["kind"] == "drop jump":
                rows = rows.sort_values("value", kind="stable").tail(1)
            yield from rows.to_dict("records")

    def status_of(self, test: str) -> str:
        """What the staff said of a test: limited, not done, or nothing."""
        given = self.facts["athlete"]["status"]
        return next((s["status"] for s in given if s["test"] in (test, "")), "")


def load(path: str) -> Report:
    """Read an athlete's slice; the path is relative to the notebook."""
    return Report(bundle.read_athlete(Path(path)))


def record_in(tests: Any, row: Any) -> Measure:
    """The record of a result's measure, with the day's facts of its test."""
    facts = tests.get(row["test"])
    plan = None if facts is None else TestPlan(**facts)
    return record_of(row["measure"], plan)


def _ends(conditions: str) -> tuple[float, str]:
    """The start of a phase in metres and its ends in words, from the comparison key."""
    ends = key_fields(conditions).get("ends", "")
    return (float(ends.split("-")[0]) if ends else 0.0), wording.dashed(ends)


def in_run_order(phases: pd.DataFrame) -> pd.DataFrame:
    """Results of phases in the order in which they are run."""
    starts = [_ends(c)[0] for c in phases["conditions"]]
    return phases.assign(from_m=starts).sort_values("from_m", kind="stable")


_BY_TEST_ALONE = ("time", "speed", "distance", "value", "one_rep_max")
"""Measures that a test's name says already."""


def label_of(row: Any) -> str:
    """What a result is called: the distance before a phase's name."""
    record = MEASURES[row["measure"]]
    ends = _ends(row["conditions"])[1]
    if ends:
        return say("phase row", ends=ends, name=row["part"])
    name = row["test"]
    if record.key not in _BY_TEST_ALONE:
        name = f"{name}, {record.label}"
    elif record.key == "time" and key_fields(row["conditions"]).get("clock") == "movement":
        name = say("first movement", test=name)
    return f"{name}, {row['part']}" if row["part"] else name


# --- first page -----------------------------------------------------------------------------


def title(report: Report) -> Section:
    """Who, when, under what conditions."""
    who = report.facts["athlete"]
    age = [] if who["age"] is None else [say("age", age=who["age"])]
    facts = [*age, *(t for t in (who["event"], ", ".join(who["groups"])) if t)]
    before = who["previous_day"]
    lines = [
        *([say("person", facts=", ".join(facts))] if facts else []),
        say("tested on", sessions="; ".join(_session(s) for s in who["sessions"])),
        say("last tested", date=wording.short_date(before["date"]), term=before["term"])
        if before
        else say("first time"),
    ]
    return Section.of(Title(who["name"], lines))


def _session(session: dict[str, Any]) -> str:
    conditions = dict(session["conditions"])
    words = []
    if "indoor" in conditions:
        words.append(say("indoors" if conditions.pop("indoor") == "yes" else "outdoors"))
    words += [conditions[k] for k in ("venue", "surface", "footwear") if k in conditions]
    shown = say("session conditions", conditions=", ".join(words)) if words else ""
    return say(
        "session", name=session["name"], date=wording.date(session["date"]), conditions=shown
    ).strip()


def summary(report: Report) -> Section:
    """What was done, in plain words; no verdict that has not been earned."""
    rows = [row for row in report.key_rows() if row["measure"] != "phase_time"]
    if not rows:
        return Section.of(Prose(say("no result")))
    sentences = [say("today", deeds=wording.listed([_deed(report, row) for row in rows]))]
    standing = [_standing(report, row) for row in rows]
    best = [label_of(row) for row, how in zip(rows, standing, strict=True) if how == "best"]
    first = [label_of(row) for row, how in zip(rows, standing, strict=True) if how == "first"]
    if best:
        sentences.append(say("best so far", marks=wording.listed(best)))
    elif len(first) < len(rows):
        sentences.append(say("no best"))
    if first:
        sentences.append(say("first marks", marks=wording.listed(first)))
    return Section.of(
        Prose(" ".join(sentences), lead=say("today lead")),
        Prose(say("not judged"), lead=say("not judged lead")),
    )


def _deed(report: Report, row: Any) -> str:
    value = wording.value(row["value"], report.record(row))
    details = {k: row[k] for k in ("test", "part", "basis")}
    return say(f"did {row['measure']}", value=value, **details)


def _standing(report: Report, row: Any) -> str:
    """``first``, ``best`` or nothing, among the days that can be compared."""
    record = report.record(row)
    same = report.results
    for column in ("test", "part", "measure", "conditions", "basis"):
        same = same[same[column] == row[column]]
    earlier = same[same["day"] < report.day]["value"]
    if earlier.empty:
        return "first"
    sign = 1 if record.better == "higher" else -1
    ahead = sign * row["value"] - (sign * earlier).max()
    return "best" if ahead >= 10.0**-record.decimals / 2 else ""


def first_table(report: Report) -> Section:
    """The small table of the first page."""
    rows = [_table_row(report, row) for row in report.key_rows()]
    if not rows:
        return Section.of(Prose(say("no result")))
    columns = [say(c) for c in ("col test", "col before", "col now", "col verdict")]
    return Section.of(Table(say("first table"), columns, rows, [TEXT, NUMBER, NUMBER, TEXT]))


def _table_row(report: Report, row: Any) -> list[str]:
    record = report.record(row)
    before, verdict = wording.NOTHING, say("verdict first")
    change = report.change(row)
    if change is not None and change["verdict"] == NOT_COMPARABLE:
        verdict = say("verdict different", reason=change["reason"])
    elif change is not None:
        verdict = say("verdict none")
        before = say(
            "before on",
            value=wording.value(change["before"], record),
            date=wording.short_date(change["from_day"]),
        )
    if report.status_of(row["test"]) == _LIMITED:
        verdict = say("verdict limited")
    return [wording.capital(label_of(row)), before, wording.value(row["value"], record), verdict]


def how_sure(report: Report) -> Section:
    """Attempts, conditions, wind, and what else was flagged."""
    key_rows = list(report.key_rows())
    counts = {row["test"]: int(row["n_attempts"]) for row in key_rows}
    if not counts:
        return Section.of(Prose(say("no result"), lead=say("sure lead")))
    shown = [say("sure attempt", test=t, count=n) for t, n in counts.items()]
    parts = [say("sure attempts", tests=", ".join(shown))]
    same: dict[str, None] = {}
    different: dict[str, None] = {}
    for row in key_rows:
        change = report.change(row)
        if change is not None:
            (different if change["verdict"] == NOT_COMPARABLE else same)[row["test"]] = None
    if [t for t in same if t not in different]:
        parts.append(say("sure same", tests=", ".join(t for t in same if t not in different)))
    if different:
        parts.append(say("sure different", tests=", ".join(different)))
    flags = dict.fromkeys((row["test"], f) for row in key_rows for f in _flags(row["flags"]))
    winds = [f"{test} {wording.minus(f[5:])}" for test, f in flags if f.startswith("wind ")]
    if winds:
        parts.append(say("sure wind", winds=", ".join(winds)))
    others = [f"{test} {f}" for test, f in flags if not f.startswith("wind ")]
    if others:
        parts.append(say("sure flags", flags=", ".join(others)))
    return Section.of(Prose(" ".join(parts), lead=say("sure lead")))


def _flags(text: str) -> list[str]:
    return [flag for flag in str(text).split(";") if flag]


def _attempts(count: int) -> str:
    return say("attempts one") if count == 1 else say("attempts many", count=count)


def not_tested(report: Report) -> Section:
    """What was tested before and not this time, with the reason where one was given."""
    reasons = {
        s["test"] or say("all tests"): s["reason"] for s in report.facts["athlete"]["status"]
    }
    easy = [t for t in reasons if report.status_of(t) == _LIMITED]
    earlier = report.results[report.results["day"] < report.day]
    gone = {t for t in reasons if t not in easy}
    if not earlier.empty:
        gone |= set(earlier[earlier["day"] == earlier["day"].max()]["test"]) - {"body"}
    gone -= set(report.now["test"])
    shown = [
        say("missing reason", test=t, reason=reasons[t]) if reasons.get(t) else t
        for t in [*report.facts["tests"], say("all tests")]
        if t in gone
    ]
    sentences = []
    if shown:
        sentences.append(say("missing", tests=wording.listed(shown)))
    else:
        sentences.append(say("missing first" if earlier.empty else "missing none"))
    if easy:
        told = [say("missing reason", test=t, reason=reasons[t]) for t in easy]
        sentences.append(say("took it easy", tests=wording.listed(told)))
    return Section.of(Prose(" ".join(sentences), lead=say("missing lead")))


def for_parents(_: Report) -> Section:
    """What these numbers are and are not."""
    return Section.of(Notice(say("parents kind"), say("parents")))


# --- the working ----------------------------------------------------------------------------


def sprint(report: Report) -> Section:
    """Phases, gates, top speed and the chart of speed by distance, test by test."""
    tests = report.tests("sprint")
    flying, repeated = report.tests("flying"), report.tests("repeated")
    if not (tests or flying or repeated):
        return Section.of(Prose(say("sprint none")))
    blocks: list[Block] = [b for test in tests for b in _sprint_test(report, test)]
    if flying:
        blocks += [Heading(say("flying heading")), _flying_table(report, flying)]
    if repeated:
        blocks += [Heading(say("repeats heading")), Prose(say("repeats lead"))]
        blocks += [_repeats_table(report, test) for test in repeated]
    return Section.of(blocks)


def _repeats_table(report: Report, test: str) -> Block:
    keys = ("best_time", "mean_time", "last_time", "repeat_decrement")
    parts = {key: report.of(key, test).set_index("part")["value"] for key in keys}
    rows = [
        [
            f"{test}, {part or say('whole set')}",
            *(wording.value(parts[key][part], MEASURES[key]) for key in keys),
        ]
        for part in parts["best_time"].index
    ]
    columns = [say(c) for c in ("col set", "col best", "col mean", "col last", "col decrement")]
    return Table(say("repeats caption"), columns, rows, [TEXT, *[NUMBER] * 4])


def _flying_table(report: Report, tests: list[str]) -> Block:
    rows = [
        [*_table_row(report, row)[:3], wording.value(time["value"], MEASURES["time"])]
        for test in tests
        for row, time in zip(
            report.of("speed", test).to_dict("records"),
            report.of("time", test).to_dict("records"),
            strict=True,
        )
    ]
    columns = [say(c) for c in ("col test", "col before", "col now", "col time")]
    return Table(say("flying caption"), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _sprint_test(report: Report, test: str) -> Iterator[Block]:
    run = report.of("segment_time", test)
    yield Heading(test)
    if run.empty:
        return
    words = wording.conditions(key_fields(run.iloc[0]["conditions"]))
    count = _attempts(int(run.iloc[0]["n_attempts"]))
    key = "sprint conditions" if words else "sprint conditions none"
    yield Prose(say(key, count=count, conditions=wording.capital(words)))
    yield _phase_table(report, test)
    sentences = [
        *_joined(report, test),
        *_reaction(report, test),
        *_top_speed(report, test),
        *_still_air(report, test),
    ]
    if sentences:
        yield Prose(" ".join(sentences))
    yield _gate_table(report, test)
    yield _speed_chart(report, test)
    yield from _model(report, test)


def _joined(report: Report, test: str) -> list[str]:
    """Whether phases stand as one because a gate gave no time."""
    parts = report.of("phase_time", test)["part"]
    planned = set(report.facts["joined_phases"])
    return [say("joined")] if any(part not in planned and " and " in part for part in parts) else []


def _still_air(report: Report, test: str) -> list[str]:
    times = report.of("time_still_air", test)["value"].head(1)
    record = MEASURES["time_still_air"]
    model = air.MODEL_200 if test.startswith("200") else air.MODEL
    return [
        say("still air", value=wording.value(v, record), model=model, caution=air.CAUTION)
        for v in times
    ]


def _model(report: Report, test: str) -> Iterator[Block]:
    """What the fitted curve says, and the impulse of each phase on it."""
    tops = report.of("model_top_speed", test)
    if tops.empty:
        return
    top = tops.iloc[0]
    others = {
        key: report.of(key, test)["value"].iloc[0]
        for key in ("model_time_constant", "model_rms", "model_near_top_at")
    }
    record = MEASURES["model_top_speed"]
    interval = ""
    if top["resolution"] is None or top["low"] < top["value"]:
        interval = say(
            "model sentence near",
            low=wording.number(top["low"], record.decimals),
            high=wording.number(top["high"], record.decimals),
        )
    yield Heading(say("model heading", test=test))
    yield Prose(
        say(
            "model sentence",
            top=wording.value(top["value"], record),
            interval=interval,
            constant=wording.value(others["model_time_constant"], MEASURES["model_time_constant"]),
            rms=wording.value(others["model_rms"], MEASURES["model_rms"]),
            near=wording.value(others["model_near_top_at"], MEASURES["model_near_top_at"]),
        )
    )
    cares = [f for f in _flags(top["flags"]) if f != DECAYING and not f.startswith("wind")]
    if cares:
        yield Prose(say("model flags", flags="; ".join(cares)))
    gained = report.of("phase_speed_gained", test)
    if gained.empty:
        return
    columns = [say(c) for c in ("col phase", "col gained", "col impulse", "col force")]
    rest = {
        key: report.of(key, test).set_index("part")["value"]
        for key in ("phase_impulse", "phase_mean_force")
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


def _phases(report: Report, test: str) -> pd.DataFrame:
    times = in_run_order(report.of("phase_time", test))
    return times.assign(ends=[_ends(c)[1] for c in times["conditions"]])


def _phase_table(report: Report, test: str) -> Block:
    times = _phases(report, test)
    if times.empty:
        return Prose(say("phases none"))
    columns = [say(c) for c in ("col phase", "col time", "col speed", "col share")]
    others = {
        key: report.of(key, test).set_index("part")["value"]
        for key in ("phase_speed", "phase_share")
    }
    rows = [
        [
            say("phase row", ends=row["ends"], name=row["part"]),
            wording.value(row["value"], MEASURES["phase_time"]),
            *(wording.value(others[key][row["part"]], MEASURES[key]) for key in others),
        ]
        for row in times.to_dict("records")
    ]
    gun = times["part"].str.endswith(FROM_GUN).any()
    caption = say("phases caption gun" if gun else "phases caption", test=test)
    return Table(caption, columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _reaction(report: Report, test: str) -> list[str]:
    taken = report.of("reaction_time", test)
    record = MEASURES["reaction_time"]
    return [say("reaction", value=wording.value(v, record)) for v in taken["value"].head(1)]


def _top_speed(report: Report, test: str) -> list[str]:
    speed = report.of("top_speed", test)
    if speed.empty:
        return []
    row = speed.iloc[0]
    at = report.of("top_speed_at", test).iloc[0]["value"]
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
        values = report.of(name, test)["value"].head(1)
        sentences += [say(sentence, value=wording.value(v, MEASURES[name])) for v in values]
    return sentences


def _by_distance(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows whose part is ``"10 m"`` or ``"10-20 m"``, by distance."""
    starts = [float(str(p).removesuffix(" m").split("-")[0]) for p in rows["part"]]
    return rows.assign(at=starts).sort_values("at", kind="stable")


def _gate_table(report: Report, test: str) -> Block:
    columns = [say(c) for c in ("col gate", "col clock", "col segment", "col speed")]
    gates = _by_distance(report.of("split_time", test))
    between = _by_distance(report.of("segment_time", test))
    speeds = _by_distance(report.of("segment_speed", test))
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
    return Table(say("gates caption", test=test), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER])


def _speed_chart(report: Report, test: str) -> Block:
    now = report.of("segment_speed", test)
    history = report.results
    history = history[
        (history["measure"] == "segment_speed")
        & (history["test"] == test)
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
        for row in _phases(report, test).to_dict("records")
    ]
    top = max(series[-1].stretches, key=lambda s: s.speed)
    record = MEASURES["segment_speed"]
    words = {
        "x": say("axis distance"),
        "y": say("axis speed"),
        "caption": say("speed chart", test=test),
        "alt": say(
            "speed chart alt",
            test=test,
            first=wording.value(series[-1].stretches[0].speed, record),
            top=wording.value(top.speed, record),
        ),
    }
    limits = tuple(report.facts["charts"]["speed_mps"])
    tops = report.of("top_speed", test)
    rising = tops["flags"].str.contains(STILL_RISING).any()
    middles = [] if rising else list(report.of("top_speed_at", test)["value"].head(1))
    zones = [(at - WINDOW_M / 2, at + WINDOW_M / 2) for at in middles]
    return charts.speed_by_distance(f"speed {test}", series, phases, zones, limits, words)


def _metres(stretch: str) -> tuple[float, float]:
    lower, upper = stretch.removesuffix(" m").split("-")
    return float(lower), float(upper)


def steps(report: Report) -> Section:
    """Contact, flight and length by zone, and the picture of contact and impulse."""
    tests = [t for t in report.tests("sprint") if not report.of("step_length", t).empty]
    if not tests:
        return Section.of(Prose(say("steps none")))
    return Section.of(Prose(say("steps lead")), *(_steps_of(report, test) for test in tests))


_STEP_COLUMNS = {
    "contact_time": "col contact",
    "step_flight_time": "col flight",
    "step_length": "col length",
    "step_frequency": "col frequency",
    "mean_vertical_force": "col vertical",
}


def _steps_of(report: Report, test: str) -> Iterator[Block]:
    zones = _by_distance(report.of("step_frequency", test))
    parts = {
        key: report.of(key, test).set_index("part")["value"]
        for key in (*_STEP_COLUMNS, "step_impulse")
    }

    def shown(key: str, part: str) -> str:
        return wording.value(parts[key].get(part, float("nan")), MEASURES[key])

    rows = [
        [wording.dashed(part), *(shown(key, part) for key in _STEP_COLUMNS)]
        for part in zones["part"]
    ]
    columns = [say("col zone"), *(say(c) for c in _STEP_COLUMNS.values())]
    yield Table(say("steps caption", test=test), columns, rows, [TEXT, *[NUMBER] * 5])
    told = {
        key: ", ".join(
            say("step zone", value=shown(key, part), zone=wording.dashed(part))
            for part in zones["part"]
        )
        for key in ("contact_time", "step_impulse")
    }
    words = {
        "caption": say("step chart", test=test),
        "alt": say(
            "step chart alt",
            test=test,
            contacts=told["contact_time"],
            impulses=told["step_impulse"],
        ),
        "contact": say("axis contact"),
        "impulse": say("axis impulse"),
    }
    bars = [
        (wording.dashed(p), float(parts["contact_time"][p]), float(parts["step_impulse"][p]))
        for p in zones["part"]
    ]
    yield charts.contact_and_impulse(f"steps {test}", bars, words)


def technique(report: Report) -> Section:
    """Angles off video beside the staff's reference."""
    angles = report.of("angle")
    if angles.empty:
        return Section.of(Prose(say("technique none")))
    rows = []
    for row in angles.to_dict("records"):
        _, before, now, _ = _table_row(report, row)
        aim = report.facts["angles"].get(row["part"])
        reference = wording.NOTHING if aim is None else wording.value(aim, MEASURES["angle"])
        observers = [f for f in _flags(row["flags"]) if "observers" in f]
        name = f"{row['test']}, {row['part']}"
        rows.append([name, before, now, reference, ", ".join(observers) or say("one observer")])
    columns = [
        say(c)
        for c in ("col checkpoint", "col before", "col now", "col reference", "col observers")
    ]
    kinds = [TEXT, NUMBER, NUMBER, NUMBER, TEXT]
    table = Table(say("technique caption"), columns, rows, kinds)
    return Section.of(Prose(say("technique lead")), table)


def jumps(report: Report) -> Section:
    """Jump heights and distances with the value before."""
    tests = report.tests("jump", "distance jump")
    return _plain_section(report, tests, "jumps", "jumps none", "jumps caption")


def reactive(report: Report) -> Section:
    """Drop jumps by drop height: what moved, height or contact."""
    ratios = report.of("rsi")
    if ratios.empty:
        return Section.of(Prose(say("reactive none")))
    ratios = ratios.assign(drop=[float(str(p).split(" ", maxsplit=1)[0]) for p in ratios["part"]])
    keys = ("jump_height", "contact_time", "flight_contact_ratio")
    parts = {key: report.of(key, "drop jump").set_index("part")["value"] for key in keys}
    rows = []
    for row in ratios.sort_values("drop", kind="stable").to_dict("records"):
        _, before, now, _ = _table_row(report, row)
        height, contact, ratio = (
            wording.value(parts[key].get(row["part"], float("nan")), MEASURES[key]) for key in keys
        )
        rows.append([row["part"], height, contact, ratio, before, now])
    columns = [
        say(c)
        for c in ("col drop", "col height", "col contact", "col ratio", "col before", "col rsi")
    ]
    table = Table(say("reactive caption"), columns, rows, [TEXT, *[NUMBER] * 5])
    return Section.of(Prose(say("reactive lead")), table)


def strength(report: Report) -> Section:
    """Lifts, measured or estimated, with the value before."""
    tests = report.tests("lift")
    return _plain_section(report, tests, "strength", "strength none", "strength caption")


def others(report: Report) -> Section:
    """The staff's own tests with the value before."""
    return _plain_section(report, report.tests("other"), "other", "other none", "other caption")


def _plain_section(
    report: Report, tests: list[str], section: str, nothing: str, caption: str
) -> Section:
    shown = [m for m in MEASURES.values() if m.section == section and report.may_show(m)]
    rows = [
        [*_table_row(report, row)[:3], str(int(row["n_attempts"])), _how(row)]
        for test in tests
        for record in shown
        for row in report.of(record.key, test).to_dict("records")
    ]
    if not rows:
        return Section.of(Prose(say(nothing)))
    columns = [say(c) for c in ("col measure", "col before", "col now", "col attempts", "col how")]
    return Section.of(Table(say(caption), columns, rows, [TEXT, NUMBER, NUMBER, NUMBER, TEXT]))


def _how(row: Any) -> str:
    if row["basis"] == ESTIMATED:
        return ", ".join([ESTIMATED, *_flags(row["flags"])])
    return str(row["basis"])


def trends(report: Report) -> Section:
    """Each main measure that has more than one testing day, side by side in one drawing."""
    panels = []
    for row in report.key_rows():
        if row["measure"] != "phase_time":
            same = report.results
            for column in ("test", "part", "measure"):
                same = same[same[column] == row[column]]
            if len(set(same["day"])) > 1:
                panels.append(_panel(report, row, same.sort_values("day", kind="stable")))
    if not panels:
        return Section.of(Prose(say("trends none")))
    alt = " ".join(panel.alt for panel in panels)
    return Section.of(charts.trends("trends", panels, say("trend caption"), alt))


def _panel(report: Report, now: Any, rows: pd.DataFrame) -> charts.Panel:
    record = report.record(now)
    runs = dict.fromkeys(zip(rows["conditions"], rows["basis"], strict=True))
    series = {run: number for number, run in enumerate(runs)}
    points = []
    told = []
    for row in rows.to_dict("records"):
        date, shown = wording.short_date(row["day"]), wording.number(row["value"], record.decimals)
        number = series[row["conditions"], row["basis"]]
        points.append(charts.Point(date, row["value"], shown, number))
        told.append(say("trend alt value", value=wording.value(row["value"], record), date=date))
    label = wording.capital(label_of(now))
    key = "trend title" if record.unit else "trend title unitless"
    return charts.Panel(
        title=say(key, label=label, unit=wording.unit(record)),
        points=points,
        alt=say("trend alt", label=label, values=", ".join(told)),
    )


def noticed(report: Report) -> Section:
    """Codes of the findings about this athlete's own rows; never a message."""
    if report.findings.empty:
        return Section.of(Prose(say("found none")))
    items = [
        say(
            "found" if row["row"] is not None else "found place",
            severity=row["severity"],
            code=row["code"],
            file=row["file"],
            row=row["row"],
            column=f", {row['column']}" if row["column"] else "",
        )
        for row in report.findings.astype(object).to_dict("records")
    ]
    return Section.of(Prose(say("found lead")), Bullets(items))


def methods(report: Report) -> Section:
    """How it was measured, written from the measures that gave a result here."""
    first = report.now.drop_duplicates(["measure", "test"]).to_dict("records")
    used: dict[str, Measure] = {}
    for row in first:
        record = report.record(row)
        if report.may_show(record):
            used[record.label] = record
    items = [
        say(
            "method" if m.unit else "method unitless",
            label=wording.capital(m.label),
            unit=wording.unit(m),
            formula=m.formula,
            combine=COMBINE[m.combine],
        )
        for m in sorted(used.values(), key=lambda m: list(MEASURES).index(m.key))
    ]
    keys = dict.fromkeys(k for m in used.values() for k in m.sources if k != "definition")
    sources = [say("source", text=SOURCES[k].text, status=SOURCES[k].status) for k in keys]
    return Section.of(
        Prose(say("methods lead")),
        Bullets(items) if items else Prose(say("no result")),
        Heading(say("sources heading")),
        Bullets(sources) if sources else Prose(say("no result")),
    )


def cautions(_: Report) -> Section:
    """What maximal testing asks for."""
    return Section.of(Bullets([say("cautions"), say("cautions pain"), say("cautions clearance")]))
