"""The folder ``force/`` of a day: from an exported file to a trace that can be trusted.

``traces.csv`` is a sheet like any other and its rows stand in the account; the samples of the
files it names are no rows. Each file's hash is in the manifest, as every input's.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from pipeline.intake import files, texts
from pipeline.intake.columns import TRACES
from pipeline.intake.words import plain
from pipeline.measures import force_traces
from pipeline.measures.force_traces import JUMP, SQUAT_JUMP, RefusedError, Samples, Trace
from pipeline.units import CM_PER_M, STANDARD_GRAVITY

FOLDER = "force"
SUFFIXES = (".csv", ".txt", ".tsv")
UNITS = {"n": "N", "newton": "N", "newtons": "N", "bw": "BW", "body weight": "BW"}
_NOMINAL_KG = 70.0
"""Stands for the mass of somebody nobody weighed while a trace in body weights is read."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a row of the list says of its trace: cells as text, the rate also as a number."""

    file: str
    column: str
    unit: str
    rate_hz: float | None
    raw_rate: str
    kind: str
    test: str


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a row's trace: a finding's code, the column, and its details."""

    code: str
    column: str
    details: dict[str, object] = field(default_factory=dict)


class FaultError(Exception):
    """A fault that ends the reading of a row's trace."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.code)
        self.fault = fault


@dataclass(frozen=True, slots=True)
class _Table:
    """A trace file: the names of its columns (empty without a heading) and its numbers' text."""

    names: tuple[str, ...]
    width: int
    body: str
    separator: str


class Plates:
    """The trace files of one day."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.named: set[str] = set()
        self._taken: set[tuple[str, tuple[int, ...]]] = set()

    def unlisted(self) -> list[Path]:
        """Trace files no row has named, in the order of their names."""
        found = (p for p in self._folder.iterdir() if p.suffix.lower() in SUFFIXES)
        return sorted(
            (
                p
                for p in found
                if p.name not in self.named
                and p.stem.casefold() != TRACES.name
                and not files.is_litter(p)
            ),
            key=lambda p: p.name,
        )

    def read(self, asked: Asked, body_mass: float) -> tuple[Trace | None, list[Fault]]:
        """The trace of a row, and what was found; no trace where an error is among it.

        Args:
            asked: the row.
            body_mass: kg on that day, NaN where nobody weighed.
        """
        self.named.add(asked.file)
        faults = _cells(asked)
        try:
            plates, names = self._fresh(asked)
        except FaultError as error:
            return None, [*faults, error.fault]
        if faults:
            return None, faults
        rate = asked.rate_hz or np.nan
        if any(force_traces.clipped(plate, rate) for plate in plates):
            why = "it clips: the force stands level at its greatest value"
            return None, [Fault("trace-refused", "file", {"why": why})]
        force = np.sum(plates, axis=0)
        in_newtons = UNITS[asked.unit.casefold()] == "N"
        mass = body_mass
        if not in_newtons:
            mass = _NOMINAL_KG if np.isnan(body_mass) else body_mass
            force = force * mass * STANDARD_GRAVITY
        try:
            reading = force_traces.analyse(force, rate, asked.kind, mass)
        except RefusedError as error:
            return None, [Fault("trace-refused", "file", {"why": error})]
        self._taken.add((asked.file, names))
        absolute = in_newtons or not np.isnan(body_mass)
        trace = Trace(asked.kind, rate, force, reading, absolute)
        return trace, _doubts(trace, asked.test)

    def samples(self, asked: Asked) -> list[Samples]:
        """The samples (samples,) of each plate a row names, in its unit."""
        return self._plates(asked)[0]

    def _fresh(self, asked: Asked) -> tuple[list[Samples], tuple[int, ...]]:
        """Each plate's samples, unless another row has used them."""
        plates, indices = self._plates(asked)
        if (asked.file, indices) in self._taken:
            raise _no_file(asked.file, "another row has used the same samples already")
        return plates, indices

    def _plates(self, asked: Asked) -> tuple[list[Samples], tuple[int, ...]]:
        """Each plate's samples, and the columns they stand in."""
        table = _table(_text(self._folder, asked.file), asked.file)
        indices = _columns(table, asked.column)
        numbers = _numbers(table, indices, asked.file)
        return [np.ascontiguousarray(numbers[:, place]) for place in range(len(indices))], indices


def _cells(asked: Asked) -> list[Fault]:
    """What is wrong with the rate and the unit."""
    low, high = force_traces.LOWEST_RATE_HZ, force_traces.HIGHEST_RATE_HZ
    faults = []
    if asked.rate_hz is None or not low <= asked.rate_hz <= high:
        said: dict[str, object] = {"raw": asked.raw_rate, "low": f"{low:g}", "high": f"{high:g}"}
        faults.append(Fault("trace-rate", "rate_hz", said))
    if asked.unit.casefold() not in UNITS:
        faults.append(Fault("trace-unit", "unit", {"raw": asked.unit}))
    return faults


