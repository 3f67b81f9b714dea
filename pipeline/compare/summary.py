"""What a group's changes say together: how many are clear, how many chance alone would give."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import pandas as pd

from pipeline import tables
from pipeline.battery import Battery, KeyMeasure
from pipeline.compare.pairs import records
from pipeline.compare.squad import Squad
from pipeline.compare.verdicts import clear_by_chance, front_list, true_spread

_CLEAR = (tables.BETTER, tables.WORSE)


@dataclass(frozen=True, slots=True)
class Clear:
    """One clear change of the headline."""

    athlete_id: str
    test: str
    part: str
    measure: str
    conditions: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Spread:
    """How far athletes truly differ in their change; ``sd`` None: no wider than the error."""

    test: str
    part: str
    measure: str
    unit: str
    n: int
    sd: float | None
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class GroupChanges:
    """A group's headline, its measures set beforehand.

    Attributes:
        group: its name on the roster.
        measures: the headline's measures that anybody of the group has a pair in.
        pairs: values with an earlier one, tests taken easy aside; comparable, not comparable, by
            reason.
        verdicts: how many of each word; an empty one was not judged.
        by_chance: how many clear verdicts there would be if nobody had changed.
        clear: every clear change, as many as the verdicts count.
        front: those of them that stay with false discoveries held down.
        spreads: true spread of changes, of at least five people.
    """

    group: str
    measures: int
    pairs: int
    comparable: int
    apart: dict[str, int] = field(default_factory=dict)
    verdicts: dict[str, int] = field(default_factory=dict)
    by_chance: float = 0.0
    clear: tuple[Clear, ...] = ()
    front: tuple[Clear, ...] = ()
    spreads: tuple[Spread, ...] = ()


def by_group(judged: pd.DataFrame, battery: Battery, squad: Squad) -> Iterator[GroupChanges]:
    """Each group's headline, and that of those without a group under an empty name.

    Args:
        judged: of ``changes.Judged``.
        battery: the headlines, set before the day.
        squad: who is in which group.
    """
    groups = dict.fromkeys(g for member in squad.values() for g in member.groups or ("",))
    for group in groups:
        people = {key for key, member in squad.items() if group in (member.groups or ("",))}
        if judged.empty:
            yield GroupChanges(group, 0, 0, 0)
            continue
        own = judged[judged["athlete_id"].isin(people) & ~judged["easy"]]
        own = own[_in(own, battery.headline(group))]
        yield _group(group, own)


def _in(rows: pd.DataFrame, headline: Sequence[KeyMeasure]) -> pd.Series:
    wanted = {(k.test, k.measure) for k in headline}
    return pd.Series(
        [pair in wanted for pair in zip(rows["test"], rows["measure"], strict=True)],
        index=rows.index,
        dtype=bool,
    )


def _one_part(rows: pd.DataFrame) -> pd.DataFrame:
    """One pair an athlete and measure: of several parts the one greatest over both days.

    Several parts of one test (drop heights, sides) are not several findings; chosen by both days
    together, so that the choice itself makes no change look better or worse.
    """
    order = rows.assign(both=rows["then"] + rows["now"]).sort_values(
        ["athlete_id", "test", "measure", "both"], kind="stable"
    )
    return order.groupby(["athlete_id", "test", "measure"], sort=False).tail(1).sort_index()


def _group(group: str, rows: pd.DataFrame) -> GroupChanges:
    own = _one_part(rows)
    apart = own[own["verdict"] == tables.NOT_COMPARABLE]
    counted = own[own["verdict"].isin([*_CLEAR, tables.STEADY, tables.CANNOT_TELL])]
    # A single attempt is never called clear, so chance cannot make it so.
    single = counted["reason"].eq(tables.ONE_ATTEMPT)
    measured = counted[counted["usable"] & ~counted["shifted"] & ~single]
    fields = Counter(str(reason).partition(":")[0] for reason in apart["reason"])
    front = measured[front_list(measured)] if len(measured) else measured
    return GroupChanges(
        group=group,
        measures=int(own.groupby(["test", "measure"]).ngroups),
        pairs=len(own),
        comparable=len(own) - len(apart),
        apart=dict(sorted(fields.items())),
        verdicts=dict(Counter(str(v) for v in own["verdict"])),
        by_chance=clear_by_chance(measured) if len(measured) else 0.0,
        clear=_named(counted[counted["verdict"].isin(_CLEAR)]),
        front=_named(front),
        spreads=tuple(_spreads(measured)),
    )


_KEY = ("test", "part", "measure")


def _named(rows: pd.DataFrame) -> tuple[Clear, ...]:
    fields = ("athlete_id", *_KEY, "conditions", "verdict")
    return tuple(Clear(*(str(row[f]) for f in fields)) for row in records(rows))


def _spreads(rows: pd.DataFrame) -> Iterator[Spread]:
    for (test, measure), same in rows.groupby(["test", "measure"], sort=False):
        error, df = float(same["error"].median()), float(same["df"].median())
        found = true_spread(same["change"].to_numpy(dtype=float), error, df)
        if found is None:
            continue
        parts = same["part"].unique()
        yield Spread(
            test=str(test),
            part=str(parts[0]) if len(parts) == 1 else "",
            measure=str(measure),
            unit=str(same["unit"].iloc[0]),
            n=found.n,
            sd=found.sd,
            low=found.low,
            high=found.high,
        )
