"""Forgetting one athlete: where they stand, and a season and reports without them.

A row is emptied, not taken out: every other row keeps its number, so that sources, corrections and
notes about other athletes still point where they did.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
import shutil
import warnings
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import openpyxl
from openpyxl.workbook import Workbook

from pipeline import reading
from pipeline.errors import CannotStartError, Place
from pipeline.hiding import Names, folded, words
from pipeline.intake import columns, files, folder, force, readers, roster, texts
from pipeline.intake import words as headings
from pipeline.intake.roster import Athlete
from pipeline.publish import swap

_TABLES = files.TEXT_SUFFIXES
_BOOKS = (".xlsx",)
_OLD_BOOKS = tuple(suffix for suffix in files.BOOK_SUFFIXES if suffix not in _BOOKS)
_TEXTS = (".toml", ".txt", ".md", ".json")
_PERSON = ("athlete_id", "name")
_HEADINGS = frozenset(
    heading
    for kind in (*columns.SHEETS.values(), columns.ROSTER)
    for heading, field in headings.headings(kind.name, _PERSON).items()
    if field in _PERSON
)
_HEADINGS_WITHIN = 10
"""Headings are looked for in this many rows from the top."""

Rows = dict[str, set[int]]
"""Numbers of rows, as a spreadsheet shows them, by the name of the sheet (empty in a CSV)."""


@dataclass(frozen=True)
class Traces:
    """Where an athlete stands.

    Attributes:
        athlete: who.
        rows: rows that are theirs, by file.
        files: files that are theirs alone.
        own_reports: their pages, notebooks and slices.
        squad_reports: pages and tables of whole days they are part of.
        left: what only a person can judge: a file and why.
    """

    season: Path
    reports: Path
    athlete: Athlete
    rows: dict[Path, Rows]
    files: tuple[Path, ...]
    own_reports: tuple[Path, ...]
    squad_reports: tuple[Path, ...]
    left: tuple[tuple[Path, str], ...]


# --- looking --------------------------------------------------------------------------------


def look(season: Path, who: str, reports: Path) -> Traces:
    """Everything that holds one athlete; nothing is written.

    Args:
        season: the season folder.
        who: the athlete's id, or the whole name.
        reports: where reports were built to; may be absent.

    Raises:
        CannotStartError: no such athlete, or a file holds them that cannot be written again.
    """
    season = season.resolve()
    opened, _ = folder.open_season(season)
    people, _ = roster.read(season)
    athlete = _who(list(people.athletes.values()), who)
    others = [a for a in people.athletes.values() if a is not athlete]
    marks = _Marks(athlete, others)
    files = [p for p in sorted(season.rglob("*")) if _looked_at(p, season, reports)]
    seen = _read_rows(season, [day.key for day in opened.days], athlete.athlete_id)
    rows: dict[Path, Rows] = {}
    traces = _own_traces(files, marks, seen)
    for path in files:
        found = _rows_of(path, marks, seen.get(path, {})) if path not in traces else {}
        if found:
            rows[path] = found
    rows |= _corrected(season, files, rows)
    own, squad = _reports_of(reports, marks)
    left = tuple(_left(files, rows, traces, marks))
    return Traces(season, reports, athlete, rows, traces, own, squad, left)


def _looked_at(path: Path, season: Path, reports: Path) -> bool:
    hidden = any(part.startswith(".") for part in path.relative_to(season).parts)
    built = path.resolve().is_relative_to(reports.resolve())
    return path.is_file() and not path.is_symlink() and not hidden and not built


def _who(people: list[Athlete], who: str) -> Athlete:
    for athlete in people:
        if athlete.athlete_id.casefold() == who.strip().casefold():
            return athlete
    named = [a for a in people if folded(a.name) == folded(who.strip())]
    if len(named) == 1:
        return named[0]
    why = "is the name of more than one athlete; give the id" if named else "is not on the roster"
    raise CannotStartError(f"“{who}” {why}.")


class _Marks:
    """What tells that a cell, a text or a file's name means the athlete."""

    def __init__(self, athlete: Athlete, others: list[Athlete]) -> None:
        self.key = athlete.athlete_id
        self._key = athlete.athlete_id.casefold()
        self._token = re.compile(rf"(?<![\w-]){re.escape(self.key)}(?![\w-])", re.IGNORECASE)
        named = athlete.name != athlete.athlete_id
        self._name = words(athlete.name) if named else set()
        shared = frozenset(word for other in others for word in words(other.name))
        self._names = Names([(athlete.name, None)] if named else [], shared)

    def is_key(self, cell: str) -> bool:
        return cell.strip().casefold() == self._key

    def is_name(self, cell: str) -> bool:
        """Whether a cell is the whole name, in whatever order."""
        return bool(self._name) and words(cell) == self._name

    def named_in(self, text: str) -> bool:
        """Whether a text names them by a word that is nobody else's name."""
        telling = not self.key.isdecimal()  # a bare number stands everywhere
        return self._names.inside(text) or (telling and bool(self._token.search(text)))

    def built_in(self, text: str) -> bool:
        """Whether an output holds them."""
        return bool(self._token.search(text)) or self._names.inside(text)


