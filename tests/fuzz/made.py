"""A small valid season, drawn from a seed, of which every number's truth in SI is known."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

DAY = "2026-09-autumn"
EARLIER = "2026-05-spring"
TEXTS = (".csv", ".tsv")
BOOKS = (".xlsx", ".xls", ".ods")

# Exact by definition (NIST Handbook 44, appendix C).
_FACTORS = {
    "s": 1.0, "ms": 1e-3, "m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 0.0254,
    "kg": 1.0, "lb": 0.45359237, "mps": 1.0, "kmh": 1 / 3.6, "": 1.0,
}  # fmt: skip


@dataclass
class Cell:
    """What one types; ``truth`` in SI where it is a number, ``typed`` where a book holds it so."""

    text: str
    truth: float | None = None
    typed: bool = False


@dataclass
class Sheet:
    """One sheet of the season, its headings in the first of ``rows``."""

    folder: str
    stem: str
    suffix: str
    rows: list[list[Cell]]
    name: str = ""
    separator: str = ","
    encoding: str = "utf-8"
    line_end: str = "\n"
    mark: bytes = b""
    comma: bool = False
    above: list[list[Cell]] = field(default_factory=list)
    known: bool = True
    """Whether what was written is what must be read."""

    @property
    def path(self) -> str:
        return f"{self.folder}/{self.stem}{self.suffix}".removeprefix("/")

    @property
    def book(self) -> bool:
        return self.suffix in BOOKS

    @property
    def headings(self) -> list[Cell]:
        return self.rows[0]

    def lines(self) -> list[list[Cell]]:
        """Every row of the file, from the top."""
        return [*self.above, *self.rows]


class GoneError(Exception):
    """What a damage would hit is no longer there."""


@dataclass
class Made:
    """A season in memory: its sheets, its settings, and what else lies on the disk."""

    seed: int
    sheets: list[Sheet]
    settings: dict[str, str]
    files: dict[str, bytes] = field(default_factory=dict)
    disk: list[Callable[..., None]] = field(default_factory=list)
    stops: set[str] = field(default_factory=set)
    """Words one of which a refusal to start must name."""
    told: list[str] = field(default_factory=list)

    def sheet(self, stem: str) -> Sheet:
        """The sheet of a name.

        Raises:
            GoneError: an earlier damage took it away.
        """
        found = next((s for s in self.sheets if s.stem == stem), None)
        if found is None:
            raise GoneError(stem)
        return found

    def of_day(self) -> list[Sheet]:
        return [s for s in self.sheets if s.folder == DAY]


def _number(amount: float, unit: str, decimals: int) -> Cell:
    """An amount in SI as it is typed under a heading in ``unit``: its truth is what was typed."""
    text = f"{amount / _FACTORS[unit]:.{decimals}f}"
    return Cell(text, float(text) * _FACTORS[unit], typed=True)


def _words(*texts: str) -> list[Cell]:
    return [Cell(text) for text in texts]


def _count(number: int) -> Cell:
    return Cell(str(number), float(number), typed=True)


def _attempt(number: int) -> Cell:
    """A label, and no quantity of its own."""
    return Cell(str(number), typed=True)


@dataclass
class _Maker:
    rng: random.Random
    people: list[str]

    def sprints(self) -> Iterator[list[Cell]]:
        unit = self.rng.choice(("s", "s", "ms"))
        decimals = 0 if unit == "ms" else 2
        yield _words(
            "session", "athlete_id", "test", "attempt", "wind_mps", f"t10_{unit}", f"t30_{unit}",
            f"t60_{unit}",
        )  # fmt: skip
        for who in self.people:
            best = self.rng.uniform(7.0, 8.6)
            for attempt in (1, 2):
                time = best + 0.03 * attempt
                yield [
                    *_words("track", who, "60 m"),
                    _attempt(attempt),
                    _number(self.rng.uniform(-1.5, 1.5), "mps", 1),
                    *(_number(time * share, unit, decimals) for share in (0.268, 0.565, 1)),
                ]

    def jumps(self) -> Iterator[list[Cell]]:
        if self.rng.random() < 0.3:
            yield from self._jumps_across()
            return
        unit, decimals = self.rng.choice((("s", 3), ("ms", 0)))
        yield _words("session", "athlete_id", "test", "attempt", "arms", f"flight_time_{unit}")
        for who in self.people:
            flight = self.rng.uniform(0.44, 0.58)
            for attempt in (1, 2, 3):
                time = flight + 0.004 * attempt
                yield [
                    *_words("gym", who, self.rng.choice(("cmj", "countermovement jump"))),
                    _attempt(attempt),
                    Cell("hips"),
                    _number(time, unit, decimals),
                ]

    def _jumps_across(self) -> Iterator[list[Cell]]:
        """A row for each athlete, the attempts side by side."""
        yield _words("athlete_id", "CMJ 1 (cm)", "CMJ 2 (cm)", "CMJ 3 (cm)")
        for who in self.people:
            height = self.rng.uniform(0.26, 0.40)
            yield [Cell(who), *(_number(height + 0.004 * n, "cm", 1) for n in range(3))]

    def drop_jumps(self) -> Iterator[list[Cell]]:
        yield _words("athlete_id", "attempt", "drop_height_cm", "contact_time_s", "flight_time_s")
        for who in self.people:
            for attempt in (1, 2):
                yield [
                    Cell(who),
                    _attempt(attempt),
                    Cell("40", typed=True),
                    _number(self.rng.uniform(0.170, 0.230), "s", 3),
                    _number(self.rng.uniform(0.430, 0.490), "s", 3),
                ]

    def rebounds(self) -> Iterator[list[Cell]]:
        yield _words(
            "athlete_id", "test", "attempt", "rep", "arms", "contact_time_s", "flight_time_s"
        )
        for who in self.people[:2]:
            for rep in range(1, 6):
                yield [
                    *_words(who, "five rebounds"),
                    Cell("1", typed=True),
                    _count(rep),
                    Cell("hips"),
                    _number(self.rng.uniform(0.180, 0.210), "s", 3),
                    _number(self.rng.uniform(0.400, 0.440), "s", 3),
                ]

    def lifts(self) -> Iterator[list[Cell]]:
        unit = self.rng.choice(("kg", "lb"))
        yield _words("athlete_id", "lift", f"load_{unit}", "reps", "result")
        for who in self.people:
            load = self.rng.choice((60, 80, 100))
            for extra, result in ((0, "good"), (10, "good"), (20, "failed")):
                yield [
                    *_words(who, "back squat"),
                    _number(load + extra, unit, 1),
                    _count(1),
                    Cell(result),
                ]

    def body(self) -> Iterator[list[Cell]]:
        mass, height = self.rng.choice((("kg", "cm"), ("lb", "in"), ("kg", "m")))
        yield _words("athlete_id", f"body_mass_{mass}", f"height_{height}")
        for who in self.people:
            yield [
                Cell(who),
                _number(self.rng.uniform(52, 82), mass, 1),
                _number(self.rng.uniform(1.62, 1.88), height, 2 if height == "m" else 1),
            ]

    def other(self) -> Iterator[list[Cell]]:
        yield _words("athlete_id", "test", "attempt", "side", "value")
        for who in self.people:
            for side in ("left", "right"):
                yield [
                    *_words(who, "grip"),
                    Cell("1", typed=True),
                    Cell(side),
                    _number(self.rng.uniform(28, 50), "", 1),
                ]

    def status(self) -> Iterator[list[Cell]]:
        yield _words("athlete_id", "test", "status", "reason")
        yield _words(self.people[-1], "60 m", "limited", "first week back")

    def targets(self) -> Iterator[list[Cell]]:
        yield _words("athlete_id", "test", "measure", "target", "by")
        yield [*_words(self.people[0], "60 m", "time"), Cell("7.4", typed=True), Cell("2027-03-01")]

    def plan(self) -> Iterator[list[Cell]]:
        yield _words("athlete_id", "from", "sprint_phase", "emphasis", "note")
        yield _words(self.people[0], "2026-05-20", "drive", "", "hills")

    def reference_sprints(self) -> Iterator[list[Cell]]:
        yield _words("person", "sex", "test", "attempt", "start", "t10_s", "t30_s", "t60_s")
        for number in (1, 2, 3):
            time = 7.5 + 0.1 * number
            yield [
                *_words(f"W{number:02d}", "F", "60 m"),
                Cell("1", typed=True),
                Cell("blocks"),
                *(_number(time * share, "s", 2) for share in (0.268, 0.565, 1)),
            ]

    def roster(self, people: Iterable[str]) -> Iterator[list[Cell]]:
        yield _words(
            "athlete_id", "name", "sex", "birth_date", "groups", "event", "joined", "left", "share"
        )
        for number, who in enumerate(people):
            first = ("Ardo", "Belisse", "Corvan", "Dunja", "Evrem", "Fiora")[number]
            last = ("Quillmark", "Ostervane", "Márinelo", "Thandrik", "Oyelbrand", "Søndavel")
            sex = self.rng.choice("FM")
            born = f"{self.rng.randint(2003, 2010)}-0{self.rng.randint(1, 9)}-1{number}"
            yield _words(
                who, f"{first} {last[number]}", sex, born, "sprint", "100/200 m", "", "", "full"
            )


_IDS = (
    ("A01", "A02", "A03", "A04", "A05"),
    ("007", "012", "12E3", "1-2", "0"),
    ("NA", "None", "Null", "TRUE", "nan-1"),
    ("k-1", "K_1", "x", "Zz9", "m5"),
)

_SETTINGS = {
    f"{DAY}/day.toml": """\
