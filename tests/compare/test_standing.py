"""Who the others are, and when nobody says anything of them."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from pipeline.battery import Battery
from pipeline.compare.pairs import Days
from pipeline.compare.squad import Member, age_band
from pipeline.compare.standing import Standing, headline_measures, standings
from tests.compare.made import (
    AUTUMN,
    BATTERY,
    CMJ,
    NO_DAYS,
    SPRING,
    battery,
    result,
    results,
    squad,
)

SCORES = [30.0, 31.0, 31.0, 33.0, 34.0, 36.0, 37.0, 38.0, 40.0]
JUMPERS = [f"B{n}" for n in range(9)]
SQUAD = squad(set(JUMPERS))


def _rows(people: list[str], values: list[float], day: str = AUTUMN) -> list[dict[str, object]]:
    return [
        result(day, value, **{**CMJ, "athlete_id": who})
        for who, value in zip(people, values, strict=True)
    ]


def _standings(
    rows: list[dict[str, object]],
    members: dict[str, Member],
    own: Battery = BATTERY,
    days: Days = NO_DAYS,
) -> dict[str, Standing]:
    bands = {(key, day): age_band(m.age) for key, m in members.items() for day in (SPRING, AUTUMN)}
    found = standings(
        results(*rows), AUTUMN, headline_measures(own, members), own, days, members, bands
    )
    return {one.athlete_id: one for one in found}


def test_each_stands_among_the_others_and_never_among_oneself() -> None:
    """Percentile with ties counted half: ``scipy.stats.percentileofscore``, kind mean."""
    found = _standings(_rows(JUMPERS, SCORES), SQUAD)
    assert set(found) == set(JUMPERS)
    for place, who in enumerate(JUMPERS):
        others = SCORES[:place] + SCORES[place + 1 :]
        assert (found[who].rung, found[who].n) == ("own band", 8)
        assert found[who].mean == pytest.approx(sum(others) / 8)
        assert found[who].percentile == pytest.approx(
            stats.percentileofscore(others, SCORES[place], kind="mean")
        )


def test_the_own_earlier_self_is_no_reference() -> None:
    rows = _rows(JUMPERS[:5], SCORES[:5]) + _rows(JUMPERS[:1], [99.0], SPRING)
    found = _standings(rows, SQUAD)
    assert found["B0"].rung == "none"
    assert found["B0"].mean is None


def test_each_other_counts_once_with_the_latest_value_of_all_terms() -> None:
    rows = _rows(JUMPERS[1:7], [10.0] * 6, SPRING) + _rows(JUMPERS[:5], [30.0] * 5)
    found = _standings(rows, SQUAD)["B0"]
    assert found.n == 6
    assert found.mean == pytest.approx((4 * 30 + 2 * 10) / 6)


@pytest.mark.parametrize(("others", "rung"), [(4, "none"), (5, "own band"), (7, "own band")])
def test_five_others_make_a_mean_and_fewer_than_eight_no_percentile(others: int, rung: str) -> None:
    found = _standings(_rows(JUMPERS[: others + 1], SCORES[: others + 1]), SQUAD)["B0"]
    assert found.rung == rung
    assert (found.mean is None) is (rung == "none")
    assert found.percentile is None


def test_the_ladder_goes_from_the_band_to_the_event_to_the_staff_s_table(tmp_path: Path) -> None:
    text = (
        '[[references]]\ntest = "countermovement jump"\nmeasure = "jump_height"\nsex = "F"\n'
        "mean = 32.0\nsd = 4.0\nn = 60\n"
    )
    own = battery(tmp_path, text)
    rows = _rows(JUMPERS, SCORES)
    older = {**SQUAD, "B0": dataclasses.replace(SQUAD["B0"], age=15)}
    assert _standings(rows, older, own)["B0"].rung == "own event"
    elsewhere = {**SQUAD, "B0": dataclasses.replace(SQUAD["B0"], event="high jump")}
    placed = _standings(rows, elsewhere, own)["B0"]
    assert (placed.rung, placed.mean, placed.sd, placed.n) == ("staff table", 32.0, 4.0, None)
    assert placed.t_score == pytest.approx(50 + 10 * (30 - 32) / 4)
    assert placed.percentile is None
    assert _standings(rows, elsewhere)["B0"].rung == "none"
    man = {**SQUAD, "B0": dataclasses.replace(SQUAD["B0"], sex="M")}
    assert _standings(rows, man, own)["B0"].rung == "none"


def test_other_conditions_are_no_reference() -> None:
    rows = _rows(JUMPERS, SCORES)
    other: list[dict[str, Any]] = [
        row | ({"conditions": "arms=free"} if row["athlete_id"] != "B0" else {}) for row in rows
    ]
    assert _standings(other, SQUAD)["B0"].rung == "none"


def test_a_test_taken_easy_neither_stands_nor_is_stood_beside() -> None:
    days = Days({}, frozenset({(AUTUMN, "B8", "")}))
    found = _standings(_rows(JUMPERS, SCORES), SQUAD, days=days)
    assert "B8" not in found
    assert (found["B0"].n, found["B0"].percentile) == (7, None)


def test_a_key_measure_without_a_better_side_has_no_place(tmp_path: Path) -> None:
    own = battery(tmp_path, '[headline]\ndefault = [{test = "body", measure = "height"}]\n')
    rows = [
        result(AUTUMN, value, athlete_id=who, test="body", measure="height")
        for who, value in zip(JUMPERS, SCORES, strict=True)
    ]
    assert _standings(rows, SQUAD, own) == {}


def test_only_headline_measures_are_placed() -> None:
    rows = [row | {"measure": "takeoff_speed"} for row in _rows(JUMPERS, SCORES)]
    assert _standings(rows, SQUAD) == {}


@pytest.mark.parametrize(
    ("age", "band"),
    [(None, ""), (13, "under 14"), (14, "14-15"), (15, "14-15"), (16, "16-17"),
     (17, "16-17"), (18, "18 and over"), (40, "18 and over")],
)  # fmt: skip
def test_age_bands(age: int | None, band: str) -> None:
    assert age_band(age) == band
