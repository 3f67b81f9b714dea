"""What deserves a look though no value is in doubt."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.intake.plausibility.rules import records, who
from pipeline.measures import lifts, rebounds, registry
from pipeline.measures.spec import USED, Trials


def hand_timed(trials: Trials, battery: Battery) -> Iterator[Finding]:
    """Runs whose time by hand was rounded and moved."""
    times = registry.VIEWS["finish"].build(trials, battery)
    for row in records(times[times["by_hand"] == 1]):
        yield finding("hand-timed", Place.last_of(row["source"]), who(trials, row["key"]))


def missed_gates(trials: Trials) -> Iterator[Finding]:
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


def too_few_attempts(
    trials: Trials, excused: set[tuple[str, str]], battery: Battery
) -> Iterator[Finding]:
    """Tests somebody began and did less often than planned, and nobody excused."""
    used = trials.with_results(USED)
    same = ["athlete_id", "test", "side", "drop_height_m"]
    attempts = trials.attempts[trials.attempts["timed"].astype(bool)]
    for (athlete, test, *_), rows in attempts.groupby(same, sort=False, dropna=False):
        plan = battery.tests.get(str(test))
        if plan is None or {(str(athlete), str(test)), (str(athlete), "")} & excused:
            continue
        done = rows[[key in used for key in rows.index]]
        # a row of a rebound series is one contact, the series is the attempt
        count = done["attempt"].nunique() if plan.kind == "rebound" else len(done)
        if count < plan.attempts:
            # the sheet, not a row: nothing is wrong with the rows that are there
            place = Place.last_of(str(rows.iloc[-1]["place"])).at()
            details = {"test": test, "used": count, "planned": plan.attempts}
            yield finding("attempts-short", place, str(athlete), **details)


def short_series(trials: Trials, battery: Battery) -> Iterator[Finding]:
    """Rebound series that hold fewer contacts to count than their rule needs."""
    for series in rebounds.too_short(trials, battery):
        place = Place.last_of(str(series.rows["source"].iloc[-1])).at()
        athlete = str(series.rows["athlete_id"].iloc[0])
        yield finding(
            "rebounds-short", place, athlete, test=series.rows["test"].iloc[0],
            attempt=series.rows["attempt"].iloc[0], usable=series.usable, needed=series.needed,
        )  # fmt: skip


def no_estimates(trials: Trials, battery: Battery) -> Iterator[Finding]:
    """Sets of repetitions of a lift that nothing is estimated in."""
    for row in records(lifts.not_estimated(trials, battery)):
        place, athlete = Place.last_of(row["source_reps"]), str(row["athlete_id"])
        details = {"test": row["test"], "reps": f"{row['reps']:g}"}
        yield finding("lift-no-estimate", place, athlete, **details)


def unweighed(trials: Trials, day: str) -> Iterator[Finding]:
    """Sets of a day that count the body of somebody not weighed by then.

    Args:
        trials: of that day and those before.
        day: its ISO date.
    """
    raws = trials.used("load").set_index("key")["raw"]
    sets = lifts.without_body(trials)
    for row in records(sets[sets["day"] == day].reset_index()):
        place, athlete = Place.last_of(row["source"]), str(row["athlete_id"])
        yield finding("body-mass-needed", place, athlete, raw=raws[row["key"]])
