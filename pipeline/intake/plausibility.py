"""Values no human reaches, times out of order, sets too long: set aside, with the likely cause.

The limits are those of the measures themselves, so a new measure is guarded the day it is added.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.measures import lifts, rebounds, registry
from pipeline.measures.spec import USED, Measure, Trials
from pipeline.measures.splits import gate_table

_SLIPS: tuple[tuple[float, str], ...] = (
    (1e-3, "thousandths written as whole units (ms as s?)"),
    (1e-2, "hundredths written as whole units (cm as m?)"),
    (1e-1, "the decimal point one place too far right"),
    (1 / 4, "a slow-motion clip, its times 4 times too long"),
    (1 / 8, "a slow-motion clip, its times 8 times too long"),
    (1e1, "the decimal point one place too far left"),
    (1e2, "whole units written as hundredths (m as cm?)"),
    (0.45359237, "pounds written as kilograms"),
)
"""Factor that would bring the value back, and the slip it betrays."""

_SLOW_SLIPS = tuple(sorted((p for p in _SLIPS if p[0] < 1), key=lambda p: "clip" not in p[1]))
_ONLY_OF = {"pounds": "kg", "a": "s"}
"""The unit a slip belongs to, by its first word: pounds are masses, clips are times."""

_LOAD_SLIPS = tuple(pair for pair in reversed(_SLIPS) if pair[0] in (1e-1, 0.45359237))


def check(trials: Trials, battery: Battery) -> tuple[Trials, list[Finding]]:
    """Set aside what cannot be.

    Returns:
        The trials with those values' status changed, and a finding for each.
    """
    findings: list[Finding] = []
    aside: set[str] = set()
    for rule in _RULES:
        cleared = trials.set_aside(aside) if aside else trials
        for found, sources in rule(cleared, battery):
            findings.append(found)
            aside |= sources
    return (trials.set_aside(aside) if aside else trials), findings


def notice(trials: Trials, excused: set[tuple[str, str]], battery: Battery) -> list[Finding]:
    """What deserves a look though nothing is set aside.

    Args:
        trials: one day's, after ``check``.
        excused: (athlete, test) that staff marked limited or not done; a blank test means all.
        battery: how many attempts a test asks for.
    """
    return [
        *_early_reactions(trials),
        *_hand_timed(trials, battery),
        *_missed_gates(trials),
        *_short_series(trials, battery),
        *_too_few_attempts(trials, excused, battery),
        *_no_estimates(trials, battery),
    ]


def swapped(days: Sequence[Trials], battery: Battery) -> Iterator[Finding]:
    """Pairs of athletes whose best times of the last day each look like the other's history.

    Args:
        days: trials of one day each, oldest first.
        battery: the distances of the tests.
    """
    bests = pd.concat([_best_times(trials, battery) for trials in days])
    today = str(days[-1].attempts["day"].max())
    for (test, _), times in bests.groupby(["test", "conditions"], sort=False):
        before = times[times["day"] < today].groupby("athlete_id")["value"].mean()
        now = times[times["day"] == today].set_index("athlete_id")
        now = now[now.index.isin(before.index)]
        for one, other in itertools.combinations(now.index, 2):
            if _look_swapped(now["value"], before, one, other):
                for who, whom in ((one, other), (other, one)):
                    details = {
                        "own": f"{now['value'][who]:.2f}",
                        "before": f"{before[who]:.2f}",
                        "test": test,
                        "other": whom,
                    }
                    place = Place.last_of(str(now["source"][who]))
                    yield finding("runs-swapped", place, str(who), **details)


def unweighed(trials: Trials, day: str) -> Iterator[Finding]:
    """Sets of a day that count the body of somebody not weighed by then.

    Args:
        trials: of that day and those before.
        day: its ISO date.
    """
    raws = trials.used("load").set_index("key")["raw"]
    sets = lifts.without_body(trials)
    for row in _records(sets[sets["day"] == day].reset_index()):
        place, who = Place.last_of(row["source"]), str(row["athlete_id"])
        yield finding("body-mass-needed", place, who, raw=raws[row["key"]])


def _no_estimates(trials: Trials, battery: Battery) -> Iterator[Finding]:
    for row in _records(lifts.not_estimated(trials, battery)):
        place, who = Place.last_of(row["source_reps"]), str(row["athlete_id"])
        details = {"test": row["test"], "reps": f"{row['reps']:g}"}
        yield finding("lift-no-estimate", place, who, **details)


_FAR, _NEAR = 0.05, 0.02
"""Shares of a time: farther than any athlete moves in a term, nearer than two test days differ.
Common practice, no source; both lie well outside the typical error of a sprint, 1.3 to 2 %."""


def _look_swapped(now: pd.Series, before: pd.Series, one: str, other: str) -> bool:
    def apart(a: float, b: float) -> float:
        return abs(a / b - 1)

    return (
        apart(now[one], before[one]) > _FAR
        and apart(now[other], before[other]) > _FAR
        and apart(now[one], before[other]) < _NEAR
        and apart(now[other], before[one]) < _NEAR
    )


def _best_times(trials: Trials, battery: Battery) -> pd.DataFrame:
    """Each athlete's best electronic time in each sprint: ``day athlete_id test value source``."""
    times = registry.VIEWS["finish"].build(trials, battery)
    times = times[times["by_hand"] == 0].merge(
        trials.attempts[["day", "athlete_id", "conditions"]], left_on="key", right_index=True
    )
    same = ["athlete_id", "test", "conditions"]
    best = times.sort_values("finish_time", kind="stable").groupby(same).head(1)
    return best.rename(columns={"finish_time": "value"})[["day", *same, "value", "source"]]


