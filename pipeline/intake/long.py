"""Sheets with one row a value: the rows of one attempt are joined."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pipeline.battery import nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake import amounts, columns, compound, headings, words
from pipeline.intake.frames import RawRow
from pipeline.intake.headings import parted
from pipeline.intake.kinds import QUANTITY, Column, Field, SheetKind
from pipeline.intake.readers import RawSheet
from pipeline.intake.rows import Cell, Row, is_blank
from pipeline.intake.words import plain
from pipeline.units import HEADING_UNITS

_FIELDS = ("value", "measure", "unit")
_NEVER = ("steps", "technique", "traces")

Key = tuple[str, str]


@dataclass(frozen=True)
class Long:
    """Where a long sheet has its values, their measures and units (−1: no such column)."""

    kind: SheetKind
    value: int
    measure: int
    unit: int
    heading: str
    ending: str
    """The unit in the heading of the values, if there is one."""
    own: tuple[Column, ...]
    """The columns that are read here and nowhere else."""

    @classmethod
    def of(cls, sheet: RawSheet, kind: SheetKind) -> Long | None:
        """The layout of a sheet, if it is a long one.

        A sheet of the staff's own tests is one only where it says the unit.
        """
        known = words.headings("long", _FIELDS)
        names = [plain(heading) for heading in sheet.headings]
        places = {known[n]: i for i, n in reversed([*enumerate(names)]) if n in known}
        measure, unit = places.get("measure", -1), places.get("unit", -1)
        if kind.name in _NEVER or (kind.name == "other" and unit < 0):
            return None
        for index, name in enumerate(sheet.headings):
            for base, ending in parted(name):
                if known.get(base) == "value":
                    said = sheet.units[index] if index < len(sheet.units) else ""
                    told = ending or words.unit_named(said)
                    own = tuple(
                        Column(at, sheet.headings[at], Field(_FIELDS[which], QUANTITY))
                        for which, at in enumerate((index, measure, unit))
                        if at >= 0
                    )
                    return cls(kind, index, measure, unit, sheet.headings[index], told, own)
        return None

    @property
    def places(self) -> set[int]:
        """The places of its own columns."""
        return {column.index for column in self.own}

    @property
    def given(self) -> set[str]:
        """The required fields that the rows say."""
        return {"value", "rep"}

    def rows(
        self,
        sheet: RawSheet,
        place: Place,
        shared: Mapping[Key, Column],
        findings: list[Finding],
    ) -> Iterator[Row]:
        """The attempts of the sheet, in the order of their first rows."""
        groups: dict[tuple[str, ...], list[tuple[RawRow, Cell | None]]] = defaultdict(list)
        for raw in sheet.rows:
            cell = self._cell(raw, place)
            if isinstance(cell, Finding):
                findings.append(cell)
                continue
            key = tuple(Cell.of(raw, column).text.casefold() for column in shared.values())
            alone = self.measure < 0 or cell is None
            groups[(*key, str(raw.number)) if alone else key].append((raw, cell))
        made: list[Row] = []
        numbered = ("attempt", "") in shared or ("rep", "") in shared
        for rows in groups.values():
            made += self._attempts(sheet, place, shared, rows, findings, numbered=numbered)
        yield from sorted(made, key=lambda row: row.number)

    def _attempts(
        self,
        sheet: RawSheet,
        place: Place,
        shared: Mapping[Key, Column],
        rows: list[tuple[RawRow, Cell | None]],
        findings: list[Finding],
        *,
        numbered: bool,
    ) -> list[Row]:
        """The attempts in rows that agree in all but measure, value and unit."""
        first = rows[0][0]
        label = next((shared[k] for k in (("attempt", ""), ("rep", "")) if k in shared), None)
        named = numbered and label is not None and Cell.of(first, label).text != ""
        keys = [(c.column.field.name, c.column.part) for _, c in rows if c is not None]
        often = Counter(keys)
        if not named and len(often) > 1 and len(set(often.values())) > 1:
            findings += [
                finding("attempt-needed", place.at(raw.number, self.heading)) for raw, _ in rows
            ]
            return []
        made: list[tuple[dict[Key, Cell], list[int]]] = []
        seen: dict[tuple[Key, str], int] = {}
        for raw, cell in rows:
            if cell is None:
                made.append(({}, [raw.number]))
                continue
            key = (cell.column.field.name, cell.column.part)
            again = seen.setdefault((key, cell.text), raw.number) if named else raw.number
            if again != raw.number:
                findings.append(finding("row-twice", place.at(raw.number), first=again))
                continue
            free = (one for one in made if key not in one[0])
            one = next(free, None)
            if one is None:
                one = ({}, [])
                made.append(one)
            one[0][key] = cell
            one[1].append(raw.number)
        width = len(sheet.headings)
        beyond = " ".join(
            cell.strip() for raw, _ in rows for cell in raw.cells[width:] if cell.strip()
        )
        common = {key: Cell.of(first, column) for key, column in shared.items()}
        return [
            Row(place, self.kind, tuple(numbers), {**_at(common, numbers[0]), **cells}, beyond)
            for cells, numbers in made
        ]

    def _cell(self, raw: RawRow, place: Place) -> Cell | Finding | None:
        """The value of a raw row under the column it would have; a finding where that is unclear.

        ``None`` stands for a row without a value.
        """
        text = _text(raw, self.value)
        if is_blank(text):
            return None
        unit, measure = _text(raw, self.unit), _text(raw, self.measure)
        ending = words.unit_named(unit) if unit else self.ending or amounts.ending_of(text)
        if unit and not ending:
            at = place.at(raw.number, "unit")
            return finding("unit-unknown", at, raw=unit)
        blank = Column(self.value, self.heading, _VALUE)
        if not measure:
            dimension = HEADING_UNITS[ending].dimension if ending else "count"
            column = replace(
                blank,
                unit=HEADING_UNITS.get(ending),
                field=Field(compound.BARE, QUANTITY, dimension),
            )
            return Cell(text, column, raw.number)
        for kind in self._kinds():
            found = headings.meaning(measure, kind, ending)
            if found is not None and found.field.role == QUANTITY:
                column = replace(blank, field=found.field, unit=found.unit, part=found.part)
                return Cell(text, column, raw.number)
        at = place.at(raw.number, "measure")
        if not ending:
            return finding("unit-blank", at, raw=measure)
        known = [name for kind in self._kinds() for name in kind.fields]
        return finding("measure-unknown", at, raw=measure, guess=nearest(plain(measure), known))

    def _kinds(self) -> list[SheetKind]:
        if self.kind.name != compound.RESULTS:
            return [self.kind]
        return [kind for kind in columns.SHEETS.values() if kind.timed and kind.test_column]


_VALUE = Field("value", QUANTITY, "count")


def _text(raw: RawRow, index: int) -> str:
    return raw.cells[index].strip() if 0 <= index < len(raw.cells) else ""


def _at(cells: Mapping[Key, Cell], number: int) -> dict[Key, Cell]:
    return {key: replace(cell, number=number) for key, cell in cells.items()}
