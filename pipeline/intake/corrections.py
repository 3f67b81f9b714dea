"""Signed corrections: what staff say of a cell or a row, laid over what was read.

Raw files stay as they are. A correction names one cell, or with a blank column a whole row; it is
signed, and it is only applied while that cell still holds what it held when it was signed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from pipeline.catalogue import Severity
from pipeline.errors import Finding, Place, finding
from pipeline.intake import headings
from pipeline.intake.amounts import number
from pipeline.intake.columns import CORRECTIONS, ROSTER
from pipeline.intake.folder import Day, Season
from pipeline.intake.frames import RawRow
from pipeline.intake.people import WHO, People
from pipeline.intake.readers import RawSheet, RowMark
from pipeline.intake.roster import Roster
from pipeline.intake.side_sheet import Line, SideSheet, the_one
from pipeline.intake.words import plain
from pipeline.measures.spec import Trials, joined

ACCEPT, EXCLUDE, REPLACE = "accept", "exclude", "replace"
ACTIONS = (ACCEPT, EXCLUDE, REPLACE)
FILE = CORRECTIONS.name


@dataclass(frozen=True, slots=True)
class Correction:
    """One signed line.

    Attributes:
        line: where it stands itself.
        file, sheet, row, column: the cell it names; a blank column names the whole row.
        was: what the cell held when it was signed; blank where that is not said.
        action: one of ``ACTIONS``.
        value: what a replaced cell is read as.
        reason, by: why, and who says so.
    """

    line: Line
    file: str
    sheet: str
    row: int
    column: str
    was: str
    action: str
    value: str
    reason: str
    by: str

    @property
    def signed(self) -> dict[str, str]:
        """Why, by whom, and in which row: the details of every finding about it."""
        return {"reason": self.reason, "by": self.by, "line": str(self.line.place.row)}


@dataclass(frozen=True, slots=True)
class _Applied:
    """A correction at the cell it was found for, with what the raw file holds there."""

    correction: Correction
    place: Place
    raw: str
    who: Mapping[str, str]

    def told(self, athlete_id: str) -> Finding:
        """What is said of it at the cell itself."""
        one = self.correction
        details = one.signed
        code = "row-excluded"
        if self.place.column:
            code = "cell-excluded"
            details |= {"raw": self.raw}
        if one.action == REPLACE:
            code = "cell-corrected"
            details |= {"value": one.value}
        return finding(code, self.place, athlete_id, **details)


class Corrections:
    """A season's signed corrections, and what became of each."""

    def __init__(self, sheet: SideSheet | None, twice: Iterable[Finding] = ()) -> None:
        self.rows: list[RowMark] = [] if sheet is None else sheet.rows
        self._findings: list[Finding] = [*twice, *(sheet.findings if sheet else ())]
        self._lines: dict[str, list[Correction]] = {}
        self._applied: dict[Place, _Applied] = {}
        self._accepts: dict[Place, Correction] = {}
        self._met: set[Place] = set()
        self._files: set[str] = set()
        for line in sheet.lines if sheet else ():
            one, faults = _signed(line)
            self._findings += faults
            if one is not None:
                self._lines.setdefault(one.file, []).append(one)

    # --- before anything looks at the cells -------------------------------------------------

    def applied(self, file: str, sheets: list[RawSheet]) -> list[RawSheet]:
        """The sheets of a file with its corrections in place.

        An excluded cell is blank, an excluded row is counted and not handed on. Places and
        sources stay those of the raw cells.
        """
        self._files.add(file)
        found: dict[Place, list[Correction]] = {}
        for one in self._lines.get(file, ()):
            place, fault = _cell_of(one, sheets)
            if place is None:
                self._findings += [fault] if fault else []
            else:
                found.setdefault(place, []).append(one)
        gone = {place for place, lines in found.items() if _excludes_row(place, lines)}
        for place, lines in found.items():
            others = {p for p in found if p.at(p.row) == place.at(place.row)} - {place}
            rivals = others if place in gone else others & gone
            if len(lines) > 1 or rivals:
                self._findings += [_fault(one, "correction-twice", "row") for one in lines]
            else:
                sheets = self._apply(lines[0], place, sheets)
        return sheets

    def _apply(self, one: Correction, place: Place, sheets: list[RawSheet]) -> list[RawSheet]:
        sheet = next(s for s in sheets if s.name == place.sheet)
        row = next(r for r in sheet.rows if r.number == place.row)
        at = sheet.headings.index(place.column) if place.column else -1
        raw = _text(row, at)
        if place.column and one.was and not _same(one.was, raw):
            details = {"raw": raw, "was": one.was}
            self._findings.append(_fault(one, "correction-stale", "was", **details))
            return sheets
        if one.action == ACCEPT:
            self._accepts[place] = one
            return sheets
        self._applied[place] = _Applied(one, place, raw, _who(sheet, row))
        if not place.column:
            rows = tuple(r for r in sheet.rows if r is not row)
            made = replace(sheet, rows=rows, excluded=(*sheet.excluded, row.number))
        else:
            text = one.value if one.action == REPLACE else ""
            cells = [*row.cells, *[""] * (at + 1 - len(row.cells))]
            cells[at] = text
            new = replace(row, cells=tuple(cells))
            made = replace(sheet, rows=tuple(new if r is row else r for r in sheet.rows))
        return [made if s is sheet else s for s in sheets]

    # --- while values are checked -----------------------------------------------------------

    def accepts(self, place: Place) -> bool:
        """Whether staff signed for the cell, or for its whole row, as it stands."""
        return self._acceptance(place) is not None

    def _acceptance(self, place: Place) -> Correction | None:
        return self._accepts.get(place, self._accepts.get(place.at(place.row)))

    def accepted(self, findings: Iterable[Finding]) -> list[Finding]:
        """The findings, those at an accepted place as a note that says who accepted what."""
        told = []
        for one in findings:
            by = self._acceptance(one.place)
            if by is None or one.severity is Severity.NOTE:
                told.append(one)
                continue
            self._met.add(by.line.place)
            details = {"what": one.code, **by.signed}
            told.append(finding("finding-accepted", one.place, one.athlete_id, **details))
        return told

    # --- afterwards -------------------------------------------------------------------------

    def marked(self, trials: Trials) -> Trials:
        """The trials with the raw text of each corrected cell, and the correction in its source.

        The correction goes first, so that a source still ends in the cell of the day.
        """
        changed = {
            place.source: (one.raw, one.correction.line.at("value").source)
            for place, one in self._applied.items()
            if one.correction.action == REPLACE
        }
        if not changed:
            return trials
        values = trials.values.copy()
        own = values["source"].isin(list(changed))
        values.loc[own, "raw"] = [changed[source][0] for source in values.loc[own, "source"]]
        values["source"] = [
            joined(*(f"{changed[p][1]};{p}" if p in changed else p for p in source.split(";")))
            for source in values["source"]
        ]
        return replace(trials, values=values)

    def told(self, season: Season, day: Day, roster: Roster) -> list[Finding]:
        """What became of the corrections, at their cells and at their own lines.

        Of earlier days only what could not be applied is told; of later ones nothing.
        """
        people = People(roster)
        here = [a for a in self._applied.values() if _concerns(a.place.file, season, day)]
        found = [*self._findings]
        for one in here:
            athlete, _ = people.of_row(one.place, one.who, {})
            found.append(one.told(athlete.athlete_id if athlete else ""))
        for line in (one for lines in self._lines.values() for one in lines):
            concerned = _concerns(line.file, season, day)
            if not _is_file(season, line.file):
                found.append(_fault(line, "correction-nowhere", "file", what="file"))
            elif concerned and line.file not in self._files:
                found.append(_fault(line, "correction-nowhere", "file", what="sheet that is read"))
        found += [
            _fault(one, "correction-idle", "action")
            for one in self._accepts.values()
            if one.line.place not in self._met and _concerns(one.file, season, day)
        ]
        return found


