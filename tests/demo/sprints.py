"""The sprint sheet of a day: gates on track and pitch, and the races."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import TYPE_CHECKING

from .chance import normal
from .form import RACE_SPEED, RACE_START, SPEED, START, Spread, deviation
from .people import HM, SW, Athlete
from .physics import SpeedCurve
from .tables import Row, Table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .days import Day

_MARKS = (5, *range(10, 101, 10), 150, 200)
_COLUMNS = (
    *("athlete_id", "test", "attempt", "start", "timing", "clock", "wind_mps", "reaction_s"),
    *("lane", "run_in_m", *(f"t{mark}_s" for mark in _MARKS), "session", "date"),
)

_GATE_NOISE_S = 0.006  # an arm or a shoulder breaks the beam
_WIND_COST = {"F": 0.060, "M": 0.050}  # s over 100 m for each m/s
_200_M_RUNNERS = ("S02", "S05", "S09", "S13")
_SECOND_RACE = 5  # the five fastest run twice
_FORMER = 15  # people of former squads, of each kind
_FORMER_BORN = date(1998, 6, 1)


@dataclass(frozen=True)
class Sprint:
    """One kind of sprint: where it is timed, and from what."""

    test: str
    session: str
    marks: tuple[int, ...]
    start: str = ""  # blank: the session says
    timing: str = ""
    clock: str = ""
    lead_m: float = 0.0  # run before the clock starts
    speed: Spread = SPEED
    first: Spread = START
    bend: tuple[float, float] = (1.0, 1.0)  # what a bend does to top speed and decay


_TRAINING = (
    Sprint("60 m", "track", (10, 30, 60), "three-point", "gates", "gate"),
    Sprint(
        *("flying 20 m", "track", (20,), "flying", "gates", "gate"),
        lead_m=30,
        first=Spread(0, 0),
    ),
)
_PITCH = Sprint("40 m", "pitch", (5, 10, 20, 30, 40), lead_m=0.5)
_RACES = (
    Sprint(
        *("100 m", "race", tuple(range(10, 101, 10)), "blocks", "electronic", "gun"),
        speed=RACE_SPEED,
        first=RACE_START,
    ),
    Sprint(
        *("200 m", "race", (50, 100, 150, 200), "blocks", "electronic", "gun"),
        speed=RACE_SPEED,
        first=RACE_START,
        bend=(0.980, 1.3),
    ),
)


def sprint_sheet(day: Day, athletes: tuple[Athlete, ...]) -> Table:
    """Return the sheet with every sprint of a day."""
    sprinters = tuple(athlete for athlete in athletes if athlete.squad.sprints)
    players = tuple(athlete for athlete in athletes if not athlete.squad.sprints)
    rows = [row for sprint in _TRAINING for row in _attempts(sprint, day, sprinters)]
    if "race" in day.sessions:
        rows += [row for race in _RACES for row in _heats(race, day, sprinters)]
    rows += _attempts(_PITCH, day, players)
    return Table(_COLUMNS, rows)


def reference_sheet(day: Day) -> Table:
    """Return sprints of former squads, as a club's archive holds them: no ids, few conditions."""
    columns = ("person", "sex", *(name for name in _COLUMNS if name != "athlete_id"))
    rows = []
    for sprint, squad, letter in ((_TRAINING[0], SW, "W"), (_PITCH, HM, "M")):
        for number in range(_FORMER):
            label = f"{letter}{number + 1:02}"
            ability = normal(label, "ability")
            person = Athlete(squad, label, label, _FORMER_BORN, 0, 0, ability, "steady")
            for attempt in range(1, 3 if number % 3 else 4):
                row = _run(sprint, day, person, attempt, None)
                row |= {"person": label, "sex": squad.sex, "timing": "gates", "session": ""}
                if not sprint.start:
                    row |= {"start": "standing", "start_distance_m": f"{sprint.lead_m:g}"}
                rows.append(row)
    return Table((*columns[:5], "start_distance_m", *columns[5:]), rows)


def _attempts(sprint: Sprint, day: Day, athletes: tuple[Athlete, ...]) -> Iterator[Row]:
    for athlete in athletes:
        tries = 2 if sprint.test == "60 m" or athlete.age(day.date) < 16 else 3
        for attempt in range(1, tries + 1):
            wind = day.wind(sprint.session, sprint.test, athlete, attempt)
            row = _run(sprint, day, athlete, attempt, wind)
            if sprint.start == "flying":
                row["run_in_m"] = f"{sprint.lead_m:g}"
            yield row


def _heats(race: Sprint, day: Day, athletes: tuple[Athlete, ...]) -> Iterator[Row]:
    """Yield the results of each heat in the order of the lanes; a heat has one wind."""
    for sex in ("F", "M"):
        entered = [
            athlete
            for athlete in athletes
            if athlete.squad.sex == sex
            and (race.test == "100 m" or athlete.athlete_id in _200_M_RUNNERS)
        ]
        fastest = sorted(entered, key=lambda athlete: -athlete.ability)[:_SECOND_RACE]
        heats = (entered, fastest) if race.test == "100 m" else (entered,)
        for heat, runners in enumerate(heats, start=1):
            wind = day.wind("race", race.test, sex, heat)
            rows = []
            for place, athlete in enumerate(runners):
                row = _run(race, day, athlete, heat, wind)
                # Three and seven share no factor: nobody shares a lane.
                row["lane"] = str(2 + (3 * place + heat) % 7)
                rows.append(row)
            yield from sorted(rows, key=lambda row: row["lane"])


def _run(sprint: Sprint, day: Day, athlete: Athlete, attempt: int, wind: float | None) -> Row:
    """Return the row of one run."""
    row = {
        "athlete_id": athlete.athlete_id,
        "test": sprint.test,
        "attempt": str(attempt),
        "start": sprint.start,
        "timing": sprint.timing,
        "clock": sprint.clock,
        "wind_mps": "" if wind is None else f"{wind:.1f}",
        "session": sprint.session,
    }
    key = (sprint.test, attempt)
    curve = _curve(sprint, day, athlete, attempt)
    late = -deviation(athlete, day, sprint.first, f"{sprint.test} start", attempt)
    if sprint.clock == "gun":
        reaction = max(0.155 + 0.016 * normal(athlete, day.folder, "reaction", *key), 0.112)
        row["reaction_s"] = f"{reaction:.3f}"
        late += reaction
    late -= curve.time(sprint.lead_m)
    for mark in sprint.marks:
        gate = _GATE_NOISE_S * normal(athlete, day.folder, "gate", *key, mark)
        blown = _WIND_COST[athlete.squad.sex] * (wind or 0.0) * mark / 100
        slow = athlete.lost(sprint.lead_m + mark) - athlete.lost(sprint.lead_m)
        time = curve.time(sprint.lead_m + mark) + slow + late - blown + gate
        # Races are read up to the next hundredth, gates to the nearest.
        row[f"t{mark}_s"] = f"{ceil(time * 100) / 100 if sprint.clock == 'gun' else time:.2f}"
    return row


def _curve(sprint: Sprint, day: Day, athlete: Athlete, attempt: int) -> SpeedCurve:
    """Return the speed curve of one run."""
    fast = 1 + deviation(athlete, day, sprint.speed, sprint.test, attempt)
    scale = athlete.quality("speed", day.date, day.terms)
    constant = scale / athlete.quality("drive", day.date, day.terms)
    decay = athlete.trait("decay", 0.060, 0.010)
    bend_scale, bend_decay = sprint.bend
    return SpeedCurve(scale * fast * bend_scale, constant, decay * bend_decay)
