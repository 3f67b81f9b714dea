"""Who did what on a testing day, and what to repeat while the gear is still out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.bundle import DayBundle
from pipeline.catalogue import CATALOGUE, Severity
from pipeline.errors import Place
from pipeline.measures.spec import NO_MARK, SET_ASIDE, USED
from pipeline.report.wording import say
from pipeline.tables import LIMITED, NOT_DONE

DONE, SHORT, MISSING, REPEAT, BARE = "done", "short", "missing", "repeat", "no mark"
UNPLANNED = "unplanned"
"""What a field of the grid may say, beside ``tables.LIMITED`` and ``tables.NOT_DONE``."""

STATES = (DONE, SHORT, MISSING, REPEAT, BARE, LIMITED, NOT_DONE, UNPLANNED)

FEWEST_MATES = 2
"""So many of an athlete's group must have done a test before it counts as missing."""

_RESULTS = {
    "sprint": ("cumulative_time", "segment_time"),
    "flying": ("cumulative_time", "segment_time"),
    "repeated": ("cumulative_time", "segment_time"),
    "jump": ("flight_time", "height", "force_trace"),
    "distance jump": ("distance",),
    "drop jump": ("flight_time", "contact_time", "force_trace"),
    "rebound": ("contact_time", "flight_time"),
    "isometric": ("force_trace",),
    "lift": ("load",),
    "other": ("value",),
}
"""What makes a row an attempt at a kind of test; a sheet that looks at a run makes none."""


@dataclass(frozen=True, slots=True)
class Field:
    """One athlete's state in one test: a state, attempts that stand, attempts asked for."""

    state: str
    good: int = 0
    planned: int = 0


@dataclass(frozen=True, slots=True)
class Again:
    """One attempt to repeat: whose, which, what was written, the athlete's others, and why."""

    athlete: str
    test: str
    attempt: int | None
    raw: str
    column: str
    others: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Line:
    """One athlete of the grid."""

    athlete_id: str
    name: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """The whole grid.

    Attributes:
        tests: names, in the battery's order; those that anybody tried or was asked for.
        lines: who is on the roster of the day, then who was tested and is not.
        again: what to repeat, in the order of the lines.
        weighed: names of those who were weighed or measured and tried nothing.
        away: names of those the staff set to *not done* in all tests, with the reason.
        unseen: names of those with nothing at all and no word why.
        walk_ins: names of those tested who are not on the roster of that date.
    """

    tests: tuple[str, ...]
    lines: tuple[Line, ...]
    again: tuple[Again, ...]
    weighed: tuple[str, ...]
    away: tuple[tuple[str, str], ...]
    unseen: tuple[str, ...]
    walk_ins: tuple[str, ...]


def grid(day: DayBundle) -> Grid:
    """What every athlete did on the day, from its trials, findings and statuses."""
    trials = _today(day)
    tries = _tries(trials, day.day["tests"])
    doubts = _doubts(day.tables["findings"], trials)
    people = _people(day, trials)
    asked = {s["test"] for p in day.day["roster"] for s in p["status"] if s["test"]}
    tests = tuple(t for t in day.day["tests"] if t in set(tries["test"]) | asked)
    expected = _expected(people, tries)
    lines, again = [], []
    for person in people:
        own = tries[tries["athlete_id"] == person["id"]]
        told = {s["test"]: s["status"] for s in person["status"]}
        fields = []
        for test in tests:
            planned = int(day.day["tests"][test]["attempts"])
            done = own[own["test"] == test]
            wrong = doubts[(doubts["athlete_id"] == person["id"]) & (doubts["test"] == test)]
            field = _field(
                done, set(wrong["place"]), planned, told.get(test) or told.get("", ""),
                expected=test in expected.get(person["id"], set()),
            )  # fmt: skip
            fields.append(field)
            if field.state == REPEAT:
                again += [_again(person, row, trials) for row in _records(wrong)]
        body = doubts[(doubts["athlete_id"] == person["id"]) & ~doubts["test"].isin(tests)]
        again += [_again(person, row, trials) for row in _records(body)]
        lines.append(Line(person["id"], person["name"], tuple(fields)))
    return Grid(tests, tuple(lines), tuple(again), **_beside(people, trials, tries))


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def _today(day: DayBundle) -> pd.DataFrame:
    """The day's trials with ``place``, the row each value stands in."""
    every = day.tables["trials"]
    trials: pd.DataFrame = every[every["day"] == day.day["date"]]
    last = trials["source"].str.split(";").str[-1].str.rsplit("!", n=1)
    return trials.assign(place=last.str[0], column=last.str[-1])


def _tries(trials: pd.DataFrame, tests: Mapping[str, Any]) -> pd.DataFrame:
    """One row an attempt: ``athlete_id test session attempt side place used lost bare``."""
    kinds = trials["test"].map({name: test["kind"] for name, test in tests.items()})
    results = [q in _RESULTS.get(k, ()) for q, k in zip(trials["quantity"], kinds, strict=True)]
    rows = trials[pd.Series(results, index=trials.index, dtype=bool)]
    sides = trials[trials["quantity"].isin(("side", "drop_height_m"))]
    side = {place: " ".join(own["raw"]) for place, own in sides.groupby("place")}
    rows = rows.assign(
        side=[side.get(place, "") for place in rows["place"]],
        used=(rows["status"] == USED) & rows["value"].notna(),
        lost=rows["status"] == SET_ASIDE,
        bare=rows["status"] == NO_MARK,
    )
    same = ["athlete_id", "test", "session", "attempt", "side", "place"]
    attempts = rows.groupby(same, sort=False, dropna=False)
    return pd.DataFrame(attempts[["used", "lost", "bare"]].any()).reset_index()


