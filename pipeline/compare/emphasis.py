"""From a phase to what may be trained for it: nothing is suggested on one sign alone.

Two signs are a phase that stands out or has most to gain, and a physical measure behind that phase
that lags or fell. With one of them there is something to talk about, no more.

A measure *lags* when the athlete is so far on the weak side of others like them (the reference
ladder of ``norms``) that of athletes in no way behind one in five would have any such measure.
With m measures looked at each may have a chance of ``ANY_BY_CHANCE``/m: Student's t with n − 1
degrees of freedom on (mean − value)/(SD·√(1 + 1/n)), one more person beside n. It *fell* when its
change is clearly worse and as unlikely by chance. An angle is *off* when it lies further from the
staff's reference than the battery allows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd
from scipy import stats

from pipeline import tables
from pipeline.battery import Battery, Emphasis
from pipeline.compare.norms import OWN_BAND
from pipeline.compare.pairs import records
from pipeline.compare.phase_gaps import ENOUGH_RUNS
from pipeline.compare.squad import YOUTH_BANDS, Squad, age_band
from pipeline.compare.standing import Standing
from pipeline.measures.phases import FROM_GUN
from pipeline.tables import FELL, LAGS, OFF, SUGGESTED, TALK

ANY_BY_CHANCE = 0.20
"""Chance that an athlete who is behind in nothing shows a sign among those looked at for a phase.
It is wide, since a sign only supports a phase and decides nothing by itself."""

ANGLE = "angle"


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of an athlete's physical measure.

    ``lag`` is the chance (0–1) of standing so low among others by luck, ``fall`` of having fallen
    so far; NaN where not known. ``off`` is for an angle only.
    """

    test: str
    part: str
    measure: str
    conditions: str
    lag: float = math.nan
    fall: float = math.nan
    off: bool = False

    def sign(self, looked_at: int) -> str:
        """The sign it gives among ``looked_at`` measures, or nothing."""
        if self.off:
            return OFF
        least = ANY_BY_CHANCE / max(looked_at, 1)
        if self.fall <= least:
            return FELL
        return LAGS if self.lag <= least else ""


def wanted(results: pd.DataFrame, battery: Battery) -> dict[tuple[str, str], str]:
    """The measures of all emphases as ``standing.standings`` takes them, any test written out."""
    present = {(str(t), str(m)) for t, m in results[["test", "measure"]].drop_duplicates().values}
    return {
        (test, measure): sign.better
        for one in battery.emphases.values()
        for sign in one.signs
        for test, measure in sorted(present)
        if sign.measure == measure != ANGLE and sign.test in ("", test)
    }


def emphasis(
    phases: pd.DataFrame,
    standings: Sequence[Standing],
    judged: pd.DataFrame,
    angles: pd.DataFrame,
    battery: Battery,
    squad: Squad,
) -> pd.DataFrame:
    """What to talk about and what to suggest for each athlete of a day.

    Args:
        phases: the table ``phases``.
        standings: where athletes stand in the measures of ``wanted``.
        judged: of ``changes.Judged``.
        angles: the day's results of angles.
        battery: the emphases, the references of angles.
        squad: how old they are: the young lag behind nobody of another age.

    Returns:
        The table ``emphasis``. A phase that rests on one run is talked about at most.
    """
    fair = [one for one in standings if one.rung == OWN_BAND or not _young(one, squad)]
    evidence = _evidence(fair, judged, angles, battery)
    rows: list[dict[str, str]] = []
    found = phases[phases["finding"] != ""]
    for athlete_id in sorted({*found["athlete_id"], *evidence}):
        own = records(found[found["athlete_id"] == athlete_id])
        told = [row for phase in own for row in _of_phase(phase, evidence, battery)]
        behind = {(row["sign_test"], row["sign_measure"]) for row in told}
        alone = _alone(athlete_id, evidence.get(athlete_id, []), battery)
        rows += told
        rows += [row for row in alone if (row["sign_test"], row["sign_measure"]) not in behind]
    columns = list(tables.SCHEMAS["emphasis"].columns)
    return tables.shape("emphasis", pd.DataFrame(rows, columns=columns))


def _young(one: Standing, squad: Squad) -> bool:
    member = squad.get(one.athlete_id)
    return member is not None and age_band(member.age) in YOUTH_BANDS


def serves(one: Emphasis, phase: str) -> bool:
    """Whether an emphasis is for a phase; one joined of two counts as either."""
    return bool(set(phase.removesuffix(FROM_GUN).split(" and ")) & set(one.phases))


def _of_phase(
    phase: Mapping[str, Any], evidence: Mapping[str, list[Evidence]], battery: Battery
) -> Iterator[dict[str, str]]:
    serving = [one for one in battery.emphases.values() if serves(one, str(phase["phase"]))]
    looked = [
        (one, known)
        for one in serving
        for known in evidence.get(str(phase["athlete_id"]), [])
        if _behind(one, known) and _in_zone(known, phase)
    ]
    many = len({(known.test, known.measure) for _, known in looked if known.measure != ANGLE})
    signs = [(one, known, sign) for one, known in looked if (sign := known.sign(many))]
    common = {name: str(phase[name]) for name in ("athlete_id", "test", "phase", "finding")}
    says = SUGGESTED if phase["runs"] >= ENOUGH_RUNS else TALK
    for one, known, sign in signs:
        yield common | {"says": says, "emphasis": one.name} | _sign(known, sign)
    if not signs:
        name = serving[0].name if len(serving) == 1 else ""
        yield common | {"says": TALK, "emphasis": name} | _NO_SIGN


