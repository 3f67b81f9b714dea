"""How a sheet is laid out: which of its cells belong to one attempt.

One row an attempt; one row an athlete with attempts, sides, occasions or tests across (each is a
*block* of columns, and a raw row is read once for each block that holds something); or one row a
value (``long``), where the rows of one attempt are joined.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from pipeline.battery import Battery, TestPlan
from pipeline.errors import Finding, Place, finding
from pipeline.intake import amounts, columns, compound, headings, words
from pipeline.intake.columns import TRACES
from pipeline.intake.compound import BARE, OCCASIONS, SESSION, Compound, NoUnit
from pipeline.intake.dates import Dates
from pipeline.intake.folder import Day
from pipeline.intake.frames import RawRow
from pipeline.intake.headings import IGNORE, Meaning, Own
from pipeline.intake.kinds import CUMULATIVE, QUANTITY, Column, SheetKind
from pipeline.intake.long import Long
from pipeline.intake.readers import RawSheet
from pipeline.intake.rows import NOTHING_MORE, Cell, Row, Whole, is_blank, is_result

Key = tuple[str, str]
"""A field and its part."""

_BY_ITSELF = ("test", "lift", "side", "session")
"""Labels that are clear without their name."""

_ONE_RUN = ("wind", "reaction")
"""What is of one run and cannot be shared by several."""


@dataclass
class Block:
    """The columns of one attempt in each raw row, and what their headings fix."""

    kind: SheetKind
    fixed: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    """Label → (text, the heading that says it)."""
    own: dict[Key, Column] = field(default_factory=dict)

    def cells(self, raw: RawRow, shared: Mapping[Key, Column]) -> dict[Key, Cell]:
        """The block's cells of a raw row, those it shares with other blocks first."""
        found = {key: Cell.of(raw, column) for key, column in {**shared, **self.own}.items()}
        for name, (text, heading) in self.fixed.items():
            column = Column(-1, heading, self.kind.fields[name])
            found[name, ""] = Cell(text, column, raw.number)
        return found


@dataclass
class Layout:
    """A sheet's columns as they belong together."""

    kind: SheetKind
    shared: dict[Key, Column]
    blocks: list[Block]
    long: Long | None
    findings: list[Finding]
    whole: Whole = NOTHING_MORE

    @property
    def columns(self) -> dict[int, tuple[Column, str]]:
        """Every column that is read, by its place, and what its heading says besides."""
        said = {column.index: (column, "") for column in self.shared.values()}
        for block in self.blocks:
            fixed = sorted(block.fixed.items(), key=lambda one: one[0] not in _BY_ITSELF)
            told = [text if name in _BY_ITSELF else f"{name} {text}" for name, (text, _) in fixed]
            said |= {column.index: (column, ", ".join(told)) for column in block.own.values()}
        if self.long is not None:
            said |= {column.index: (column, "") for column in self.long.own}
        return said

    def rows(self, sheet: RawSheet, place: Place) -> Iterator[Row]:
        """The attempts of a sheet; a raw row whose blocks are all blank gives its first."""
        if self.long is not None:
            for row in self.long.rows(sheet, place, self.shared, self.findings):
                yield replace(row, whole=self.whole)
            return
        width = len(sheet.headings)
        for raw in sheet.rows:
            beyond = " ".join(cell.strip() for cell in raw.cells[width:] if cell.strip())
            made = [
                Row(
                    place,
                    block.kind,
                    (raw.number,),
                    block.cells(raw, self.shared),
                    beyond,
                    self.whole,
                )
                for block in self.blocks
            ]
            filled = [row for row, block in zip(made, self.blocks, strict=True) if _any(row, block)]
            yield from filled or made[:1]


def _doubtful(sheet: RawSheet) -> frozenset[tuple[int, int]]:
    """(raw row, index) of every number that its column leaves in doubt."""
    found: set[tuple[int, int]] = set()
    for index in range(len(sheet.headings)):
        texts = [raw.cells[index] if index < len(raw.cells) else "" for raw in sheet.rows]
        found |= {(sheet.rows[at].number, index) for at in amounts.doubtful(texts)}
    return frozenset(found)


