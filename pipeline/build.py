"""The one place that knows the order of the stages.

files → trials and findings → results → changes → the data folder → a notebook a page → pages →
the whole folder swapped in.
"""

from __future__ import annotations

import math
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import battery as batteries
from pipeline import bundle
from pipeline import tables as schemas
from pipeline.battery import TEMPLATES, Battery
from pipeline.bundle import DayBundle
from pipeline.compare import followed
from pipeline.compare.changes import Data
from pipeline.compare.pairs import Days, records
from pipeline.compare.squad import Member, age_band
from pipeline.compare.term import Asked, People, Term, Written, compare
from pipeline.errors import CannotStartError, Finding, Place, Severity, finding, in_order
from pipeline.intake import (
    account,
    aims,
    folder,
    plausibility,
    reference_sprints,
    roster,
    status,
    trials,
)
from pipeline.intake.columns import BODY, SHEETS
from pipeline.intake.folder import Day, Season
from pipeline.intake.roster import NOBODY, Roster
from pipeline.measures import force_traces, ratios, registry
from pipeline.measures.spec import (
    ADULT,
    FAILED,
    FORCE_TRACE,
    NO_MARK,
    SET_ASIDE,
    USED,
    Trials,
)
from pipeline.publish import fonts, index, manifest, swap
from pipeline.publish.notebook import FORMATS, WORKER, Job, Outcome, write_whole
from pipeline.publish.workers import Pool
from pipeline.report import testing_day, wording
from pipeline.report.wording import say

Progress = Callable[[int, int, str], None]
"""Called with pages made, pages in all, and the name of the last."""

ALL = "all"
_DATA, _NOTEBOOKS, _ATHLETES = "data", "notebooks", "athletes"
_TESTING_DAY, _SQUAD = "testing_day", "squad"


@dataclass(frozen=True, slots=True)
class Request:
    """What to build. ``formats`` may be empty: then it stops after the tables."""

    season: Path
    out: Path
    day: str | None = None
    only: tuple[str, ...] = ()
    formats: tuple[str, ...] = FORMATS
    workers: int = 1
    engine: str = WORKER


@dataclass(frozen=True, slots=True)
class Built:
    """What a build of one day gave."""

    folder: Path
    pages: int
    rows: int
    used: int
    flagged: int
    set_aside: int
    findings: pd.DataFrame
    failed: tuple[Outcome, ...]

    @property
    def complete(self) -> bool:
        """Nothing was set aside and every page was made."""
        return not self.failed and not (self.findings["severity"] == Severity.ERROR).any()


# --- intake ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Intake:
    """Everything read for one day and the days before it."""

    season: Season
    day: Day
    roster: Roster
    battery: Battery
    trials: Trials
    statuses: list[status.Status]
    eased: frozenset[tuple[str, str, str]]
    targets: list[aims.Target]
    plan: list[aims.Choice]
    reference_sprints: Trials
    findings: list[Finding]
    account: pd.DataFrame


def read(season_path: Path, day_key: str | None) -> Intake:
    """Read a season up to one day (the latest by default).

    Findings and account are those of the day itself and of the season's own files.

    Raises:
        CannotStartError: the season cannot be opened, or has no such day.
    """
    season, day_findings = folder.open_season(season_path)
    day = _the_day(season, day_key)
    battery, findings = batteries.load(season_path)
    findings += batteries.unknown_measures(battery, list(registry.MEASURES))
    findings += ratios.faults(battery)
    people, found = roster.read(season_path)
    findings += found + day_findings[day.key]
    parts: list[Trials] = []
    eased: set[tuple[str, str, str]] = set()
    rows = list(people.rows)
    for one in season.up_to(day):
        taken = trials.read_day(season, one, people, battery)
        checked, implausible = plausibility.check(taken.trials, battery)
        parts.append(checked)
        given, more, found = status.read_status(season, one, people, battery)
        eased |= {(one.key, s.athlete_id, s.test) for s in given if s.status != schemas.FULL}
        if one is day:
            findings += taken.findings + implausible + found
            rows += taken.rows + more
    targets, more, found = aims.read_targets(season, people, battery)
    rows, findings = rows + more, findings + found
    plan, more, found = aims.read_plan(season, people, battery)
    rows, findings = rows + more, findings + found
    reference = reference_sprints.read(season, people, battery)
    rows, findings = rows + reference.rows, findings + reference.findings
    excused = {(s.athlete_id, s.test) for s in given if s.status != schemas.FULL}
    findings += plausibility.notice(parts[-1], excused, battery)
    findings += plausibility.swapped(parts, battery)
    together = trials.concatenate(parts)
    findings += plausibility.unweighed(together, day.key)
    findings += _absences(day, people, parts[-1], excused)
    findings += _letters(people, day)
    counted = trials.concatenate([parts[-1], reference.trials])
    table, lost = account.account(season_path, rows, findings, counted)
    return Intake(
        season=season,
        day=day,
        roster=people,
        battery=battery,
        trials=together,
        statuses=given,
        eased=frozenset(eased),
        targets=targets,
        plan=plan,
        reference_sprints=reference.trials,
        findings=in_order(findings + lost),
        account=table,
    )