def _alone(athlete_id: str, known: list[Evidence], battery: Battery) -> Iterator[dict[str, str]]:
    """Signs with no phase behind them: something to talk about, among all measures looked at."""
    many = len({(one.test, one.measure) for one in known if one.measure != ANGLE})
    for one in known:
        sign = one.sign(many)
        if sign:
            for_it = [e.name for e in battery.emphases.values() if _behind(e, one)]
            common = {"athlete_id": athlete_id, "test": "", "phase": "", "finding": ""}
            name = for_it[0] if len(for_it) == 1 else ""
            yield common | {"says": TALK, "emphasis": name} | _sign(one, sign)


_NO_SIGN = dict.fromkeys(("sign", "sign_test", "sign_part", "sign_measure", "sign_conditions"), "")


def _sign(known: Evidence, sign: str) -> dict[str, str]:
    fields = ("test", "part", "measure", "conditions")
    return {"sign": sign} | {f"sign_{name}": getattr(known, name) for name in fields}


def _behind(one: Emphasis, known: Evidence) -> bool:
    return any(s.measure == known.measure and s.test in ("", known.test) for s in one.signs)


def _in_zone(known: Evidence, phase: Mapping[str, Any]) -> bool:
    """Whether a measure of steps was taken within the phase; a measure without a zone always is."""
    zone = _zone(known.part)
    return zone is None or bool(phase["from_m"] <= zone[0] and zone[1] <= phase["to_m"])


def _zone(part: str) -> tuple[float, float] | None:
    """The ends of a zone of steps in m; ``None`` where a part is something else."""
    found = _ZONE.fullmatch(part)
    return None if found is None else (float(found[1]), float(found[2]))


_ZONE = re.compile(r"(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?) m")


# --- what is known of each measure --------------------------------------------------------------


def _evidence(
    standings: Sequence[Standing], judged: pd.DataFrame, angles: pd.DataFrame, battery: Battery
) -> dict[str, list[Evidence]]:
    """By athlete, one entry a measure and test; zones of steps stay apart.

    Of several drop heights or sides the z is their mean, which errs to the side of no sign.
    """
    falls = _falls(judged)
    found: dict[str, list[Evidence]] = {}
    seen: set[tuple[str, str, str]] = set()
    for same in _by_measure(standings):
        first = same[0]
        people = min((one.n for one in same if one.n is not None), default=None)
        z = sum(map(_place, same)) / len(same)
        keys = [(one.athlete_id, one.test, one.part, one.measure, one.conditions) for one in same]
        known = Evidence(
            test=first.test,
            part=first.part if len(same) == 1 else "",
            measure=first.measure,
            conditions=first.conditions if len(same) == 1 else "",
            lag=float(stats.t.cdf(z, math.inf if people is None else people - 1)),
            fall=min(falls.get(key, math.inf) for key in keys),
        )
        found.setdefault(first.athlete_id, []).append(known)
        seen.add((first.athlete_id, first.test, first.measure))
    named = {(s.test, s.measure) for e in battery.emphases.values() for s in e.signs}
    for (athlete_id, test, part, measure, conditions), chance in falls.items():
        counts = {(test, measure), ("", measure)} & named
        if counts and (athlete_id, test, measure) not in seen:
            known = Evidence(test, part, measure, conditions, fall=chance)
            found.setdefault(athlete_id, []).append(known)
    for row in records(angles):
        reference = battery.angles.get(row["part"])
        if reference is not None and abs(row["value"] - reference) > battery.angle_tolerance:
            known = Evidence(row["test"], row["part"], ANGLE, row["conditions"], off=True)
            found.setdefault(row["athlete_id"], []).append(known)
    return found


def _by_measure(standings: Sequence[Standing]) -> Iterator[list[Standing]]:
    grouped: dict[tuple[str, ...], list[Standing]] = {}
    for one in standings:
        if one.t_score is not None:
            zone = one.part if _zone(one.part) else ""
            grouped.setdefault((one.athlete_id, one.test, one.measure, zone), []).append(one)
    yield from (grouped[key] for key in sorted(grouped))


def _place(one: Standing) -> float:
    """The place in SDs of one more person beside n; of the staff's table n is taken as known."""
    z = ((one.t_score or 50.0) - 50) / 10
    return z if one.n is None else z / math.sqrt(1 + 1 / one.n)


def _falls(judged: pd.DataFrame) -> dict[tuple[str, ...], float]:
    """Of clearly worse changes the chance that nothing was lost, by athlete and measure."""
    if judged.empty:
        return {}
    worse = judged[judged["verdict"] == tables.WORSE]
    names = ("athlete_id", "test", "part", "measure", "conditions")
    return {tuple(str(row[name]) for name in names): float(row["p"]) / 2 for row in records(worse)}