def _read_rows(season: Path, days: list[str], key: str) -> dict[Path, Rows]:
    """The rows that a build takes for theirs, used or set aside, of every day."""
    found: dict[Path, Rows] = defaultdict(lambda: defaultdict(set))

    def add(place: Place) -> None:
        if place.row is not None:
            found[season / place.file][place.sheet].add(place.row)

    for day in days:
        intake = reading.read(season, day)
        for one in intake.findings:
            if one.athlete_id == key:
                add(one.place)
    attempts = intake.trials.attempts
    for source in attempts.loc[attempts["athlete_id"] == key, "place"]:
        add(Place.last_of(source))
    return found


def _rows_of(path: Path, marks: _Marks, seen: Rows) -> Rows:
    """The rows of a file that are theirs."""
    suffix = path.suffix.lower()
    if suffix in _OLD_BOOKS:
        _refuse_old(path, marks, seen)
    if suffix not in (*_TABLES, *_BOOKS):
        return {}
    found: Rows = {}
    for sheet, grid in _grids(path):
        mine = set(_own_rows(grid, marks)) | {n for n in seen.get(sheet, ()) if n <= len(grid)}
        if mine:
            found[sheet] = mine
    return found


def _refuse_old(path: Path, marks: _Marks, seen: Rows) -> None:
    try:
        sheets = readers.read(path)
    except files.UnreadableError:
        sheets = []
    cells = (cell for sheet in sheets for row in sheet.rows for cell in row.cells)
    if seen or any(marks.is_key(cell) or marks.is_name(cell) for cell in cells):
        raise CannotStartError(
            f"{path.name} holds them and cannot be written again here; save it as XLSX under the "
            "same name, delete the old one, and start again."
        )


def _own_rows(grid: list[list[str]], marks: _Marks) -> Iterator[int]:
    headed = {
        place
        for row in grid[:_HEADINGS_WITHIN]
        for place, cell in enumerate(row)
        if headings.plain(cell) in _HEADINGS
    }
    for number, row in enumerate(grid, start=1):
        if any(
            marks.is_name(cell) or (place in headed and marks.is_key(cell))
            for place, cell in enumerate(row)
        ):
            yield number


def _own_traces(files: list[Path], marks: _Marks, seen: dict[Path, Rows]) -> tuple[Path, ...]:
    """Force traces that only rows of theirs name."""
    mine: set[Path] = set()
    others: set[Path] = set()
    for path in files:
        if path.parent.name.casefold() != force.FOLDER or path.suffix.lower() not in (
            *_TABLES, *_BOOKS,
        ):  # fmt: skip
            continue
        if path.stem.casefold() != "traces":
            continue
        own = _rows_of(path, marks, seen.get(path, {}))
        for sheet, grid in _grids(path):
            for number, row in enumerate(grid, start=1):
                named = {path.parent / cell.strip() for cell in row if cell.strip()}
                (mine if number in own.get(sheet, ()) else others).update(named)
    return tuple(p for p in files if p in mine - others and p.stem.casefold() != "traces")


def _corrected(season: Path, files: list[Path], rows: dict[Path, Rows]) -> dict[Path, Rows]:
    """Corrections of cells in rows that are theirs."""
    found: dict[Path, Rows] = {}
    for path in files:
        if path.parent != season or path.stem.casefold() != "corrections":
            continue
        if path.suffix.lower() not in (*_TABLES, *_BOOKS):
            continue
        mine: Rows = defaultdict(set, {s: set(n) for s, n in rows.get(path, {}).items()})
        for sheet, grid in _grids(path):
            titles = [headings.plain(cell) for cell in grid[0]] if grid else []
            for number, row in enumerate(grid, start=1):
                cells = dict(zip(titles, row, strict=False))
                named = rows.get(season / cells.get("file", "").strip(), {})
                line = cells.get("row", "").strip()
                if line.isdecimal() and any(int(line) in one for one in named.values()):
                    mine[sheet].add(number)
        if mine:
            found[path] = dict(mine)
    return found


