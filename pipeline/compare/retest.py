"""What each athlete should do again, or first: tests missed, taken easy or cut short."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from pipeline.battery import Battery
from pipeline.compare.pairs import Days, counted, records
from pipeline.compare.squad import Squad
from pipeline.tables import LIMITED, LOST, NOT_TESTED, SHORT, TAKEN_EASY


@dataclass(frozen=True, slots=True)
class Retest:
    """One test of one athlete; an empty ``test`` is all of them."""

    athlete_id: str
    test: str
    why: str


def retests(
    results: pd.DataFrame,
    day: str,
    battery: Battery,
    days: Days,
    here: Squad,
    told: Mapping[tuple[str, str], str],
    aside: Sequence[tuple[str, str]],
) -> Iterator[Retest]:
    """The list, athlete by athlete, tests in the battery's order.

    Expected of an athlete are the headline tests that half of a group of theirs did on the day,
    and the main tests they did themselves on the last day they were tested. A group without a
    headline of its own counts only for those who are in no other.

    Args:
        results: of ``day`` and the days before.
        day: the ISO date.
        battery: headlines, main measures, attempts.
        days: a repeat day is no testing day of its own.
        here: who is on the roster on the day.
        told: the staff's word by (athlete, test), a blank test for all: *limited*, *not done*.
        aside: (athlete, test) whose rows of the day could not be used.
    """
    today = results[results["day"] == day]
    done = {str(key): set(rows["test"]) for key, rows in today.groupby("athlete_id")}
    best = _attempts(today, battery)
    before = results[(results["day"] < day) & ~results["day"].isin(days.repeats)]
    own = _last_tests(before, {key.test for key in battery.key_measures})
    for athlete_id, member in here.items():
        did = done.get(athlete_id, set())
        if not did - {"body"}:
            yield Retest(athlete_id, "", told.get((athlete_id, ""), NOT_TESTED))
            continue
        expected = own.get(athlete_id, set()) | _headline(member.groups, battery, here, done)
        for test in sorted(expected | did, key=battery.order):
            why = told.get((athlete_id, test), told.get((athlete_id, ""), ""))
            if why == LIMITED:
                yield Retest(athlete_id, test, TAKEN_EASY)
            elif test in did:
                if best.get((athlete_id, test), True):
                    continue
                yield Retest(athlete_id, test, SHORT)
            else:
                lost = LOST if (athlete_id, test) in aside else NOT_TESTED
                yield Retest(athlete_id, test, why or lost)


def _attempts(today: pd.DataFrame, battery: Battery) -> dict[tuple[str, str], bool]:
    """Whether a test has as many good attempts as its judged score takes, in its main measures."""
    mains = {(key.test, key.measure) for key in battery.key_measures}
    enough: dict[tuple[str, str], bool] = {}
    for row in records(today):
        if (row["test"], row["measure"]) in mains and row["measure"] != "phase_time":
            key = (str(row["athlete_id"]), str(row["test"]))
            full = row["n_attempts"] >= counted(row, battery)
            enough[key] = enough.get(key, True) and full
    return enough


def _last_tests(before: pd.DataFrame, mains: set[str]) -> dict[str, set[str]]:
    last = before.groupby("athlete_id")["day"].transform("max")
    rows = before[(before["day"] == last) & before["test"].isin(mains)]
    return {str(key): set(own["test"]) for key, own in rows.groupby("athlete_id")}


def _headline(
    groups: tuple[str, ...], battery: Battery, here: Squad, done: Mapping[str, set[str]]
) -> set[str]:
    expected: set[str] = set()
    for group in [g for g in groups if g in battery.headlines] or groups or ("",):
        mates = [k for k, m in here.items() if group in (m.groups or ("",)) and k in done]
        for key in battery.headline(group):
            if 2 * sum(key.test in done[mate] for mate in mates) >= max(len(mates), 1):
                expected.add(key.test)
    return expected