def read(season: Season) -> Corrections:
    """Read the season's corrections; an absent file corrects nothing."""
    path, twice = the_one(season, FILE)
    return Corrections(None if path is None else SideSheet(season, path, CORRECTIONS), twice)


def _signed(line: Line) -> tuple[Correction | None, list[Finding]]:
    """The correction a line makes; none with what is wrong with it."""
    cells = {name: line.cells.get(name, "") for name in CORRECTIONS.fields}
    action, row = cells["action"].casefold(), number(cells["row"])
    unsigned = [name for name in ("reason", "by") if not cells[name]]
    wrong = {
        "file": ("file", not cells["file"]),
        "row": ("row number", row is None or row < 1 or row != int(row)),
        "action": (f"action ({', '.join(ACTIONS)})", action not in ACTIONS),
        "column": ("column, which a value needs", action == REPLACE and not cells["column"]),
        "value": ("value to put there", action == REPLACE and not cells["value"]),
    }
    faults = [finding("correction-unsigned", line.at(name), what=name) for name in unsigned] + [
        finding("correction-unclear", line.at(name), raw=cells[name], what=what)
        for name, (what, is_wrong) in wrong.items()
        if is_wrong
    ]
    if faults or row is None:
        return None, faults
    return Correction(
        line,
        file=cells["file"].replace("\\", "/").removeprefix("./"),
        sheet=cells["sheet"],
        row=int(row),
        column=cells["column"],
        was=cells["was"],
        action=action,
        value=cells["value"],
        reason=cells["reason"],
        by=cells["by"],
    ), []


