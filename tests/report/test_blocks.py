"""What blocks do to keep a page readable on a narrow screen."""

from __future__ import annotations

import re

import pytest

from pipeline.report.blocks import NUMBER, TEXT, VERDICT, Bullets, Notice, Prose, Table

BOUND = re.compile(r'<span class="bound">([^<]*)</span>')


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("ran 60 m in 7.70 s; at 9.90 m/s", ["60 m", "7.70 s", "9.90 m/s"]),
        ("−0.13 s and +0.6 m/s", ["−0.13 s", "+0.6 m/s"]),
        ("30–60 m, maximum velocity", ["30–60 m"]),
        ("impulse 3.1 N·s/kg, 2.3 % of it", ["3.1 N·s/kg", "2.3 %"]),
        ("A01, row 3; O'Neil & 5", []),
    ],
)
def test_no_number_parts_from_the_word_after_it(text: str, whole: list[str]) -> None:
    for block in (Prose(text), Bullets([text]), Notice("kind", text), Table("c", ["a"], [[text]])):
        html = block.html()
        assert BOUND.findall(html) == whole
        assert BOUND.sub(r"\1", html).count("<span") == 0


def test_a_verdict_is_given_a_line_of_its_own_where_there_is_no_room() -> None:
    two = Table("c", ["a", "b", "n", "v"], [["x", "1", "2", "so"]], [TEXT, NUMBER, NUMBER, VERDICT])
    assert '<table class="told" style="--between: 2">' in two.html()
    assert '<td class="verdict">so</td>' in two.html()
    kinds = [TEXT, *[NUMBER] * 3, VERDICT]
    assert 'class="told many" style="--between: 3"' in Table("c", list("abcde"), [], kinds).html()
    assert "<table>" in Table("c", ["a"], [["x"]]).html()
