"""Cells with a unit of their own, against the exact definitions of the units.

1 in = 25.4 mm, 1 ft = 12 in, 1 yd = 3 ft, 1 lb = 0.45359237 kg (international yard and pound
agreement, 1959) and 1 stone = 14 lb, all from memory and exact; nothing here asks the project.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake import amounts
from pipeline.intake.amounts import Amount
from pipeline.measures.spec import SET_ASIDE, USED
from pipeline.units import HEADING_UNITS
from tests.intake.small import adds_up, conditions, found, message, read, recorded, states

INCH, POUND = Fraction(254, 10_000), Fraction(45359237, 10**8)
"""In metres and kilograms."""
FOOT, YARD, STONE = 12 * INCH, 36 * INCH, 14 * POUND

seldom = settings(derandomize=True, database=None, max_examples=150)


def si(amount: Amount | None) -> float:
    assert amount is not None
    assert amount.unit is not None
    return amount.value * amount.unit.factor


@pytest.mark.parametrize(
    ("heading", "text", "exact", "step"),
    [
        ("cm", "6'2\"", 74 * INCH, INCH),
        ("cm", "6' 2\"", 74 * INCH, INCH),
        ("cm", "6'2", 74 * INCH, INCH),
        ("cm", "6'2''", 74 * INCH, INCH),
        ("cm", "6\u20192\u201d", 74 * INCH, INCH),
        ("cm", "6\u20322\u2033", 74 * INCH, INCH),
        ("m", "6 ft 2 in", 74 * INCH, INCH),
        ("m", "6ft 2.5in", Fraction(149, 2) * INCH, INCH / 10),
        ("cm", "6 feet 2 inches", 74 * INCH, INCH),
        ("cm", "74 in", 74 * INCH, INCH),
        ("cm", "74,5 in", Fraction(149, 2) * INCH, INCH / 10),
        ("in", "188 cm", Fraction(188, 100), Fraction(1, 100)),
        ("cm", "5'", 5 * FOOT, FOOT),
        ("m", "40 yd", 40 * YARD, YARD),
        ("yd", "40", 40 * YARD, YARD),
        ("ft_in", "6-2", 74 * INCH, INCH),
        ("ft_in", "6'2\"", 74 * INCH, INCH),
        ("ft_in", "188 cm", Fraction(188, 100), Fraction(1, 100)),
        ("kg", "225 lb", 225 * POUND, POUND),
        ("kg", "225lbs.", 225 * POUND, POUND),
        ("kg", "10 st 4", 144 * POUND, POUND),
        ("kg", "10 st 4 lb", 144 * POUND, POUND),
        ("lb", "10 stone 4.5 pounds", Fraction(289, 2) * POUND, POUND / 10),
        ("kg", "10 st", 10 * STONE, STONE),
        ("st", "10.5", Fraction(21, 2) * STONE, STONE / 10),
        ("st_lb", "10-4", 144 * POUND, POUND),
        ("s", "511 ms", Fraction(511, 1000), Fraction(1, 1000)),
        ("ms", "0.511 s", Fraction(511, 1000), Fraction(1, 1000)),
        ("mps", "-0.3 m/s", Fraction(-3, 10), Fraction(1, 10)),
        ("mps", "36 km/h", Fraction(10), Fraction(1000, 3600)),
    ],
)
def test_a_cell_is_read_in_the_unit_it_names(
    heading: str, text: str, exact: Fraction, step: Fraction
) -> None:
    amount = amounts.read(text, HEADING_UNITS[heading])
    assert si(amount) == pytest.approx(float(exact), rel=1e-14)
    assert amount is not None
    assert amount.unit is not None
    assert amount.step * amount.unit.factor == pytest.approx(float(step), rel=1e-12)


@pytest.mark.parametrize(
    ("heading", "text"),
    [
        ("cm", "6-2"),  # what the hyphen parts, only a heading can say
        ("m", "2-Jun"),
        ("ft_in", "2026-06-02"),
        ("ft_in", "6"),
        ("ft_in", "74"),
        ("ft_in", "6.2"),
        ("ft_in", "6-12"),
        ("ft_in", "6'14\""),
        ("st_lb", "10-14"),
        ("st_lb", "144"),
        ("kg", "10 st 14"),
        ("kg", "10 st 4 kg"),
        ("kg", "10-4"),
        ("cm", "62 1/2 in"),
        ("cm", "6 2"),
        ("s", "7:42"),
        ("s", "1 min 7 s"),
        ("kg", "about 80 kg"),
        ("kg", "80 kg?"),
    ],
)
def test_what_may_mean_two_things_is_not_read(heading: str, text: str) -> None:
    assert amounts.read(text, HEADING_UNITS[heading]) is None


@seldom
@given(st.integers(0, 9), st.integers(0, 119), st.sampled_from(["{}'{}\"", "{} ft {} in", "{}-{}"]))
def test_feet_and_inches_come_back(feet: int, tenths: int, form: str) -> None:
    text = form.format(feet, f"{tenths / 10:g}")
    back = si(amounts.read(text, HEADING_UNITS["ft_in"])) / float(INCH)
    assert back == pytest.approx(12 * feet + tenths / 10, rel=1e-12, abs=1e-12)
    assert divmod(round(back * 10), 120) == (feet, tenths)


@seldom
@given(st.integers(0, 30), st.integers(0, 13), st.sampled_from(["{} st {}", "{}st{}lb", "{}-{}"]))
def test_stones_and_pounds_come_back(stones: int, pounds: int, form: str) -> None:
    back = si(amounts.read(form.format(stones, pounds), HEADING_UNITS["st_lb"])) / float(POUND)
    assert divmod(round(back), 14) == (stones, pounds)
    assert back == pytest.approx(14 * stones + pounds, rel=1e-12, abs=1e-12)


@seldom
@given(
    st.integers(1, 10**5),
    st.sampled_from([("lb", "kg"), ("st", "lb"), ("in", "cm"), ("yd", "m"), ("ft", "in")]),
)
def test_a_unit_under_the_heading_of_another_is_the_same_amount(
    hundredths: int, units: tuple[str, str]
) -> None:
    own, other = units
    number = f"{hundredths / 100:.2f}"
    under_own = amounts.read(number, HEADING_UNITS[own])
    assert amounts.read(f"{number} {own}", HEADING_UNITS[other]) == under_own
    assert amounts.read(f"{number} {own}", HEADING_UNITS[own]) == under_own


@seldom
@given(st.text(max_size=12), st.sampled_from(sorted(HEADING_UNITS)))
def test_no_text_makes_the_reader_raise(text: str, heading: str) -> None:
    amount = amounts.read(text, HEADING_UNITS[heading])
    assert amount is None or amount.step > 0


# --- at the door ------------------------------------------------------------------------------


def test_heights_of_four_kinds_in_one_column_are_one_height(tmp_path: Path) -> None:
    cells = ["188", '"6\'2"""', "74 in", "188.0 cm"]
    rows = [f"A0{n % 3 + 1},{cell}" for n, cell in enumerate(cells)]
    day = read(tmp_path, {"body.csv": "athlete_id,height_cm\n" + "\n".join(rows) + "\n"})
    assert [code for code, _, _ in found(day)] == ["unit-own", "unit-own"]
    assert day.trials.used("height")["value"].tolist() == pytest.approx(
        [1.88, float(74 * INCH), float(74 * INCH), 1.88]
    )
    assert states(day, "body.csv") == (4, 4, 0, 0)
    # an inch is a coarser step than a tenth of a centimetre, whatever its neighbours show
    assert day.trials.used("height")["resolution"].tolist() == pytest.approx(
        [0.01, 0.0254, 0.0254, 0.001]
    )