def _cell_of(one: Correction, sheets: list[RawSheet]) -> tuple[Place | None, Finding | None]:
    """The cell or row a correction names; without one, what it names that is not there."""
    named = [s for s in sheets if s.name == one.sheet] if one.sheet else sheets
    if len(named) != 1:
        what = "sheet of that name" if one.sheet else "single sheet, so that its name is needed"
        return None, _fault(one, "correction-nowhere", "sheet", what=what)
    (sheet,) = named
    if all(row.number != one.row for row in sheet.rows):
        return None, _fault(one, "correction-nowhere", "row", what="such row with cells")
    place = Place(one.file, sheet.name, one.row)
    if not one.column:
        return place, None
    exact = [h for h in sheet.headings if h.strip() == one.column]
    alike = exact or [h for h in sheet.headings if plain(h) == plain(one.column)]
    if len(alike) != 1:
        what = "single column of that heading" if alike else "column of that heading"
        return None, _fault(one, "correction-nowhere", "column", what=what)
    return place.at(one.row, alike[0]), None


def _excludes_row(place: Place, lines: list[Correction]) -> bool:
    return not place.column and any(one.action == EXCLUDE for one in lines)


def _fault(one: Correction, code: str, column: str, **details: str) -> Finding:
    return finding(code, one.line.at(column), **details)


def _text(row: RawRow, at: int) -> str:
    return row.cells[at].strip() if 0 <= at < len(row.cells) else ""


def _same(one: str, other: str) -> bool:
    """Whether two cells hold the same, as text or as a number."""
    if one.strip() == other.strip():
        return True
    value = number(one)
    return value is not None and value == number(other)


def _who(sheet: RawSheet, row: RawRow) -> dict[str, str]:
    """The cells that say whom a row belongs to, by field."""
    cells: dict[str, str] = {}
    for at, heading in enumerate(sheet.headings):
        found = headings.meaning(heading, ROSTER)
        if found is not None and found.field.name in WHO:
            cells.setdefault(found.field.name, _text(row, at))
    return cells


def _concerns(file: str, season: Season, day: Day) -> bool:
    """Whether a file is the day's or the season's own."""
    folder = season.place(day.folder).file
    return "/" not in file or file.startswith(f"{folder}/")


def _is_file(season: Season, file: str) -> bool:
    """Whether the season holds a file; nothing outside of it is looked at."""
    parts = file.split("/")
    return ".." not in parts and parts[0] != "" and ":" not in file and season.holds(file)
