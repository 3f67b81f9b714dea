"""Jumps beyond their height: ratio, power, sides, drop heights, rebounds, the instrument's step."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pipeline import battery as batteries
from pipeline import bundle, computing, reading
from pipeline.bundle import DayBundle
from pipeline.measures import drop_jumps, power, sides
from pipeline.measures.registry import MEASURES
from pipeline.report import wording
from pipeline.units import STANDARD_GRAVITY
from tests import seasons
from tests.finals import REFERENCE
from tests.seasons import DAY_FOLDER

ARMS = "session,athlete_id,test,attempt,side,arms,flight_time_s,height_cm,distance_m"
SPRING = "2026-05-spring"
SPRING_DAY = seasons.DAY.replace("2026-09", "2026-05").replace("autumn", "spring")
ADULT, YOUNG = "A02", "A01"
"""The one is 21, the other 16."""


def tables(folder: Path, files: Mapping[str, str | None]) -> DayBundle:
    """A season's tables: only the sheets named here, and the body masses."""
    none: dict[str, str | None] = {
        f"{DAY_FOLDER}/{n}.csv": None for n in ("sprints", "jumps", "lifts")
    }
    seasons.write(folder, {**none, **files})
    return computing.compute(reading.read(folder, None))


def of(computed: DayBundle, measure: str, test: str | None = None) -> pd.DataFrame:
    results = computed.tables["results"]
    results = results[results["measure"] == measure]
    return results if test is None else results[results["test"] == test]


def one(computed: DayBundle, measure: str, test: str | None = None) -> pd.Series:
    rows = of(computed, measure, test)
    assert len(rows) == 1, rows.to_string()
    return rows.iloc[0]


def sheet(head: str, lines: list[str]) -> str:
    return "\n".join([head, *lines]) + "\n"


def jump_sheet(*lines: str) -> dict[str, str | None]:
    return {f"{DAY_FOLDER}/jumps.csv": sheet(ARMS, list(lines))}


def codes(computed: DayBundle) -> set[str]:
    return set(computed.tables["findings"]["code"]) - {"athlete-not-tested", "attempts-short"}


# --- arms, ratio -------------------------------------------------------------------------------


def test_arms_free_and_arms_on_hips_are_two_tests(tmp_path: Path) -> None:
    computed = tables(
        tmp_path,
        jump_sheet(
            f"gym,{ADULT},countermovement jump,1,,hips,,40.0,",
            f"gym,{ADULT},countermovement jump,2,,free,,46.0,",
        )
        | {
            f"{SPRING}/day.toml": SPRING_DAY,
            f"{SPRING}/jumps.csv": sheet(
                ARMS, [f"gym,{ADULT},countermovement jump,1,,free,,45.0,"]
            ),
        },
    )
    now = of(computed, "jump_height")
    now = now[now["day"] == "2026-09-15"]
    assert dict(zip(now["conditions"], now["value"], strict=True)) == {
        "arms=hips": 40.0,
        "arms=free": 46.0,
    }
    changes = computed.tables["changes"]
    changes = changes[changes["measure"] == "jump_height"].set_index("conditions")
    assert changes.loc["arms=free", "change"] == pytest.approx(1.0)
    assert changes.loc["arms=hips", "verdict"] == "not comparable"
    assert changes.loc["arms=hips", "reason"] == "arms: free → hips"


def test_the_ratio_is_of_one_day_and_one_way_of_holding_the_arms(tmp_path: Path) -> None:
    """CMJ / SJ by definition (McGuigan 2006); error 7 % from three jumps each, grade C."""
    computed = tables(
        tmp_path,
        jump_sheet(
            f"gym,{ADULT},countermovement jump,1,,hips,,44.0,",
            f"gym,{ADULT},countermovement jump,2,,free,,50.0,",
            f"gym,{ADULT},squat jump,1,,hips,,40.0,",
            f"gym,{YOUNG},countermovement jump,1,,free,,30.0,",
            f"gym,{YOUNG},squat jump,1,,hips,,28.0,",
        ),
    )
    row = one(computed, "utilisation_ratio")
    assert (row["athlete_id"], row["test"], row["value"]) == (ADULT, "countermovement jump", 1.1)
    assert (row["low"], row["high"]) == pytest.approx((1.1 * 0.93, 1.1 * 1.07))
    (error,) = MEASURES["utilisation_ratio"].typical_errors
    assert (error.value, error.unit, error.grade) == (7.0, "%", "C")


