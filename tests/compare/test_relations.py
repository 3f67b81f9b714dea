"""Correlations of physical measures with phases, held against pingouin and Fisher's z by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pingouin
import pytest
from numpy.typing import NDArray

from pipeline import battery as batteries
from pipeline.compare.relations import FEWEST_PEOPLE, Relation, relations
from pipeline.compare.squad import Member
from tests import seasons

DAY = "2026-09-15"
BATTERY, _ = batteries.load(seasons.Path("nowhere"))
RUN = "start=blocks; clock=gate; timing=gates"


def squad(count: int, sex: str = "F") -> dict[str, Member]:
    return {f"P{n:02}": Member(f"P{n:02}", sex, "100 m", 20, ("sprint",)) for n in range(count)}


def rows(  # one row a person
    values: NDArray[np.float64],
    test: str,
    measure: str,
    part: str = "",
    conditions: str = "",
    day: str = DAY,
) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "day": day,
            "athlete_id": [f"P{n:02}" for n in range(len(values))],
            "test": test,
            "measure": measure,
            "part": part,
            "conditions": conditions,
            "value": values,
            "score": values,
        }
    )


def drive(times: NDArray[np.float64], key: str = RUN) -> pd.DataFrame:
    return rows(times, "60 m", "phase_time", "drive", f"{key}; ends=10-30 m")


def drawn(count: int, share: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    chance = np.random.default_rng(7)
    strength = chance.normal(1.6, 0.2, count)
    return strength, 2.2 - share * (strength - 1.6) + chance.normal(0, 0.05, count)


def found(*tables: pd.DataFrame, people: int = 40, sex: str = "F") -> tuple[Relation, ...]:
    return relations(pd.concat(tables), DAY, BATTERY, squad(people, sex))


@pytest.mark.parametrize(("count", "share"), [(20, 0.0), (24, 0.2), (40, 0.4)])
def test_it_is_pearsons_r_with_fishers_interval(count: int, share: float) -> None:
    strength, times = drawn(count, share)
    (one,) = found(drive(times), rows(strength, "back squat", "relative_strength"))
    assert (one.sex, one.test, one.phase, one.from_m, one.to_m) == ("F", "60 m", "drive", 10, 30)
    assert (one.measure, one.measure_test, one.part, one.n) == (
        "relative_strength", "back squat", "", count,
    )  # fmt: skip
    outside = pingouin.corr(strength, times)
    assert one.r == pytest.approx(float(outside["r"].iloc[0]), abs=1e-4)
    # Fisher 1915 by hand: atanh r is normal with SD 1/sqrt(n - 3).
    z, reach = np.arctanh(np.corrcoef(strength, times)[0, 1]), 1.959964 / np.sqrt(count - 3)
    assert one.low == pytest.approx(np.tanh(z - reach), abs=1e-4)
    assert one.high == pytest.approx(np.tanh(z + reach), abs=1e-4)
    interval = next(outside[c].iloc[0] for c in outside.columns if c.upper().startswith("CI95"))
    assert [one.low, one.high] == pytest.approx(list(interval), abs=0.006)


def test_nineteen_are_too_few_and_so_are_twenty_of_two_kinds() -> None:
    strength, times = drawn(FEWEST_PEOPLE, 0.4)
    lift = rows(strength, "back squat", "relative_strength")
    assert len(found(drive(times), lift)) == 1
    assert found(drive(times[:-1]), lift) == ()
    mixed = pd.concat([drive(times[:10]), drive(times, "start=standing")[10:]])
    assert found(mixed, lift) == ()


def test_sexes_are_never_put_together_and_who_has_none_is_left_out() -> None:
    strength, times = drawn(30, 0.4)
    tables = pd.concat([drive(times), rows(strength, "back squat", "relative_strength")])
    both = squad(15) | {k: Member(k, "M", "", 20, ()) for k in list(squad(30))[15:]}
    assert relations(tables, DAY, BATTERY, both) == ()
    assert relations(tables, DAY, BATTERY, squad(30, "")) == ()
    (men,) = relations(tables, DAY, BATTERY, squad(30, "M"))
    assert men.sex == "M"


def test_one_value_a_person_of_that_day_and_none_from_the_sprint_itself() -> None:
    strength, times = drawn(22, 0.4)
    own = rows(strength, "60 m", "theoretical_speed", conditions=RUN)  # a sign, by arithmetic
    assert found(drive(times), own) == ()
    lift = rows(strength, "back squat", "relative_strength")
    earlier = rows(strength * 2, "back squat", "relative_strength", day="2026-05-15")
    (one,) = found(drive(times), lift, lift, earlier)
    assert one.n == 22
    level = rows(np.full(22, 1.6), "back squat", "relative_strength")
    assert found(drive(times), level) == ()


def test_jumps_and_reactive_strength_are_looked_at_height_by_height() -> None:
    strength, times = drawn(25, 0.4)
    tables = [
        rows(strength * 20, "countermovement jump", "jump_height"),
        rows(strength, "drop jump", "rsi", "30 cm", "drop_height_m=0.3"),
        rows(strength, "drop jump", "rsi", "40 cm", "drop_height_m=0.4"),
        rows(strength, "drop jump", "contact_time", "40 cm", "drop_height_m=0.4"),
        rows(strength, "back squat", "one_rep_max"),  # no sign, no measure of the list
    ]
    told = [(one.measure, one.part) for one in found(drive(times), *tables)]
    assert told == [
        ("jump_height", ""), ("contact_time", "40 cm"), ("rsi", "30 cm"), ("rsi", "40 cm"),
    ]  # fmt: skip
