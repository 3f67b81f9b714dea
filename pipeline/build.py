"""The one place that knows the order of the stages.

files → trials and findings → results → changes → the data folder → a notebook a page → pages →
the whole folder swapped in.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import bundle, reading, shareable
from pipeline import tables as schemas
from pipeline.battery import TEMPLATES
from pipeline.bundle import DayBundle
from pipeline.catalogue import Severity
from pipeline.errors import CannotStartError
from pipeline.intake import files, folder, roster
from pipeline.intake.folder import Day, Season
from pipeline.publish import index, manifest, since, swap
from pipeline.publish.notebook import FORMATS, WORKER, Job, Outcome, write_whole
from pipeline.publish.workers import Pool
from pipeline.report import since as changed
from pipeline.report import testing_day, wording
from pipeline.report.wording import say

Progress = Callable[[int, int, str], None]
"""Called with pages made, pages in all, and the name of the last."""

ALL = "all"
_DATA, _NOTEBOOKS, _ATHLETES = "data", "notebooks", "athletes"
_TESTING_DAY, _SQUAD = "testing_day", "squad"


@dataclass(frozen=True, slots=True)
class Request:
    """What to build. ``formats`` may be empty: then it stops after the tables.

    ``since`` is what the index says has changed; where it is none, the last build is looked at.
    """

    season: Path
    out: Path
    day: str | None = None
    only: tuple[str, ...] = ()
    formats: tuple[str, ...] = FORMATS
    workers: int = 1
    engine: str = WORKER
    since: Mapping[str, Any] | None = None
    names: str = shareable.FULL

    def folder_of(self, day: Day) -> str:
        """The name of a day's folder of reports."""
        return shareable.folder_name(day.key, self.names)


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
    if "season" not in begun["environment"]:
        raise CannotStartError(
            "These reports were built to be handed on and do not say where their season is."
        )
    season = day_path / begun["environment"]["season"]
    parameters = begun["parameters"]
    made = shareable.compute(season, parameters["day"], parameters["names"])
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
    folder.keep_out(season, request.out)
    if request.names != shareable.FULL:
        shareable.names_in(roster.read(request.season)[0])
    wanted = season.days if request.day == ALL else (reading.the_day(season, request.day),)
    with swap.place(request.out), Pool(request.workers if request.formats else 1) as pool:
        for day in wanted:
            yield _build_day(request, season, day, pool, progress)


def _build_day(request: Request, season: Season, day: Day, pool: Pool, progress: Progress) -> Built:
    with swap.whole(request.out, request.folder_of(day)) as here:
        content = _begin(request, season, day, here)
        failed: list[Outcome] = []
        if request.formats:
            progress(0, 1, _TESTING_DAY)
            job = _testing_day_job(request, day, here, content)
            failed += [o for o in pool.run([job]) if o.why]
        if not (here / _DATA).exists():
            tables(here)
        made = bundle.read_day(here / _DATA)
        content["since"] = _since(request, day, content, made)
        jobs = _jobs(request, day, here, made, content) if request.formats else []
        total = len(jobs) + 1
        for count, outcome in enumerate(pool.run(jobs), start=1):
            failed += [outcome] if outcome.why else []
            progress(count + 1, total, outcome.name)
        failed.sort(key=lambda o: o.name)
        if request.formats:
            write_whole(here / "index.html", _index(made, here, failed, content).encode())
        content = _handed_on(request, content)
        manifest.write(here, {**content, "outputs": manifest.outputs(here)})
    totals = made.tables["account"][["rows", "used", "flagged", "set_aside"]].sum()
    return Built(
        folder=request.out / request.folder_of(day),
        pages=len(jobs) + bool(request.formats) - len(failed),
        **{str(name): int(count) for name, count in totals.items()},
        findings=made.tables["findings"],
        failed=tuple(failed),
    )