def _the_day(season: Season, key: str | None) -> Day:
    if key is None:
        return season.days[-1]
    for day in season.days:
        if day.key == key:
            return day
    known = ", ".join(day.key for day in season.days)
    raise CannotStartError(f"The season has no testing day {key}; it has {known}.")


def _tried(taken: Trials, day: str) -> pd.DataFrame:
    """A day's attempts with a result, a no-mark or a failure; a planned row alone is none."""
    attempts = taken.attempts
    made = attempts.index.isin(taken.with_results(USED, NO_MARK, FAILED))
    return attempts[(attempts["day"] == day) & made]


def _tested(intake: Intake) -> frozenset[str]:
    """Who tried a test of the day; to be weighed and measured is none."""
    tried = _tried(intake.trials, intake.day.key)
    return frozenset(tried.loc[tried["test"] != BODY, "athlete_id"])


def _absences(
    day: Day, people: Roster, taken: Trials, excused: set[tuple[str, str]]
) -> list[Finding]:
    present = set(_tried(taken, day.key)["athlete_id"])
    return [
        finding("athlete-not-tested", people.place, athlete.athlete_id)
        for athlete in people.here_on(day.date)
        if athlete.athlete_id not in present and (athlete.athlete_id, "") not in excused
    ]


def _letters(people: Roster, day: Day) -> list[Finding]:
    found = []
    for athlete in people.here_on(day.date):
        letters = fonts.missing(athlete.name)
        if letters:
            shown = " ".join(f"U+{ord(c):04X}" for c in letters)
            found.append(
                finding("letters-missing", people.place, athlete.athlete_id, letters=shown)
            )
    return found


# --- tables ---------------------------------------------------------------------------------


