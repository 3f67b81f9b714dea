"""Which heading of a day's files was taken for what, and what ``[columns]`` says in vain."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.battery import nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake import force, readers, words
from pipeline.intake.columns import SHEETS, STATUS, TRACES, recognise
from pipeline.intake.folder import COLUMNS, Day, Season
from pipeline.intake.headings import IGNORE, Own, closest, natural
from pipeline.intake.kinds import Column, SheetKind
from pipeline.intake.readers import RawSheet
from pipeline.intake.words import plain
from pipeline.units import HEADING_UNITS

KINDS: Mapping[str, SheetKind] = {**SHEETS, STATUS.name: STATUS, TRACES.name: TRACES}
"""Every sheet of a day whose headings the day file may speak of."""


@dataclass(frozen=True, slots=True)
class Mapped:
    """One sheet of a day: its columns, and the headings that were ignored or not read."""

    place: Place
    kind: SheetKind
    sheet: RawSheet
    columns: tuple[Column, ...]
    ignored: tuple[str, ...]
    unread: tuple[str, ...]

    def line(self) -> str:
        """The sheet's mapping in a line: ``Flugzeit [ms] = flight_time (ms)``."""
        parts = [", ".join(map(_told, self.columns)) or "nothing"]
        if self.ignored:
            parts.append("ignored: " + ", ".join(self.ignored))
        if self.unread:
            offers = ((h, closest(h, self.kind)) for h in self.unread)
            shown = (f"{h} (did you mean {guess}?)" if guess else h for h, guess in offers)
            parts.append("not read: " + ", ".join(shown))
        name = f"{self.place.file} [{self.place.sheet}]" if self.place.sheet else self.place.file
        return f"{name}: " + "; ".join(parts)


def _told(column: Column) -> str:
    """A column as one reads it: only its heading where that is the field's own name."""
    ending = next((e for e, unit in HEADING_UNITS.items() if unit == column.unit), "")
    name = f"{column.field.name} {column.part}".strip()
    own = f"{column.field.name}_{ending}" if ending else column.field.name
    shown = " ".join(column.heading.split())
    if shown == own and not column.part:
        return shown
    return f"{shown} = {name}{f' ({ending})' if ending else ''}"


def of_day(season: Season, day: Day) -> list[Mapped]:
    """Every sheet of a day that can be read, in the order of their names."""
    found = []
    for path, kind in _files(day):
        try:
            sheets = readers.read(path)
        except readers.UnreadableError:
            continue  # the reader of the rows says so
        place = season.place(path)
        found += [_mapped(Place(place.file, s.name), s, kind, day) for s in sheets]
    return found


def _files(day: Day) -> Iterator[tuple[Path, SheetKind]]:
    for folder in (day.folder, day.folder / force.FOLDER):
        if folder.is_dir():
            for name, kind in sorted(KINDS.items()):
                if (kind is TRACES) == (folder != day.folder):
                    yield from ((path, kind) for path in readers.named(folder, name)[:1])


def _mapped(place: Place, sheet: RawSheet, kind: SheetKind, day: Day) -> Mapped:
    own = Own(day.own(kind.name))
    recognised, _ = recognise(sheet, kind, place, own)
    columns = sorted(recognised.values(), key=lambda column: column.index)
    taken = {column.index for column in columns}
    left = [h for i, h in enumerate(sheet.headings) if i not in taken and h.strip()]
    ignored = tuple(h for h in left if own.of(h) == IGNORE)
    unread = tuple(h for h in left if own.of(h) != IGNORE)
    return Mapped(place, kind, sheet, tuple(columns), ignored, unread)


def faults(season: Season, day: Day) -> list[Finding]:
    """What ``[columns]`` of a day says in vain: no such file, no such heading, no such field."""
    if not any(day.columns.values()):
        return []
    place = season.place(day.folder / "day.toml")
    found: list[Finding] = []
    sheets = of_day(season, day)
    for file, targets in day.columns.items():
        at = Place(place.file, f"{COLUMNS}.{file}" if file else COLUMNS)
        if file and file not in KINDS:
            guess = nearest(file, list(KINDS))
            found.append(finding("columns-file", at, file=file, guess=guess))
            continue
        kinds = [kind for name, kind in KINDS.items() if file in ("", name)]
        headings = [h for s in sheets if s.kind in kinds for h in s.sheet.headings]
        for heading, target in targets.items():
            found += _in_vain(at.at(column=heading), heading, target, kinds, headings)
    return found


def _in_vain(
    at: Place, heading: str, target: str, kinds: list[SheetKind], headings: list[str]
) -> Iterator[Finding]:
    if not _is_something(target, kinds):
        offers = (closest(target, kind) for kind in kinds)
        guess = next((f"; did you mean “{offer}”?" for offer in offers if offer), "")
        yield finding("columns-target", at, heading=heading, target=target, guess=guess)
    if plain(heading) not in map(plain, headings):
        guess = nearest(heading, headings)
        yield finding("columns-unused", at, heading=heading, guess=guess)


def _is_something(target: str, kinds: list[SheetKind]) -> bool:
    """Whether a target is ``ignore``, a unit, or a field of one of these kinds, unit or not."""
    if target == IGNORE or words.unit_named(target):
        return True
    return any(natural(target, kind) for kind in kinds)
