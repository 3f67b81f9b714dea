"""Many damaged seasons in two processes: ``python -m tests.benchmarks.fuzz [N] [FIRST_SEED]``.

Prints what became of them by area and by kind of damage, every breach with the seed that gives it
again, and the time of a damaged season as a multiple of an undamaged one's.
"""

from __future__ import annotations

import sys
import tempfile
import time
import warnings
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

from tqdm import tqdm

from pipeline.intake.files import SUFFIXES
from tests.fuzz.damage import AREAS, DAMAGES
from tests.fuzz.made import make
from tests.fuzz.oracle import Outcome, run
from tests.fuzz.season import ANY, chosen, damaged

SEASONS, PROCESSES, CHUNK, TWICE, BY_COMMAND = 2000, 2, 30, 20, 4
_KINDS = {
    "tracebacks": ("Traceback",),
    "lost rows": ("rows", "a sheet stands twice"),
    "changed inputs": ("changed on disk",),
    "silence": ("passed over",),
    "wrong source": ("leads", "holds"),
    "wrong value": ("was written",),
    "wrong stop": ("stopped",),
    "not the same twice": ("reading twice",),
    "command differs": ("the command",),
}
"""What is counted: a word in the sentence of a breach, the first that fits."""


@dataclass
class Tally:
    """What became of the seasons of one area."""

    seasons: int = 0
    damages: Counter[str] = field(default_factory=Counter)
    codes: Counter[int] = field(default_factory=Counter)
    breaches: Counter[str] = field(default_factory=Counter)
    seconds: float = 0.0
    traced: int = 0
    told: list[str] = field(default_factory=list)


def kind_of(breach: str) -> str:
    """Under which heading a breach is counted."""
    fitting = (name for name, words in _KINDS.items() if any(word in breach for word in words))
    return next(fitting, "other")


def _judged(seed: int, area: str) -> tuple[Outcome, float]:
    made = damaged(seed, area, SUFFIXES) if area else make(seed, SUFFIXES)
    with tempfile.TemporaryDirectory() as place:
        started = time.process_time()
        again, whole = seed % TWICE == 0, seed % BY_COMMAND == 0
        outcome = run(made, Path(place) / "season", twice=again, by_command=whole)
        return outcome, time.process_time() - started


def tallied(jobs: Iterable[tuple[int, str]]) -> dict[str, Tally]:
    """Judge seasons given as (seed, area); a blank area is an undamaged one."""
    warnings.simplefilter("error")
    tallies: defaultdict[str, Tally] = defaultdict(Tally)
    for seed, area in jobs:
        outcome, seconds = _judged(seed, area)
        tally = tallies[area]
        tally.seasons += 1
        tally.damages.update(d.name for d in (chosen(seed, area) if area else ()))
        tally.codes[outcome.code] += 1
        tally.breaches.update(map(kind_of, outcome.breaches))
        tally.seconds += seconds
        tally.traced += outcome.traced
        tally.told += [f"{area} {seed}: {breach}" for breach in outcome.breaches]
    return dict(tallies)


def _lines(tallies: dict[str, Tally]) -> Iterator[str]:
    columns = ["seasons", "damages", "exit 0", "exit 1", "exit 2", *_KINDS, "other", "times clean"]
    yield "  ".join(["area".ljust(9), *columns])
    clean = tallies[""].seconds / tallies[""].seasons
    for area, tally in tallies.items():
        cells: list[object] = [tally.seasons, tally.damages.total()]
        cells += [tally.codes[code] for code in (0, 1, 2)]
        cells += [tally.breaches[name] for name in (*_KINDS, "other")]
        cells.append(f"{tally.seconds / tally.seasons / clean:.2f}")
        shown = [str(c).rjust(len(name)) for c, name in zip(cells, columns, strict=True)]
        yield "  ".join([(area or "none").ljust(9), *shown])
    yield f"values traced to their cell: {sum(t.traced for t in tallies.values())}"
    done = sum((t.damages for t in tallies.values()), Counter[str]())
    yield f"kinds of damage: {len(done)} of {len(DAMAGES)}"
    yield from (f"  {done[d.name]:5d}  {d.area}: {d.name}" for d in DAMAGES.values())
    yield from (line for tally in tallies.values() for line in tally.told)


def main(seasons: int, first: int) -> None:
    """Share the seasons out and print the table."""
    areas = [*AREAS, ANY]
    jobs = [(first + n // len(areas), areas[n % len(areas)]) for n in range(seasons)]
    jobs += [(first + n, "") for n in range(max(seasons // 20, 2 * PROCESSES))]
    together: dict[str, Tally] = {area: Tally() for area in ("", *areas)}
    with ProcessPoolExecutor(PROCESSES, mp_context=get_context("spawn")) as pool:
        parts = [jobs[n :: len(jobs) // CHUNK + 1] for n in range(len(jobs) // CHUNK + 1)]
        for part in tqdm(pool.map(tallied, parts), total=len(parts), mininterval=10):
            for area, tally in part.items():
                mine = together[area]
                mine.seasons += tally.seasons
                mine.damages += tally.damages
                mine.codes += tally.codes
                mine.breaches += tally.breaches
                mine.seconds += tally.seconds
                mine.traced += tally.traced
                mine.told += tally.told
    sys.stdout.write("\n".join(_lines(together)) + "\n")


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    main(*given, *(SEASONS, 0)[len(given) :])