def test_the_ratio_never_reaches_an_athletes_slice(tmp_path: Path) -> None:
    computed = tables(
        tmp_path / "season",
        jump_sheet(
            f"gym,{ADULT},countermovement jump,1,,hips,,44.0,",
            f"gym,{ADULT},squat jump,1,,hips,,40.0,",
        ),
    )
    assert len(of(computed, "utilisation_ratio")) == 1
    bundle.write(tmp_path / "data", computed)
    written = (tmp_path / "data" / "athletes" / f"{ADULT}.json").read_text()
    assert "jump_height" in written
    assert "utilisation_ratio" not in written


# --- power -------------------------------------------------------------------------------------


def watts(height_cm: float, mass: float, equation: int) -> float:
    """One value of ``power.peak_power`` from a device's height."""
    given = [np.array([v], dtype=float) for v in (math.nan, height_cm / 100, mass, equation)]
    return float(power.peak_power(*given)[0])


def test_the_worked_example_of_the_squat_jump_equation() -> None:
    """80 kg, 55 cm: 4907.5 W, 61.3 W/kg (worked example, second-hand, recomputed)."""
    assert watts(55, 80, 1) == pytest.approx(4907.5)
    assert watts(55, 80, 1) / 80 == pytest.approx(61.3, abs=0.05)


# Canavan & Vescovi 2004, Med Sci Sports Exerc 36:1589, abstract (seen): 20 women, 65.9 kg;
# predicted means 2920.8 W (Sayers SJ), 2925.1 W (Sayers CMJ), 2585.0 W (Harman). The abstract
# prints no jump height. The equations are straight lines, so each mean must come from one mean
# height: three means and one unknown leave two checks.
MASS, PRINTED = 65.9, {1: 2920.8, 0: 2925.1, 2: 2585.0}


def test_the_published_means_close_the_loop_on_all_three_equations() -> None:
    height = (PRINTED[1] - watts(30, MASS, 1)) / (watts(31, MASS, 1) - watts(30, MASS, 1)) + 30
    assert height == pytest.approx(32.79, abs=0.01)  # recomputed
    for equation, printed in PRINTED.items():
        assert watts(height, MASS, equation) == pytest.approx(printed, rel=0.003)
    # their own line, 65.1 h + 25.8 m - 1413.1, gives their measured 2425.4 W from it as well
    assert 65.1 * height + 25.8 * MASS - 1413.1 == pytest.approx(2425.4, rel=0.003)


@pytest.mark.parametrize(("equation", "constant"), [(0, 2007), (1, 2055), (2, 1822)])
def test_with_the_other_sign_the_loop_would_not_close(equation: int, constant: int) -> None:
    """The control: one page prints + 1822; any constant added instead is 3600 W and more off."""
    wrong = watts(32.79, MASS, equation) + 2 * constant
    assert wrong / PRINTED[equation] > 2


@pytest.mark.parametrize(
    ("setting", "test", "expected"),
    [
        ("sayers", "squat jump", 60.7 * 40 + 45.3 * 77.5 - 2055),
        ("sayers", "countermovement jump", 51.9 * 40 + 48.9 * 77.5 - 2007),
        ("harman", "squat jump", 61.9 * 40 + 36.0 * 77.5 - 1822),
        ("harman", "countermovement jump", 61.9 * 40 + 36.0 * 77.5 - 1822),
    ],
)
def test_the_battery_chooses_the_equation_and_the_flag_names_it(
    tmp_path: Path, setting: str, test: str, expected: float
) -> None:
    files = jump_sheet(f"gym,{ADULT},{test},1,,hips,,40.0,")
    files["battery.toml"] = f'peak_power_equation = "{setting}"\n'
    computed = tables(tmp_path, files)
    row = one(computed, "peak_power")
    assert row["value"] == pytest.approx(expected)
    assert row["basis"] == "estimated"
    assert row["flags"] == f"{setting.capitalize()} equation"
    assert one(computed, "relative_peak_power")["value"] == pytest.approx(expected / 77.5)


