"""Every finding can be worded, sorted and traced."""

from __future__ import annotations

import random
import string

import pytest

from pipeline.catalogue import CATALOGUE, Severity
from pipeline.errors import Finding, Place, finding, in_order


def _details(code: str) -> dict[str, str]:
    """A detail for every field that a code's sentence has."""
    fields = (name for _, name, _, _ in string.Formatter().parse(CATALOGUE[code].text) if name)
    return {name: f"<{name}>" for name in fields}


@pytest.mark.parametrize("code", CATALOGUE)
def test_every_code_s_sentence_can_be_filled_and_shows_each_detail_and_the_mend(code: str) -> None:
    details = _details(code)
    made = finding(code, Place("a.csv"), "A01", **details)
    for detail in details.values():
        assert detail in made.message
    assert made.message.endswith(CATALOGUE[code].fix)
    assert "{" not in made.message


@pytest.mark.parametrize("code", [code for code in CATALOGUE if _details(code)])
def test_a_missing_detail_fails_at_once_and_not_on_a_page(code: str) -> None:
    with pytest.raises(KeyError):
        finding(code, Place("a.csv"))


def test_an_unknown_code_fails_at_once() -> None:
    with pytest.raises(KeyError):
        finding("no-such-code", Place("a.csv"))


@pytest.mark.parametrize("code", CATALOGUE)
def test_every_sentence_and_every_mend_is_a_whole_sentence(code: str) -> None:
    kind = CATALOGUE[code]
    for sentence in (kind.text, kind.fix):
        assert sentence[0].isupper() or sentence[0] in "“{"
        assert sentence.endswith(".")
        assert "  " not in sentence


@pytest.mark.parametrize("code", [code for code in CATALOGUE if "{guess}" in CATALOGUE[code].text])
def test_a_guess_ends_its_sentence_once(code: str) -> None:
    made = finding(code, Place("a.csv"), **{**_details(code), "guess": "; did you mean “x”?"})
    assert "?." not in made.message
    made = finding(code, Place("a.csv"), **{**_details(code), "guess": ""})
    assert ".." not in made.message


@pytest.mark.parametrize("raw", ["{0}", "{raw}", "{", "}", "%s", "{x.__class__}"])
def test_what_a_cell_holds_is_never_taken_for_a_sentence_s_field(raw: str) -> None:
    made = finding("value-unreadable", Place("a.csv", row=2), raw=raw)
    assert f"“{raw}”" in made.message


def test_errors_come_first_then_warnings_then_notes() -> None:
    assert sorted(Severity, key=lambda s: s.rank) == [
        Severity.ERROR, Severity.WARNING, Severity.NOTE,
    ]  # fmt: skip
    made = [finding(code, Place("a.csv"), **_details(code)) for code in CATALOGUE]
    ranks = [f.severity.rank for f in in_order(made)]
    assert ranks == sorted(ranks)


def test_within_a_severity_findings_follow_file_sheet_row_and_column() -> None:
    places = [
        Place("a.csv", "", None),
        Place("a.csv", "", 2, "b"),
        Place("a.csv", "", 2, "c"),
        Place("a.csv", "", 10, "a"),
        Place("a.csv", "S", 1, "a"),
        Place("b.csv", "", 1, "a"),
    ]
    made = [finding("value-unreadable", place, raw="x") for place in places]
    mixed = made[:]
    random.Random(5).shuffle(mixed)
    assert in_order(mixed) == made


def test_the_order_does_not_depend_on_the_order_of_finding_and_copies_fall_together() -> None:
    made = [
        finding("value-unreadable", Place("a.csv", row=row), who, raw=raw)
        for row in (2, 3)
        for who in ("A01", "A02")
        for raw in ("x", "y")
    ]
    expected = in_order(made)
    chance = random.Random(7)
    for _ in range(10):
        mixed = made * 2
        chance.shuffle(mixed)
        assert in_order(mixed) == expected
    assert len(expected) == len(made)


def test_a_place_is_file_sheet_row_column() -> None:
    place = Place("day/jumps.xlsx", "Day", 4, "flight_time_s")
    assert place.source == "day/jumps.xlsx!Day!4!flight_time_s"
    assert Place("roster.csv").source == "roster.csv!!!"
    assert place.at(7, "side") == Place("day/jumps.xlsx", "Day", 7, "side")


def test_a_finding_cannot_be_changed_after_it_was_made() -> None:
    made = finding("row-no-value", Place("a.csv", row=2))
    with pytest.raises(AttributeError):
        made.code = "row-no-mark"  # type: ignore[misc]  # the point of the test
    assert made == Finding("row-no-value", Place("a.csv", row=2))
