"""All other sheets of a day, as the staff would have written them without a slip."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

from .chance import normal, stream
from .days import AUTUMN_26, SPRING_26
from .form import (
    JUMP,
    LIFT,
    LONG_JUMP,
    SHUTTLE,
    SINGLE_LEG,
    SQUAT_JUMP,
    THROW,
    Spread,
    deviation,
    rebound,
)
from .physics import RATE_HZ, drop_trace, flight_time, jump_trace, pull_trace, squat_trace
from .sprints import sprint_sheet
from .tables import Row, Table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .days import Day
    from .people import Athlete

Sheets = dict[str, Table]

_CM_OF_SIT = {"F": 0.525, "M": 0.520}  # sitting over standing height

# Jump test, attempts, sides, arms, noise.
_JUMPS: tuple[tuple[str, int, tuple[str, ...], str, Spread], ...] = (
    ("countermovement jump", 3, ("",), "hips", JUMP),
    ("squat jump", 3, ("",), "hips", SQUAT_JUMP),
    ("standing long jump", 3, ("",), "free", LONG_JUMP),
    ("single-leg jump", 2, ("left", "right"), "hips", SINGLE_LEG),
)

# Lift: share of the back squat, sides, for whom (True sprint, False field), for under-16s too.
_LIFTS: tuple[tuple[str, float, tuple[str, ...], tuple[bool, ...], bool], ...] = (
    ("back squat", 1.0, ("",), (True, False), True),
    ("power clean", 0.62, ("",), (True,), False),
    ("front squat", 0.82, ("",), (False,), False),
    ("split squat", 0.55, ("left", "right"), (False,), True),
)
# Added to the sprinters' day in 2026: bounds for distance and ten rebounds on the spot.
_REBOUND_DAYS = (SPRING_26, AUTUMN_26)
_BOUND_FROM_AGE = 16
_BOUND_OF_JUMP = 2.95  # triple bound over standing long jump
# The first contacts of a series are longer and give less (Stratford et al. 2020, abstract).
_SETTLING = {1: 1.22, 2: 1.09, 3: 1.04}

_PLATES_KG = 2.5
# Sets as (share of the maximum, repetitions); the last one is the top set.
_SINGLES = ((0.70, 5), (0.82, 3), (0.92, 1), (1.00, 1))
_LEARNING = ((0.55, 8), (0.62, 6), (0.69, 5))  # under 16: never near a maximum
_TOP_SETS = ((0.93, 3), (0.90, 4), (0.87, 5), (0.85, 6))
_WARM_UP = ((0.60, 5), (0.75, 5))

_STEPS_BY = ("S01", "S02", "S05", "S08", "S10")
# Zone, contact and flight time in it.
_ZONES = ((0, 10, 0.168, 0.064), (10, 30, 0.124, 0.104), (30, 60, 0.106, 0.121))

_FILMED = ("S01", "S02", "S05", "S08", "S10", "S13")
# Checkpoint, angle, degrees from the ground.
_ANGLES = (
    ("block exit", "body", 44),
    ("block exit", "shin", 42),
    ("block exit", "trunk", 38),
    ("first step", "body", 49),
    ("first step", "shin", 53),
    ("first step", "trunk", 46),
    ("maximum velocity", "body", 87),
    ("maximum velocity", "shin", 91),
    ("maximum velocity", "trunk", 84),
)
_OBSERVERS = (("coach A", 0.0), ("coach B", 1.2))  # B reads a little higher

_JUMP, _SQUAT, _DROP, _PULL = (
    "countermovement jump", "squat jump", "drop jump", "isometric mid-thigh pull",
)  # fmt: skip
_ONE, _TWO = ("force_N",), ("left_N", "right_N")
# By day: athlete, test, attempt, columns of one plate or two.
_TRACED = {
    SPRING_26: (
        ("S01", _JUMP, 1, _ONE),
        ("S08", _JUMP, 2, _ONE),
        ("F01", _JUMP, 1, _ONE),
        ("F08", _JUMP, 1, _TWO),
    ),
    AUTUMN_26: (
        ("S01", _JUMP, 3, _ONE),
        ("S08", _JUMP, 3, _ONE),
        ("F08", _JUMP, 1, _TWO),
        ("S01", _SQUAT, 3, _ONE),
        ("S08", _DROP, 1, _ONE),
        ("S01", _PULL, 1, _ONE),
        ("S01", _PULL, 2, _ONE),
        ("S08", _PULL, 1, _ONE),
        ("S08", _PULL, 2, _ONE),
    ),
}
_FILE_WORD = {_JUMP: "jump", _SQUAT: "squat_jump", _DROP: "drop_jump", _PULL: "pull"}
_DROP_CM = "40"
_PULL_MPS2 = 26.0
_LEFT_SHARE = 0.515


def day_sheets(day: Day, athletes: tuple[Athlete, ...]) -> Sheets:
    """Return every sheet of a day by its name without suffix."""
    sheets = {
        "body": _body(day, athletes),
        "status": Table(("athlete_id", "test", "status", "reason", "session"), []),
        "sprints": sprint_sheet(day, athletes),
        "jumps": _jumps(day, athletes),
        "drop_jumps": _drop_jumps(day, athletes),
        "lifts": _lifts(day, athletes),
        "other": _other(day, athletes),
    }
    if day.repeat_of:
        del sheets["lifts"]  # nobody lifts a maximum twice in nine days
    if day.folder in _REBOUND_DAYS:
        bounders = [a for a in athletes if a.squad.sprints and a.age(day.date) >= _BOUND_FROM_AGE]
        sheets["jumps"].rows += _bounds(day, bounders)
        sheets["rebounds"] = _rebounds(day, bounders)
    by_id = {athlete.athlete_id: athlete for athlete in athletes}
    if day.folder == SPRING_26:
        sheets["steps"] = _steps(day, sheets["sprints"], by_id)
        sheets["technique"] = _technique(day)
    if day.folder in _TRACED:
        sheets |= _force(day, sheets, by_id)
    return sheets


def _mass(day: Day, athlete: Athlete) -> float:
    grown = athlete.adult_mass_kg * athlete.grown(day.date)[1]
    return grown * (1 + 0.008 * normal(athlete, day.folder, "mass"))


def _body(day: Day, athletes: tuple[Athlete, ...]) -> Table:
    rows = []
    for athlete in athletes:
        height = athlete.adult_height_cm * athlete.grown(day.date)[0]
        height += 0.2 * normal(athlete, day.folder, "height")
        sitting = height * athlete.trait("sitting", _CM_OF_SIT[athlete.squad.sex], 0.006)
        rows.append(
            {
                "athlete_id": athlete.athlete_id,
                "body_mass_kg": f"{_mass(day, athlete):.1f}",
                "height_cm": f"{height:.1f}",
                # Only the young are measured sitting: for growth.
                "sitting_height_cm": f"{sitting:.1f}" if athlete.age(day.date) < 18 else "",
                "session": "gym",
            }
        )
    return Table(tuple(rows[0]), rows)


def _jumps(day: Day, athletes: tuple[Athlete, ...]) -> Table:
    columns = (
        *("athlete_id", "test", "attempt", "side", "arms"),
        *("flight_time_s", "distance_m", "session"),
    )
    rows = [
        {
            "athlete_id": athlete.athlete_id,
            "test": test,
            "attempt": str(attempt),
            "side": side,
            "arms": arms,
            **_jump(day, athlete, test, side, 1 + deviation(athlete, day, spread, *key)),
            "session": "gym",
        }
        for test, attempts, sides, arms, spread in _JUMPS
        for athlete in athletes
        for side in sides
        for attempt in range(1, attempts + 1)
        for key in [(test, side, attempt)]
    ]
    return Table(columns, rows)


def _jump(day: Day, athlete: Athlete, test: str, side: str, form: float) -> Row:
    """Return what was measured in one jump."""
    height = athlete.quality("jump", day.date, day.terms)
    if test == "standing long jump":
        distance = (1.05 + 0.034 * height) * athlete.trait("long jump", 1.0, 0.025)
        return {"distance_m": f"{distance * form:.2f}"}
    if test == "squat jump":
        height /= athlete.trait("stretch", 1.08, 0.025)
    elif test == "single-leg jump":
        height *= athlete.trait("one leg", 0.53, 0.025)
        lean = athlete.trait("side", 0.0, 0.035)
        height *= 1 + (lean if side == "left" else -lean)
    return {"flight_time_s": f"{flight_time(height * form):.3f}"}


def _bounds(day: Day, athletes: list[Athlete]) -> list[Row]:
    rows = []
    for athlete in athletes:
        height = athlete.quality("jump", day.date, day.terms)
        jump = (1.05 + 0.034 * height) * athlete.trait("long jump", 1.0, 0.025)
        reach = jump * _BOUND_OF_JUMP * athlete.trait("bound", 1.0, 0.02)
        for attempt in (1, 2, 3):
            form = 1 + deviation(athlete, day, LONG_JUMP, "triple bound", attempt)
            rows.append(
                {
                    "athlete_id": athlete.athlete_id,
                    "test": "triple bound",
                    "attempt": str(attempt),
                    "arms": "free",
                    "distance_m": f"{reach * form:.2f}",
                    "session": "gym",
                }
            )
    return rows


def _rebounds(day: Day, athletes: list[Athlete]) -> Table:
    rows = []
    for athlete in athletes:
        index = athlete.quality("reactive", day.date, day.terms) * 0.93
        quick = athlete.trait("contact", 0.188, 0.008)
        for rep in range(1, 11):
            settling = _SETTLING.get(rep, 1.0)
            contact = quick * settling * (1 - rebound(athlete, day, "hop contact", rep))
            rise = index * quick / settling * (1 + rebound(athlete, day, "hop", rep))
            rows.append(
                {
                    "athlete_id": athlete.athlete_id,
                    "test": "ten rebounds",
                    "attempt": "1",
                    "rep": str(rep),
                    "arms": "hips",
                    "contact_time_s": f"{contact:.3f}",
                    "flight_time_s": f"{flight_time(100 * rise):.3f}",
                    "session": "gym",
                }
            )
    return Table(tuple(rows[0]), rows)


def _drop_jumps(day: Day, athletes: tuple[Athlete, ...]) -> Table:
    rows = []
    for athlete in athletes:
        index = athlete.quality("reactive", day.date, day.terms)
        quick = athlete.trait("contact", 0.188 if athlete.squad.sprints else 0.206, 0.008)
        best_drop = athlete.trait("drop", 33, 6)
        for drop in (20, 30) if athlete.age(day.date) < 16 else (20, 30, 40):
            for attempt in (1, 2):
                contact = quick * (1 + 0.003 * (drop - 30))
                rise = index * contact * (1 - 0.0005 * (drop - best_drop) ** 2)
                contact *= 1 - rebound(athlete, day, "contact", drop, attempt)
                rise *= 1 + rebound(athlete, day, "rebound", drop, attempt)
                rows.append(
                    {
                        "athlete_id": athlete.athlete_id,
                        "attempt": str(attempt),
                        "drop_height_cm": str(drop),
                        "contact_time_s": f"{contact:.3f}",
                        "flight_time_s": f"{flight_time(100 * rise):.3f}",
                        "session": "gym",
                    }
                )
    return Table(tuple(rows[0]), rows)


def _lifts(day: Day, athletes: tuple[Athlete, ...]) -> Table:
    columns = ("athlete_id", "lift", "side", "load_kg", "reps", "result", "maximal", "session")
    rows = [
        {"athlete_id": athlete.athlete_id, "lift": lift, "side": side, **done, "session": "gym"}
        for lift, share, sides, squads, for_youth in _LIFTS
        for athlete in athletes
        if athlete.squad.sprints in squads and (for_youth or athlete.age(day.date) >= 16)
        for side in sides
        for done in _sets(day, athlete, lift, side, share)
    ]
    return Table(columns, rows)


def _sets(day: Day, athlete: Athlete, lift: str, side: str, share: float) -> Iterator[Row]:
    """Yield the sets of one lift, from the warm-up to the top set and a try beyond it."""
    maximum = _mass(day, athlete) * athlete.quality("squat", day.date, day.terms) * share
    maximum *= athlete.trait(lift, 1.0, 0.03) * (1 + deviation(athlete, day, LIFT, lift, side))
    plan: tuple[tuple[float, int], ...] = _LEARNING
    if athlete.age(day.date) >= 18 and athlete.squad.sprints:
        plan = _SINGLES
    elif athlete.age(day.date) >= 16:
        plan = (*_WARM_UP, stream(athlete, lift, "top set").choice(_TOP_SETS))
    for step, (part, reps) in enumerate(plan):
        load = floor(maximum * part / _PLATES_KG) * _PLATES_KG
        top = step == len(plan) - 1 and plan is not _LEARNING
        yield _set(load, reps, "good", "yes" if top else "")
    if plan is not _LEARNING and normal(athlete, day.folder, lift, side, "one more") > 0.6:
        yield _set(load + 2 * _PLATES_KG, reps, "failed", "")


def _set(load: float, reps: int, result: str, maximal: str) -> Row:
    return {"load_kg": f"{load:g}", "reps": str(reps), "result": result, "maximal": maximal}


def _other(day: Day, athletes: tuple[Athlete, ...]) -> Table:
    rows = []
    players = [athlete for athlete in athletes if not athlete.squad.sprints]
    for athlete in players:
        speed = athlete.quality("speed", day.date, day.terms)
        agile = athlete.trait("shuttle", 5.25, 0.08) - 0.5 * (speed - 8.35)
        for attempt in (1, 2):
            time = agile * (1 - deviation(athlete, day, SHUTTLE, "shuttle", attempt))
            rows.append(_own_test(athlete, "shuttle 5-10-5", attempt, time, "pitch"))
    for athlete in athletes:
        throw = athlete.quality("throw", day.date, day.terms)
        for attempt in (1, 2, 3):
            distance = throw * (1 + deviation(athlete, day, THROW, "throw", attempt))
            rows.append(_own_test(athlete, "overhead ball throw", attempt, distance, "gym"))
    return Table(tuple(rows[0]), rows)


def _own_test(athlete: Athlete, test: str, attempt: int, value: float, session: str) -> Row:
    return {
        "athlete_id": athlete.athlete_id,
        "test": test,
        "attempt": str(attempt),
        "value": f"{value:.2f}",
        "session": session,
    }


def _steps(day: Day, sprints: Table, by_id: dict[str, Athlete]) -> Table:
    """Return steps filmed in the first 60 m: length follows from the timed speed of the zone."""
    rows = []
    for run in sprints.rows:
        if run["test"] != "60 m" or run["attempt"] != "1" or run["athlete_id"] not in _STEPS_BY:
            continue
        athlete = by_id[run["athlete_id"]]
        for begin, end, contact, flight in _ZONES:
            rhythm = athlete.trait("rhythm", 1.0, 0.03)
            contact_s = contact * rhythm * (1 + 0.02 * normal(athlete, day.folder, "foot", end))
            flight_s = flight * rhythm * (1 + 0.03 * normal(athlete, day.folder, "air", end))
            taken = float(run[f"t{end}_s"]) - float(run.get(f"t{begin}_s", "0"))
            length = (end - begin) / taken * (contact_s + flight_s)
            rows.append(
                {
                    "athlete_id": athlete.athlete_id,
                    "test": "60 m",
                    "attempt": "1",
                    "zone_from_m": str(begin),
                    "zone_to_m": str(end),
                    "contact_time_s": f"{contact_s:.3f}",
                    "flight_time_s": f"{flight_s:.3f}",
                    "step_length_m": f"{length:.2f}",
                    "session": "track",
                }
            )
    return Table(tuple(rows[0]), rows)


def _technique(day: Day) -> Table:
    """Return the angles two coaches read from the film of the race."""
    rows = [
        {
            "athlete_id": filmed,
            "test": "100 m",
            "checkpoint": checkpoint,
            "angle": angle,
            "degrees": f"{degrees + shown + bias + 1.3 * normal(*key, observer):.0f}",
            "observer": observer,
            "session": "race",
        }
        for filmed in _FILMED
        for checkpoint, angle, degrees in _ANGLES
        for key in [(filmed, day.folder, checkpoint, angle)]
        for shown in [2.5 * normal(*key)]
        for observer, bias in _OBSERVERS
    ]
    return Table(tuple(rows[0]), rows)


def _force(day: Day, sheets: Sheets, by_id: dict[str, Athlete]) -> Sheets:
    """Return force traces, of jumps that also stand in a sheet and of pulls, and their list."""
    made: Sheets = {}
    listed = []
    for athlete_id, test, attempt, columns in _TRACED[day.folder]:
        force = _trace(day, sheets, by_id[athlete_id], test, str(attempt))
        parts = (1.0,) if len(columns) == 1 else (_LEFT_SHARE, 1 - _LEFT_SHARE)
        name = f"{athlete_id}_{_FILE_WORD[test]}_{attempt}"
        samples = [
            {column: f"{part * newtons:.1f}" for column, part in zip(columns, parts, strict=True)}
            for newtons in force
        ]
        made[f"force/{name}"] = Table(columns, samples)
        listed.append(
            {
                "file": f"{name}.csv",
                "athlete_id": athlete_id,
                "test": test,
                "attempt": str(attempt),
                "rate_hz": str(RATE_HZ),
                "column": "+".join(columns),
                "unit": "N",
                "drop_height_cm": _DROP_CM if test == _DROP else "",
                "session": "gym",
            }
        )
    made["force/traces"] = Table(tuple(listed[0]), listed)
    return made


def _trace(day: Day, sheets: Sheets, athlete: Athlete, test: str, attempt: str) -> list[float]:
    """Return the samples (N) of one attempt, as its sheet has it where there is one."""
    mass = _mass(day, athlete)
    kind = () if test == _JUMP else (test,)
    noise = stream(athlete, day.folder, "trace", attempt, *kind)
    if test == _PULL:
        pull = _PULL_MPS2 * athlete.trait("pull", 1.0, 0.06)
        form = 1 + deviation(athlete, day, LIFT, test)
        form *= 1 + 0.02 * normal(athlete, day.folder, test, attempt)
        return pull_trace(mass, pull * form, noise)
    wanted = {"athlete_id": athlete.athlete_id, "attempt": attempt}
    wanted |= {"drop_height_cm": _DROP_CM} if test == _DROP else {"test": test}
    rows = sheets["drop_jumps" if test == _DROP else "jumps"].rows
    jump = next(row for row in rows if wanted.items() <= row.items())
    flight = float(jump["flight_time_s"])
    if test == _DROP:
        contact = float(jump["contact_time_s"])
        return drop_trace(mass, float(_DROP_CM) / 100, contact, flight, noise)
    return (squat_trace if test == _SQUAT else jump_trace)(mass, flight, noise)
