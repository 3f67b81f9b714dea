"""Which heading of a day's files was taken for what, and what ``[columns]`` says in vain."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.battery import Battery, nearest
from pipeline.errors import Finding, Place, finding
from pipeline.intake import compound, files, force, layouts, readers, words
from pipeline.intake.columns import (
    CORRECTIONS,
    PLAN,
    REFERENCE,
    ROSTER,
    SHEETS,
    STATUS,
    TARGETS,
    TRACES,
    knows,
    recognise,
)
from pipeline.intake.folder import COLUMNS, Columns, Day, Season, said_of
from pipeline.intake.headings import IGNORE, Own, closest, ending_of, headed, natural
from pipeline.intake.kinds import Column, SheetKind
from pipeline.intake.readers import RawSheet
from pipeline.intake.words import plain

DAY_SHEETS = (*SHEETS.values(), STATUS)
OWN_SHEETS = (ROSTER, TARGETS, PLAN, CORRECTIONS, REFERENCE)
"""The sheets of a day's own folder, and those that stand beside the days."""

KINDS: Mapping[str, SheetKind] = {kind.name: kind for kind in (*DAY_SHEETS, TRACES)}
"""Every sheet whose headings the day file may speak of."""


@dataclass(frozen=True, slots=True)
class Mapped:
    """One sheet of a day: its columns, and the headings that were ignored or not read.

    ``besides`` is what a heading says besides its field, by the column's place: ``attempt 2``.
    """

    place: Place
    kind: SheetKind
    sheet: RawSheet
    columns: tuple[Column, ...]
    besides: Mapping[int, str]
    ignored: tuple[str, ...]
    unread: tuple[str, ...]

    def line(self) -> str:
        """The sheet's mapping in a line: ``Flugzeit [ms] = flight_time (ms)``."""
        parts = [", ".join(self._told(c) for c in self.columns) or "nothing"]
        if self.ignored:
            parts.append("ignored: " + ", ".join(self.ignored))
        if self.unread:
            offers = ((h, closest(h, self.kind)) for h in self.unread)
            shown = (f"{h} (did you mean {guess}?)" if guess else h for h, guess in offers)
            parts.append("not read: " + ", ".join(shown))
        name = f"{self.place.file} [{self.place.sheet}]" if self.place.sheet else self.place.file
        return f"{name}: " + "; ".join(parts)

    def _told(self, column: Column) -> str:
        """A column as one reads it: only its heading where that is the field's own name."""
        ending = ending_of(column.unit) if column.unit else ""
        shown = " ".join(column.heading.split())
        if shown == headed(column.field.name, column.part, ending):
            return shown
        field = "result" if column.field.name == compound.BARE else column.field.name
        name = f"{field} {column.part}".strip()
        besides = self.besides.get(column.index, "")
        of = f" of {besides}" if besides else ""
        return f"{shown} = {name}{f' ({ending})' if ending else ''}{of}"


def of_season(season: Season) -> list[Mapped]:
    """Every sheet of the season's own that can be read; no day file speaks of their headings."""

    def mapped(place: Place, sheet: RawSheet, kind: SheetKind) -> Mapped:
        recognised, _ = recognise(sheet, kind, place)
        return _mapped(place, sheet, kind, {c.index: (c, "") for c in recognised.values()}, Own())

    return _in_folder(season, season.path, OWN_SHEETS, {}, mapped)


def of_day(season: Season, day: Day, battery: Battery) -> list[Mapped]:
    """Every sheet of a day that can be read, in the order of their names."""

    def mapped(place: Place, sheet: RawSheet, kind: SheetKind) -> Mapped:
        layout = layouts.recognise(sheet, kind, place, battery, day)
        return _mapped(place, sheet, kind, layout.columns, Own(day.own(kind.name)))

    traces = day.folder / force.FOLDER
    found = _in_folder(season, day.folder, DAY_SHEETS, day.columns, mapped)
    if traces.is_dir():
        found += _in_folder(season, traces, (TRACES,), day.columns, mapped)
    return found


def _in_folder(
    season: Season,
    folder: Path,
    kinds: Iterable[SheetKind],
    columns: Columns,
    mapped: Callable[[Place, RawSheet, SheetKind], Mapped],
) -> list[Mapped]:
    found = []
    for kind in sorted(kinds, key=lambda kind: kind.name):
        for path in files.named(folder, kind.name)[:1]:
            try:
                sheets = readers.read(path)
            except files.UnreadableError:
                continue  # the reader of the rows says so
            place, own = season.place(path), Own(said_of(columns, kind.name))
            known = [sheet for sheet in sheets if knows(sheet, kind, own)]
            found += [mapped(Place(place.file, s.name), s, kind) for s in known or sheets]
    return found


def _mapped(
    place: Place,
    sheet: RawSheet,
    kind: SheetKind,
    found: Mapping[int, tuple[Column, str]],
    own: Own,
) -> Mapped:
    columns = tuple(column for _, (column, _) in sorted(found.items()))
    besides = {index: said for index, (_, said) in found.items()}
    left = [h for i, h in enumerate(sheet.headings) if i not in found and h.strip()]
    ignored = tuple(h for h in left if own.of(h) == IGNORE)
    unread = tuple(h for h in left if own.of(h) != IGNORE)
    return Mapped(place, kind, sheet, columns, besides, ignored, unread)


def faults(season: Season, day: Day, battery: Battery) -> list[Finding]:
    """What ``[columns]`` of a day says in vain: no such file, no such heading, no such field."""
    if not any(day.columns.values()):
        return []
    place = season.place(day.folder / "day.toml")
    found: list[Finding] = []
    sheets = of_day(season, day, battery)
    for file, targets in day.columns.items():
        at = Place(place.file, f"{COLUMNS}.{file}" if file else COLUMNS)
        if file and file not in KINDS:
            guess = nearest(file, list(KINDS))
            found.append(finding("columns-file", at, file=file, guess=guess))
            continue
        kinds = [kind for name, kind in KINDS.items() if file in ("", name)]
        headings = [h for s in sheets if s.kind in kinds for h in s.sheet.headings]
        for heading, target in targets.items():
            found += _in_vain(at.at(column=heading), (heading, target), kinds, headings, battery)
    return found


def _in_vain(
    at: Place,
    said: tuple[str, str],
    kinds: list[SheetKind],
    headings: list[str],
    battery: Battery,
) -> Iterator[Finding]:
    heading, target = said
    if not any(_is_something(target, kind, battery) for kind in kinds):
        offers = (closest(target, kind) for kind in kinds)
        guess = next((f"; did you mean “{offer}”?" for offer in offers if offer), "")
        yield finding("columns-target", at, heading=heading, target=target, guess=guess)
    if plain(heading) not in map(plain, headings):
        guess = nearest(heading, headings)
        yield finding("columns-unused", at, heading=heading, guess=guess)


def _is_something(target: str, kind: SheetKind, battery: Battery) -> bool:
    """Whether a target is ``ignore``, a unit, a field, or a heading of one attempt or test."""
    return (
        target == IGNORE
        or bool(words.unit_named(target))
        or natural(target, kind) is not None
        or compound.may_mean(target, kind, battery)
    )
