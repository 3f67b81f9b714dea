"""Numbers, dates and sentences: one catalogue, every entry used, every detail there."""

from __future__ import annotations

import math
import re
import string
from pathlib import Path

import pytest

from pipeline import tables
from pipeline.catalogue import CATALOGUE
from pipeline.compare import (
    followed,
    norms,
    phase_reference,
    phase_table,
    relations,
)
from pipeline.measures.registry import MEASURES
from pipeline.report import appendix, grid, wording
from pipeline.report.saying import BASES
from pipeline.report.wording import SENTENCES, say

SOURCES = "\n".join(
    p.read_text()
    for p in sorted((Path(__file__).parents[2] / "pipeline").rglob("*.py"))
    if p.name != "wording.py"
)
PAGES = "\n".join(
    p.read_text()
    for p in sorted((Path(__file__).parents[2] / "pipeline").rglob("*.py"))
    if "from pipeline.report.wording import say" in p.read_text()
)
"""What says a sentence of this catalogue; ``forms`` has one of its own."""
NO_LINE = [
    getattr(phase_reference, name)
    for name in ("NO_SEX", "TOO_FEW", "OUTSIDE", "NOT_FROM_MOVEMENT", "ONE_PHASE", "NO_RANGE")
]
NO_PHASES = ["one", "gate"]
"""Why a page says nothing of a sprint's phases though others are there to be held against."""
OWN = (Path(wording.__file__)).read_text().split("def say(")[1]
BUILT = (
    "did ",
    "is ",
    "name ",
    "why ",
    "rung ",
    "sure ",
    "headline ",
    "verdict word ",
    "col clearly ",
    "col steady",
    "col cannot tell",
    "retest ",
    "again ",
    "state ",
    "line off ",
    "line ",
    "phase found ",
    "became ",
    "sign ",
    "field ",
    "terse ",
    "off grid ",
    "says ",
    "since changed",
    "since new",
    "since templates",
    "since versions",
    "goal ",
    "sex ",
    "like ",
    "beside ",
    "thin ",
    "where line ",
    "target state ",
    "chosen why ",
    *(f"traces {w} " for w in ("caption", "col", "phase", "moment", "axis")),
)
"""Beginnings of keys that code puts together."""


def test_every_sentence_is_said_somewhere() -> None:
    unused = [
        key
        for key in SENTENCES
        if not key.startswith(BUILT)
        and not any(f"{quote}{key}{quote}" in SOURCES + OWN for quote in "\"'")
    ]
    assert unused == []


def test_what_code_puts_together_has_its_sentences_and_no_other() -> None:
    held = {
        "why ": set(tables.REASONS),
        "rung ": {norms.OWN_BAND, norms.OWN_EVENT, norms.STAFF_TABLE},
        "again ": {*tables.RETESTS},
        "became ": {followed.NOT_RUN, followed.FIRST_MARK, followed.NO_PHASE},
        "line off ": {
            phase_reference.NO_SEX,
            phase_reference.TOO_FEW,
            phase_reference.OUTSIDE,
            phase_reference.NOT_FROM_MOVEMENT,
            phase_reference.ONE_PHASE,
            phase_reference.NO_RANGE,
        },
        "phase found ": {tables.STANDS_OUT, tables.MOST_TO_GAIN},
        "field ": set(grid.STATES),
        "terse ": set(grid.STATES),
        "off grid ": {"weighed", "away", "unseen", "walk-ins", "nobody"},
        "sign ": {tables.LAGS, tables.FELL, tables.OFF},
        "verdict word ": {
            tables.BETTER,
            tables.WORSE,
            tables.STEADY,
            tables.CANNOT_TELL,
            tables.NOT_COMPARABLE,
            "",
        },
        "like ": {tables.PUBLISHED_LINE, tables.SQUAD_LINE},
        "where line ": {tables.PUBLISHED_LINE, tables.SQUAD_LINE},
        "beside ": {norms.OWN_BAND, norms.OWN_EVENT, phase_table.OWN_AGE, phase_table.OWN_SEX},
        "thin why ": {*NO_LINE, *NO_PHASES},
        "thin help ": {*NO_LINE, *NO_PHASES},
        "target state ": {tables.REACHED, tables.OPEN, tables.LATE, tables.NO_VALUE},
        "chosen why ": {followed.NOT_RUN, followed.FIRST_MARK, followed.NO_PHASE},
    }
    for start, wanted in held.items():
        assert {key.removeprefix(start) for key in SENTENCES if key.startswith(start)} == wanted
    assert {f"sure {basis}" for basis in BASES} <= set(SENTENCES)
    states = (
        tables.STANDS_OUT, tables.MOST_TO_GAIN, tables.BALANCED, tables.TOO_THIN,
    )  # fmt: skip
    assert {f"state {state}" for state in states} <= set(SENTENCES)
    assert {f"line {tables.PUBLISHED_LINE}", f"line {tables.SQUAD_LINE}"} <= set(SENTENCES)
    assert {f"says {tables.SUGGESTED}", f"says {tables.TALK}"} <= set(SENTENCES)
    assert {f"retest {why}" for why in tables.RETESTS} <= set(SENTENCES)
    stands = (tables.REACHED, tables.OPEN, tables.LATE, tables.NO_VALUE)
    assert {f"goal {state}" for state in stands} <= set(SENTENCES)
    assert relations.FEWEST_PEOPLE == appendix.FEWEST_RELATED
    counted = [
        f"headline {what} {many}" for what in ("measure", "pair") for many in ("one", "many")
    ]
    assert set(counted) <= set(SENTENCES)
    rest = set(SENTENCES) - set(counted) - {f"sure {basis}" for basis in BASES}
    loose = [key for key in rest if key.startswith(("sure ", "headline "))]
    assert [key for key in loose if f'"{key}"' not in SOURCES] == []