def _reports_of(reports: Path, marks: _Marks) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Their own files, and those of whole days that hold them."""
    own: list[Path] = []
    squad: list[Path] = []
    for day in sorted(p for p in reports.glob("*") if (p / "data").is_dir()):
        mine = [
            p for p in sorted(day.rglob("*"))
            if p.is_file() and p.parent != day and p.stem.casefold() == marks.key.casefold()
        ]  # fmt: skip
        whole = [p for p in sorted(day.iterdir()) if p.is_file()]
        whole += [p for p in sorted((day / "data").iterdir()) if p.is_file()]
        notebooks = (day / "notebooks" / f"{name}.ipynb" for name in ("squad", "testing_day"))
        whole += [p for p in notebooks if p.is_file()]
        texts = (p for p in whole if p.suffix not in (".pdf", ".xlsx"))
        if mine or any(marks.built_in(p.read_text(encoding="utf-8")) for p in texts):
            own += mine
            squad += whole
    return tuple(own), tuple(squad)


def _left(
    files: list[Path], rows: dict[Path, Rows], traces: tuple[Path, ...], marks: _Marks
) -> Iterator[tuple[Path, str]]:
    """What names them beside all that: other people's rows, texts, names of files."""
    for path in files:
        if path in traces:
            continue
        suffix = path.suffix.lower()
        if marks.named_in(path.stem):
            yield path, "its name tells them"
        if suffix in (*_TABLES, *_BOOKS):
            for sheet, grid in _grids(path):
                own = rows.get(path, {}).get(sheet, set())
                for number, row in enumerate(grid, start=1):
                    if number not in own and any(marks.named_in(cell) for cell in row):
                        yield path, f"row {number} names them, and is not theirs"
            if not _grids(path) and path.stat().st_size:
                yield path, "it cannot be read here"
        elif suffix in _TEXTS and marks.named_in(texts.decode(path.read_bytes())):
            yield path, "its text names them"


# --- tables as they stand -------------------------------------------------------------------


def _grids(path: Path) -> list[tuple[str, list[list[str]]]]:
    """Every sheet of a file as texts, row by row from the first."""
    if path.suffix.lower() in _BOOKS:
        book = _book(path)
        return [
            (
                sheet.title,
                [
                    ["" if cell is None else str(cell) for cell in row]
                    for row in sheet.iter_rows(min_row=1, min_col=1, values_only=True)
                ],
            )
            for sheet in book.worksheets
        ]
    try:
        return [("", texts.grid(path.read_bytes()).rows)]
    except files.UnreadableError:
        return []


def _book(path: Path) -> Workbook:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # on extensions of a spreadsheet, which are lost
        try:
            return openpyxl.load_workbook(path)
        except Exception as error:  # openpyxl raises a dozen kinds for a damaged file
            raise CannotStartError(
                f"{path.name} cannot be opened, so nobody can be taken out of it; save it again."
            ) from error


