"""An athlete's report: a first page that stands alone, then the working.

Every function takes what ``load`` gives and returns one section.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle
from pipeline.bundle import AthleteSlice
from pipeline.measures.phases import FROM_GUN
from pipeline.measures.registry import COMBINE, MEASURES
from pipeline.measures.sources import SOURCES
from pipeline.measures.spec import ESTIMATED, Measure, key_fields
from pipeline.measures.velocity import STILL_RISING
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

_MOST_TRENDS = 4
"""With two sprint charts at the most, six charts a report: they rule the time a build takes."""


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

    def tests(self, section: str) -> list[str]:
        """Tests of this day that have a result in a section, in the battery's order."""
        keys = {m.key for m in MEASURES.values() if m.section == section}
        present = set(self.now[self.now["measure"].isin(keys)]["test"])
        return [t for t in self.facts["tests"] if t in present]

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
        """This day's results of the key measures, in the battery's order, phases as run."""
        for key in self.facts["key_measures"]:
            rows = self.of(key["measure"], key["test"])
            rows = rows.assign(from_m=[_ends(c)[0] for c in rows["conditions"]])
            yield from rows.sort_values("from_m", kind="stable").to_dict("records")


def load(path: str) -> Report:
    """Read an athlete's slice; the path is relative to the notebook."""
    return Report(bundle.read_athlete(Path(path)))


def _ends(conditions: str) -> tuple[float, str]:
    """The start of a phase in metres and its ends in words, from the comparison key."""
    ends = key_fields(conditions).get("ends", "")
    return (float(ends.split("-")[0]) if ends else 0.0), wording.dashed(ends)


def label_of(row: Any) -> str:
    """What a result is called: the distance before a phase's name."""
    record = MEASURES[row["measure"]]
    ends = _ends(row["conditions"])[1]
    if ends:
        return say("phase row", ends=ends, name=row["part"])
    name = row["test"] if record.key == "time" else f"{row['test']}, {record.label}"
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
    sentences = [_achievement(report, row) for row in report.key_rows() if not row["part"]]
    if not sentences:
        return Section.of(Prose(say("no result")))
    return Section.of(
        Prose(" ".join(sentences), lead=say("today lead")),
        Prose(say("not judged"), lead=say("not judged lead")),
    )


def _achievement(report: Report, row: Any) -> str:
    record = MEASURES[row["measure"]]
    label, value = label_of(row), wording.value(row["value"], record)
    label = label[0].upper() + label[1:]
    same = report.results
    for column in ("test", "part", "measure", "conditions", "basis"):
        same = same[same[column] == row[column]]
    earlier = same[same["day"] < report.day]
    if earlier.empty:
        return say("today", label=label, value=value)
    best = earlier["value"].max() if record.better == "higher" else earlier["value"].min()
    ahead = (row["value"] - best) * (1 if record.better == "higher" else -1)
    step = 10.0**-record.decimals
    if ahead >= step / 2:
        return say("best so far", label=label, value=value, days=len(earlier) + 1)
    if abs(ahead) < step / 2:
        return say("equal best", label=label, value=value)
    last = earlier.sort_values("day").iloc[-1]
    return say(
        "today before",
        label=label,
        value=value,
        before=wording.value(last["value"], record),
        date=wording.short_date(last["day"]),
    )


def first_table(report: Report) -> Section:
    """The small table of the first page."""
    rows = [_table_row(report, row) for row in report.key_rows()]
    if not rows:
        return Section.of(Prose(say("no result")))
    columns = [say(c) for c in ("col test", "col before", "col now", "col verdict")]
    return Section.of(Table(say("first table"), columns, rows, [TEXT, NUMBER, NUMBER, TEXT]))


def _table_row(report: Report, row: Any) -> list[str]:
    record = MEASURES[row["measure"]]
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
    return [label_of(row), before, wording.value(row["value"], record), verdict]


