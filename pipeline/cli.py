"""The face: the only code that prints and exits."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any, Self

import click
from tqdm import tqdm

from pipeline import (
    __version__,
    build,
    catalogue,
    computing,
    forget,
    outgoing,
    prepare,
    reading,
    shareable,
)
from pipeline.catalogue import Severity
from pipeline.errors import CannotStartError, PageError, in_order
from pipeline.forms.new_day import FORMATS as STYLES
from pipeline.measures import registry
from pipeline.publish.notebook import FORMATS, KERNEL, WORKER
from pipeline.report import terminal, testing_day

DONE, INCOMPLETE, NOT_STARTED = 0, 1, 2

_FOLDER = click.Path(path_type=Path)
_Command = Callable[..., int]


class _Commands(click.Group):
    """Turns a failure to start into one sentence and exit 2; no traceback reaches a user."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            code = super().invoke(ctx)
        except CannotStartError as error:
            click.echo(outgoing.visible(f"Cannot start: {error}"), err=True)
            code = NOT_STARTED
        except OSError as error:
            place = f" ({Path(error.filename).name})" if error.filename else ""
            sentence = f"Cannot go on: {error.strerror or error}{place}."
            click.echo(outgoing.visible(sentence), err=True)
            code = NOT_STARTED
        ctx.exit(code or DONE)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="testing-reports %(version)s")
def main() -> None:
    """Testing-day reports: a folder of raw files in, a report for every athlete out."""


def _formats(_: click.Context, __: click.Parameter, text: str) -> tuple[str, ...]:
    if text == "none":
        return ()
    chosen = tuple(part.strip() for part in text.split(",") if part.strip())
    unknown = [part for part in chosen if part not in FORMATS]
    if unknown or not chosen:
        raise click.BadParameter(f"choose from {', '.join(FORMATS)}, or none")
    return chosen


_WORKERS = click.option(
    "--workers",
    type=click.IntRange(1, 64),
    default=lambda: min(os.cpu_count() or 1, 8),
    show_default="the number of processors, at most 8",
    help="Pages made side by side.",
)


@main.command("build")
@click.argument("season", type=_FOLDER)
@click.option("--day", help="A day's date, or all. The latest by default.")
@click.option("--out", type=_FOLDER, default=Path("reports"), show_default=True)
@click.option("--only", multiple=True, metavar="ID", help="Only this athlete; may be repeated.")
@click.option(
    "--formats", default="html,pdf,ipynb", show_default=True, callback=_formats,
    help="Comma between them; none stops after the tables.",
)  # fmt: skip
@_WORKERS
@click.option(
    "--engine", type=click.Choice([WORKER, KERNEL]), default=WORKER, show_default=True,
    help="Run notebooks in warm workers, or each on a stock kernel.",
)  # fmt: skip
@click.option(
    "--initials", is_flag=True, help="For handing on: initials, no name and no birth date anywhere."
)
@click.option("--ids", is_flag=True, help="For handing on: ids in place of names.")
def build_command(
    season: Path,
    day: str | None,
    out: Path,
    only: tuple[str, ...],
    formats: tuple[str, ...],
    workers: int,
    engine: str,
    initials: bool,
    ids: bool,
) -> int:
    """Build the reports of a testing day."""
    if initials and ids:
        raise click.UsageError("choose one of --initials and --ids")
    names = shareable.INITIALS if initials else shareable.IDS if ids else shareable.FULL
    request = build.Request(season, out, day, only, formats, workers, engine, names=names)
    code = DONE
    with _Bar() as bar:
        for built in build.build(request, bar.show):
            bar.clear()
            _tell(built)
            if not built.complete:
                code = INCOMPLETE
    return code


def _tell(built: build.Built) -> None:
    click.echo(f"{built.folder}: {built.pages} pages.")
    click.echo(terminal.account_sum(built.rows, built.used, built.flagged, built.set_aside))
    counts = built.findings["severity"].value_counts()
    words = ", ".join(f"{counts[str(s)]} {s}" for s in Severity if str(s) in counts)
    click.echo(f"Findings: {words or 'none'}.")
    for outcome in built.failed:
        click.echo(f"Not made: {outcome.name}: {outcome.why}.", err=True)


class _Bar:
    """A progress bar on a terminal, nothing elsewhere."""

    def __init__(self) -> None:
        self._bar = tqdm(total=0, unit="page", leave=False, disable=not sys.stderr.isatty())

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._bar.close()

    def show(self, done: int, total: int, name: str) -> None:
        """Set the bar."""
        self._bar.total = total
        self._bar.set_postfix_str(name)
        self._bar.n = done
        self._bar.refresh()

    def clear(self) -> None:
        """Make room for a line."""
        self._bar.clear()


@main.command()
@click.argument("season", type=_FOLDER)
@click.option("--day", help="A day's date. The latest by default.")
@click.option("--out", type=_FOLDER, help="Also write the check report there.")
@click.option(
    "--suggest", is_flag=True, help="Print only a starting [columns] for headings not read."
)
def check(season: Path, day: str | None, out: Path | None, suggest: bool) -> int:
    """Read a testing day and say what is there and what is wrong; build nothing."""
    if suggest:
        block = reading.suggested_columns(season, day)
        click.echo(block or "# Every heading of the day was read; no [columns] is needed.")
        return DONE
    made = computing.check(season, day)
    click.echo(outgoing.visible(terminal.check(made, reading.mapping_lines(season, day))))
    if out is not None:
        build.write_check(season, day, out)
        click.echo(f"Written to {out}.")
    severities = made.tables["findings"]["severity"]
    return INCOMPLETE if (severities == Severity.ERROR).any() else DONE


