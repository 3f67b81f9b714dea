"""From trials to every table of the day, and to the facts its pages are told."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle, outgoing
from pipeline import tables as schemas
from pipeline.bundle import DayBundle
from pipeline.compare import followed
from pipeline.compare.changes import Data
from pipeline.compare.pairs import Days, records
from pipeline.compare.squad import Member, age_band
from pipeline.compare.term import Asked, People, Term, Written, compare
from pipeline.errors import Finding, Place, finding, in_order
from pipeline.hiding import HIDDEN, Names, words
from pipeline.intake import (
    roster,
)
from pipeline.intake.columns import SHEETS
from pipeline.intake.folder import Day
from pipeline.intake.roster import INITIALS, NOBODY
from pipeline.measures import force_traces, registry
from pipeline.measures.spec import (
    ADULT,
    FORCE_TRACE,
    NO_MARK,
    SET_ASIDE,
    USED,
    Trials,
)
from pipeline.reading import Intake, read, tested, tried


def compute(intake: Intake) -> DayBundle:
    """From trials to every table of the day."""
    attempts = registry.attempt_values(intake.trials, intake.battery)
    results = registry.combine(attempts, intake.battery)
    term = _compared(intake, results, attempts)
    findings = in_order([*intake.findings, *_without_body_mass(intake, results)])
    made = DayBundle(
        tables={
            "trials": _trials_table(intake.trials),
            "results": results,
            "changes": term.judged.table,
            "reliability": term.reliability,
            "phases": term.phases.table,
            "emphasis": term.phases.emphasis,
            "targets": term.aims.targets,
            "plan": term.aims.plan,
            "findings": schemas.findings_frame(findings),
            "account": intake.account,
        },
        day=_day_facts(intake, results, term),
        traces=_trace_outlines(intake),
        unnamed={
            a.athlete_id: Names([(a.name, a.birth_date)])
            for a in intake.roster.athletes.values()
            if a.share == INITIALS and a.name != a.athlete_id
        },
    )
    return bundle.plain(made)


def _compared(intake: Intake, results: pd.DataFrame, attempts: pd.DataFrame) -> Term:
    day, days = intake.day, intake.season.up_to(intake.day)
    squad = {
        a.athlete_id: Member(a.athlete_id, a.sex, a.event, a.age_on(day.date), a.groups)
        for a in intake.roster.athletes.values()
    }
    here = {a.athlete_id: squad[a.athlete_id] for a in intake.roster.here_on(day.date)}
    bands = {
        (a.athlete_id, d.key): age_band(a.age_on(d.date))
        for a in intake.roster.athletes.values()
        for d in days
    }
    repeats = {d.key: d.repeat_of.isoformat() for d in days if d.repeat_of}
    return compare(
        Asked(
            data=Data(results, attempts),
            day=day.key,
            battery=intake.battery,
            days=Days(repeats, intake.eased),
            people=People(squad, here, bands, tested(intake)),
            written=_written(intake),
        )
    )


def _written(intake: Intake) -> Written:
    told = {(s.athlete_id, s.test): s.status for s in intake.statuses if s.status != schemas.FULL}
    values, attempts = intake.trials.values, intake.trials.attempts
    lost = attempts.loc[sorted(set(values.loc[values["status"] == SET_ASIDE, "key"]))]
    lost = lost[lost["day"] == intake.day.key]
    return Written(
        plan=_frame(intake.plan, followed.PLAN_COLUMNS),
        aims=_frame(intake.targets, ("athlete_id", "test", "measure", "target", "by")),
        told=told,
        aside=list(zip(lost["athlete_id"], lost["test"], strict=True)),
        reference=registry.attempt_values(intake.reference_sprints, intake.battery),
    )


def _frame(lines: Sequence[Any], columns: tuple[str, ...]) -> pd.DataFrame:
    return pd.DataFrame([asdict(line) for line in lines], columns=list(columns))


def _trace_outlines(intake: Intake) -> dict[str, list[dict[str, Any]]]:
    """The day's used force traces as they are drawn, by athlete."""
    values, attempts = intake.trials.values, intake.trials.attempts
    used = values[(values["quantity"] == FORCE_TRACE) & (values["status"] == USED)]
    outlines: dict[str, list[dict[str, Any]]] = {}
    for key, source in zip(used["key"], used["source"], strict=True):
        attempt = attempts.loc[key]
        if attempt["day"] == intake.day.key:
            drawn = force_traces.outline(intake.trials.traces[int(key)])
            outlines.setdefault(str(attempt["athlete_id"]), []).append({"source": source, **drawn})
    return outlines


