"""What changed since the last comparable day, and whether it is more than the error.

pairs → the error of each judged score → what moved everybody → one verdict a measure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline import tables
from pipeline.battery import Battery
from pipeline.compare import pairs as pairing
from pipeline.compare.pairs import Days, chosen_among, counted, gain, records
from pipeline.compare.reliability import attempts_shift
from pipeline.compare.shifts import Shift, shifts
from pipeline.compare.squad import Squad
from pipeline.compare.typical_errors import ErrorOfScore, Errors, is_judged
from pipeline.compare.verdicts import judge
from pipeline.compare.worthwhile import worthwhile
from pipeline.measures.lifts import MASS_FIELDS, shares
from pipeline.measures.registry import record_of

_UNJUDGED = "C"


@dataclass(frozen=True)
class Data:
    """What is compared: ``results`` (``registry.RESULT_COLUMNS``) and their ``attempts``."""

    results: pd.DataFrame
    attempts: pd.DataFrame


@dataclass(frozen=True)
class Judged:
    """A day's changes, with what the pages need beside the table.

    Attributes:
        table: the table ``changes``.
        shifts: where everybody moved together.
        judged: rows of ``verdicts.judge`` joined to the pairs; what the squad's counts rest on.
    """

    table: pd.DataFrame
    shifts: tuple[Shift, ...]
    judged: pd.DataFrame


def changes(
    data: Data,
    day: str,
    battery: Battery,
    errors: Errors,
    days: Days,
    squad: Squad,
) -> Judged:
    """Each value of ``day`` beside the athlete's last comparable one, judged.

    Args:
        data: results and attempts of ``day`` and of earlier days.
        day: the ISO date whose values are looked at.
        battery: the staff's choices.
        errors: the errors of measurement known up to this day.
        days: repeat days and tests taken easy.
        squad: the athletes, as they were on the day.

    Returns:
        ``change`` is positive when better. A value with earlier values but none comparable is
        *not comparable* and names the fields; a first mark has no row; no verdict stands where
        the error is not known, the test was taken easy, or a measure has no better side.
    """
    found = pairing.pairs(data.results, day, battery, days)
    if found.empty:
        empty = pd.DataFrame(columns=list(tables.SCHEMAS["changes"].columns))
        return Judged(empty, (), found)
    found = _with_errors(found, battery, errors, squad)
    found["easy"] = [
        days.easy(day, str(who), str(test))
        for who, test in zip(found["athlete_id"], found["test"], strict=True)
    ]
    found["worthwhile"] = worthwhile(found, battery, squad)
    found = _with_attempts(found, battery, errors)
    found["blown"] = _blown(found, battery)
    fair = found["differing"].eq("") & found["judgeable"] & ~found["easy"] & ~found["blown"]
    fair &= ~found["uncertain"]
    found["usable"] = fair & found["df"].notna()
    moved = shifts(found[fair], data.attempts)
    found["shift"], found["shifted"] = _shift_of(found, moved)
    judged = judge(
        found["change"],
        found["error"],
        found["df"],
        found["worthwhile"],
        extra=np.where(found["corrected"], battery.wind_error_s**2, 0.0) + found["shift"] ** 2,
    )
    judged = pd.concat([found.reset_index(drop=True), judged], axis=1)
    judged = _by_body_mass(_worded(judged, battery))
    return Judged(_table(judged, battery), moved, judged)


# --- what stands beside a pair ----------------------------------------------------------------


def _with_errors(
    found: pd.DataFrame, battery: Battery, errors: Errors, squad: Squad
) -> pd.DataFrame:
    """The change, and the error of the score."""
    known: list[ErrorOfScore | None] = []
    judgeable = []
    for row in records(found):
        record = record_of(str(row["measure"]), battery.tests.get(str(row["test"])))
        judgeable.append(is_judged(record))
        level = math.sqrt(abs(row["before"] * row["after"]))
        member = squad.get(str(row["athlete_id"]))
        age = math.nan if member is None or member.age is None else float(member.age)
        attempts = min(row["n_before"], row["n_after"])
        known.append(errors.of({**row, "attempts": attempts}, level, age))
    return found.assign(
        change=gain(found, battery),
        judgeable=judgeable,
        error=[math.nan if k is None else k.error for k in known],
        df=[math.nan if k is None or k.grade == _UNJUDGED else k.df for k in known],
        error_source=["" if k is None else k.source for k in known],
        error_grade=["" if k is None else k.grade for k in known],
    )


def _with_attempts(found: pd.DataFrame, battery: Battery, errors: Errors) -> pd.DataFrame:
    """The change less what more attempts flatter it by; NaN where that is not known.

    The best of three is flattered against a single one, also where the battery asks for one only.
    """
    changed = []
    for row in records(found):
        few = counted(row, battery)
        before, after = row["n_before"], row["n_after"]
        if before == after or min(before, after) < few or not chosen_among(row, battery):
            changed.append(row["change"])
            continue
        within = errors.attempt_sd(row, math.sqrt(abs(row["before"] * row["after"])))
        flattered = math.nan if within is None else attempts_shift(within, before, after, few)
        changed.append(row["change"] - flattered)
    return found.assign(change=changed, plain_change=found["change"])


def _blown(found: pd.DataFrame, battery: Battery) -> list[bool]:
    """Sprints whose winds lie too far apart, and that no model corrects."""
    return [
        pairing.is_sprint(str(row["test"]), battery)
        and not row["corrected"]
        and pairing.winds_apart(row["wind_before"], row["wind_after"])
        for row in records(found)
    ]


def _shift_of(found: pd.DataFrame, moved: Sequence[Shift]) -> tuple[list[float], list[bool]]:
    """How far everybody moved in each row's measure, 0 where they did not."""
    by_key = {(s.test, s.part, s.measure, s.conditions, s.from_day): s for s in moved}
    keys = zip(
        found["test"], found["part"], found["measure"], found["conditions"], found["from_day"],
        strict=True,
    )  # fmt: skip
    own = [by_key.get(key) for key in keys]
    return [0.0 if s is None else s.shift for s in own], [s is not None for s in own]