_TESTS = click.option(
    "--test", "tests", multiple=True, metavar="NAME",
    help="Only this test; may be repeated. By default those the battery plans.",
)  # fmt: skip


@main.command("new-day")
@click.argument("season", type=_FOLDER)
@click.argument("date")
@click.option("--term", required=True, help="What the day is called, as “autumn 2026”.")
@click.option(
    "--format", "style", type=click.Choice(STYLES), default=STYLES[0], show_default=True,
    help="Workbooks have drop-downs and keep ids like 007.",
)  # fmt: skip
@click.option(
    "--session", "sessions", multiple=True, metavar="NAME[=SHEETS]",
    help="A part of the day with conditions of its own, as track=sprints; may be repeated.",
)  # fmt: skip
@_TESTS
def new_day_command(
    season: Path,
    date: str,
    term: str,
    style: str,
    sessions: tuple[str, ...],
    tests: tuple[str, ...],
) -> int:
    """Make a day's folder: its day file, and sheets with everybody's rows planned."""
    listed = prepare.squad(season, date)
    made = prepare.scaffold(listed, prepare.Asked(term, style, sessions, tests))
    click.echo(f"{made}: sheets for {len(listed.people)} athletes.")
    return _told(listed, tests)


@main.command("sheets")
@click.argument("season", type=_FOLDER)
@click.argument("date")
@click.option(
    "--paper", type=click.Choice(list(prepare.PAPERS)), default="A4", show_default=True
)  # fmt: skip
@click.option(
    "--out", type=_FOLDER, show_default="recording-sheets-DATE.pdf", help="The file to write."
)  # fmt: skip
@_TESTS
def sheets_command(
    season: Path, date: str, paper: str, out: Path | None, tests: tuple[str, ...]
) -> int:
    """Make the recording sheets of a day to print, with the same rows as its files."""
    listed = prepare.squad(season, date)
    file = out or Path(f"recording-sheets-{listed.date}.pdf")
    try:
        prepare.recording_sheets(listed, tests, paper, file)
    except PageError as error:
        raise CannotStartError(f"{error}.") from error
    click.echo(f"{file}: sheets for {len(listed.people)} athletes.")
    return _told(listed, tests)


def _told(listed: prepare.Squad, tests: tuple[str, ...]) -> int:
    """Name tests that nobody does, and what was wrong with the roster or the battery."""
    for name in prepare.without_people(listed, tests):
        click.echo(f"{name}: nobody on the list is of a group or event that does it.", err=True)
    found = in_order(listed.findings)
    for one in found:
        where = testing_day.where(asdict(one.place))
        click.echo(f"{one.severity}: {where}: {one.message}", err=True)
    return INCOMPLETE if any(one.severity is Severity.ERROR for one in found) else DONE


@main.command()
@click.argument("reports_day", type=_FOLDER)
@click.argument("season", type=_FOLDER)
@_WORKERS
def verify(reports_day: Path, season: Path, workers: int) -> int:
    """Rebuild a day aside and compare every file with what is there."""
    with _Bar() as bar:
        lines = build.verify(reports_day, season, workers, bar.show)
    for line in lines:
        click.echo(line)
    click.echo("Every file is the same." if not lines else f"{len(lines)} differences.")
    return INCOMPLETE if lines else DONE


@main.command("forget")
@click.argument("season", type=_FOLDER)
@click.argument("athlete")
@click.option("--reports", type=_FOLDER, default=Path("reports"), show_default=True)
@click.option("--yes", is_flag=True, help="Remove what is listed; without it nothing is written.")
def forget_command(season: Path, athlete: str, reports: Path, yes: bool) -> int:
    """List every file that holds one athlete; with --yes, take the athlete out of them."""
    traces = forget.look(season, athlete, reports)
    for line in forget.told(traces):
        click.echo(outgoing.visible(line))
    if not yes:
        click.echo("Nothing was written. With --yes the rows are emptied and the files removed.")
        return DONE
    aside = forget.remove(traces)
    click.echo(
        f"Taken out. The season as it was stands beside it as {aside.name}: delete that folder "
        "when you have looked. Workbooks may have lost formatting."
    )
    if traces.squad_reports:
        click.echo("Pages and tables of the squad are gone; build again (--day all).")
    return INCOMPLETE if traces.left else DONE


@main.command()
def measures() -> int:
    """List every measure: key, unit, which way is better, formula, sources, typical error."""
    for m in registry.describe():
        unit = f" ({m['unit']})" if m["unit"] else ""
        click.echo(f"{m['key']}{unit}: {m['label']}; better: {m['better']}")
        click.echo(f"  formula: {m['formula']}")
        click.echo(f"  attempts: {m['combine']}; plausible {m['plausible'][0]:g} to "
                   f"{m['plausible'][1]:g}")  # fmt: skip
        click.echo(f"  sources: {'; '.join(m['source_texts'])}")
        for error in m["typical_errors"]:
            tests = f" for {', '.join(error.tests)}" if error.tests else ""
            click.echo(f"  typical error{tests}: {error.value:g} {error.unit}, grade {error.grade}"
                       f" ({error.basis})")  # fmt: skip
    return DONE


@main.command()
def findings() -> int:
    """List every finding there can be: code, severity, what it says and what to do."""
    for code, kind in catalogue.listed():
        click.echo(f"{code} ({kind.severity}): {kind.text}")
        click.echo(f"  {kind.fix}")
    return DONE