_WIDE = (
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def _opened(data: bytes) -> tuple[str, str]:
    """A file as text that is written back byte for byte by the encoding beside it.

    Where a letter may be one byte every byte is one: commas, quotes and line ends are the same.
    """
    marked = next((encoding for mark, encoding in _WIDE if data.startswith(mark)), "")
    told = texts.encoding(data)
    wide = marked or (told if told.startswith("utf-16") else "")
    return data.decode(wide or "latin-1"), wide or "latin-1"


_MARKS = "\ufeff\u00ef\u00bb\u00bf"  # of an encoding, before the first cell
_DECLARED = re.compile(rf"[{_MARKS}]*sep=.(\r\n|\r|\n)", re.IGNORECASE)


def _records(text: str, separator: str) -> tuple[str, list[str]]:
    """What stands before the rows, and each row with its line end.

    A line end in quotes ends no row.
    """
    declared = _DECLARED.match(text)
    before = declared.group() if declared else ""
    found, start = [], len(before)
    at, quoted, fresh = start, False, True
    while at < len(text):
        char = text[at]
        at += 1
        if quoted and text[at - 1 : at + 1] == '""':
            at += 1  # a quote within quotes
        elif quoted:
            quoted = char != '"'
        elif char == '"' and fresh:
            quoted = True
        elif char in "\r\n":
            at += char == "\r" and text[at : at + 1] == "\n"
            found.append(text[start:at])
            start, fresh = at, True
            continue
        fresh = char == separator or (fresh and char in _MARKS)
    rest = text[start:]
    return before, [*found, rest] if rest else found


# --- taking out -----------------------------------------------------------------------------


def remove(traces: Traces) -> Path:
    """Take the athlete out of the season and the reports, whole or not at all.

    Returns:
        The folder beside the season that holds it as it was.

    Raises:
        CannotStartError: such a folder is there already, or a place cannot be written.
    """
    season = traces.season
    aside = season.with_name(f"{season.name}.before-forgetting-{traces.athlete.athlete_id}")
    if aside.exists():
        raise CannotStartError(
            f"{aside.name!r} is there already, from an earlier time; delete it and start again."
        )
    building = season.with_name(f".forgetting-{season.name}")
    shutil.rmtree(building, ignore_errors=True)
    try:
        shutil.copytree(season, building, symlinks=True)
        for path in traces.files:
            (building / path.relative_to(season)).unlink()
        for path, rows in traces.rows.items():
            _empty(building / path.relative_to(season), rows)
        _clear_reports(traces)
        season.rename(aside)
        building.rename(season)
    except BaseException:
        if aside.exists() and not season.exists():
            aside.rename(season)
        shutil.rmtree(building, ignore_errors=True)
        raise
    return aside


def _clear_reports(traces: Traces) -> None:
    """Reports go first: a season without the athlete would no longer find them."""
    files = (*traces.own_reports, *traces.squad_reports)
    if files:
        with swap.place(traces.reports):
            for path in files:
                path.unlink(missing_ok=True)


def _empty(path: Path, rows: Rows) -> None:
    """Empty rows of a table; every other row keeps its bytes, of a workbook its values."""
    if path.suffix.lower() in _BOOKS:
        book = _book(path)
        for sheet in book.worksheets:
            for number in rows.get(sheet.title, ()):
                for cell in sheet[number]:
                    if type(cell).__name__ != "MergedCell":
                        cell.value = None
                    cell.comment = cell.hyperlink = None
        book.save(path)
        return
    data = path.read_bytes()
    text, encoding = _opened(data)
    separator = texts.opened(data)[1]
    before, records = _records(text, separator)
    if [_cells(one, separator, encoding) for one in records] != texts.grid(data).rows:
        raise CannotStartError(
            f"The rows of {path.name} cannot be told apart; look for a quotation mark that is "
            "opened and never closed, and save it again."
        )
    gone = rows.get("", set())
    kept = [
        _line_end(record) if number in gone else record
        for number, record in enumerate(records, start=1)
    ]
    path.write_bytes((before + "".join(kept)).encode(encoding))


def _cells(record: str, separator: str, encoding: str) -> list[str]:
    """A record's cells as a build reads them."""
    text = texts.decode(record.encode("latin-1")) if encoding == "latin-1" else record
    even = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    return next(csv.reader(io.StringIO(even, newline=""), delimiter=separator), [])


def _line_end(record: str) -> str:
    return record[len(record.rstrip("\r\n")) :]


# --- telling --------------------------------------------------------------------------------


def told(traces: Traces) -> list[str]:
    """Where the athlete stands, a line each."""
    season = traces.season
    lines = [f"{traces.athlete.athlete_id} ({traces.athlete.name}) stands in:"]
    for path, rows in sorted(traces.rows.items()):
        for sheet, numbers in rows.items():
            where = f"{path.relative_to(season).as_posix()} {sheet}".strip()
            shown = ", ".join(map(str, sorted(numbers)))
            lines.append(f"  {where}: row{'s' if len(numbers) > 1 else ''} {shown}")
    lines += [f"  {p.relative_to(season).as_posix()}: the whole file" for p in traces.files]
    lines += [f"  {p.as_posix()}: the whole file" for p in traces.own_reports]
    lines += [f"  {p.as_posix()}: a page or table of the squad" for p in traces.squad_reports]
    if traces.left:
        lines.append("Left for you to look at:")
        lines += [f"  {p.relative_to(season).as_posix()}: {why}" for p, why in traces.left]
    return lines