def how_sure(report: Report) -> Section:
    """Attempts, conditions, and what was flagged."""
    key_rows = list(report.key_rows())
    counts = {row["test"]: int(row["n_attempts"]) for row in key_rows}
    parts = [say("sure attempts", test=t, count=_attempts(n)) for t, n in counts.items()]
    same: set[str] = set()
    different: set[str] = set()
    for row in key_rows:
        change = report.change(row)
        if change is not None:
            (different if change["verdict"] == NOT_COMPARABLE else same).add(row["test"])
    if same - different:
        parts.append(say("sure same", tests=wording.listed(sorted(same - different))))
    if different:
        parts.append(say("sure different", tests=wording.listed(sorted(different))))
    flags = dict.fromkeys(f"{row['test']} {f}" for row in key_rows for f in _flags(row["flags"]))
    if flags:
        parts.append(say("sure flags", flags=", ".join(flags)))
    return Section.of(Prose(" ".join(parts) or say("no result"), lead=say("sure lead")))


def _flags(text: str) -> list[str]:
    return [flag for flag in str(text).split(";") if flag]


def _attempts(count: int) -> str:
    return say("attempts one") if count == 1 else say("attempts many", count=count)


def not_tested(report: Report) -> Section:
    """What was tested before and not this time."""
    earlier = report.results[report.results["day"] < report.day]
    if earlier.empty:
        return Section.of(Prose(say("missing first"), lead=say("missing lead")))
    last = earlier[earlier["day"] == earlier["day"].max()]
    gone = [t for t in report.facts["tests"] if t in set(last["test"]) - set(report.now["test"])]
    text = say("missing", tests=wording.listed(gone)) if gone else say("missing none")
    return Section.of(Prose(text, lead=say("missing lead")))


def for_parents(_: Report) -> Section:
    """What these numbers are and are not."""
    return Section.of(Notice(say("parents kind"), say("parents")))


# --- the working ----------------------------------------------------------------------------


def sprint(report: Report) -> Section:
    """Phases, gates, top speed and the chart of speed by distance, test by test."""
    tests = report.tests("sprint")
    if not tests:
        return Section.of(Prose(say("sprint none")))
    return Section.of(*(_sprint_test(report, test) for test in tests))


def _sprint_test(report: Report, test: str) -> Iterator[Block]:
    yield Heading(test)
    run = report.of("segment_time", test)
    if run.empty:
        return
    words = wording.conditions(key_fields(run.iloc[0]["conditions"]))
    count = _attempts(int(run.iloc[0]["n_attempts"]))
    key = "sprint conditions" if words else "sprint conditions none"
    yield Prose(say(key, count=count, conditions=words))
    yield _phase_table(report, test)
    yield from _top_speed(report, test)
    yield _gate_table(report, test)
    yield _speed_chart(report, test)


def _phases(report: Report, test: str) -> pd.DataFrame:
    times = report.of("phase_time", test)
    times = times.assign(
        from_m=[_ends(c)[0] for c in times["conditions"]],
        ends=[_ends(c)[1] for c in times["conditions"]],
    )
    return times.sort_values("from_m", kind="stable")


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


def _top_speed(report: Report, test: str) -> Iterator[Block]:
    speed = report.of("top_speed", test)
    if speed.empty:
        return
    row = speed.iloc[0]
    at = report.of("top_speed_at", test).iloc[0]["value"]
    key = "top speed rising" if STILL_RISING in row["flags"] else "top speed"
    yield Prose(
        say(
            key,
            speed=wording.value(row["value"], MEASURES["top_speed"]),
            at=wording.value(at, MEASURES["top_speed_at"]),
        )
    )