def _doubts(findings: pd.DataFrame, trials: pd.DataFrame) -> pd.DataFrame:
    """Findings that may be mended by a repeat, each at the attempt it lies on."""
    again = findings["code"].isin([code for code, kind in CATALOGUE.items() if kind.repeat])
    found = findings[again & findings["row"].notna() & (findings["severity"] != Severity.NOTE)]
    marked = [
        Place(row["file"], row["sheet"], int(row["row"])).source.rsplit("!", maxsplit=1)[0]
        for row in _records(found)
    ]
    places = pd.Series(marked, index=found.index, dtype=object)
    found = found.assign(place=places)[["place", "column", "code", "message"]]
    attempts = trials[trials["unit"] != ""].drop_duplicates(["place", "athlete_id"])
    return found.merge(attempts[["place", "athlete_id", "test", "attempt"]], on="place")


def _field(
    tries: pd.DataFrame, doubted: set[str], planned: int, told: str, *, expected: bool
) -> Field:
    """The state of one athlete in one test: of both sides, and of every box, the one that lacks."""
    wrong = tries["place"].isin(doubted)
    stands = tries[tries["used"] & ~wrong]
    parts = max(tries["side"].nunique(), 1)
    counts = stands.groupby("side")[["session", "attempt"]].apply(
        lambda r: len(r.drop_duplicates())
    )
    good = int(counts.min()) if len(counts) == parts else 0
    used = bool(tries["used"].any())
    if wrong.any() and good < planned and told != NOT_DONE:
        state = REPEAT
    elif used:
        state = told or (DONE if good >= planned else SHORT)
    elif told:
        state = told
    elif tries["bare"].any():
        state = BARE
    else:
        state = MISSING if expected or len(tries) else UNPLANNED
    return Field(state, good, planned)


def _people(day: DayBundle, trials: pd.DataFrame) -> list[dict[str, Any]]:
    """The roster of the day, then who was tested all the same."""
    people = [dict(person) for person in day.day["roster"]]
    known = {person["id"] for person in people}
    extra = sorted(set(trials["athlete_id"]) - known - {""})
    named = day.day["athletes"]
    return people + [
        {"id": key, "name": named.get(key, {}).get("name", key), "groups": [], "status": [],
         "walk_in": True}
        for key in extra
    ]  # fmt: skip


def _expected(people: Sequence[Mapping[str, Any]], tries: pd.DataFrame) -> dict[str, set[str]]:
    """The tests that at least half of an athlete's group-mates did, by athlete.

    Who has no group is held against everybody tested; one other alone says nothing.
    """
    did: dict[str, set[str]] = {
        str(key): set(rows["test"]) for key, rows in tries.groupby("athlete_id", sort=False)
    }
    expected: dict[str, set[str]] = {}
    for person in people:
        groups = set(person["groups"])
        mates = [
            did[other["id"]]
            for other in people
            if other["id"] != person["id"]
            and other["id"] in did
            and (not groups or groups & set(other["groups"]))
        ]
        counted = Counter(test for own in mates for test in own)
        fewest = max(len(mates) / 2, FEWEST_MATES)
        expected[person["id"]] = {test for test, count in counted.items() if count >= fewest}
    return expected


def _again(person: Mapping[str, Any], doubt: Mapping[str, Any], trials: pd.DataFrame) -> Again:
    """What is said of one attempt to repeat."""
    mine = trials[(trials["athlete_id"] == person["id"]) & (trials["test"] == doubt["test"])]
    here = mine["place"] == doubt["place"]
    cell = mine[here & (mine["column"] == doubt["column"])]
    raw = str(cell["raw"].iloc[0]) if len(cell) else ""
    same = mine[~here & (mine["raw"] != "")]
    if len(cell):
        first = cell.iloc[0]
        same = same[(same["quantity"] == first["quantity"]) & (same["part"] == first["part"])]
    else:
        same = same.head(0)
    return Again(
        athlete=_name(person),
        test=str(doubt["test"]),
        attempt=None if pd.isna(doubt["attempt"]) else int(doubt["attempt"]),
        raw=raw,
        column=str(doubt["column"]),
        others=tuple(dict.fromkeys(map(str, same["raw"]))),
        why=str(doubt["message"]),
    )


def _name(person: Mapping[str, Any]) -> str:
    return say("index athlete", name=person["name"], athlete_id=person["id"])


def _beside(
    people: Iterable[Mapping[str, Any]], trials: pd.DataFrame, tries: pd.DataFrame
) -> dict[str, Any]:
    """Who is in no field of the grid, or should not be, in the order of the lines."""
    seen, tried = set(trials["athlete_id"]), set(tries["athlete_id"])
    weighed, away, unseen, walk_ins = [], [], [], []
    for person in people:
        excused = next((s for s in person["status"] if not s["test"]), None)
        if person.get("walk_in"):
            walk_ins.append(_name(person))
        elif person["id"] in tried:
            continue
        elif excused is not None:
            away.append((_name(person), str(excused["reason"])))
        elif person["id"] in seen:
            weighed.append(_name(person))
        else:
            unseen.append(_name(person))
    return {
        "weighed": tuple(weighed), "away": tuple(away), "unseen": tuple(unseen),
        "walk_ins": tuple(walk_ins),
    }  # fmt: skip