@pytest.mark.parametrize("cell", ["74", "2026-06-02", "6.2"])
def test_a_pair_s_column_says_what_to_write_instead(tmp_path: Path, cell: str) -> None:
    day = read(tmp_path, {"body.csv": f"athlete_id,height_ft_in\nA01,{cell}\n"})
    ((code, row, column),) = found(day)
    assert (code, row, column) == (
        "cell-as-date" if "-" in cell else "unit-pair", 2, "height_ft_in",
    )  # fmt: skip
    assert states(day, "body.csv") == (1, 0, 0, 1)


def test_a_unit_of_another_dimension_sets_the_value_aside(tmp_path: Path) -> None:
    day = read(tmp_path, {"body.csv": "athlete_id,body_mass_kg,height_cm\nA01,168 cm,168\n"})
    assert found(day) == [("unit-other", 2, "body_mass_kg")]
    assert "body_mass_kg" in message(day, "unit-other")
    assert recorded(day, "body_mass") == [("168 cm", SET_ASIDE)]
    assert recorded(day, "height") == [("168", USED)]
    assert adds_up(day)


def test_a_length_that_is_a_condition_may_name_its_own_unit(tmp_path: Path) -> None:
    text = "athlete_id,drop_height_cm,contact_time_s,flight_time_s\nA01,12 in,0.180,0.480\n"
    day = read(tmp_path, {"drop_jumps.csv": text})
    assert ("unit-own", 2, "drop_height_cm") in found(day)
    assert conditions(day)["drop_height_m"] == "0.3048"


def test_a_count_has_no_unit(tmp_path: Path) -> None:
    day = read(tmp_path, {"lifts.csv": "athlete_id,lift,load_kg,reps\nA02,back squat,80,5 kg\n"})
    assert ("value-unreadable", 2, "reps") in found(day)