def test_power_has_its_population_and_no_power_for_other_jumps(tmp_path: Path) -> None:
    """Made on adults of college age (Sayers et al. 1999, abstract seen)."""
    computed = tables(
        tmp_path,
        jump_sheet(
            f"gym,{YOUNG},countermovement jump,1,,hips,,30.0,",
            f"gym,{ADULT},single-leg jump,1,left,hips,,25.0,",
        ),
    )
    row = one(computed, "peak_power")
    assert row["athlete_id"] == YOUNG
    assert power.OUTSIDE in row["flags"]


def test_an_age_not_known_is_said(tmp_path: Path) -> None:
    files = jump_sheet(f"gym,{ADULT},countermovement jump,1,,hips,,30.0,")
    files["roster.csv"] = seasons.ROSTER.replace("2004-11-02", "")
    assert power.AGE_UNKNOWN in one(tables(tmp_path, files), "peak_power")["flags"]


def test_days_of_estimated_power_are_never_set_side_by_side(tmp_path: Path) -> None:
    files = jump_sheet(f"gym,{ADULT},countermovement jump,1,,hips,,42.0,") | {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/body.csv": seasons.BODY,
        f"{SPRING}/jumps.csv": sheet(ARMS, [f"gym,{ADULT},countermovement jump,1,,hips,,40.0,"]),
        f"{DAY_FOLDER}/body.csv": None,
    }
    computed = tables(tmp_path, files)
    assert len(of(computed, "peak_power")) == 2
    now = of(computed, "peak_power").sort_values("day").iloc[-1]
    assert "body mass taken 123 days before" in now["flags"]
    changed = set(computed.tables["changes"]["measure"])
    assert "jump_height" in changed
    assert not changed & {"peak_power", "relative_peak_power"}


def test_a_small_jumper_keeps_the_jump_where_the_line_falls_below_nothing(tmp_path: Path) -> None:
    """25 kg, 10 cm would be -265 W: no power, and neither jump nor weighing set aside."""
    files = jump_sheet(f"gym,{YOUNG},countermovement jump,1,,hips,,10.0,")
    files[f"{DAY_FOLDER}/body.csv"] = f"session,athlete_id,body_mass_kg\ngym,{YOUNG},25.0\n"
    computed = tables(tmp_path, files)
    assert of(computed, "peak_power").empty
    assert one(computed, "jump_height")["value"] == pytest.approx(10.0)
    assert codes(computed) == set()


# --- sides -------------------------------------------------------------------------------------


def test_the_equation_of_the_difference_is_of_the_stronger_side() -> None:
    """Bishop et al. 2016: for 25 and 20, 20 % of the stronger, 25 % of the weaker (recomputed)."""
    value = sides.asymmetry(np.array([25.0]), np.array([20.0]))[0]
    assert value == pytest.approx(20.0)
    assert value != pytest.approx(25.0)


def test_sides_of_jumps_hops_and_lifts_with_their_interval(tmp_path: Path) -> None:
    lifts = sheet(
        "session,athlete_id,lift,side,load_kg,reps,result,maximal",
        [
            f"gym,{ADULT},split squat,left,80,1,good,yes",
            f"gym,{ADULT},split squat,right,72,1,good,yes",
        ],
    )
    files = jump_sheet(
        f"gym,{ADULT},single-leg jump,1,left,hips,,20.0,",
        f"gym,{ADULT},single-leg jump,1,right,hips,,25.0,",
        f"gym,{ADULT},triple hop,1,left,free,,,6.00",
        f"gym,{ADULT},triple hop,1,right,free,,,6.00",
    ) | {f"{DAY_FOLDER}/lifts.csv": lifts}
    rows = of(tables(tmp_path, files), "asymmetry").set_index("test")
    assert rows["value"].to_dict() == pytest.approx(
        {"single-leg jump": 20.0, "triple hop": 0.0, "split squat": 10.0}
    )
    assert [sides.weaker_side(f) for f in rows["flags"].reindex(
        ["single-leg jump", "triple hop", "split squat"])] == ["left", "", "right"]  # fmt: skip
    # 90 % interval: 1.645 · √2 · typical error · ratio; 4.5 % is carried over from the squat jump
    half = 1.6449 * math.sqrt(2) * 4.5 * 0.8
    jump = rows.loc["single-leg jump"]
    assert (jump["low"], jump["high"]) == pytest.approx((20 - half, 20 + half), abs=1e-3)
    assert jump["conditions"] == "arms=hips"


