"""The published errors of the register against the retyped list of defaults."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from pipeline.measures.registry import MEASURES

LIST = Path(__file__).parents[1] / "reference" / "typical_error_defaults.csv"
DEFAULTS = pd.read_csv(LIST).set_index("measure")

GROWN, YOUNG = 24.0, 15.0

# A line of the list → measures here that it speaks of: (measure, test, part, age).
LINES: dict[str, tuple[tuple[str, str, str, float], ...]] = {
    "sprint 10 m, gates, standing start": (
        ("time", "10 m", "", GROWN),
        ("split_time", "60 m", "10 m", GROWN),
        ("phase_time", "60 m", "0-10 m", YOUNG),
    ),
    "sprint 20 m": (("time", "20 m", "", GROWN), ("split_time", "40 m", "20 m", GROWN)),
    "sprint 30 m": (
        ("time", "30 m", "", GROWN),
        ("split_time", "60 m", "30 m", GROWN),
        ("phase_time", "100 m", "0-30 m", GROWN),
    ),
    "sprint 40 m": (("time", "40 m", "", GROWN), ("split_time", "60 m", "40 m", YOUNG)),
    "sprint 60 m": (("time", "60 m", "", GROWN),),
    "flying 10-30 m, maximal speed": (("speed", "flying 20 m", "", GROWN),),
    "sprint F0": (("relative_force", "40 m", "", GROWN),),
    "sprint V0": (("theoretical_speed", "40 m", "", GROWN),),
    "sprint Pmax": (("relative_power", "40 m", "", GROWN),),
    "CMJ height": (("jump_height", "countermovement jump", "", GROWN),),
    "SJ height": (("jump_height", "squat jump", "", YOUNG),),
    "drop-jump RSI, trained": (("rsi", "drop jump", "30 cm", GROWN),),
    "drop-jump RSI, untrained or youth": (
        ("rsi", "drop jump", "30 cm", YOUNG),
        ("rsi", "drop jump", "30 cm", float("nan")),  # an age not known counts as under 18
    ),
    "drop-jump contact, trained": (("contact_time", "drop jump", "30 cm", GROWN),),
    "standing long jump": (("distance", "standing long jump", "", GROWN),),
    "back squat 1RM": (("one_rep_max", "back squat", "", GROWN),),
    "bench press 1RM": (("one_rep_max", "bench press", "", GROWN),),
    "power clean 1RM": (("one_rep_max", "power clean", "", GROWN),),
    "first-step contact, flight, length, frequency": (
        ("step_flight_time", "60 m", "", GROWN),
        ("step_length", "60 m", "", GROWN),
        ("step_frequency", "60 m", "", GROWN),
    ),
    "repeated sprint, best or mean time": (
        ("best_time", "6 x 30 m", "set 1", GROWN),
        ("mean_time", "6 x 30 m", "set 1", GROWN),
    ),
    "repeated sprint decrement": (("repeat_decrement", "6 x 30 m", "set 1", GROWN),),
}
NO_MEASURE_HERE = {
    "RSImod", "IMTP peak force", "pro-agility 5-10-5", "T-test", "medicine-ball throw",
}  # fmt: skip

CASES = [(line, *case) for line, cases in LINES.items() for case in cases]


def test_every_line_is_held_or_has_no_measure_here() -> None:
    assert set(LINES) | NO_MEASURE_HERE == set(DEFAULTS.index)
    assert not set(LINES) & NO_MEASURE_HERE


@pytest.mark.parametrize(("line", "key", "test", "part", "age"), CASES)
def test_a_published_error_is_that_of_the_list(
    line: str, key: str, test: str, part: str, age: float
) -> None:
    found = MEASURES[key].published_error(test, {part}, age)
    assert found is not None
    wanted = DEFAULTS.loc[line]
    assert (found.value, found.unit, found.grade) == (
        wanted["default_te"], wanted["unit"], wanted["grade"],
    )  # fmt: skip


def test_no_other_split_borrows_an_error() -> None:
    """Of 50 m or of a section between gates nothing was published."""
    for part in ("5 m", "50 m", "10-20 m"):
        assert MEASURES["split_time"].published_error("60 m", {part}, GROWN) is None
        assert MEASURES["segment_time"].published_error("60 m", {part}, GROWN) is None


def test_a_change_in_the_decrement_is_never_judged() -> None:
    """The list says so: its error is 23 to 39 % of itself."""
    assert MEASURES["repeat_decrement"].better == "neither"
