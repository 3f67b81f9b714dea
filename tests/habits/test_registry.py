"""Every measure of the register keeps the promises of its record.

The check values are published or follow from a definition; where each comes from stands beside it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from pipeline.measures import registry
from pipeline.measures.registry import COMBINE, DAY_VIEWS, MEASURES, VIEWS
from pipeline.measures.sources import SOURCES
from pipeline.measures.spec import Measure

# One check value for each measure: inputs, the value, and where it comes from.
# 2009 WC = the 100 m final in Berlin, 1st place; Graubner & Nixdorf 2011, New Stud Athl 26(1/2):19
# (splits seen): reaction .146; 1.88 2.88 3.78 4.64 5.47 6.29 7.10 7.92 8.74 9.58.
CHECKS: dict[str, tuple[dict[str, float], float, str]] = {
    "growth": (
        {"then_cm": 160, "now_cm": 161.5, "days": 91.3125},
        0.5,
        "definition: 1.5 cm in a quarter of a year of 365.25 days",
    ),
    "maturity_offset": (
        {"age": 14, "height_cm": 165, "sitting_cm": 85, "body_mass": 54, "female": 0},
        0.0800,
        "recomputed from the equation of Mirwald et al. 2002 (second-hand)",
    ),
    "body_mass": ({"body_mass": 77.5}, 77.5, "definition"),
    "height": ({"height": 1.83}, 183.0, "definition: 100 cm a metre"),
    "time": ({"finish_time": 9.58, "by_hand": 0}, 9.58, "2009 WC"),
    "split_time": ({"gate_time": 6.29}, 6.29, "2009 WC, 60 m"),
    "segment_time": ({"from_time": 5.47, "to_time": 6.29}, 0.82, "2009 WC, 50-60 m"),
    "segment_speed": (
        {"from_m": 60, "to_m": 70, "from_time": 6.29, "to_time": 7.10},
        12.3457,
        "2009 WC, 60-70 m: 10 m in 0.81 s",
    ),
    "reaction_time": ({"reaction": 0.146}, 0.146, "2009 WC"),
    "phase_time": ({"from_time": 0.146, "to_time": 1.88}, 1.734, "2009 WC, t10 less reaction"),
    "phase_speed": (
        {"from_m": 10, "to_m": 30, "from_time": 1.88, "to_time": 3.78},
        10.5263,
        "2009 WC, 10-30 m: 20 m in 1.90 s",
    ),
    "phase_share": (
        {"from_time": 1.88, "to_time": 3.78, "whole_time": 9.434},
        20.1399,
        "2009 WC, 1.90 s of 9.434 s from first movement",
    ),
    "top_speed": (
        {"window_m": 20, "from_time": 6.29, "to_time": 7.92},
        12.2699,
        "2009 WC, 60-80 m in 1.63 s",
    ),
    "top_speed_at": ({"window_from_m": 60, "window_m": 20}, 70.0, "2009 WC, middle of 60-80 m"),
    "speed": (
        {"distance_m": 20, "flying_time": 1.63},
        12.2699,
        "2009 WC, 60-80 m in 1.63 s, as a flying 20 m",
    ),
    "speed_decrement": (
        {"best_time": 1.63, "last_time": 1.66},
        1.80723,
        "2009 WC, 60-80 m in 1.63 s, 80-100 m in 1.66 s; finalists -3.0 +- 1.5 % (recomputed)",
    ),
    "distance": ({"distance": 2.51}, 2.51, "definition"),
    "fade": (
        {"fade_time": 3.29, "window_m": 20, "best_time": 1.63},
        0.03,
        "2009 WC: 60-100 m in 9.58 - 6.29 = 3.29 s, 40 m at 20 m in 1.63 s; finalists .070 +- .036",
    ),
    "best_time": ({"best": 5.1}, 5.1, "published example, SOURCES: 5.1 to 5.6"),
    "mean_time": ({"mean": 5.35}, 5.35, "the same, by definition"),
    "last_time": ({"last": 5.6}, 5.6, "the same"),
    "repeat_decrement": (
        {"total": 32.1, "count": 6, "best": 5.1},
        4.90196,
        "published example: 5.1 5.2 5.3 5.4 5.5 5.6 gives 4.902 %",
    ),
    "angle": ({"degrees": 45}, 45, "definition"),
    "time_still_air": (
        {
            "race_time": 10.0,
            "wind": 2.0,
            "altitude": 0.0,
            "distance": 100,
            "lane": math.nan,
            "female": 0,
        },
        10.1009,
        "Mureika, arXiv physics/0006057: 10.00 at +2.0 is 10.101 (recomputed)",
    ),
    "model_top_speed": ({"curve_speed": 12.1185}, 12.1185, "2009 WC fit (recomputed)"),
    "model_time_constant": ({"curve_constant": 1.2109}, 1.2109, "2009 WC fit (recomputed)"),
    "model_rms": ({"curve_rms": 0.0101}, 0.0101, "2009 WC fit (recomputed)"),
    "model_near_top_at": ({"curve_near": 30.0}, 30.0, "definition"),
    "model_top_speed_at": ({"curve_top_at": 65.0}, 65.0, "definition"),
    "relative_force": ({"force": 7.758}, 7.758, "JSSM 2026 group (recomputed)"),
    "theoretical_speed": ({"speed": 8.925}, 8.925, "JSSM 2026 group (recomputed)"),
    "relative_power": ({"power": 17.31}, 17.31, "JSSM 2026 group (recomputed)"),
    "force_ratio_max": ({"ratio": 52.1}, 52.1, "JSSM 2026 group by the 0.3 s rule (recomputed)"),
    "force_ratio_slope": ({"slope": -7.115}, -7.115, "m 80, Vm 9.5, T 1.20 (recomputed)"),
    "phase_impulse": ({"gained": 8.0, "drag": 0.25}, 8.25, "definition of impulse for each kg"),
    "phase_speed_gained": ({"gained": 8.0}, 8.0, "definition"),
    "phase_mean_force": (
        {"gained": 8.0, "drag": 0.25, "duration": 1.65},
        5.0,
        "definition: impulse over time",
    ),
    "step_flight_time": ({"flight": 0.12}, 0.12, "definition"),
    "step_length": ({"length": 2.2}, 2.2, "definition"),
    "step_frequency": ({"contact": 0.1, "flight": 0.12}, 4.545455, "definition: 1 / 0.22 s"),
    "mean_vertical_force": (
        {"contact": 0.1, "flight": 0.12},
        2.2,
        "exact from impulse: 0.22 / 0.10 body weights (Morin et al. 2005, memory)",
    ),
    "step_impulse": (
        {"contact": 0.1, "flight": 0.12},
        2.157463,
        "g (tc + tf) with g 9.80665, from impulse",
    ),
    "vertical_stiffness": (
        {"contact": 0.1, "flight": 0.12, "body_mass": 80},
        122.79430,
        "half-sine model by hand: Fmax 2711.148 N, sink 0.0220788 m (Morin et al. 2005, memory)",
    ),
    "leg_stiffness": (
        {"contact": 0.1, "flight": 0.12, "body_mass": 80, "leg": 0.954, "length": 2.2},
        16.57145,
        "the same with 10 m/s and L 0.954 m: shortening 0.0220788 + 0.1415248 m",
    ),
    "contact_time": ({"contact_time": 0.164}, 0.164, "definition"),
    "rsi": (
        {"contact_time": 0.707, "flight_time": 0.554565},
        0.533,
        "McMahon et al. 2018: 37.7 cm over 0.707 s (there to take-off) is 0.533; seen",
    ),
    "flight_contact_ratio": ({"contact_time": 0.2, "flight_time": 0.5}, 2.5, "definition"),
    # Jumps of the extra rooms
    "utilisation_ratio": (
        {"counter": 44.0, "squat": 40.0},
        1.1,
        "definition: 4 cm on 40 cm is a pre-stretch augmentation of 10 % (McGuigan 2006)",
    ),
    "peak_power": (
        {"flight_time": math.nan, "device_height": 0.55, "body_mass": 80, "equation": 1},
        4907.5,
        "published worked example, 80 kg, 55 cm, Sayers squat jump; second-hand, recomputed",
    ),
    "relative_peak_power": (
        {"flight_time": math.nan, "device_height": 0.55, "body_mass": 80, "equation": 1},
        61.3,
        "the same worked example",
    ),
    "asymmetry": (
        {"stronger": 25, "weaker": 20},
        20.0,
        "Bishop et al. 2016: of the stronger 20 %, of the weaker 25 % (recomputed)",
    ),
    "best_drop_height": ({"drop_height": 0.4}, 40.0, "definition"),
    "value": ({"own": 4.75}, 4.75, "definition"),
    "jump_height": (
        {"flight_time": 0.5, "device_height": math.nan},
        30.6458,
        "Bosco et al. 1983, h = g t^2/8; table recomputed with g 9.80665",
    ),
    "takeoff_speed": ({"flight_time": 0.5}, 2.451662, "Linthorne 2001, v = g t/2; recomputed"),
    "ratio": ({"over": 100, "under": 160}, 0.625, "definition"),
    "net_impulse": (
        {"absolute_impulse": 25.0},
        25.0,
        "piecewise problem, Duarte & Watanabe, notes, doi 10.5281/zenodo.4599319 (exact)",
    ),
    "relative_impulse": (
        {"impulse": 25.0, "mass": 50.0},
        0.5,
        "the same: 25 N s on 50 kg is 0.5 m/s",
    ),
    "impulse_jump_height": (
        {"takeoff_impulse": 60 * 2.451662, "mass": 60.0},
        30.6458,
        "Linthorne 2001: v = 2.451662 m/s (0.5 s of flight) is 30.6458 cm either way; recomputed",
    ),
    "flight_jump_height": (
        {"plate_flight": 0.5},
        30.6458,
        "Bosco et al. 1983, h = g t^2/8; table recomputed with g 9.80665",
    ),
    "time_to_takeoff": ({"push_time": 0.707}, 0.707, "definition"),
    "rsi_modified": (
        {"takeoff_impulse": 80 * 2.719236, "mass": 80.0, "push_time": 0.707},
        0.533,
        "McMahon et al. 2018: 37.7 cm over 0.707 s is 0.533; seen",
    ),
    "peak_force": ({"absolute_peak": 2850.0}, 2850.0, "definition"),
    "peak_relative_force": ({"peak": 2850.0, "mass": 75.0}, 38.0, "definition"),
    "rate_of_force": (
        {"rise": 900.0, "window": 0.2, "mass": 75.0},
        60.0,
        "definition: 900 N in 0.2 s on 75 kg",
    ),
    "plate_contact_time": ({"plate_contact": 0.177}, 0.177, "definition"),
    "drop_height_real": (
        {"contact_impulse": 70 * 4.903325, "mass": 70.0, "plate_flight": 0.5},
        30.6458,
        "closed form: half of 2 x 2.451662 m/s is the take-off's, the rest a fall of 30.6458 cm",
    ),
    "strength_index": ({"jump_peak": 24.0, "isometric_peak": 32.0}, 0.75, "definition"),
    "one_rep_max": (
        {"load": 100, "reps": 5, "equation": 0},
        116.667,
        "Epley with 1/30; published worked value, second-hand, recomputed",
    ),
    "relative_strength": (
        {"one_rep_max": 150, "body_mass": 80},
        1.875,
        "definition",
    ),
    "scaled_strength": (
        {"one_rep_max": 150, "body_mass": 80, "exponent": 0.67},
        7.9620,
        "Jaric 2002, Sports Med 32:615: 150 kg at 80 kg, S/m^0.67; seen, recomputed",
    ),
}

PRINTED = {"rsi": 5e-4, "rsi_modified": 5e-4, "relative_peak_power": 1e-3, "maturity_offset": 6e-4}
"""Relative tolerance where a source prints fewer digits."""

ALL = pytest.mark.parametrize("record", MEASURES.values(), ids=MEASURES)


def _evaluate(record: Measure, inputs: dict[str, float]) -> float:
    arrays = {name: np.array([inputs[name]], dtype=float) for name in record.inputs}
    return float(record.function(**arrays)[0])


def test_every_measure_has_a_check_value_and_no_check_is_stale() -> None:
    assert set(CHECKS) == set(MEASURES)


@ALL
def test_the_check_value_comes_out(record: Measure) -> None:
    inputs, expected, source = CHECKS[record.key]
    assert source
    assert set(inputs) == set(record.inputs)
    assert _evaluate(record, inputs) == pytest.approx(expected, rel=PRINTED.get(record.key, 1e-5))


@ALL
def test_the_check_value_is_plausible(record: Measure) -> None:
    assert record.low < CHECKS[record.key][1] < record.high


@ALL
def test_nothing_in_gives_nothing_out(record: Measure) -> None:
    assert math.isnan(_evaluate(record, dict.fromkeys(record.inputs, math.nan)))


@ALL
def test_the_function_works_on_arrays_and_keeps_their_length(record: Measure) -> None:
    inputs = CHECKS[record.key][0]
    arrays = {name: np.full(4, inputs[name], dtype=float) for name in record.inputs}
    assert record.function(**arrays).shape == (4,)


@ALL
def test_the_record_is_complete(record: Measure) -> None:
    assert record.better in {"higher", "lower", "neither"}
    assert record.low < record.high
    assert 0 <= record.decimals <= 4
    assert record.label or record.key == registry.OWN  # there the test's name stands
    assert record.formula
    assert record.function.__doc__
    assert record.combine in COMBINE
    assert record.view in VIEWS or record.view in DAY_VIEWS
    assert record.sources
    assert set(record.sources) <= set(SOURCES)


@ALL
def test_typical_errors_have_a_grade_and_a_basis(record: Measure) -> None:
    for error in record.typical_errors:
        assert error.value > 0
        assert error.unit in {"%", record.unit}
        assert error.grade in {"A", "B", "C"}
        assert error.basis


def test_every_source_is_used_and_has_a_status() -> None:
    used = {key for record in MEASURES.values() for key in record.sources}
    assert used | {"practice"} >= set(SOURCES), "a source that no measure rests on"
    assert all(source.status for source in SOURCES.values())


def test_a_key_cannot_be_taken_twice() -> None:
    taken = MEASURES["time"]
    with pytest.raises(ValueError, match="registered twice"):
        registry.measure(
            key="time", label="x", unit="s", better="lower", decimals=2, plausible=(0, 1),
            formula="x", sources=("definition",), view="finish", combine="best", section="sprint",
        )(taken.function)  # fmt: skip