EARLY_S = 0.100
"""A reaction under it is a false start (competition rule)."""


def _early_reactions(trials: Trials) -> Iterator[Finding]:
    reactions = trials.used("reaction")
    for row in _records(reactions[reactions["value"] < EARLY_S]):
        place, who = Place.last_of(row["source"]), _who(trials, row["key"])
        yield finding("reaction-early", place, who, reaction=f"{row['value']:.3f}")


def _hand_timed(trials: Trials, battery: Battery) -> Iterator[Finding]:
    times = registry.VIEWS["finish"].build(trials, battery)
    for row in _records(times[times["by_hand"] == 1]):
        yield finding("hand-timed", Place.last_of(row["source"]), _who(trials, row["key"]))


def _missed_gates(trials: Trials) -> Iterator[Finding]:
    """Gates that most runs of a test and session have and a run lacks before its last."""
    gates = trials.of_kind("cumulative_time", "sprint").merge(
        trials.attempts[["athlete_id", "test", "session", "place", "timing"]],
        left_on="key",
        right_index=True,
    )
    several = gates.groupby("key")["key"].transform("size") > 1
    gates = gates[several & (gates["timing"] != "hand")]  # a stopwatch takes one time only
    for _, runs in gates.groupby(["test", "session"], sort=False):
        number = runs["key"].nunique()
        usual = runs.groupby("at_m")["key"].nunique()
        usual_gates = usual.index[2 * usual > number].tolist()
        for _, run in runs.groupby("key", sort=False):
            own = set(run["at_m"])
            first = run.iloc[0]
            place = Place.last_of(str(first["place"]))
            for at in usual_gates:
                if at not in own and at < max(own):
                    yield finding(
                        "gate-missed",
                        place.at(place.row, f"t{at:g}"),
                        str(first["athlete_id"]),
                        gate=f"{at:g} m",
                    )


def _too_few_attempts(
    trials: Trials, excused: set[tuple[str, str]], battery: Battery
) -> Iterator[Finding]:
    used = trials.with_results(USED)
    same = ["athlete_id", "test", "side", "drop_height_m"]
    attempts = trials.attempts[trials.attempts["timed"].astype(bool)]
    for (who, test, *_), rows in attempts.groupby(same, sort=False, dropna=False):
        plan = battery.tests.get(str(test))
        if plan is None or {(str(who), str(test)), (str(who), "")} & excused:
            continue
        done = rows[[key in used for key in rows.index]]
        # a row of a rebound series is one contact, the series is the attempt
        count = done["attempt"].nunique() if plan.kind == "rebound" else len(done)
        if count < plan.attempts:
            # the sheet, not a row: nothing is wrong with the rows that are there
            place = Place.last_of(str(rows.iloc[-1]["place"])).at()
            details = {"test": test, "used": count, "planned": plan.attempts}
            yield finding("attempts-short", place, str(who), **details)