def test_sides_written_short_or_with_capitals_are_the_same_sides(tmp_path: Path) -> None:
    computed = tables(
        tmp_path,
        jump_sheet(
            f"gym,{ADULT},single-leg jump,1,L,hips,,20.0,",
            f"gym,{ADULT},single-leg jump,1,Right,hips,,25.0,",
        ),
    )
    assert set(of(computed, "jump_height")["part"]) == {"left", "right"}
    assert sides.weaker_side(one(computed, "asymmetry")["flags"]) == "left"


def test_sides_under_other_conditions_make_no_pair(tmp_path: Path) -> None:
    computed = tables(
        tmp_path,
        jump_sheet(
            f"gym,{ADULT},single-leg jump,1,left,hips,,20.0,",
            f"gym,{ADULT},single-leg jump,1,right,free,,25.0,",
        ),
    )
    assert of(computed, "asymmetry").empty


def difference(day: str, low: float, side: str, conditions: str = "arms=hips") -> dict[str, object]:
    return {
        "day": day, "test": "single-leg jump", "conditions": conditions, "basis": "measured",
        "low": low, "flags": f"weaker side: {side}",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("now", "then", "due"),
    [
        (("2026-09-15", 3.0, "left"), [("2026-05-15", 2.0, "left")], True),
        (("2026-09-15", 3.0, "left"), [("2026-05-15", 2.0, "right")], False),
        (("2026-09-15", 3.0, "left"), [("2026-05-15", -1.0, "left")], False),
        (("2026-09-15", -1.0, "left"), [("2026-05-15", 2.0, "left")], False),
        (("2026-09-15", 3.0, "left"), [], False),
        # only the last comparable day counts
        (
            ("2026-09-15", 3.0, "left"),
            [("2026-01-15", 2.0, "left"), ("2026-05-15", 2.0, "right")],
            False,
        ),
        (("2026-09-15", 3.0, "left"), [("2026-05-15", 2.0, "left", "arms=free")], False),
    ],
)
def test_an_alarm_needs_two_days_beyond_error_with_one_weaker_side(
    now: tuple[str, float, str],
    then: list[tuple[str, float, str]],
    due: bool,
) -> None:
    columns = list(difference("", 0, ""))
    earlier = pd.DataFrame([difference(*t) for t in then], columns=columns)
    assert (sides.lasting(pd.Series(difference(*now)), earlier) is not None) is due


# --- drop jumps --------------------------------------------------------------------------------

DROPS = "session,athlete_id,attempt,drop_height_cm,contact_time_s,flight_time_s"


def drop_sheet(strengths: Mapping[int, float], contact: float = 0.180) -> dict[str, str | None]:
    """Drop jumps with a wanted RSI (m/s) from each height (cm)."""
    lines = []
    for number, (drop, strength) in enumerate(strengths.items(), start=1):
        flight = math.sqrt(8 * strength * contact / STANDARD_GRAVITY)
        lines.append(f"gym,{ADULT},{number},{drop},{contact:.3f},{flight:.6f}")
    return {f"{DAY_FOLDER}/drop_jumps.csv": sheet(DROPS, lines)}


@pytest.mark.parametrize(
    ("strengths", "best", "flag"),
    [
        ({20: 1.80, 30: 2.20, 40: 1.90}, 30, ""),
        ({20: 1.80, 30: 2.20, 40: 2.15}, 30, "plateau 30\u201340 cm"),
        ({20: 2.10, 30: 2.20, 40: 2.15}, 30, "plateau 20\u201340 cm"),
        ({20: 1.80, 30: 2.00, 40: 2.30}, 40, drop_jumps.RISING),
        # 20 cm is as good as 40 cm and no neighbour of it
        ({20: 2.28, 30: 2.00, 40: 2.30}, 40, drop_jumps.RISING),
    ],
)
def test_the_best_drop_height_is_that_of_the_greatest_rsi(
    tmp_path: Path, strengths: dict[int, float], best: int, flag: str
) -> None:
    """Incremental test, Byrne et al. 2017, JSCR 31:721 (seen); the plateau's rule is our own."""
    row = one(tables(tmp_path, drop_sheet(strengths)), "best_drop_height")
    assert row["value"] == pytest.approx(best)
    assert row["flags"] == flag