def _in_run_order(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows whose part is ``"10 m"`` or ``"10-20 m"``, by distance."""
    starts = [float(str(p).removesuffix(" m").split("-")[0]) for p in rows["part"]]
    return rows.assign(at=starts).sort_values("at", kind="stable")


def _gate_table(report: Report, test: str) -> Block:
    columns = [say(c) for c in ("col gate", "col clock", "col segment", "col speed")]
    gates = _in_run_order(report.of("split_time", test))
    between = _in_run_order(report.of("segment_time", test))
    speeds = _in_run_order(report.of("segment_speed", test))
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
    conditions = now.iloc[0]["conditions"]
    history = report.results
    history = history[
        (history["measure"] == "segment_speed")
        & (history["test"] == test)
        & (history["conditions"] == conditions)
    ]
    series = []
    for day, rows in history.groupby("day", sort=True):
        stretches = [
            charts.Stretch(*_metres(str(row["part"])), float(row["value"]))
            for row in _in_run_order(rows).to_dict("records")
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
    return charts.speed_by_distance(f"speed {test}", series, phases, limits, words)


def _metres(stretch: str) -> tuple[float, float]:
    lower, upper = stretch.removesuffix(" m").split("-")
    return float(lower), float(upper)


def jumps(report: Report) -> Section:
    """Jump heights and take-off speeds with the value before."""
    return _plain_section(report, "jumps", say("jumps none"), say("jumps caption"))


def strength(report: Report) -> Section:
    """Lifts, measured or estimated, with the value before."""
    return _plain_section(report, "strength", say("strength none"), say("strength caption"))


def _plain_section(report: Report, section: str, nothing: str, caption: str) -> Section:
    shown = [m for m in MEASURES.values() if m.section == section and report.may_show(m)]
    rows = [
        [*_table_row(report, row)[:3], _attempts(int(row["n_attempts"])), _how(row)]
        for test in report.tests(section)
        for record in shown
        for row in report.of(record.key, test).to_dict("records")
    ]
    if not rows:
        return Section.of(Prose(nothing))
    columns = [say(c) for c in ("col measure", "col before", "col now", "col attempts", "col how")]
    return Section.of(Table(caption, columns, rows, [TEXT, NUMBER, NUMBER, TEXT, TEXT]))


def _how(row: Any) -> str:
    if row["basis"] == ESTIMATED:
        return ", ".join([ESTIMATED, *_flags(row["flags"])])
    return str(row["basis"])


def trends(report: Report) -> Section:
    """A chart over all testing days for each main measure that has more than one."""
    drawn = []
    for key in report.facts["key_measures"]:
        rows = report.results
        rows = rows[(rows["test"] == key["test"]) & (rows["measure"] == key["measure"])]
        rows = rows[rows["part"] == ""].sort_values("day", kind="stable")
        if len(set(rows["day"])) > 1 and report.day in set(rows["day"]):
            drawn.append(_trend(rows))
    if not drawn:
        return Section.of(Prose(say("trends none")))
    return Section.of(drawn[:_MOST_TRENDS])


def _trend(rows: pd.DataFrame) -> Block:
    record: Measure = MEASURES[str(rows.iloc[0]["measure"])]
    runs = dict.fromkeys(zip(rows["conditions"], rows["basis"], strict=True))
    series = {run: number for number, run in enumerate(runs)}
    points = [
        charts.Point(wording.short_date(r["day"]), r["value"], series[r["conditions"], r["basis"]])
        for r in rows.to_dict("records")
    ]
    label = label_of(rows.iloc[0])
    values = [
        say(
            "trend alt value",
            value=wording.value(r["value"], record),
            date=wording.short_date(r["day"]),
        )
        for r in rows.to_dict("records")
    ]
    words = {
        "y": f"{record.label} ({record.unit})",
        "caption": say("trend broken" if len(series) > 1 else "trend caption", label=label),
        "alt": say("trend alt", label=label, values=", ".join(values)),
        **{f"value {n}": wording.number(p.value, record.decimals) for n, p in enumerate(points)},
    }
    return charts.trend(f"trend {rows.iloc[0]['test']} {record.key}", points, None, words)


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
    present = set(report.now["measure"])
    used = [m for m in MEASURES.values() if m.key in present and report.may_show(m)]
    items = [
        say(
            "method" if m.unit else "method unitless",
            label=m.label[0].upper() + m.label[1:],
            unit=m.unit,
            formula=m.formula,
            combine=COMBINE[m.combine],
        )
        for m in used
    ]
    keys = dict.fromkeys(key for m in used for key in m.sources if key != "definition")
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