_Fault = tuple[Finding, set[str]]


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def _who(trials: Trials, key: int) -> str:
    return str(trials.attempts.loc[key, "athlete_id"])


def _row_sources(trials: Trials, key: int) -> set[str]:
    """Every value of one attempt, conditions of its session left out."""
    values = trials.values[trials.values["key"] == key]
    file, sheet, *_ = str(trials.attempts.loc[key, "place"]).split("!")
    return {s for s in values["source"] if s.startswith(f"{file}!{sheet}!")}


def _fault(code: str, trials: Trials, row: dict[str, Any], details: Mapping[str, object]) -> _Fault:
    """A finding at a value, with every value of its row."""
    place, who = Place.last_of(row["source"]), _who(trials, row["key"])
    return finding(code, place, who, **details), _row_sources(trials, row["key"])


def _too_many_repetitions(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    reps = trials.used("reps")
    for row in _records(reps[reps["value"] > battery.max_repetitions]):
        details = {"reps": f"{row['value']:g}", "limit": battery.max_repetitions}
        yield (
            finding(
                "repetitions-too-many",
                Place.last_of(row["source"]),
                _who(trials, row["key"]),
                **details,
            ),
            _row_sources(trials, row["key"]),
        )


def _over_their_best(trials: Trials, _: Battery) -> Iterator[_Fault]:
    """Loads over the best that the sheet itself gives: failed, and not marked so."""
    same = ["athlete_id", "test", "conditions"]
    loads, bests = (
        trials.used(name).join(trials.attempts[same], on="key") for name in ("load", "best")
    )
    bests = bests.assign(best=bests["value"], most=bests["value"] + bests["resolution"] / 2)
    loads = loads.join(bests.groupby(same)[["best", "most"]].max(), on=same)
    for row in _records(loads[loads["value"] > loads["most"]]):
        details = {"load": f"{row['value']:g}", "best": f"{row['best']:g}"}
        yield _fault("lift-over-best", trials, row, details)


def _loads_too_high(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    """A load over the limit of a one-rep max, also in a set that no maximum is taken from."""
    record = registry.MEASURES["one_rep_max"]
    low, high = record.limits(battery)
    loads = trials.used("load")
    for row in _records(loads[loads["value"] > high]):
        slips = (slip for factor, slip in _LOAD_SLIPS if low <= row["value"] * factor <= high)
        details = {
            "raw": row["raw"],
            "label": "a load of",
            "value": f"{row['value']:g}",
            "unit": record.unit,
            "low": f"{low:g}",
            "high": f"{high:g}",
            "guess": _clause(next(slips, "")),
        }
        yield (
            finding(
                "value-implausible",
                Place.last_of(row["source"]),
                _who(trials, row["key"]),
                **details,
            ),
            _row_sources(trials, row["key"]),
        )


def _clause(slip: str) -> str:
    return f"; likely {slip}" if slip else ""


def _splits_in_disorder(trials: Trials, _: Battery) -> Iterator[_Fault]:
    gates = trials.used("cumulative_time").sort_values(["key", "at_m"], kind="stable")
    before = gates.groupby("key").shift()
    wrong = gates[gates["value"] <= before["value"]]
    wrong = wrong.assign(from_m=before["at_m"], from_s=before["value"]).groupby("key").head(1)
    for row in _records(wrong):
        details = {
            "to_m": f"{row['at_m']:g}",
            "to_s": f"{row['value']:g}",
            "from_m": f"{row['from_m']:g}",
            "from_s": f"{row['from_s']:g}",
        }
        yield (
            finding(
                "splits-disorder",
                Place.last_of(row["source"]),
                _who(trials, row["key"]),
                **details,
            ),
            _row_sources(trials, row["key"]),
        )


QUICKEST_START_S = {10.0: 1.55, 30.0: 3.50}
"""Nobody has run them faster from movement: the 42 finals begin at 1.65 and 3.63 s."""


def _starts_too_fast(trials: Trials, _: Battery) -> Iterator[_Fault]:
    """Gun times whose first 10 m cannot be: the reaction was in no split, and is taken off."""
    gates = gate_table(trials)
    gates = gates[gates["reaction"].notna()]
    own = gates["time"] - gates["reaction"]
    quick = gates.assign(own=own)[own < gates["at_m"].map(QUICKEST_START_S)]
    for row in _records(quick.groupby("key", sort=False).head(1)):
        details = {"at": f"{row['at_m']:g}", "seconds": f"{row['own']:.2f}"}
        yield _fault("start-too-fast", trials, row, details)


def _gates_beyond(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    """Times at gates that lie past the end of the test: another test, or a slip of the heading."""
    gates = gate_table(trials, *_RUNS)
    whole = gates["test"].map({t.name: t.distance_m for t in battery.tests.values()})
    for row in _records(gates.assign(whole=whole)[gates["at_m"] > whole]):
        details = {"at": f"{row['at_m']:g}", "test": row["test"]}
        place, who = Place.last_of(row["source"]), _who(trials, row["key"])
        yield finding("gate-beyond", place, who, **details), {row["source"]}


def _odd_angles(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    """Angles no joint has, each by itself: averaged first, one would take the good ones along."""
    record = registry.MEASURES["angle"]
    low, high = record.limits(battery)
    angles = trials.used("degrees")
    for row in _records(angles[~angles["value"].between(low, high)]):
        details = {
            "raw": row["raw"], "label": record.label, "value": f"{row['value']:g}",
            "unit": record.unit, "low": f"{low:g}", "high": f"{high:g}", "guess": "",
        }  # fmt: skip
        yield _fault("value-implausible", trials, row, details)


def _short_series(trials: Trials, battery: Battery) -> Iterator[Finding]:
    """Rebound series that hold fewer contacts to count than their rule needs."""
    for series in rebounds.too_short(trials, battery):
        place = Place.last_of(str(series.rows["source"].iloc[-1])).at()
        who = str(series.rows["athlete_id"].iloc[0])
        yield finding(
            "rebounds-short", place, who, test=series.rows["test"].iloc[0],
            attempt=series.rows["attempt"].iloc[0], usable=series.usable, needed=series.needed,
        )  # fmt: skip


def _rebounds_twice(trials: Trials, _: Battery) -> Iterator[_Fault]:
    for row in rebounds.repeated(trials):
        place = {"source": row["source"], "key": row["key"]}
        yield _fault("rebound-twice", trials, place, {"rep": f"{row['rep']:g}"})


def _odd_rebounds(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    """Contacts no jumper has, each by itself: a series picks its best, and those would be wrong."""
    table = rebounds.contacts(trials)
    table["device_height"] = np.nan
    aside: set[int] = set()
    for key in ("contact_time", "jump_height", "rsi"):
        record = registry.MEASURES[key]
        low, high = record.limits(battery)
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        odd = table.assign(amount=record.function(**inputs))
        for row in _records(odd[~odd["amount"].between(low, high) & ~odd["key"].isin(aside)]):
            aside.add(int(row["key"]))
            details = {
                "raw": f"{row['contact_time']:g} s, {row['flight_time']:g} s",
                "label": record.label, "value": f"{row['amount']:.{record.decimals}f}",
                "unit": record.unit, "low": f"{low:g}", "high": f"{high:g}", "guess": "",
            }  # fmt: skip
            place, who = Place.last_of(row["source"]), str(row["athlete_id"])
            yield finding("value-implausible", place, who, **details), set(row["source"].split(";"))


def _segments_as_cumulative(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    """Runs that cannot be as cumulative times, and can as the times between the gates."""
    low, high = registry.MEASURES["segment_speed"].limits(battery)
    gates = gate_table(trials, "sprint", "repeated")
    before = gates.groupby("key", sort=False)[["at_m", "time"]].shift().fillna(0.0)
    length = gates["at_m"] - before["at_m"]
    gates = gates.assign(
        wrong=length / (gates["time"] - before["time"]).where(lambda gap: gap > 0) > high,
        right=(length / gates["time"]).between(low, high),
    )
    runs = gates.groupby("key", sort=False)
    later = runs.cumcount() > 0
    all_later = (gates["wrong"] | ~later).groupby(gates["key"]).transform("all")
    mixed = all_later & runs["wrong"].transform("any") & runs["right"].transform("all")
    for row in _records(gates[mixed & gates["wrong"]].groupby("key", sort=False).head(1)):
        yield _fault("segments-as-cumulative", trials, row, {"at": f"{row['at_m']:g}"})


_RUNS = ("sprint", "flying", "repeated")
SLOWEST_MPS, USUAL_MPS = 4.0, (5.0, 12.5)
"""A sprint slower than the first over its whole distance is a jog or a slow-motion clip."""


def _runs_too_slow(trials: Trials, _: Battery) -> Iterator[_Fault]:
    gates = gate_table(trials, "sprint", "repeated")
    last = gates.groupby("key", sort=False).tail(1)
    last = last[last["at_m"] >= 20]  # noqa: PLR2004  # over less the start rules the mean
    speed = last["at_m"] / last["time"]
    for row in _records(last[speed < SLOWEST_MPS]):
        mean = row["at_m"] / row["time"]
        low, high = USUAL_MPS
        slip = next((slip for f, slip in _SLOW_SLIPS if low <= mean / f <= high), "")
        details = {"at": f"{row['at_m']:g}", "seconds": f"{row['time']:g}", "guess": _clause(slip)}
        yield _fault("run-too-slow", trials, row, details)


def _out_of_limits(trials: Trials, battery: Battery) -> Iterator[_Fault]:
    values = registry.per_attempt(trials, battery)
    raws = trials.values.drop_duplicates("source").set_index("source")["raw"]
    seen: set[str] = set()
    for row in _records(values):
        test = str(trials.attempts.loc[row["key"], "test"])
        record = registry.record_of(row["measure"], battery.tests.get(test))
        low, high = record.limits(battery)
        sources = set(row["source"].split(";"))
        if low <= row["value"] <= high or sources & seen:
            continue
        seen |= sources
        last = row["source"].split(";")[-1]
        yield (
            finding(
                "value-implausible",
                Place.last_of(last),
                _who(trials, row["key"]),
                raw=raws.get(last, ""),
                label=record.label,
                value=f"{row['value']:.{record.decimals}f}",
                unit=record.unit,
                low=f"{low:g}",
                high=f"{high:g}",
                guess=_guess(trials, battery, record, row["key"], row["part"]),
            ),
            sources,
        )


_RULES = (
    _too_many_repetitions,
    _over_their_best,
    _loads_too_high,
    _splits_in_disorder,
    _odd_angles,
    _rebounds_twice,
    _odd_rebounds,
    _gates_beyond,
    _segments_as_cumulative,
    _runs_too_slow,
    _starts_too_fast,
    _out_of_limits,
)


def _guess(trials: Trials, battery: Battery, record: Measure, key: int, part: str) -> str:
    """The slip that would best explain this one attempt's value, as a closing clause.

    Of those that would make it plausible, the one that brings it nearest the middle of the limits.
    """
    low, high = record.limits(battery)
    only = trials.values[trials.values["key"] == key]
    one = pd.DataFrame(trials.attempts.loc[[key]])
    middle = np.sqrt(low * high) if low > 0 else high / 2
    best, distance = "", np.inf
    dimension = set(only["unit"])
    for factor, slip in _SLIPS:
        if _ONLY_OF.get(slip.split()[0], "") not in {"", *dimension}:
            continue
        scaled = only.assign(value=only["value"] * factor)
        table = registry.VIEWS[record.view].build(Trials(one, scaled), battery)
        table = table[table["part"] == part] if len(table) else table
        if table.empty:
            continue
        inputs = {name: table[name].to_numpy(dtype=float) for name in record.inputs}
        mended = float(np.nanmax(record.function(**inputs)))
        if low <= mended <= high and abs(np.log(mended / middle)) < distance:
            best, distance = slip, abs(np.log(mended / middle))
    return _clause(best)