def test_two_heights_are_too_few_for_a_best_one(tmp_path: Path) -> None:
    assert of(tables(tmp_path, drop_sheet({20: 1.8, 30: 2.0})), "best_drop_height").empty


@pytest.mark.parametrize(("contact", "slow"), [(0.249, False), (0.250, True), (0.300, True)])
def test_contacts_of_250_ms_and_more_are_slow(tmp_path: Path, contact: float, slow: bool) -> None:
    """Under 250 ms fast: Schmidtbleicher 1992 (second-hand)."""
    row = one(tables(tmp_path, drop_sheet({30: 1.2}, contact)), "rsi")
    assert ("slow stretch-shortening" in row["flags"]) is slow


def test_rsi_is_height_over_contact_and_a_ratio_of_times(tmp_path: Path) -> None:
    """RSI = (g/8) FT²/CT, Healy et al. 2018 (seen); height and contact are of the same jump."""
    files = {
        f"{DAY_FOLDER}/drop_jumps.csv": sheet(
            DROPS, [f"gym,{ADULT},1,40,0.200,0.500", f"gym,{ADULT},2,40,0.300,0.560"]
        )
    }
    computed = tables(tmp_path, files)
    height, contact, rsi, ratio = (
        one(computed, key)["value"]
        for key in ("jump_height", "contact_time", "rsi", "flight_contact_ratio")
    )
    assert contact == pytest.approx(0.200)  # not the second's, which is higher and longer
    assert rsi == pytest.approx(height / 100 / contact)
    assert rsi == pytest.approx(STANDARD_GRAVITY / 8 * 0.5**2 / 0.2)
    assert rsi == pytest.approx(STANDARD_GRAVITY / 8 * ratio**2 * contact)


def then_and_now(height: float, contact: float) -> tuple[dict[str, float], dict[str, float]]:
    steps = {"height_step": 0.12, "contact_step": 0.001}
    return {"height": 30.0, "contact": 0.200, **steps}, {
        "height": height, "contact": contact, **steps
    }  # fmt: skip


@pytest.mark.parametrize(
    ("height", "contact", "what"),
    [
        (33.0, 0.200, "height"),
        (30.0, 0.170, "contact"),
        (33.0, 0.185, "both"),
        (30.1, 0.2005, "neither"),
        (28.0, 0.170, "contact"),  # the jump fell, the contact fell by more: RSI rose
    ],
)
def test_what_moved_is_named_from_the_shares_of_the_change(
    height: float, contact: float, what: str
) -> None:
    """The logarithms of height and contact add up to that of the RSI: exact."""
    assert drop_jumps.moved(*then_and_now(height, contact)) == what


# --- rebounds ----------------------------------------------------------------------------------

REBOUNDS = "session,athlete_id,test,attempt,rep,arms,contact_time_s,flight_time_s"


def rebound_sheet(test: str, contacts: list[tuple[float, float]]) -> dict[str, str | None]:
    lines = [
        f"gym,{ADULT},{test},1,{rep},hips,{contact},{flight}"
        for rep, (contact, flight) in enumerate(contacts, start=1)
    ]
    return {f"{DAY_FOLDER}/rebounds.csv": sheet(REBOUNDS, lines)}


TEN = [
    (0.260, 0.600), (0.210, 0.480), (0.205, 0.490), (0.200, 0.500), (0.195, 0.505),
    (0.190, 0.510), (0.190, 0.515), (0.185, 0.520), (0.251, 0.620), (0.250, 0.610),
]  # fmt: skip
"""Three of 250 ms and more, whose RSI would be among the best."""


def strengths(contacts: list[tuple[float, float]]) -> list[float]:
    return [STANDARD_GRAVITY / 8 * flight**2 / contact for contact, flight in contacts]