def _begin(request: Request, season: Season, day: Day, here: Path) -> dict[str, Any]:
    """Write the first half of the manifest, which the testing-day notebook reads."""
    found = [
        *request.season.iterdir(),
        *(p for d in season.up_to(day) for p in d.folder.rglob("*")),
    ]
    inputs = [p for p in found if not files.why_not_plain(p) and os.access(p, os.R_OK)]
    content = {
        "schema_version": schemas.SCHEMA_VERSION,
        "parameters": {
            "day": day.key,
            "only": sorted(request.only),
            "formats": [f for f in FORMATS if f in request.formats],
            "names": request.names,
        },
        "inputs": manifest.hashes(request.season, inputs),
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


def _handed_on(request: Request, content: dict[str, Any]) -> dict[str, Any]:
    """What the manifest of a whole folder says; one for handing on says no name and no place."""
    if request.names == shareable.FULL:
        return content
    people, _ = roster.read(request.season)
    where = {key: value for key, value in content["environment"].items() if key != "season"}
    inputs = shareable.input_names(content["inputs"], shareable.names_in(people))
    return {**content, "environment": where, "inputs": inputs}


def _relative(season: Path, here: Path) -> str:
    """The season as seen from the day's folder; absolute where drives differ."""
    try:
        return Path(os.path.relpath(season.resolve(), here.resolve())).as_posix()
    except ValueError:
        return season.resolve().as_posix()


def _since(
    request: Request, day: Day, content: Mapping[str, Any], made: DayBundle
) -> dict[str, Any]:
    """What the index says has changed; reports for handing on tell nothing of earlier ones."""
    if request.names != shareable.FULL:
        return {}
    if request.since is not None:
        return dict(request.since)
    known = [person["id"] for person in made.day["roster"]]
    return since.last_build(request.out / day.key, content, made.tables, known)


def _revision(content: Mapping[str, Any], path: Path | None = None) -> str:
    """The revision of a page of the staff, or of the athlete whose slice is given, in words."""
    if path is None:
        parts = [content[part] for part in ("inputs", "templates", "versions")]
    else:
        shapes = {n: d for n, d in content["templates"].items() if n.startswith(_SHAPES)}
        parts = [manifest.digest(path), shapes, content["versions"]]
    return say("revision", code=manifest.revision(*parts))


_SHAPES = ("html/", "typst/", "notebooks/athlete.ipynb")
"""Templates that an athlete's page is made with; what the battery says is in the slice."""


def _job(request: Request, day: Day, **more: Any) -> Job:
    return Job(
        templates=TEMPLATES,
        date=day.date,
        engine=request.engine,
        keep_notebook="ipynb" in request.formats,
        **more,
    )


def _testing_day_job(request: Request, day: Day, here: Path, content: Mapping[str, Any]) -> Job:
    here = here.resolve()
    return _job(
        request,
        day,
        name=_TESTING_DAY,
        template=TEMPLATES / "notebooks" / f"{_TESTING_DAY}.ipynb",
        notebook=here / _NOTEBOOKS / f"{_TESTING_DAY}.ipynb",
        parameters={"day_folder": ".."},
        html=here / f"{_TESTING_DAY}.html" if "html" in request.formats else None,
        footer=_revision(content),
    )


def _jobs(
    request: Request, day: Day, here: Path, made: DayBundle, content: Mapping[str, Any]
) -> list[Job]:
    """The squad's page and one for each athlete (``only`` narrows both)."""
    here = here.resolve()
    known = made.day["athletes"]
    unknown = [key for key in request.only if key not in known]
    if unknown:
        raise CannotStartError(f"No results on {day.key} for {', '.join(unknown)}.")
    jobs = []
    if not request.only:
        squad = {"data_folder": f"../{_DATA}"}
        jobs.append(_page(request, day, here / _SQUAD, _SQUAD, squad, _revision(content)))
    for key in request.only or known:
        own = f"{_DATA}/{bundle.ATHLETES}/{key}.json"
        page, revision = here / _ATHLETES / key, _revision(content, here / own)
        jobs.append(_page(request, day, page, "athlete", {"slice_path": f"../{own}"}, revision))
    return jobs


def _page(
    request: Request, day: Day, page: Path, template: str, parameters: dict[str, str], footer: str
) -> Job:
    here = page.parent.parent if page.parent.name == _ATHLETES else page.parent
    return _job(
        request,
        day,
        name=page.name,
        template=TEMPLATES / "notebooks" / f"{template}.ipynb",
        notebook=here / _NOTEBOOKS / f"{page.name}.ipynb",
        parameters=parameters,
        html=page.with_name(f"{page.name}.html") if "html" in request.formats else None,
        pdf=page.with_name(f"{page.name}.pdf") if "pdf" in request.formats else None,
        footer=footer,
    )


def _index(made: DayBundle, here: Path, failed: list[Outcome], content: Mapping[str, Any]) -> str:
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
            "nothing": say("index athletes none"),
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
            "heading": say("index since"),
            "nothing": say("index since none"),
            "lines": [line(text, []) for text in changed.lines(content["since"], made)],
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
        "revision": _revision(content),
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
    if parameters.keys() != {"day", "only", "formats", "names"}:
        raise CannotStartError(f"The build of {day_folder.name!r} is of another version.")
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
            since=was.get("since", {}),
            names=parameters["names"],
        )
        for built in build(request, progress):
            again = manifest.read(built.folder)
            for part in ("inputs", "templates", "versions", "outputs"):
                lines += [f"{part}, {d}" for d in manifest.differences(was[part], again[part])]
    return lines


def write_check(season: Path, day: str | None, out: Path) -> None:
    """The check report as files: ``testing_day.html``, ``findings.csv``, ``account.csv``.

    Raises:
        CannotStartError: the season cannot be built, or the page failed.
    """
    with tempfile.TemporaryDirectory(prefix="testing-reports-") as place:
        opened, _ = folder.open_season(season)
        folder.keep_out(opened, out)
        chosen = reading.the_day(opened, day)
        here = Path(place) / chosen.key
        here.mkdir()
        request = Request(season, Path(place), chosen.key, formats=("html",))
        content = _begin(request, opened, chosen, here)
        with Pool(1) as pool:
            for outcome in pool.run([_testing_day_job(request, chosen, here, content)]):
                if outcome.why:
                    raise CannotStartError(f"The check report could not be made: {outcome.why}.")
        for name in (f"{_TESTING_DAY}.html", f"{_DATA}/findings.csv", f"{_DATA}/account.csv"):
            write_whole(out / Path(name).name, (here / name).read_bytes())