# --- words ------------------------------------------------------------------------------------


def _worded(judged: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """The verdict and its reason, once what forbids a verdict has had its say."""
    verdicts, reasons = [], []
    for row in records(judged):
        verdict, reason = _word(row, battery)
        verdicts.append(verdict)
        reasons.append(reason)
    return judged.assign(verdict=verdicts, reason=reasons)


def _word(row: Mapping[Any, Any], battery: Battery) -> tuple[str, str]:
    """The first that applies."""
    few = counted(row, battery)
    unknown = math.isnan(row["df"])
    cases = (
        (row["easy"], "", tables.EASY),
        (row["differing"] != "", tables.NOT_COMPARABLE, str(row["differing"])),
        (not row["judgeable"], "", ""),
        (row["uncertain"], "", tables.UNCERTAIN),
        (unknown and row["error_grade"] != "", "", tables.GRADE_C),
        (unknown, "", tables.NO_ERROR),
        (row["blown"], tables.CANNOT_TELL, tables.WINDS_APART),
        (min(row["n_before"], row["n_after"]) < few, tables.CANNOT_TELL, tables.ONE_ATTEMPT),
        (math.isnan(row["change"]), tables.CANNOT_TELL, tables.UNEQUAL_ATTEMPTS),
        (row["shifted"], tables.CANNOT_TELL, tables.EVERYBODY),
    )
    told = str(row["verdict"]), "; ".join(_rests_on(row, battery))
    return next(((word, reason) for applies, word, reason in cases if applies), told)


def _rests_on(row: Mapping[Any, Any], battery: Battery) -> list[str]:
    told = [str(row["reason"])] if row["reason"] else []
    if row["corrected"]:
        told.append(tables.STILL_AIR)
    elif pairing.is_sprint(str(row["test"]), battery) and math.isnan(
        row["wind_before"] + row["wind_after"]
    ):
        told.append(tables.WIND_UNKNOWN)
    if row["change"] != row["plain_change"]:
        told.append(tables.ATTEMPTS_CORRECTED)
    return told


def _by_body_mass(judged: pd.DataFrame) -> pd.DataFrame:
    """Losing mass is never praised: a ratio gained mostly by it is not called better."""
    lifts = {
        (row["athlete_id"], row["test"], row["part"], row["conditions"], row["from_day"]): row
        for row in records(judged[judged["measure"] == "one_rep_max"])
    }
    verdicts, reasons = list(judged["verdict"]), list(judged["reason"])
    for place, row in enumerate(records(judged)):
        if row["measure"] not in MASS_FIELDS or row["verdict"] != tables.BETTER:
            continue
        key = (row["athlete_id"], row["test"], row["part"], row["conditions"], row["from_day"])
        lift = lifts.get(key)
        lifted, massed = 0.0, 1.0
        if lift is not None:
            lifted, massed = shares((lift["before"], lift["after"]), (row["before"], row["after"]))
        if lifted < massed:
            verdicts[place], reasons[place] = tables.CANNOT_TELL, tables.FROM_BODY_MASS
    return judged.assign(verdict=verdicts, reason=reasons)


def _table(judged: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    comparable = judged["differing"] == ""
    frame = judged.assign(
        against=battery.against,
        typical_error=judged["error"].where(comparable),
        smallest_worthwhile=judged["worthwhile"].where(comparable),
        change=judged["change"].fillna(judged["plain_change"]).where(comparable),
        error_source=judged["error_source"].where(comparable, ""),
        error_grade=judged["error_grade"].where(comparable, ""),
    )
    for column in ("low", "high", "chance_better"):
        frame[column] = frame[column].where(comparable)
    return frame[list(tables.SCHEMAS["changes"].columns)]