def test_of_ten_the_five_best_under_250_ms_are_averaged(tmp_path: Path) -> None:
    """Harper et al. 2011, ten to five (rule second-hand, the limit from memory)."""
    computed = tables(tmp_path, rebound_sheet("ten rebounds", TEN))
    fast = sorted((c for c in TEN if c[0] < 0.250), key=lambda c: -(c[1] ** 2) / c[0])[:5]
    assert one(computed, "rsi")["value"] == pytest.approx(np.mean(strengths(fast)))
    assert one(computed, "contact_time")["value"] == pytest.approx(np.mean([c for c, _ in fast]))
    heights = [100 * STANDARD_GRAVITY / 8 * flight**2 for _, flight in fast]
    assert one(computed, "jump_height")["value"] == pytest.approx(np.mean(heights))
    row = one(computed, "rsi")
    assert row["flags"] == "mean of the 5 best contacts under 250 ms"
    assert (row["n_attempts"], row["test"]) == (1, "ten rebounds")
    assert len(row["source"].split(";")) == 10  # contact and flight of five
    assert codes(computed) == set()


def test_of_five_the_first_is_left_out(tmp_path: Path) -> None:
    """Lloyd et al. 2009, J Sports Sci 27:1565 (five: second-hand; the first left out: memory)."""
    five = [(0.150, 0.600), *TEN[1:4], (0.260, 0.450)]
    computed = tables(tmp_path, rebound_sheet("five rebounds", five))
    assert one(computed, "rsi")["value"] == pytest.approx(np.mean(strengths(five[1:])))
    assert one(computed, "rsi")["flags"] == "mean of contacts 2 to 5"


@pytest.mark.parametrize(
    ("test", "contacts"),
    [("ten rebounds", [*TEN[:4], *TEN[8:]]), ("five rebounds", TEN[:4])],
)
def test_too_few_contacts_give_no_value_and_a_finding(
    tmp_path: Path, test: str, contacts: list[tuple[float, float]]
) -> None:
    computed = tables(tmp_path, rebound_sheet(test, contacts))
    assert of(computed, "rsi").empty
    assert codes(computed) == {"rebounds-short"}


def test_of_two_series_the_one_with_the_greater_mean_stands_whole(tmp_path: Path) -> None:
    better = [(c, f + 0.02) for c, f in TEN]
    files = rebound_sheet("ten rebounds", TEN)
    path = f"{DAY_FOLDER}/rebounds.csv"
    second = str(rebound_sheet("ten rebounds", better)[path]).splitlines()[1:]
    files[path] = (
        str(files[path]) + "\n".join(line.replace(",1,", ",2,", 1) for line in second) + "\n"
    )
    row = one(tables(tmp_path, files), "rsi")
    fast = sorted((c for c in better if c[0] < 0.250), key=lambda c: -(c[1] ** 2) / c[0])[:5]
    assert row["value"] == pytest.approx(np.mean(strengths(fast)))


def test_a_contact_nobody_has_and_a_contact_twice_are_set_aside(tmp_path: Path) -> None:
    files = rebound_sheet("ten rebounds", [*TEN[:8], (0.190, 5.10), (0.190, 0.510)])
    path = f"{DAY_FOLDER}/rebounds.csv"
    files[path] = str(files[path]) + f"gym,{ADULT},ten rebounds,1,2,hips,0.180,0.560\n"
    computed = tables(tmp_path, files)
    assert codes(computed) == {"value-implausible", "rebound-twice"}
    good = sorted((c for c in [*TEN[1:8], (0.190, 0.510)]), key=lambda c: -(c[1] ** 2) / c[0])[:5]
    assert one(computed, "rsi")["value"] == pytest.approx(np.mean(strengths(good)))


def test_series_of_ten_and_of_five_are_never_compared(tmp_path: Path) -> None:
    files = rebound_sheet("ten rebounds", TEN) | {
        f"{SPRING}/day.toml": SPRING_DAY,
        f"{SPRING}/rebounds.csv": rebound_sheet("five rebounds", TEN[:5])[
            f"{DAY_FOLDER}/rebounds.csv"
        ],
    }
    computed = tables(tmp_path, files)
    assert len(of(computed, "rsi")) == 2
    assert computed.tables["changes"].empty


def test_a_rebound_test_needs_a_series_that_has_a_rule(tmp_path: Path) -> None:
    season = seasons.write(
        tmp_path, {"battery.toml": '[tests."six hops"]\nkind = "rebound"\nrebounds = 6\n'}
    )
    _, findings = batteries.load(season)
    assert {f.code for f in findings} == {"battery-value"}


# --- distance ----------------------------------------------------------------------------------