def _any(row: Row, block: Block) -> bool:
    return not block.own or any(
        not is_blank(row.cells[key].text) for key, column in block.own.items() if is_result(column)
    )


def recognise(sheet: RawSheet, kind: SheetKind, place: Place, battery: Battery, day: Day) -> Layout:
    """How a sheet is laid out, with what was wrong with its headings and its dates.

    Args:
        sheet: headings and rows.
        kind: the kind of sheet.
        place: the sheet's place, for findings.
        battery: whose tests a heading may name.
        day: its sessions may be two occasions of a test; it may say how dates are written.
    """
    made = _laid_out(sheet, kind, place, battery, day)
    column = made.shared.get(("date", ""))
    texts = {r.number: Cell.of(r, column).text for r in sheet.rows} if column else {}
    dates = Dates.of(texts.values(), day.dates or battery.dates)
    unclear = [number for number, text in texts.items() if dates.is_ambiguous(text)]
    if unclear and column:
        at = place.at(unclear[0], column.heading)
        raw, count = texts[unclear[0]], len(unclear)
        made.findings.append(finding("date-ambiguous", at, raw=raw, count=count, file="day.toml"))
    return replace(made, whole=Whole(_doubtful(sheet), dates))


def _laid_out(sheet: RawSheet, kind: SheetKind, place: Place, battery: Battery, day: Day) -> Layout:
    own = Own(day.own(kind.name))
    long = Long.of(sheet, kind)
    if long is not None:
        found, wrong = columns.recognise(
            sheet, kind, place, own, elsewhere=long.places, given=long.given
        )
        return Layout(kind, found, [], long, wrong)
    across, faults = _across(sheet, kind, place, battery, day)
    given = set.intersection(*[set(one.fixed) for one in across]) if across else set()
    if across and all(one.kind.test_column in one.fixed for one in across):
        given |= {kind.test_column}
    given |= {one.column.field.name for one in across}
    if any(one.column.field.name == BARE for one in across):
        given |= {"value"}
    elsewhere = {one.column.index for one in across}
    shared, plain_faults = columns.recognise(
        sheet, kind, place, own, elsewhere=elsewhere | set(faults), given=given
    )
    assumed = [one.column.heading for one in across if one.assumed]
    seconds = [finding("heading-seconds", place.at(column=h), heading=h) for h in assumed]
    findings = [*plain_faults, *faults.values(), *seconds]
    if not across:
        return Layout(kind, shared, [Block(kind)], None, findings)
    made = _Assembler(place)
    across = [_as_best(one) for one in across]
    made.results([one for one in across if is_result(one.column)])
    for one in across:
        if not is_result(one.column):
            made.beside(one)
    if made.blocks:
        shared = made.shared(shared)
    if len(made.blocks) > 1:
        made.findings.append(finding("layout-across", place, count=len(made.blocks)))
    blocks = list(made.blocks.values()) or [Block(kind)]
    return Layout(kind, shared, blocks, None, findings + made.findings)


def settled(row: Row, plan: TestPlan) -> tuple[Row, list[Cell]]:
    """A row with its bare columns as what they are in its test, and the cells that suit none."""
    cells, odd = {}, []
    for key, cell in row.cells.items():
        if cell.column.field.name != BARE:
            cells[key] = cell
            continue
        column = compound.result_field(plan, cell.column)
        if column is None:
            odd.append(cell)
        else:
            cells[column.field.name, column.part] = replace(cell, column=column)
    kind = compound.sheet_of(plan) if row.kind.name == compound.RESULTS else row.kind
    return replace(row, kind=kind, cells=cells), odd


