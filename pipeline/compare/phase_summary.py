"""What is said of phases, athlete by athlete and group by group: the main sprint, and counts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from pipeline.battery import Battery
from pipeline.compare.pairs import records
from pipeline.compare.phase_gaps import ENOUGH_RUNS
from pipeline.compare.squad import Squad
from pipeline.tables import BALANCED, STANDS_OUT, TOO_THIN


@dataclass(frozen=True, slots=True)
class PhaseCount:
    """How many athletes' phase of one name and place stands out or has most to gain."""

    phase: str
    from_m: float
    to_m: float
    stands_out: int
    most: int


@dataclass(frozen=True, slots=True)
class GroupPhases:
    """A group by phase; an athlete counts once, by their main sprint.

    ``phases`` counts athletes under the phase with the largest z, so that with ``balanced``,
    ``too_thin`` and ``none`` (no sprint by phase) they add up to ``athletes``.
    """

    group: str
    athletes: int
    phases: tuple[PhaseCount, ...]
    balanced: int
    too_thin: int
    none: int


def with_main(states: pd.DataFrame, battery: Battery) -> pd.DataFrame:
    """``states`` with the column ``main``: of an athlete's sprints the one that says most.

    That is one with a line of its own time before one without, two runs before one, then the
    battery's order.
    """
    order = states.assign(
        lined=states["reference"] == "",
        single=states["runs"] < ENOUGH_RUNS,
        order=[battery.order(str(test)) for test in states["test"]],
    ).sort_values(["athlete_id", "lined", "single", "order"], kind="stable")
    first = order.drop_duplicates("athlete_id").index
    return states.assign(main=states.index.isin(first))


def by_group(
    phases: pd.DataFrame, states: pd.DataFrame, tested: frozenset[str], squad: Squad
) -> Iterator[GroupPhases]:
    """Counts for each group, and for those without one under an empty name.

    Args:
        phases: the table ``phases``.
        states: of ``with_main``.
        tested: who tried a test on the day.
        squad: who is in which group.
    """
    main = {str(row["athlete_id"]): row for row in records(states[states["main"]])}
    found = phases[phases["finding"] != ""].sort_values("z", ascending=False, kind="stable")
    named: dict[str, dict[str, object]] = {}
    for row in records(found):
        key = str(row["athlete_id"])
        if key in main and row["test"] == main[key]["test"]:
            named.setdefault(key, row)
    for group in dict.fromkeys(g for member in squad.values() for g in member.groups or ("",)):
        own = [k for k, m in squad.items() if group in (m.groups or ("",)) and k in tested]
        if own:
            states_of = [str(main[key]["state"]) if key in main else "" for key in own]
            yield GroupPhases(
                group=group,
                athletes=len(own),
                phases=tuple(_counts([named[key] for key in own if key in named])),
                balanced=states_of.count(BALANCED),
                too_thin=states_of.count(TOO_THIN),
                none=states_of.count(""),
            )


def _counts(rows: list[dict[str, object]]) -> Iterator[PhaseCount]:
    if not rows:
        return
    for _, same in pd.DataFrame(rows).groupby(["from_m", "to_m", "phase"]):
        first = records(same)[0]
        out = int((same["finding"] == STANDS_OUT).sum())
        yield PhaseCount(first["phase"], first["from_m"], first["to_m"], out, len(same) - out)