def test_bounds_and_hops_for_distance_are_tests_of_the_battery(tmp_path: Path) -> None:
    computed = tables(
        tmp_path,
        jump_sheet(
            f"gym,{ADULT},triple bound,1,,free,,,8.12",
            f"gym,{ADULT},five bounds,1,,free,,,14.05",
            f"gym,{ADULT},triple hop,1,left,free,,,6.90",
        ),
    )
    found = of(computed, "distance")
    assert dict(zip(found["test"], found["value"], strict=True)) == {
        "triple bound": 8.12,
        "five bounds": 14.05,
        "triple hop": 6.90,
    }
    assert set(found[found["test"] == "triple hop"]["part"]) == {"left"}
    assert codes(computed) == set()


# --- the instrument ----------------------------------------------------------------------------

HEIGHT, RSI, CONTACT = (MEASURES[k] for k in ("jump_height", "rsi", "contact_time"))


def flight_file(times: list[str], head: str = "flight_time_s", more: str = "") -> str:
    lines = [f"gym,{ADULT},countermovement jump,{n},hips,{t}{more}" for n, t in enumerate(times, 1)]
    return sheet(f"session,athlete_id,test,attempt,arms,{head}", lines)


def height_of(folder: Path, content: str, day: str = seasons.DAY) -> pd.Series:
    files = {f"{DAY_FOLDER}/jumps.csv": content, f"{DAY_FOLDER}/day.toml": day}
    return one(tables(folder, files), "jump_height")


def test_a_step_of_the_mat_moves_the_height_as_the_table_says(tmp_path: Path) -> None:
    """dh/dt = g t / 4: ``flight_time_height.csv``, m for each ms (recomputed)."""
    table = pd.read_csv(REFERENCE / "flight_time_height.csv", dtype={"flight_time_s": str})
    for number, row in table.iterrows():
        time = row["flight_time_s"][:5]
        found = height_of(tmp_path / str(number), flight_file([time]))
        assert found["resolution"] == pytest.approx(100 * float(row["d_height_m_per_ms"]), abs=6e-5)
        exact = 100 * STANDARD_GRAVITY * float(time) / 4 * 0.001
        assert found["resolution"] == pytest.approx(exact, rel=1e-9)


def test_a_millisecond_at_half_a_second_leaves_one_decimal(tmp_path: Path) -> None:
    row = height_of(tmp_path, flight_file(["0.519"]))
    assert row["resolution"] == pytest.approx(0.1272, abs=1e-4)
    assert wording.value(row["value"], HEIGHT, row["resolution"]) == "33.0 cm"
    assert wording.half_step(HEIGHT, row["resolution"]) == "\u00b1 0.06 cm"


@pytest.mark.parametrize(
    ("head", "time", "more"),
    [
        ("flight_time_s,fps", "0.521", ",240"),
        ("flight_time_ms,fps", "521", ",240"),
        ("flight_time_frames,fps", "125", ",240"),
    ],
)
def test_film_of_240_frames_leaves_no_decimal(
    tmp_path: Path, head: str, time: str, more: str
) -> None:
    """One frame either way, 2/240 s, however the time is written: g t / 4 · 2/240 = 1.06 cm."""
    row = height_of(tmp_path, flight_file([time], head, more))
    assert row["resolution"] == pytest.approx(
        100 * STANDARD_GRAVITY * 0.521 / 4 * 2 / 240, rel=1e-3
    )
    assert wording.value(row["value"], HEIGHT, row["resolution"]) == "33 cm"


def test_two_films_in_one_column_keep_each_its_own_step(tmp_path: Path) -> None:
    lines = [
        f"gym,{ADULT},countermovement jump,1,hips,60,120",
        f"gym,{YOUNG},countermovement jump,1,hips,120,240",
    ]
    head = "session,athlete_id,test,attempt,arms,flight_time_frames,fps"
    computed = tables(tmp_path, {f"{DAY_FOLDER}/jumps.csv": sheet(head, lines)})
    steps = of(computed, "jump_height").set_index("athlete_id")["resolution"]
    assert steps[ADULT] == pytest.approx(2 * steps[YOUNG], rel=1e-9)


@pytest.mark.parametrize(("stated", "factor"), [("10", 10), ("1", 1), ("0.1", 1)])
def test_a_mats_clock_counts_where_it_is_coarser_than_the_digits(
    tmp_path: Path, stated: str, factor: float
) -> None:
    gym = seasons.DAY + f"resolution_ms = {stated}\n"
    row = height_of(tmp_path, flight_file(["0.519"]), gym)
    exact = 100 * STANDARD_GRAVITY * 0.519 / 4 * 0.001 * factor
    assert row["resolution"] == pytest.approx(exact, rel=1e-9)


