"""An athlete's slice, with the questions the pages ask of it, and what a result is called."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.battery import TestPlan
from pipeline.bundle import AthleteSlice
from pipeline.measures.registry import MEASURES, record_of
from pipeline.measures.spec import OVER_LIMIT, Measure, key_fields
from pipeline.report import wording
from pipeline.report.saying import said
from pipeline.report.wording import say
from pipeline.tables import LIMITED, NOT_COMPARABLE


@dataclass(frozen=True)
class Run:
    """A sprint as run under one set of conditions: its results, all from the same whole run."""

    test: str
    base: str
    rows: pd.DataFrame

    def of(self, measure: str) -> pd.DataFrame:
        """The run's results of a measure."""
        return self.rows[self.rows["measure"] == measure]

    def by_part(self, measure: str) -> pd.Series:
        """The run's values of a measure by part."""
        return self.of(measure).set_index("part")["value"]


def base_of(conditions: str) -> str:
    """A comparison key without the ends of a phase: what a whole run was run under."""
    return "; ".join(part for part in conditions.split("; ") if not part.startswith("ends="))


class Report:
    """An athlete's slice with the questions the sections ask of it."""

    def __init__(self, data: AthleteSlice) -> None:
        self.facts = data.facts
        self.results = data.results
        self.changes = data.changes
        self.phases = data.phases
        self.targets = data.targets
        self.plan = data.plan
        self.findings = data.findings
        self.day = str(data.facts["date"])
        self.now = data.results[data.results["day"] == self.day]

    @property
    def terms(self) -> pd.DataFrame:
        """The results of all days but repeat days, which serve reliability."""
        return self.results[~self.results["day"].isin(self.facts["repeats"])]

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

    def runs(self, test: str) -> list[Run]:
        """The day's runs of a sprint, one for each set of conditions it was run under."""
        rows = self.now[self.now["test"] == test]
        bases = [base_of(conditions) for conditions in rows["conditions"]]
        return [
            Run(test, base, rows[[own == base for own in bases]]) for base in dict.fromkeys(bases)
        ]

    def change(self, row: Any) -> Any | None:
        """The change that belongs to a result, if the measure was ever taken before."""
        same = self.changes
        for column in ("test", "part", "measure", "conditions"):
            same = same[same[column] == row[column]]
        return None if same.empty else same.iloc[0]

    def on(self, day: str, row: Any, measure: str) -> Any | None:
        """The result of a measure on another day, in the same test, part and conditions."""
        same = self.results[(self.results["day"] == day) & (self.results["measure"] == measure)]
        for column in ("test", "part", "conditions"):
            same = same[same[column] == row[column]]
        return None if same.empty else same.iloc[0]

    def step_on(self, day: str, row: Any) -> float | None:
        """The instrument's step behind the same measure on another day."""
        then = self.on(day, row, row["measure"])
        return None if then is None else then["resolution"]

    def known(self, row: Any) -> bool:
        """Whether the measure was taken on an earlier day, under whatever conditions."""
        same = self.terms[self.terms["day"] < self.day]
        for column in ("test", "part", "measure"):
            same = same[same[column] == row[column]]
        return not same.empty

    def trend(self, row: Any) -> Any | None:
        """The trend that belongs to a result: three comparable days or more."""
        same = ("test", "part", "measure", "conditions")
        own = self.facts["athlete"]["trends"]
        return next((one for one in own if all(one[f] == row[f] for f in same)), None)

    def before(self, row: Any, change: Any | None, words: str) -> str:
        """The best of the day a result is set against, with its date; a dash without one."""
        if change is None or change["verdict"] == NOT_COMPARABLE:
            return wording.NOTHING
        then = self.on(str(change["from_day"]), row, row["measure"])
        if then is None:
            return wording.NOTHING
        value = wording.value(then["value"], self.record(row), then["resolution"])
        return say(words, value=value, date=wording.short_date(change["from_day"]))

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
            elif self.facts["tests"].get(key["test"], {}).get("kind") == "drop jump":
                rows = rows.sort_values("value", kind="stable").tail(1)
            yield from rows.to_dict("records")

    def status_of(self, test: str) -> str:
        """What the staff said of a test: limited, not done, or nothing."""
        given = self.facts["athlete"]["status"]
        return next((s["status"] for s in given if s["test"] in (test, "")), "")

    def label(self, row: Any) -> str:
        """What a result is called; with its conditions where its test had several that day."""
        same = self.now
        for column in ("test", "part", "measure"):
            same = same[same[column] == row[column]]
        own = key_fields(row["conditions"])
        others = [key_fields(c) for c in same["conditions"]]
        apart = {k: v for k, v in own.items() if any(o.get(k) != v for o in others)}
        label = label_of(row)
        return say("label apart", label=label, apart=wording.conditions(apart)) if apart else label