def _doubts(trace: Trace, test: str) -> list[Fault]:
    """What deserves a look though the trace is used."""
    found = []
    if trace.kind == JUMP:
        impulse, flight = force_traces.heights(trace.reading)
        if abs(impulse - flight) > force_traces.HEIGHTS_APART * (impulse + flight) / 2:
            details: dict[str, object] = {
                "impulse": f"{CM_PER_M * impulse:.1f}",
                "flight": f"{CM_PER_M * flight:.1f}",
                "limit": f"{100 * force_traces.HEIGHTS_APART:g}",
            }
            found.append(Fault("trace-heights", "file", details))
    if test == SQUAT_JUMP and trace.reading.dip:
        found.append(Fault("trace-dip", "file", {"limit": f"{100 * force_traces.DIP:g}"}))
    return found


def _no_file(name: str, why: str) -> FaultError:
    return FaultError(Fault("trace-file", "file", {"raw": name, "why": why}))


def _no_column(raw: str, why: str) -> FaultError:
    return FaultError(Fault("trace-column", "column", {"raw": raw, "why": why}))


def _text(folder: Path, name: str) -> str:
    """The text of a file of the folder; a name that leads out of it is refused."""
    if not name:
        raise _no_file(name, "no file is named")
    if not re.fullmatch(r"[^/\\:\x00-\x1f]+", name) or name in (".", ".."):
        raise _no_file(name, "it must be the plain name of a file in the folder force/")
    path = folder / name
    if path.suffix.lower() not in SUFFIXES:
        raise _no_file(name, f"its ending is none of {', '.join(SUFFIXES)}")
    if not path.is_file() or path.is_symlink():
        raise _no_file(name, "there is no such file in the folder force/")
    try:
        return texts.decode(files.contents(path))
    except files.UnreadableError as error:
        raise _no_file(name, str(error)) from error
    except UnicodeDecodeError as error:
        raise _no_file(name, "it cannot be opened") from error


_NUMERIC = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?\Z")
_LONGEST_PREAMBLE = 200


def _table(text: str, name: str) -> _Table:
    """Find the heading and the first line of numbers; what stands above both is left out.

    A comma is the decimal mark where the columns are parted by something else, or where no line
    above has one and each line holds a single one.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n", _LONGEST_PREAMBLE)[:_LONGEST_PREAMBLE]
    heading = ""
    for number, line in enumerate(lines):
        separator = _separator(line, heading)
        cells = _split(line, separator)
        if cells and all(_NUMERIC.match(cell) for cell in cells):
            names = _split(heading, separator if separator != "" else _separator(heading, ""))
            if len(names) != len(cells):
                names = []
            body = text.split("\n", number)[number] if number else text
            body = body if separator == "," else body.replace(",", ".")
            return _Table(tuple(names), len(cells), body, separator)
        heading = line if line.strip() else heading
    raise _no_file(name, "it holds no line of numbers")


def _separator(line: str, heading: str) -> str:
    """Tab, semicolon, comma or blanks; empty for a single column."""
    for mark in ("\t", ";"):
        if mark in line:
            return mark
    if " " in line.strip() and re.search(r"\d\s+[-+]?\d", line):
        return " "
    single = line.count(",") == 1 and "," not in heading and "." not in line
    return "," if "," in line and not single else ""


def _split(line: str, separator: str) -> list[str]:
    if separator == "":
        parts = [line]
    else:
        parts = line.split() if separator == " " else line.split(separator)
    cells = [part.strip().strip('"').strip() for part in parts]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _columns(table: _Table, raw: str) -> tuple[int, ...]:
    """The places of the columns a row asks for: by heading, or by number without one."""
    if not raw:
        if table.width > 1:
            raise _no_column(raw, f"the file has {table.width} columns, so one must be named")
        return (0,)
    known = [plain(name) for name in table.names]
    places = []
    for word in raw.split("+"):
        name = plain(word)
        if known.count(name) > 1:
            raise _no_column(raw, f"“{word.strip()}” heads two columns of the file")
        if name in known:
            places.append(known.index(name))
        elif not known and name.isdecimal() and 1 <= int(name) <= table.width:
            places.append(int(name) - 1)
        else:
            has = ", ".join(table.names) or "no heading"
            raise _no_column(raw, f"“{word.strip()}” is not there, the file has {has}")
    if len(set(places)) < len(places):
        raise _no_column(raw, "a column is counted twice")
    return tuple(places)


def _numbers(table: _Table, indices: tuple[int, ...], name: str) -> Samples:
    """The asked columns (samples, columns), in the order asked for."""
    try:
        numbers: Samples = np.loadtxt(
            io.StringIO(table.body),
            delimiter=table.separator.strip() or None,
            usecols=indices,
            ndmin=2,
            comments=None,
            quotechar='"',
        )
    except ValueError as error:
        raise _no_file(name, _why(table, indices)) from error
    if np.isnan(numbers).any():
        bad = int(np.flatnonzero(np.isnan(numbers).any(axis=1))[0])
        raise _no_file(name, f"sample {bad + 1} is no number")
    return numbers


def _why(table: _Table, indices: tuple[int, ...]) -> str:
    """Which sample could not be read."""
    lines = (line for line in table.body.split("\n") if line.strip())
    for number, line in enumerate(lines, start=1):
        cells = _split(line, table.separator)
        asked = [cells[place] if place < len(cells) else "" for place in indices]
        if not all(_NUMERIC.match(cell) for cell in asked):
            return f"sample {number} is no number"
    return "its lines do not all have the same number of columns"