def test_a_mats_clock_of_the_day_leaves_the_gates_alone(tmp_path: Path) -> None:
    day = seasons.DAY.replace("\n[session.track]", "resolution_ms = 20\n\n[session.track]", 1)
    computed = tables(
        tmp_path,
        {f"{DAY_FOLDER}/day.toml": day, f"{DAY_FOLDER}/sprints.csv": seasons.SPRINTS},
    )
    assert of(computed, "time")["resolution"].to_list() == pytest.approx([0.01, 0.01])


def test_a_film_of_a_sprint_is_read_to_a_frame_either_way(tmp_path: Path) -> None:
    """50 frames a second: 0.04 s a gate, and twice that over two stretches added up."""
    lines = [f"track,{ADULT},60 m,1,video,50,2.04,2.24"]
    head = "session,athlete_id,test,attempt,timing,fps,s0_10_s,s10_30_s"
    computed = tables(tmp_path, {f"{DAY_FOLDER}/sprints.csv": sheet(head, lines)})
    steps = of(computed, "split_time").set_index("part")["resolution"]
    assert steps.to_dict() == pytest.approx({"10 m": 0.04, "30 m": 0.08})


def test_a_clock_that_is_no_clock_is_a_finding(tmp_path: Path) -> None:
    files = {
        f"{DAY_FOLDER}/jumps.csv": flight_file(["0.519"]),
        f"{DAY_FOLDER}/day.toml": seasons.DAY + "resolution_ms = 0\n",
    }
    assert codes(tables(tmp_path, files)) == {"day-value"}


def test_the_step_reaches_contact_and_rsi(tmp_path: Path) -> None:
    """Both inputs of a 10 ms mat move the RSI; their effects are added."""
    files = drop_sheet({30: 2.0}) | {f"{DAY_FOLDER}/day.toml": seasons.DAY + "resolution_ms = 10\n"}
    computed = tables(tmp_path, files)
    contact, rsi = one(computed, "contact_time"), one(computed, "rsi")
    assert contact["resolution"] == pytest.approx(0.010)
    assert wording.value(contact["value"], CONTACT, contact["resolution"]) == "0.18 s"
    flight = math.sqrt(8 * 2.0 * 0.18 / STANDARD_GRAVITY)
    assert rsi["resolution"] == pytest.approx(2.0 * (2 * 0.01 / flight + 0.01 / 0.18), rel=0.01)
    assert wording.value(rsi["value"], RSI, rsi["resolution"]) == "2.0 m/s"


@pytest.mark.parametrize(
    ("step", "digits"), [(0.1226, 1), (1.02, 0), (0.001, 1), (20.0, 0), (None, 1), (math.nan, 1)]
)
def test_the_last_digit_is_the_decade_nearest_the_step(step: float | None, digits: int) -> None:
    assert wording.digits(HEIGHT, step) == digits


def test_latitude_moves_a_height_by_less_than_a_third_of_a_percent() -> None:
    """Normal gravity by latitude, WGS 84 (constants second-hand): the standard value stays.

    Equator -0.268 %, pole +0.260 % of the standard 9.80665 m/s²; at 45° -0.005 %. A jump of 40 cm
    is 0.11 cm off at worst, under the step of a 1 ms mat.
    """
    table = pd.read_csv(REFERENCE / "normal_gravity.csv").set_index("latitude_deg")
    apart = table["g_wgs84_m_s2"] / STANDARD_GRAVITY - 1
    assert apart.abs().max() < 0.003
    assert 100 * apart[0] == pytest.approx(-0.268, abs=0.001)
    assert 100 * apart[90] == pytest.approx(0.260, abs=0.001)
    flights = pd.read_csv(REFERENCE / "flight_time_height.csv")
    spread = flights["height_m_pole"] - flights["height_m_equator"]
    assert (spread / flights["height_m_g9.80665"]).max() < 0.0054
    assert 40 * apart.abs().max() < 100 * STANDARD_GRAVITY * math.sqrt(8 * 0.4 / 9.8) / 4 * 0.001