def record_in(tests: Any, row: Any) -> Measure:
    """The record of a result's measure, with the day's facts of its test."""
    facts = tests.get(row["test"])
    plan = None if facts is None else TestPlan(**facts)
    return record_of(row["measure"], plan)


def ends_of(conditions: str) -> tuple[float, str]:
    """The start of a phase in metres and its ends in words, from the comparison key."""
    ends = key_fields(conditions).get("ends", "")
    return (float(ends.split("-")[0]) if ends else 0.0), wording.dashed(ends)


def ends_in_words(phase: Any) -> str:
    """The ends of a row of the table ``phases``: ``30–60 m``."""
    return wording.dashed(f"{float(phase['from_m']):g}-{float(phase['to_m']):g} m")


def stretch(phase: Any) -> str:
    """Such a phase with its distance before its name: ``30–60 m, maximum velocity``."""
    return say("phase row", ends=ends_in_words(phase), name=phase["phase"])


def in_run_order(phases: pd.DataFrame) -> pd.DataFrame:
    """Results of phases in the order in which they are run."""
    starts = [ends_of(c)[0] for c in phases["conditions"]]
    return phases.assign(from_m=starts).sort_values("from_m", kind="stable")


_BY_TEST_ALONE = ("time", "speed", "distance", "value", "one_rep_max", "ratio")
"""Measures that a test's name says already."""


def label_of(row: Any) -> str:
    """What a result is called: the distance before a phase's name."""
    record = MEASURES[row["measure"]]
    ends = ends_of(row["conditions"])[1]
    if ends:
        return say("phase row", ends=ends, name=row["part"])
    name = row["test"]
    if record.key not in _BY_TEST_ALONE:
        name = f"{name}, {record.label}"
    elif record.key == "time" and key_fields(row["conditions"]).get("clock") == "movement":
        name = say("first movement", test=name)
    return f"{name}, {row['part']}" if row["part"] else name


def label_in_test(row: Any) -> str:
    """What a result is called where nothing else says in which test it was taken."""
    label = label_of(row)
    test = str(row["test"])
    return label if label.startswith(test) else say("label in test", test=test, label=label)


ONE_LINE, TWO_LINES, UNDATED = "before on", "before lines", "before"
"""How a value before stands with its date; undated where the heading of its column has it."""


def table_row(report: Report, row: Any, before_as: str = ONE_LINE) -> list[str]:
    """A result as label, value before, value now, and what can be said of the two."""
    record = report.record(row)
    change = report.change(row)
    if not record.compared:
        verdict = say("verdict never")
    elif report.status_of(row["test"]) == LIMITED:
        verdict = say("verdict limited")
    elif change is None:
        verdict = say("verdict alone" if report.known(row) else "verdict first")
    else:
        verdict = said(change, record)
    return [
        wording.capital(report.label(row)),
        report.before(row, change, before_as),
        wording.value(row["value"], record, row["resolution"]),
        verdict,
    ]


def best_before(report: Report, row: Any) -> str:
    """The best earlier value that can be compared, with its date; a dash where there is none."""
    record = report.record(row)
    same = report.results[report.results["day"] < report.day]
    for column in ("test", "part", "measure", "conditions", "basis"):
        same = same[same[column] == row[column]]
    if same.empty or record.better == "neither" or not record.compared:
        return wording.NOTHING
    order = same.sort_values(["value", "day"], ascending=record.better == "lower", kind="stable")
    best = order.iloc[0]
    date = wording.short_date(best["day"])
    return say(TWO_LINES, value=wording.value(best["value"], record, best["resolution"]), date=date)


def flags_of(text: str) -> list[str]:
    """The flags of a result, one by one."""
    return [flag for flag in str(text).split(";") if flag]


def attempts(count: int) -> str:
    """How many attempts had a result, in words."""
    return say("attempts one") if count == 1 else say("attempts many", count=count)


def over_limit(row: Any) -> bool:
    """Whether the wind was above the limit: such a mark is no best and has no like."""
    return OVER_LIMIT in str(row["flags"])