def _without_body_mass(intake: Intake, results: pd.DataFrame) -> list[Finding]:
    lifted = results[(results["day"] == intake.day.key) & (results["measure"] == "one_rep_max")]
    weighed = set(results[results["measure"] == "body_mass"]["athlete_id"])
    place = Place(intake.day.folder.name)
    return [
        finding("body-mass-missing", place, str(athlete))
        for athlete in sorted(set(lifted["athlete_id"]) - weighed)
    ]


def _trials_table(taken: Trials) -> pd.DataFrame:
    identity = ["day", "session", "athlete_id", "test", "attempt"]
    return taken.values.merge(taken.attempts[identity], left_on="key", right_index=True)


def _day_facts(intake: Intake, results: pd.DataFrame, term: Term) -> dict[str, Any]:
    day, battery = intake.day, intake.battery
    squad = list(intake.roster.here_on(day.date))
    today = tried(intake.trials, day.key)
    present = set(today["athlete_id"])
    terms = {d.key: d.term for d in intake.season.days}
    people = {a.athlete_id: a for a in intake.roster.athletes.values() if a.athlete_id in present}
    repeats = {d.key for d in intake.season.days if d.repeat_of}
    earlier = results[(results["day"] < day.key) & ~results["day"].isin(repeats)]
    before = {str(k): str(v) for k, v in earlier.groupby("athlete_id")["day"].max().items()}
    return {
        "season": battery.season or intake.season.path.resolve().name,
        "date": day.key,
        "term": day.term or day.folder.name,
        "tests": {t.name: {f: getattr(t, f) for f in _TEST_FACTS} for t in battery.tests.values()},
        "key_measures": [{"test": k.test, "measure": k.measure} for k in battery.key_measures],
        "charts": {name: list(limits) for name, limits in battery.charts.items()},
        "angles": dict(battery.angles),
        "unread_kinds": _unread_kinds(intake),
        "joined_phases": sorted(
            {n for sets in battery.phases.values() for s in sets for n in s.names if " and " in n}
        ),
        "smallest_group": battery.smallest_group,
        "against": battery.against,
        "tested": sorted(tested(intake)),
        "ages": {a.athlete_id: age for a in squad if (age := a.age_on(day.date)) is not None},
        "repeats": sorted(repeats),
        "headlines": {
            group.group: [
                {"test": k.test, "measure": k.measure} for k in battery.headline(group.group)
            ]
            for group in term.groups
        },
        "group_changes": [_plain(asdict(group)) for group in term.groups],
        "shifts": [_plain(asdict(shift)) for shift in term.judged.shifts],
        "standings": [_plain(asdict(one)) for one in term.standings],
        "phase_states": [_plain(row) for row in records(term.phases.states)],
        "phase_counts": [_plain(asdict(one)) for one in term.phases.counts],
        "emphases": {
            name: _plain({field: getattr(one, field) for field in _EMPHASIS_FACTS})
            for name, one in battery.emphases.items()
        },
        "target_phases": [_plain(asdict(one)) for one in term.aims.at_targets],
        "followed": [_plain(asdict(one)) for one in term.aims.followed],
        "retest": [_plain(asdict(one)) for one in term.retests],
        "relations": [_plain(asdict(one)) for one in term.relations],
        "roster": [
            {
                "id": a.athlete_id,
                "name": outgoing.cut(a.name, outgoing.LONGEST_NAME),
                "groups": list(a.groups),
                "status": _status_of(intake, a.athlete_id),
            }
            for a in squad
        ],
        "athletes": {
            key: {
                **_athlete_facts(person, day, today[today["athlete_id"] == key], terms, before),
                **_remarks(intake, person, today[today["athlete_id"] == key]),
                "trends": [_plain(asdict(x)) for x in term.lines if x.athlete_id == key],
                "standings": _own_standings(term, key, person.age_on(day.date)),
            }
            for key, person in people.items()
            if person.share != NOBODY
        },
    }