def test_every_sentence_asked_for_is_in_the_catalogue() -> None:
    asked = set(re.findall(r'\bsay\(\s*"([^"]+)"', PAGES + OWN))
    assert len(asked) > 80
    assert asked - set(SENTENCES) == set()


@pytest.mark.parametrize("key", SENTENCES)
def test_a_sentence_is_filled_by_its_details(key: str) -> None:
    names = {name for _, name, _, _ in string.Formatter().parse(SENTENCES[key]) if name}
    assert say(key, **dict.fromkeys(names, "x"))


def test_every_code_of_the_catalogue_is_raised_somewhere() -> None:
    assert [code for code in CATALOGUE if f'"{code}"' not in SOURCES.split("CATALOGUE", 1)[0]
            + SOURCES.replace(f'    "{code}": Kind(', "")] == []  # fmt: skip


@pytest.mark.parametrize(
    ("value", "decimals", "shown"),
    [
        (7.7, 2, "7.70"),
        (1.755, 2, "1.76"),
        (1.815, 2, "1.82"),
        (1.695, 2, "1.70"),
        (-0.3, 1, "\u22120.3"),
        (-0.001, 2, "0.00"),
        (math.nan, 2, "–"),
        (33.049, 1, "33.0"),
    ],
)
def test_numbers_round_halves_away_from_zero_and_have_a_true_minus(
    value: float, decimals: int, shown: str
) -> None:
    assert wording.number(value, decimals) == shown


@pytest.mark.parametrize(
    ("value", "shown"), [(0.08, "+0.08"), (-0.08, "\u22120.08"), (0.001, "0.00"), (-0.001, "0.00")]
)
def test_a_change_has_its_sign_and_nothing_has_none(value: float, shown: str) -> None:
    assert wording.signed_number(value, 2) == shown


def test_dates_are_the_same_under_every_locale() -> None:
    assert wording.date("2026-10-13") == "Tue 13 Oct 2026"
    assert wording.short_date("2026-05-02") == "2 May 2026"


def test_a_list_with_commas_inside_is_parted_by_semicolons() -> None:
    assert wording.listed(["a", "b", "c"]) == "a, b and c"
    assert wording.listed(["a, x", "b", "c"]) == "a, x; b and c"


def test_a_raised_exponent_and_no_unit() -> None:
    assert wording.unit(MEASURES["scaled_strength"]) == "kg/kg⁰·⁶⁷"
    assert wording.value(2.5, MEASURES["flight_contact_ratio"]) == "2.50"


def test_what_differs_is_said_in_words() -> None:
    told = wording.apart("start_distance_m: 0.3 → 0.5; basis: measured → estimated")
    assert told == (
        "other distance behind the first gate than before (0.3, now 0.5); "
        "other way of taking it than before (measured, now estimated)"
    )
