"""Who should do what again: missed, eased, cut short, set aside."""

from __future__ import annotations

from typing import Any

import pytest

from pipeline.compare.pairs import Days
from pipeline.compare.retest import retests
from pipeline.compare.squad import Member
from tests.compare.made import AUTUMN, BATTERY, CMJ, NO_DAYS, SPRING, SUMMER, result, results

MATES = ("A01", "B02", "C03")


def _here(ids: tuple[str, ...] = MATES, groups: tuple[str, ...] = ("sprint",)) -> dict[str, Member]:
    return {key: Member(key, "F", "", 20, groups) for key in ids}


def _runs(day: str, *ids: str) -> list[dict[str, object]]:
    return [result(day, 7.7, athlete_id=key) for key in ids]


def _jumps(day: str, *ids: str, **cells: Any) -> list[dict[str, object]]:
    return [result(day, 40.0, **{**CMJ, "athlete_id": key, **cells}) for key in ids]


def _made(*rows: dict[str, object], **more: Any) -> list[tuple[str, str, str]]:
    found = retests(
        results(*rows), AUTUMN, more.get("battery", BATTERY), more.get("days", NO_DAYS),
        more.get("here", _here()), more.get("told", {}), more.get("aside", ()),
    )  # fmt: skip
    return [(one.athlete_id, one.test, one.why) for one in found]


ALL = [*_runs(AUTUMN, *MATES), *_jumps(AUTUMN, *MATES)]


def test_who_did_everything_is_not_on_the_list() -> None:
    assert _made(*ALL) == []


def test_who_did_nothing_is_on_it_once_for_all_tests() -> None:
    rows = [*_runs(AUTUMN, "A01", "B02"), *_jumps(AUTUMN, "A01", "B02")]
    rows.append(result(AUTUMN, 60.0, athlete_id="C03", test="body", measure="body_mass"))
    assert _made(*rows) == [("C03", "", "not tested")]
    assert _made(*rows, told={("C03", ""): "not done"}) == [("C03", "", "not done")]


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({}, "not tested"),
        ({"told": {("C03", "60 m"): "not done"}}, "not done"),
        ({"aside": [("C03", "60 m")]}, "set aside"),
    ],
)
def test_a_headline_test_the_mates_did_is_missed(more: dict[str, Any], why: str) -> None:
    rows = [*_runs(AUTUMN, "A01", "B02"), *_jumps(AUTUMN, *MATES)]
    assert _made(*rows, **more) == [("C03", "60 m", why)]


def test_a_test_that_fewer_than_half_of_the_group_did_is_expected_of_nobody() -> None:
    assert _made(*_runs(AUTUMN, "A01"), *_jumps(AUTUMN, *MATES)) == []


def test_a_main_test_of_ones_own_last_day_is_expected_even_if_the_mates_left_it_out() -> None:
    rows = _runs(SUMMER, "A01")
    assert _made(*rows, *_jumps(AUTUMN, *MATES)) == [("A01", "60 m", "not tested")]
    # of a repeat day it is not, nor of the day before the last
    again = Days({SUMMER: SPRING}, frozenset())
    assert _made(*rows, *_jumps(AUTUMN, *MATES), days=again) == []
    newer = _jumps("2026-08-01", "A01")
    assert _made(*rows, *newer, *_jumps(AUTUMN, *MATES)) == []


def test_a_test_taken_easy_and_one_cut_short_are_to_be_done_again() -> None:
    """The battery asks for three jumps of which two make the score; one makes none."""
    rows = [*_runs(AUTUMN, *MATES), *_jumps(AUTUMN, "A01", "B02")]
    short = _jumps(AUTUMN, "C03", n_attempts=1)
    assert _made(*rows, *short) == [("C03", "countermovement jump", "short of attempts")]
    two = _jumps(AUTUMN, "C03", n_attempts=2)
    assert _made(*rows, *two) == []
    told = {("C03", "countermovement jump"): "limited"}
    assert _made(*rows, *two, told=told) == [("C03", "countermovement jump", "taken easy")]


def test_a_group_without_a_headline_of_its_own_asks_nothing_of_those_in_another(
    tmp_path: Any,
) -> None:
    from tests.compare.made import battery  # noqa: PLC0415  # only this test writes a battery

    own = battery(tmp_path, '[headline]\n"field" = [{test = "40 m", measure = "time"}]\n')
    here = _here(groups=("sprint",)) | {"F1": Member("F1", "F", "", 15, ("field", "sprint"))}
    rows = [*ALL, result(AUTUMN, 5.9, athlete_id="F1", test="40 m")]
    assert _made(*rows, here=here, battery=own) == []