def compute(intake: Intake) -> DayBundle:
    """From trials to every table of the day."""
    attempts = registry.attempt_values(intake.trials, intake.battery)
    results = registry.combine(attempts, intake.battery)
    term = _compared(intake, results, attempts)
    findings = in_order([*intake.findings, *_without_body_mass(intake, results)])
    return DayBundle(
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
    )


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
            people=People(squad, here, bands, _tested(intake)),
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
    today = _tried(intake.trials, day.key)
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
        "tested": sorted(_tested(intake)),
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
                "name": a.name,
                "groups": list(a.groups),
                "status": _status_of(intake, a.athlete_id),
            }
            for a in squad
        ],
        "athletes": {
            key: {
                **_athlete_facts(person, day, today[today["athlete_id"] == key], terms, before),
                "status": _status_of(intake, key),
                "no_marks": _no_marks(intake, today[today["athlete_id"] == key]),
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


def tables(day_folder: str | Path) -> DayBundle:
    """The tables of a day, computed from the season its folder was begun for.

    The build calls this through ``testing_day.ipynb``. In a folder under way the tables are also
    written; in one that is whole they are only computed again, so that nobody's rerun can make a
    finished page and its tables disagree.

    Raises:
        CannotStartError: the folder holds no manifest, or its season has moved.
    """
    day_path = Path(day_folder)
    begun = manifest.read(day_path)
    season = day_path / begun["environment"]["season"]
    made = compute(read(season, begun["parameters"]["day"]))
    if not (day_path / _DATA).exists():
        bundle.write(day_path / _DATA, made)
    return made


# --- the build ------------------------------------------------------------------------------


def build(request: Request, progress: Progress) -> Iterator[Built]:
    """Build one day, or all, and give what came of each.

    Raises:
        CannotStartError: nothing was built.
    """
    season, _ = folder.open_season(request.season)
    wanted = season.days if request.day == ALL else (_the_day(season, request.day),)
    with swap.place(request.out), Pool(request.workers if request.formats else 1) as pool:
        for day in wanted:
            yield _build_day(request, season, day, pool, progress)


def _build_day(request: Request, season: Season, day: Day, pool: Pool, progress: Progress) -> Built:
    with swap.whole(request.out, day.key) as here:
        content = _begin(request, season, day, here)
        failed: list[Outcome] = []
        if request.formats:
            progress(0, 1, _TESTING_DAY)
            failed += [o for o in pool.run([_testing_day_job(request, day, here)]) if o.why]
        if not (here / _DATA).exists():
            tables(here)
        made = bundle.read_day(here / _DATA)
        jobs = _jobs(request, day, here, made) if request.formats else []
        total = len(jobs) + 1
        for count, outcome in enumerate(pool.run(jobs), start=1):
            failed += [outcome] if outcome.why else []
            progress(count + 1, total, outcome.name)
        failed.sort(key=lambda o: o.name)
        if request.formats:
            write_whole(here / "index.html", _index(made, here, failed).encode())
        manifest.write(here, {**content, "outputs": manifest.outputs(here)})
    totals = made.tables["account"][["rows", "used", "flagged", "set_aside"]].sum()
    return Built(
        folder=request.out / day.key,
        pages=len(jobs) + bool(request.formats) - len(failed),
        **{str(name): int(count) for name, count in totals.items()},
        findings=made.tables["findings"],
        failed=tuple(failed),
    )


def _begin(request: Request, season: Season, day: Day, here: Path) -> dict[str, Any]:
    """Write the first half of the manifest, which the testing-day notebook reads."""
    files = [p for p in request.season.iterdir() if p.is_file()]
    files += [p for d in season.up_to(day) for p in d.folder.rglob("*") if p.is_file()]
    content = {
        "schema_version": schemas.SCHEMA_VERSION,
        "parameters": {
            "day": day.key,
            "only": sorted(request.only),
            "formats": [f for f in FORMATS if f in request.formats],
        },
        "inputs": manifest.hashes(request.season, files),
        "templates": manifest.hashes(TEMPLATES, (p for p in TEMPLATES.rglob("*") if p.is_file())),
        "versions": manifest.versions(),
        "environment": manifest.environment(
            season=_relative(request.season, here),
            engine=request.engine,
            workers=str(request.workers),
        ),
    }
    manifest.write(here, content)
    return content


def _relative(season: Path, here: Path) -> str:
    """The season as seen from the day's folder; absolute where drives differ."""
    try:
        return Path(os.path.relpath(season.resolve(), here.resolve())).as_posix()
    except ValueError:
        return season.resolve().as_posix()


def _job(request: Request, day: Day, **more: Any) -> Job:
    return Job(
        templates=TEMPLATES,
        date=day.date,
        engine=request.engine,
        keep_notebook="ipynb" in request.formats,
        **more,
    )


def _testing_day_job(request: Request, day: Day, here: Path) -> Job:
    here = here.resolve()
    return _job(
        request,
        day,
        name=_TESTING_DAY,
        template=TEMPLATES / "notebooks" / f"{_TESTING_DAY}.ipynb",
        notebook=here / _NOTEBOOKS / f"{_TESTING_DAY}.ipynb",
        parameters={"day_folder": ".."},
        html=here / f"{_TESTING_DAY}.html" if "html" in request.formats else None,
    )


def _jobs(request: Request, day: Day, here: Path, made: DayBundle) -> list[Job]:
    """The squad's page and one for each athlete (``only`` narrows both)."""
    here = here.resolve()
    known = made.day["athletes"]
    unknown = [key for key in request.only if key not in known]
    if unknown:
        raise CannotStartError(f"No results on {day.key} for {', '.join(unknown)}.")
    jobs = []
    if not request.only:
        jobs.append(_page(request, day, here, _SQUAD, here / _SQUAD, {"data_folder": "../data"}))
    for key in request.only or known:
        parameters = {"slice_path": f"../{_DATA}/{bundle.ATHLETES}/{key}.json"}
        jobs.append(_page(request, day, here, "athlete", here / _ATHLETES / key, parameters))
    return jobs


def _page(
    request: Request, day: Day, here: Path, template: str, page: Path, parameters: dict[str, str]
) -> Job:
    return _job(
        request,
        day,
        name=page.name,
        template=TEMPLATES / "notebooks" / f"{template}.ipynb",
        notebook=here / _NOTEBOOKS / f"{page.name}.ipynb",
        parameters=parameters,
        html=page.with_name(f"{page.name}.html") if "html" in request.formats else None,
        pdf=page.with_name(f"{page.name}.pdf") if "pdf" in request.formats else None,
    )


def _index(made: DayBundle, here: Path, failed: list[Outcome]) -> str:
    facts = made.day

    def links(stem: str) -> list[dict[str, str]]:
        paths = [f"{stem}.{suffix}" for suffix in ("html", "pdf")]
        paths.append(f"{_NOTEBOOKS}/{Path(stem).name}.ipynb")
        return [{"text": Path(p).suffix[1:], "href": p} for p in paths if (here / p).exists()]

    names = {person["id"]: person["name"] for person in facts["roster"]}

    def line(text: str, found: list[dict[str, str]]) -> dict[str, Any]:
        return {"text": text, "links": found}

    data = sorted((here / _DATA).glob("*.*"), key=lambda p: p.name)
    table_links = [{"text": p.name, "href": f"{_DATA}/{p.name}"} for p in data]
    groups = [
        {
            "heading": say("index staff"),
            "lines": [
                line(say("squad title", date=wording.date(facts["date"])), links(_SQUAD)),
                line(say("day title", date=wording.date(facts["date"])), links(_TESTING_DAY)),
            ],
        },
        {
            "heading": say("index athletes"),
            "lines": [
                line(
                    say("index athlete", name=names.get(key, person["name"]), athlete_id=key),
                    links(f"{_ATHLETES}/{key}"),
                )
                for key, person in facts["athletes"].items()
            ],
        },
        {
            "heading": say("index aside"),
            "nothing": say("index aside none"),
            "lines": [line(text, []) for text in _aside(made.tables["findings"])],
        },
        {
            "heading": say("index failed"),
            "nothing": say("index failed none"),
            "lines": [line(say("index failed one", page=o.name, why=o.why), []) for o in failed],
        },
        {"heading": say("index tables"), "lines": [line(say("index table"), table_links)]},
    ]
    texts = {
        "title": say("index title", date=wording.date(facts["date"])),
        "lead": say(
            "index lead",
            season=facts["season"],
            term=facts["term"],
            athletes=len(facts["athletes"]),
        ),
        "note": say("index note"),
    }
    return index.to_html(TEMPLATES / "html", texts, groups)


def _aside(findings: pd.DataFrame) -> list[str]:
    """What was set aside, a line for each fault of a sheet."""
    errors = findings[findings["severity"] == Severity.ERROR].astype(object)
    lines = []
    for (code, file, _), rows in errors.groupby(["code", "file", "sheet"], sort=False):
        if len(rows) > FEW:
            lines.append(say("index aside many", code=code, file=file, count=len(rows)))
        else:
            places = (testing_day.where(row) for row in rows.to_dict("records"))
            lines += [say("index aside one", code=code, where=where) for where in places]
    return lines


FEW = 5
"""More faults of one kind in one sheet stand as a count; the check report has each."""


# --- verify and check -----------------------------------------------------------------------


def verify(day_folder: Path, season: Path, workers: int, progress: Progress) -> list[str]:
    """Rebuild a day in a temporary folder and name every output that differs.

    Raises:
        CannotStartError: the folder is no report folder, or the season cannot be built.
    """
    was = manifest.read(day_folder)
    if "outputs" not in was:
        raise CannotStartError(f"The build of {day_folder.name!r} never ended; build it again.")
    parameters = was["parameters"]
    found = manifest.differences(was["outputs"], manifest.outputs(day_folder))
    lines = [f"on disk, {line.replace('the rebuild', 'the folder')}" for line in found]
    with tempfile.TemporaryDirectory(prefix="testing-reports-") as place:
        request = Request(
            season=season,
            out=Path(place),
            day=parameters["day"],
            only=tuple(parameters["only"]),
            formats=tuple(parameters["formats"]),
            workers=workers,
        )
        for built in build(request, progress):
            again = manifest.read(built.folder)
            for part in ("inputs", "templates", "versions", "outputs"):
                lines += [f"{part}, {d}" for d in manifest.differences(was[part], again[part])]
    return lines


def check(season: Path, day: str | None) -> DayBundle:
    """Intake and tables in memory, nothing written."""
    return compute(read(season, day))


def write_check(season: Path, day: str | None, out: Path) -> None:
    """The check report as files: ``testing_day.html``, ``findings.csv``, ``account.csv``.

    Raises:
        CannotStartError: the season cannot be built, or the page failed.
    """
    with tempfile.TemporaryDirectory(prefix="testing-reports-") as place:
        opened, _ = folder.open_season(season)
        chosen = _the_day(opened, day)
        here = Path(place) / chosen.key
        here.mkdir()
        request = Request(season, Path(place), chosen.key, formats=("html",))
        _begin(request, opened, chosen, here)
        with Pool(1) as pool:
            for outcome in pool.run([_testing_day_job(request, chosen, here)]):
                if outcome.why:
                    raise CannotStartError(f"The check report could not be made: {outcome.why}.")
        for name in (f"{_TESTING_DAY}.html", f"{_DATA}/findings.csv", f"{_DATA}/account.csv"):
            write_whole(out / Path(name).name, (here / name).read_bytes())