date = 2026-09-15
term = "autumn 2026"

[session.track]
indoor = false
surface = "synthetic track"
timing = "gates"
beams = "double"
start = "three-point"
start_distance_m = 0.0

[session.gym]
date = 2026-09-17
indoor = true
""",
    "battery.toml": """\
tests."60 m".attempts = 2
tests."countermovement jump".attempts = 3

[tests."grip"]
kind = "other"
unit = "kg"
""",
}

TESTS = ("sprints", "jumps", "drop_jumps", "rebounds", "lifts", "body", "other")
ASIDE = ("targets", "plan", "reference_sprints")


def make(seed: int, suffixes: tuple[str, ...] = (*TEXTS, *BOOKS)) -> Made:
    """The season of a seed: three to five people, one to three of a day's sheets, any format."""
    rng = random.Random(seed)
    people = list(rng.choice(_IDS)[: rng.randint(3, 5)])
    maker = _Maker(rng, people)
    stems = rng.sample(TESTS, rng.randint(1, 3))
    stems += ["status"] * (rng.random() < 0.3)
    sheets = [_sheet(rng, suffixes, DAY, stem, getattr(maker, stem)()) for stem in stems]
    asides = [stem for stem in ASIDE if rng.random() < 0.2]
    sheets += [_sheet(rng, suffixes, "", stem, getattr(maker, stem)()) for stem in asides]
    sheets.append(_sheet(rng, suffixes, "", "roster", maker.roster(people)))
    return Made(seed, sheets, dict(_SETTINGS))


def _sheet(
    rng: random.Random,
    suffixes: tuple[str, ...],
    folder: str,
    stem: str,
    rows: Iterator[list[Cell]],
) -> Sheet:
    suffix = rng.choice(suffixes)
    made = Sheet(folder, stem, suffix, list(rows))
    if made.book:
        made.name = rng.choice(("Sheet1", "day", "Tag 1", "r!s;t"[:3]))
    else:
        made.separator = "\t" if suffix == ".tsv" else rng.choice((",", ",", ";", "\t"))
        made.encoding = rng.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"))
        made.line_end = rng.choice(("\n", "\n", "\r\n", "\r"))
        made.comma = made.separator != "," and rng.random() < 0.4
        if made.comma:
            for cell in (cell for row in made.rows[1:] for cell in row if cell.typed):
                cell.text = cell.text.replace(".", ",")
    return made
