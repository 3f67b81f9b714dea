"""Standing among others: the numbers, and who is never among them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from pipeline.compare import norms
from pipeline.compare.norms import Person


def people(values: list[float]) -> pd.Series[float]:
    return pd.Series(values, index=[f"A{i:02}" for i in range(len(values))], dtype=float)


Row = tuple[str, str, str, str, str, float]


def candidates(rows: list[Row]) -> pd.DataFrame:
    columns = ["athlete_id", "day", "sex", "event", "age_band", "value"]
    return pd.DataFrame(rows, columns=columns)


def squad(n: int, event: str = "sprint", band: str = "under 18", who: str = "s") -> list[Row]:
    return [(f"{who}{i}", "2025-09-14", "F", event, band, 40.0 + i) for i in range(n)]


ME = Person("me", "F", "sprint", "under 18")


def test_percentile_with_ties() -> None:
    # scipy's manual: 3 among 1, 2, 3, 3, 4 is 60 with kind="mean" (half of a tie counts); each
    # value twice over, since fewer than eight have no percentile. 2 of 1, 2, 2, 3, 4 is 40 by the
    # same rule (20 % below, half of 40 % alike).
    assert norms.percentile(3, people([1, 2, 3, 3, 4] * 2), "me", "higher") == 60
    assert norms.percentile(2, people([1, 2, 2, 3, 4] * 2), "me", "higher") == 40
    assert norms.percentile(2, people([1, 2, 2, 3, 4] * 2), "me", "lower") == 60


def test_a_fast_time_is_a_high_percentile() -> None:
    times = people([4.0, 4.1, 4.2, 4.3, 4.4, 4.5, 4.6, 4.7])
    assert norms.percentile(3.9, times, "me", "lower") == 100
    assert norms.percentile(3.9, times, "me", "higher") == 0
    assert norms.percentile(4.0, times, "me", "lower") == 93.75


def test_fewer_than_eight_have_no_percentile_and_no_range() -> None:
    seven = people([1, 2, 3, 4, 5, 6, 7])
    assert norms.percentile(4, seven, "me", "higher") is None
    assert norms.value_range(seven, "me") is None
    eight = people([1, 2, 3, 4, 5, 6, 7, 8])
    assert norms.value_range(eight, "me") == (1, 8)
    assert norms.percentile(4, people([1, 2, 3, 4, 5, 6, 7, np.nan]), "me", "higher") is None
    assert norms.percentile(np.nan, eight, "me", "higher") is None


def test_the_athlete_is_never_among_the_others() -> None:
    others = people([1, 2, 3, 4, 5, 6, 7, 8])
    with pytest.raises(ValueError, match="never the athlete"):
        norms.percentile(3, others, "A02", "higher")
    with pytest.raises(ValueError, match="never the athlete"):
        norms.value_range(pd.concat([others, others]), "me")


def test_t_score() -> None:
    # T = 50 + 10·z; two SDs quicker than the mean
    found = norms.Reference(norms.OWN_BAND, 4.4, 0.1, 9, people([4.4] * 9))
    assert norms.t_score(4.2, found, "lower") == pytest.approx(70)
    assert norms.t_score(4.2, found, "higher") == pytest.approx(30)
    flat = norms.Reference(norms.OWN_BAND, 4.4, 0.0, 9, people([4.4] * 9))
    assert norms.t_score(4.2, flat, "lower") is None


def test_own_band_first() -> None:
    found = norms.reference(candidates(squad(5) + squad(9, band="senior", who="o")), ME)
    assert (found.rung, found.n, found.mean) == (norms.OWN_BAND, 5, 42.0)
    assert found.sd == pytest.approx(np.std([40, 41, 42, 43, 44], ddof=1))


def test_four_of_the_band_are_too_few() -> None:
    seniors = [("s9", "2025-09-14", "F", "sprint", "senior", 50.0)]
    found = norms.reference(candidates(squad(4) + seniors), ME)
    assert (found.rung, found.n) == (norms.OWN_EVENT, 5)


def test_another_sex_or_event_is_no_reference() -> None:
    men = [(f"m{i}", "2025-09-14", "M", "sprint", "under 18", 60.0) for i in range(9)]
    found = norms.reference(candidates(men + squad(9, "jumps")), ME)
    assert (found.rung, found.mean, found.n) == (norms.NO_REFERENCE, None, None)
    assert found.others.empty


def test_the_staffs_table_comes_last() -> None:
    found = norms.reference(candidates(squad(4)), ME, {"mean": 41.0, "sd": 3.0})
    assert (found.rung, found.mean, found.sd) == (norms.STAFF_TABLE, 41.0, 3.0)
    assert norms.t_score(44.0, found, "higher") == pytest.approx(60)


def test_each_person_once_with_the_latest_value_and_never_oneself() -> None:
    earlier = [(who, "2025-04-01", *rest, value - 9) for who, _, *rest, value in squad(6)]
    mine = [("me", day, "F", "sprint", "under 18", 99.0) for day in ("2024-09-01", "2025-09-14")]
    gone = [("s0", "2025-12-01", "F", "sprint", "under 18", np.nan)]
    found = norms.reference(candidates([*squad(6), *earlier, *mine, *gone]), ME)
    assert found.n == 6
    assert found.mean == 42.5
    assert "me" not in found.others.index


def test_whoever_has_no_event_is_held_against_nobody_of_one() -> None:
    nameless = [(f"n{i}", "2025-09-14", "F", "", "under 18", 40.0) for i in range(9)]
    found = norms.reference(candidates(nameless), Person("me", "F", "", "under 18"))
    assert found.rung == norms.NO_REFERENCE


def test_an_unknown_age_goes_to_the_event() -> None:
    found = norms.reference(candidates(squad(6)), Person("me", "F", "sprint", ""))
    assert found.rung == norms.OWN_EVENT
