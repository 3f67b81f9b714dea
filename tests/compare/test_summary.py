"""A group's counts: what is clear, what chance would give, who may be named."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from pipeline import battery as batteries
from pipeline.compare.pairs import Days
from pipeline.compare.summary import GroupChanges, by_group
from tests.compare.made import AUTUMN, CMJ, FORTY, SPRING, SQUAT, World, battery, result, squad


def _groups(world: World) -> list[GroupChanges]:
    return list(by_group(world.judged().judged, world.battery, world.squad))


def _jumpers(gains: list[float], **more: Any) -> list[dict[str, object]]:
    rows = []
    for n, gain in enumerate(gains):
        cells: dict[str, Any] = {**CMJ, "athlete_id": f"B{n:02}", **more}
        rows += [result(SPRING, 40.0, **cells), result(AUTUMN, 40.0 + gain, **cells)]
    return rows


GAINS = [9.0, -8.0, 0.5, -0.5, 0.2, 0.1, -0.3, 0.4, -0.1]


def _mixed() -> World:
    """Nine jumpers; one other arm swing, one easy, one squat, one single attempt."""
    odd: list[dict[str, object]] = [
        result(SPRING, 40.0, **{**CMJ, "athlete_id": "C0", "conditions": "arms=free"}),
        result(AUTUMN, 60.0, **{**CMJ, "athlete_id": "C0"}),
        result(SPRING, 40.0, **{**CMJ, "athlete_id": "C1"}),
        result(AUTUMN, 60.0, **{**CMJ, "athlete_id": "C1"}),
        result(SPRING, 100.0, **SQUAT),
        result(AUTUMN, 150.0, **SQUAT),
        result(SPRING, 40.0, **{**CMJ, "athlete_id": "C2", "n_attempts": 1}),
        result(AUTUMN, 60.0, **{**CMJ, "athlete_id": "C2", "n_attempts": 1}),
    ]
    eased = frozenset({(AUTUMN, "C1", "")})
    return World(_jumpers(GAINS) + odd, days=Days({}, eased))


def test_the_counts_add_up() -> None:
    (group,) = _groups(_mixed())
    assert group.group == "sprint"
    assert (group.measures, group.pairs) == (2, 12)  # C1 took it easy and is not counted
    assert sum(group.verdicts.values()) == group.pairs
    assert group.comparable + sum(group.apart.values()) == group.pairs
    assert group.apart == {"arms": 1}
    assert group.verdicts["not comparable"] == 1
    assert (group.verdicts["clearly better"], group.verdicts["clearly worse"]) == (2, 1)


def test_chance_alone_gives_a_tenth_of_what_can_be_clear() -> None:
    """At 90 % one in ten where nothing is asked but to be beyond the error."""
    (group,) = _groups(_mixed())
    assert group.by_chance == pytest.approx(0.1 * (len(GAINS) + 1), abs=1e-6)  # and one squat


def test_who_took_it_easy_is_never_named() -> None:
    (group,) = _groups(_mixed())
    named = {clear.athlete_id for clear in group.front}
    assert named == {"B00", "B01", "A01"}
    assert {clear.verdict for clear in group.front if clear.athlete_id == "B01"} == {
        "clearly worse"
    }


def test_a_clear_change_among_many_that_are_none_is_held_back() -> None:
    """Beyond 90 % but not beyond what forty changes throw up by themselves."""
    error = 0.04 * math.sqrt(40 * 44.3)
    assert 1.697 * math.sqrt(2) * error < 4.3  # t(0.95, 30) = 1.697 (table): clear by itself
    (group,) = _groups(World(_jumpers([4.3] + [0.3, -0.3] * 20)))
    assert group.verdicts["clearly better"] == 1
    assert group.front == ()


def test_values_that_moved_together_are_neither_named_nor_expected_by_chance() -> None:
    (group,) = _groups(World(_jumpers([6.0, 6.5, 5.5, 6.2, 5.8, 6.1])))
    assert (group.front, group.by_chance, group.spreads) == ((), 0.0, ())
    assert group.verdicts == {"cannot tell": 6}


def test_the_spread_of_true_changes_is_given_of_five_people_and_only_of_five() -> None:
    """√(SD² − 2·TE²); the standard figure of individual responses."""
    wide = [9.0, -9.0, 8.0, -8.0, 0.0]
    (group,) = _groups(World(_jumpers(wide)))
    (spread,) = group.spreads
    sd = math.sqrt((81 + 81 + 64 + 64) / 4)
    errors = sorted(0.04 * math.sqrt(40 * (40 + gain)) for gain in wide)
    assert spread.n == 5
    assert spread.sd == pytest.approx(math.sqrt(sd**2 - 2 * errors[2] ** 2))
    (few,) = _groups(World(_jumpers(wide[:4])))
    assert few.spreads == ()


def test_changes_no_wider_than_their_error_have_no_spread() -> None:
    (group,) = _groups(World(_jumpers([1.0, -1.0, 0.5, -0.5, 0.2])))
    (spread,) = group.spreads
    assert spread.sd is None


def test_several_heights_of_one_test_are_one_finding() -> None:
    rows = []
    for part, now in (("30 cm", 2.0), ("45 cm", 2.4)):
        cells: dict[str, Any] = {
            "test": "drop jump", "measure": "rsi", "part": part, "unit": "m/s", "conditions": "",
        }  # fmt: skip
        rows += [result(SPRING, 1.5, **cells), result(AUTUMN, now, **cells)]
    (group,) = _groups(World(rows))
    assert (group.measures, group.pairs) == (1, 1)
    assert [clear.part for clear in group.front] == ["45 cm"]


def test_a_headline_is_the_group_s_own_and_of_five_at_most(tmp_path: Path) -> None:
    own = battery(tmp_path, '[headline]\njumps = [{test = "40 m", measure = "time"}]\n')
    rows = [
        *_jumpers([1.0]),
        result(SPRING, 6.0, **FORTY, athlete_id="B00"),
        result(AUTUMN, 5.9, **FORTY, athlete_id="B00"),
    ]
    members = squad({"B00"}, groups=("sprint", "jumps"))
    sprint, jumps = _groups(World(rows, battery=own, members=members))
    assert (sprint.group, sprint.pairs) == ("sprint", 2)
    assert (jumps.group, jumps.pairs) == ("jumps", 1)
    assert all(len(line) <= 5 for line in own.headlines.values())


def test_six_key_measures_are_refused(tmp_path: Path) -> None:
    entry = '{test = "60 m", measure = "time"}'
    text = f"[headline]\nsprint = [{', '.join([entry] * 6)}]\n"
    (tmp_path / "battery.toml").write_text(text, encoding="utf-8")
    made, (fault,) = batteries.load(tmp_path)
    assert "at most 5" in fault.message
    assert "sprint" not in made.headlines


def test_who_belongs_to_no_group_has_a_headline_too() -> None:
    members = squad({f"B{n:02}" for n in range(len(GAINS))}, groups=())
    (group,) = _groups(World(_jumpers(GAINS), members=members))
    assert (group.group, group.pairs) == ("", len(GAINS))