def _plain(value: Any) -> Any:
    """A value that JSON holds: no NaN, no infinity."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _own_standings(term: Term, athlete_id: str, age: int | None) -> list[dict[str, Any]]:
    """An adult's own places among at least five others; the young are not ranked on their page."""
    if age is None or age < ADULT:
        return []
    own = (one for one in term.standings if one.athlete_id == athlete_id)
    return [_plain(asdict(one)) for one in own]


_EMPHASIS_FACTS = ("phases", "families", "trains", "why", "talk", "retest")
_TEST_FACTS = ("name", "kind", "attempts", "distance_m", "unit", "better", "decimals")


def _status_of(intake: Intake, athlete_id: str) -> list[dict[str, str]]:
    return [
        {"test": s.test, "status": s.status, "reason": s.reason}
        for s in intake.statuses
        if s.athlete_id == athlete_id and s.status != schemas.FULL
    ]


def _remarks(intake: Intake, person: roster.Athlete, own: pd.DataFrame) -> dict[str, Any]:
    """What was said of an athlete's tests, without what names somebody they should not read of."""
    everybody = intake.roster.athletes.values()
    if person.share == INITIALS:
        names = Names((a.name, None) for a in everybody)
    else:
        others = [(a.name, None) for a in everybody if a is not person]
        names = Names(others, frozenset(words(person.name)))
    status, marks = _status_of(intake, person.athlete_id), _no_marks(intake, own)
    return {
        "status": [one | {"reason": names.note(one["reason"])} for one in status],
        "no_marks": [one | {"word": HIDDEN if names.inside(one["word"]) else one["word"]}
                     for one in marks],
    }  # fmt: skip


def _no_marks(intake: Intake, own: pd.DataFrame) -> list[dict[str, str]]:
    """An athlete's entries of no mark on the day, as they stand."""
    values = intake.trials.values
    marks = values[values["key"].isin(own.index) & (values["status"] == NO_MARK)]
    tests = own.loc[marks["key"], "test"]
    pairs = dict.fromkeys(zip(tests, marks["raw"], strict=True))
    return [{"test": test, "word": word} for test, word in pairs]


_SHEET_FAULTS = frozenset({"file-unreadable", "file-format", "heading-missing", "sheet-twice"})


def _unread_kinds(intake: Intake) -> list[str]:
    """Kinds of tests whose sheet of the day was there and could not be read."""
    stems = {Path(f.place.file).stem.casefold() for f in intake.findings if f.code in _SHEET_FAULTS}
    return sorted({kind for stem in stems if stem in SHEETS for kind in SHEETS[stem].kinds})


def _athlete_facts(
    person: roster.Athlete,
    day: Day,
    own: pd.DataFrame,
    terms: Mapping[str, str],
    before: Mapping[str, str],
) -> dict[str, Any]:
    age = person.age_on(day.date)
    last = before.get(person.athlete_id)
    names = dict.fromkeys(own["session"])
    sessions = [day.session(str(name)) or day.default for name in names]
    return {
        "id": person.athlete_id,
        "name": person.shown_name,
        "sex": person.sex,
        "age": age,
        "minor": age is None or age < ADULT,
        "event": person.event,
        "groups": list(person.groups),
        "previous_day": None if last is None else {"date": last, "term": terms[last]},
        "sessions": [
            {
                "name": s.name,
                "date": s.date.isoformat(),
                "conditions": {k: v[0] for k, v in s.conditions.items() if k in _SHOWN_CONDITIONS},
            }
            for s in sorted(sessions, key=lambda s: (s.date, s.name))
        ],
    }


_SHOWN_CONDITIONS = ("indoor", "venue", "surface", "footwear")


def check(season: Path, day: str | None) -> DayBundle:
    """Intake and tables in memory, nothing written."""
    return compute(read(season, day))