def _across(
    sheet: RawSheet, kind: SheetKind, place: Place, battery: Battery, day: Day
) -> tuple[list[Compound], dict[int, Finding]]:
    """The compound headings of a sheet; faults, by the column, name those that are not clear."""
    if compound.ATTEMPT not in kind.fields or not kind.timed or kind.name == TRACES.name:
        return [], {}
    own = Own(day.own(kind.name))
    units = dict(enumerate(sheet.units))
    said = [own.of(heading) for heading in sheet.headings]
    texts = [
        h if not s or words.unit_named(s) else s for h, s in zip(sheet.headings, said, strict=True)
    ]
    alone = [headings.natural(text, kind) for text in texts]
    has = frozenset(one.field.name for one in alone if one is not None)
    reader = compound.Reader(kind, battery, has)
    by_test = bool(kind.test_column) and kind.test_column not in has
    numbered = _run_numbers(alone) if kind.splits and not by_test else frozenset()
    found: list[Compound] = []
    faults: dict[int, Finding] = {}
    for index, heading in enumerate(sheet.headings):
        itself = alone[index]
        takes = itself is None or index in numbered or (by_test and itself.field.role == QUANTITY)
        if not heading.strip() or not takes or said[index] == IGNORE:
            continue
        one = reader.read(index, heading, said[index], units.get(index, ""))
        at = place.at(column=heading)
        if isinstance(one, NoUnit):
            faults[index] = finding("heading-unit", at, heading=heading, example=one.example)
        elif one is not None and (one := _on_occasion(one, day)) is None:
            faults[index] = finding("occasion-unknown", at, heading=heading)
        elif one is not None:
            found.append(one)
    return found, faults


def _on_occasion(one: Compound, day: Day) -> Compound | None:
    """A heading with the session of its occasion; ``None`` where the day has not both."""
    if SESSION not in one.fixed:
        return one
    sessions = {name.casefold(): name for name in day.sessions}
    if not set(OCCASIONS) <= set(sessions):
        return None
    return replace(one, fixed={**one.fixed, SESSION: sessions[one.fixed[SESSION]]})


def _run_numbers(alone: list[Meaning | None]) -> frozenset[int]:
    """Headings T1, T2, T3 … that count runs: as splits they would be one metre apart."""
    gates = {
        float(one.part.removesuffix(" m")): index
        for index, one in enumerate(alone)
        if one is not None and one.field.name == CUMULATIVE
    }
    counted = [float(n) for n in range(1, len(gates) + 1)]
    return frozenset(gates.values()) if len(gates) > 1 and sorted(gates) == counted else frozenset()


@dataclass
class _Assembler:
    """Puts the columns of a sheet together to blocks, and names those that belong to none."""

    place: Place
    blocks: dict[tuple[tuple[str, str], ...], Block] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def results(self, across: list[Compound]) -> None:
        """The blocks that the columns of results make."""
        keys = [set(one.key) for one in across if not one.summary]
        for one in across:
            wider = [key for key in keys if set(one.key) <= key]
            if one.summary:
                self._say("column-summary" if wider else "summary-alone", one.column)
            elif any(set(one.key) < key for key in wider):
                self._say("heading-which-attempt", one.column)
            else:
                heading = one.column.heading
                fixed = {name: (text, heading) for name, text in one.fixed.items()}
                block = self.blocks.setdefault(one.key, Block(one.kind, fixed))
                self._join(block, one.column)

    def beside(self, one: Compound) -> None:
        """A column that describes results: it goes to every block it may belong to."""
        owners = [block for key, block in self.blocks.items() if set(one.key) <= set(key)]
        if not owners or (one.column.field.name in _ONE_RUN and len(owners) > 1):
            self._say("heading-which-attempt", one.column)
            return
        for block in owners:
            self._join(block, one.column)

    def shared(self, columns_: Mapping[Key, Column]) -> dict[Key, Column]:
        """The columns that all blocks may share."""
        kept = dict(columns_)
        for key, column in columns_.items():
            if is_result(column) or (len(self.blocks) > 1 and column.field.name in _ONE_RUN):
                self._say("heading-which-attempt", kept.pop(key))
        return kept

    def _say(self, code: str, column: Column) -> None:
        at = self.place.at(column=column.heading)
        self.findings.append(finding(code, at, heading=column.heading))

    def _join(self, block: Block, column: Column) -> None:
        key = (column.field.name, column.part)
        if key in block.own:
            self._say("heading-twice", column)
        else:
            block.own[key] = column


def _as_best(one: Compound) -> Compound:
    """A lift's best in a column of its own, which describes the lifts beside it."""
    if not one.summary or one.column.field.name != "load":
        return one
    column = replace(one.column, field=one.kind.fields["best"])
    return replace(one, column=column, summary="")
