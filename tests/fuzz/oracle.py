"""What must hold of every season read, however it was damaged: one sentence for each breach."""

from __future__ import annotations

import hashlib
import io
import math
import signal
import traceback
import zipfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree import ElementTree as ET

import openpyxl
import pandas as pd
import xlrd
from click.testing import CliRunner
from openpyxl.utils.escape import unescape

from pipeline import reading
from pipeline.catalogue import Severity
from pipeline.cli import main
from pipeline.errors import CannotStartError, Place
from pipeline.intake.files import SUFFIXES
from pipeline.measures.spec import FAILED, USED
from pipeline.reading import Intake

from .made import DAY, Cell, Made, Sheet
from .writing import number, shown, write

IGNORED = ("~$", ".", "Thumbs.db", "desktop.ini")
"""Beginnings of names that a computer leaves behind by itself: nobody need be told of them."""

LONGEST_S = 60.0
"""A reading takes half a second; after this long it hangs."""


class TooLongError(BaseException):
    """A reading that hangs; no ``except`` of the door may take it for a fault of a file."""


@dataclass
class Outcome:
    """What became of one season."""

    code: int
    breaches: list[str] = field(default_factory=list)
    findings: Counter[str] = field(default_factory=Counter)
    traced: int = 0
    """Values whose source was looked up in the file."""
    unread: list[str] = field(default_factory=list)
    """Places of numbers that were written and are no used value."""


def lay(made: Made, season: Path) -> None:
    """Put a season on the disk."""
    season.mkdir(parents=True)
    for name, data in made.files.items():
        path = season / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    for change in made.disk:
        change(season)


def run(made: Made, season: Path, *, twice: bool = False, by_command: bool = False) -> Outcome:
    """Write, read and judge a season.

    Args:
        made: the season.
        season: where it is written.
        twice: read it again and compare.
        by_command: also have it checked by the command, which goes on to results and changes.
    """
    if not made.files:
        write(made)
    lay(made, season)
    before = _digest(season)
    try:
        with _no_longer_than(LONGEST_S):
            intake = reading.read(season, None)
    except CannotStartError as error:
        breaches = [] if _may_stop(made, str(error)) else [f"stopped: {error}"]
        breaches += _by_command(season, 2) if by_command else []
        return Outcome(2, breaches + _unchanged(before, season))
    except (Exception, TooLongError):  # noqa: BLE001  # whatever it is, it is what is looked for
        return Outcome(3, [traceback.format_exc(limit=-6)])
    failed = any(f.severity is Severity.ERROR for f in intake.findings)
    outcome = Outcome(int(failed), findings=Counter(f.code for f in intake.findings))
    outcome.breaches += _unchanged(before, season)
    outcome.breaches += _account(intake, made)
    outcome.breaches += _all_named(intake, made, season)
    outcome.breaches += _truths(intake, made)
    outcome.unread += _unread(intake, made)
    for breach in _sources(intake, made, season):
        outcome.traced += 1
        outcome.breaches += [breach] if breach else []
    if by_command:
        outcome.breaches += _by_command(season, outcome.code)
    if twice:
        outcome.breaches += _same(intake, reading.read(season, None))
    return outcome


@contextmanager
def _no_longer_than(seconds: float) -> Iterator[None]:
    """What waits for ever becomes a failure like any other."""

    def stop(*_: object) -> None:
        raise TooLongError(f"no answer after {seconds:g} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def _by_command(season: Path, code: int) -> list[str]:
    """The command ends as the reading did, and raises nothing."""
    done = CliRunner().invoke(main, ["check", str(season)])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        told = traceback.format_exception(done.exception, limit=-6)
        return ["".join(told)]
    return [] if done.exit_code == code else [f"the command ends with {done.exit_code}, not {code}"]


def _may_stop(made: Made, sentence: str) -> bool:
    return any(word in sentence for word in made.stops)


# --- the files ------------------------------------------------------------------------------


def _digest(season: Path) -> dict[str, str]:
    found = {}
    for path in sorted(season.rglob("*")):
        name = path.relative_to(season).as_posix()
        held = path.is_file() and not path.is_symlink()
        found[name] = hashlib.sha256(path.read_bytes()).hexdigest() if held else "no file"
    return found


def _unchanged(before: dict[str, str], season: Path) -> list[str]:
    after = _digest(season)
    changed = [n for n in {**before, **after} if before.get(n) != after.get(n)]
    return [f"changed on disk: {name}" for name in changed]


def _all_named(intake: Intake, made: Made, season: Path) -> Iterator[str]:
    """Whatever lies in the day's folder is in the account, or a finding names it."""
    told = set(intake.account["file"]) | {f.place.file for f in intake.findings}
    told |= {name.rpartition("/")[0] for name in told}
    if intake.day.folder.name != DAY:
        return
    for path in (season / DAY).iterdir():
        name = path.relative_to(season).as_posix()
        if path.name != "day.toml" and not path.name.startswith(IGNORED) and name not in told:
            yield f"passed over in silence: {name}"
    for sheet in made.sheets:
        if sheet.path in made.files and sheet.suffix in SUFFIXES and sheet.path not in told:
            yield f"passed over in silence: {sheet.path}"


# --- the rows -------------------------------------------------------------------------------


def _account(intake: Intake, made: Made) -> Iterator[str]:
    table = intake.account
    states = table["used"] + table["flagged"] + table["set_aside"]
    for line in table[states != table["rows"]].to_dict("records"):
        yield f"rows do not add up: {line}"
    for one in intake.findings:
        if one.code == "rows-lost":
            yield f"rows lost: {one.place.file}: {one.message}"
    if table.duplicated(["file", "sheet"]).any():
        yield "a sheet stands twice in the account"
    rows = table.groupby("file")["rows"].sum()
    for sheet in made.sheets:
        own = _rows(sheet)
        if sheet.known and own != rows.get(sheet.path, 0):
            told = [f.message for f in intake.findings if f.place.file == sheet.path]
            yield f"{sheet.path} holds {own} rows, {rows.get(sheet.path)} in the account: {told}"


def _rows(sheet: Sheet) -> int:
    """Rows below the heading that hold anything, as the generator wrote them."""
    filled = [any(_written(sheet, cell).strip() for cell in row) for row in sheet.lines()]
    return max(sum(filled) - 1, 0)


def _written(sheet: Sheet, cell: Cell) -> str:
    return shown(cell) if sheet.book else cell.text


# --- the values -----------------------------------------------------------------------------


def _values(intake: Intake) -> pd.DataFrame:
    """Every recorded quantity; conditions are no quantities and have no resolution."""
    together = pd.concat([intake.trials.values, intake.reference_sprints.values])
    return together[together["resolution"].notna() & (together["raw"] != "")]


def _written_truths(made: Made) -> dict[tuple[str, int, str], float]:
    """What was written, by file, row and heading; a heading that stands twice tells nothing."""
    return {
        (sheet.path, y, heading): cell.truth
        for sheet in made.sheets
        if sheet.known
        for y, row in enumerate(sheet.rows[1:], start=len(sheet.above) + 2)
        for heading, cell in _under(sheet, row).items()
        if cell.truth is not None
    }


def _standing(intake: Intake) -> Iterator[tuple[tuple[str, int, str], float, str]]:
    """File, row and heading, value and quantity of each value of a single cell that stands."""
    values = _values(intake)
    kept = values[values["status"].isin([USED, FAILED]) & ~values["source"].str.contains(";")]
    for source, value, quantity in zip(
        kept["source"], kept["value"], kept["quantity"], strict=True
    ):
        place = Place.last_of(source)
        yield (place.file, place.row or 0, place.column), value, quantity


def _truths(intake: Intake, made: Made) -> Iterator[str]:
    """A cell that nobody damaged is read as what it is, or not used."""
    truths = _written_truths(made)
    for place, value, quantity in _standing(intake):
        truth = truths.get(place)
        if truth is not None and not math.isclose(value, truth, rel_tol=1e-9):
            yield f"{place}: {quantity} is {value!r}, and {truth!r} was written"


def _unread(intake: Intake, made: Made) -> Iterator[str]:
    standing = {place for place, _, _ in _standing(intake)}
    return (str(place) for place in _written_truths(made) if place not in standing)


def _under(sheet: Sheet, row: list[Cell]) -> dict[str, Cell]:
    """A row's cells by heading; a heading that stands twice tells nothing."""
    headings = [cell.text for cell in sheet.headings]
    return {
        heading: cell
        for heading, cell in zip(headings, row, strict=False)
        if headings.count(heading) == 1
    }


def _sources(intake: Intake, made: Made, season: Path) -> Iterator[str]:
    """Each value's source leads to a cell that holds its raw text: a breach or nothing each."""
    grids: dict[str, dict[str, list[list[object]]]] = {}
    sheets = {sheet.path: sheet for sheet in made.sheets if sheet.known}
    values = _values(intake)
    for source, raw in zip(values["source"], values["raw"], strict=True):
        place = Place.last_of(source)
        sheet = sheets.get(place.file)
        if sheet is None:
            continue
        if place.file not in grids:
            grids[place.file] = _grids(season / place.file, sheet)
        grid = grids[place.file].get(place.sheet)
        if grid is None or not place.row or place.row > len(grid):
            yield f"{source} leads nowhere"
            continue
        columns = [
            x for row in grid[: place.row - 1] for x, cell in enumerate(row) if cell == place.column
        ]
        row = grid[place.row - 1]
        cells = [row[x] for x in columns if x < len(row)] or row
        held = any(_same_text(cell, raw) for cell in cells)
        yield "" if held else f"{source} holds {cells!r}, and {raw!r} was read"


def _same_text(cell: object, raw: str) -> bool:
    if isinstance(cell, str):
        return cell.strip() == raw.strip()
    if isinstance(cell, bool) or cell is None:
        return {True: "yes", False: "no", None: ""}[cell] == raw
    if isinstance(cell, int | float):
        return number(Cell(raw, typed=True)) == float(f"{cell:.15g}")
    return str(cell).startswith(raw)  # a date


def _grids(path: Path, sheet: Sheet) -> dict[str, list[list[object]]]:
    """A file's cells by sheet, read by another library than the door's."""
    data = path.read_bytes()
    if sheet.suffix == ".xlsx":
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        return {
            s.title: [[_unescaped(cell) for cell in row] for row in s.iter_rows(values_only=True)]
            for s in book.worksheets
        }
    if sheet.suffix == ".xls":
        pages = xlrd.open_workbook(file_contents=data)
        return {p.name: [p.row_values(y) for y in range(p.nrows)] for p in pages.sheets()}
    if sheet.suffix == ".ods":
        return _ods_grids(data)
    text = data[len(sheet.mark) :].decode(sheet.encoding)
    wide = max(map(len, sheet.lines()), default=1) + 1
    page = pd.read_csv(
        io.StringIO(text.replace("\r\n", "\n").replace("\r", "\n")),
        sep=sheet.separator, header=None, names=range(wide), dtype=str, keep_default_na=False,
        skip_blank_lines=False,
    )  # fmt: skip
    return {"": page.fillna("").to_numpy(dtype=object).tolist()}


def _unescaped(cell: object) -> object:
    """Marks that XML cannot hold are stored as ``_x000D_``; that library leaves them so."""
    return unescape(cell) if isinstance(cell, str) else cell


_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


def _ods_grids(data: bytes) -> dict[str, list[list[object]]]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        root = ET.fromstring(archive.read("content.xml"))  # noqa: S314  # our own generator's
    grids = {}
    for table in root.iter(f"{_TABLE}table"):
        rows: list[list[object]] = []
        for line in table.iter(f"{_TABLE}table-row"):
            row: list[object] = []
            for cell in line:
                stored = cell.get(f"{_OFFICE}value")
                text = "\n".join("".join(p.itertext()) for p in cell.iter(f"{_TEXT}p"))
                row.append(text if stored is None else float(stored))
            rows.append(row)
        grids[str(table.get(f"{_TABLE}name"))] = rows
    return grids


# --- twice ----------------------------------------------------------------------------------


def _same(one: Intake, other: Intake) -> Iterator[str]:
    if one.findings != other.findings:
        yield "reading twice gives other findings"
    pairs = (
        (one.account, other.account),
        (one.trials.values, other.trials.values),
        (one.trials.attempts, other.trials.attempts),
    )
    if not all(a.equals(b) for a, b in pairs):
        yield "reading twice gives other tables"
