"""Damage to single cells."""

from __future__ import annotations

import random

from .damage import CELLS, any_place, any_row, any_sheet, damage, number_place, put
from .made import Made


def _digits(text: str) -> str:
    return text or "7.7"


@damage(CELLS)
def _word_for_number(rng: random.Random, made: Made) -> str:
    return put(number_place(rng, made), rng.choice(("fast", "see notes", "ok?", "seven")))


@damage(CELLS)
def _blank(rng: random.Random, made: Made) -> str:
    return put(any_place(rng, made), rng.choice(("", " ", "\u00a0", "\u200b", "\t ")))


@damage(CELLS)
def _huge_digits(rng: random.Random, made: Made) -> str:
    return put(number_place(rng, made), "9" * rng.choice((25, 309, 400, 5000)))


@damage(CELLS)
def _many_decimals(rng: random.Random, made: Made) -> str:
    place = number_place(rng, made)
    return put(place, f"{_digits(place[1][place[2]].text)}{'3' * rng.choice((9, 16, 40))}")


@damage(CELLS)
def _odd_letters(rng: random.Random, made: Made) -> str:
    texts = (
        "٧٫٧", "７．７", "7·7", "7²", "½", "−7.7", "\u202e7.7", "7.7\u200f", "７", "Ⅶ", "\ufeff7.7",
        "\U0001f3c3", "e\u0301" * 9, "\ud7ff", "ǅ", "ı", "ß", "\u2028", "\x85", "\x0b",
    )  # fmt: skip
    return put(any_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _control_marks(rng: random.Random, made: Made) -> str:
    return put(any_place(rng, made), rng.choice(("\x00", "7.7\x00", "\x1f", "\x07A01", "\x1b[31m")))


@damage(CELLS)
def _its_own_unit(rng: random.Random, made: Made) -> str:
    texts = ("225 lb", "6'2\"", "10 st 4", "7.7 s", "511ms", "1.8 m", "74 in", "6-2", "2-Jun")
    return put(number_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _swapped_digits(rng: random.Random, made: Made) -> str:
    place = number_place(rng, made)
    digits = list(_digits(place[1][place[2]].text))
    at = rng.randrange(max(len(digits) - 1, 1))
    digits[at : at + 2] = reversed(digits[at : at + 2])
    return put(place, "".join(digits), typed=True)


@damage(CELLS)
def _digit_doubled(rng: random.Random, made: Made) -> str:
    place = number_place(rng, made)
    text = _digits(place[1][place[2]].text)
    return put(place, text[:1] + text, typed=True)


@damage(CELLS)
def _mark_of_decimals(rng: random.Random, made: Made) -> str:
    texts = ("1,80", "1.805,00", "1,805.00", "1 805,0", "1.2.3", ",5", "5,", "1,,5", "1'805.0")
    return put(number_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _formula_as_text(rng: random.Random, made: Made) -> str:
    texts = ("=1+1", "=MIN(D2:E2)", "=cmd|'/c calc'!A1", "+7.7", "-7.7", "@SUM(1)", "=1/0")
    return put(any_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _error_word(rng: random.Random, made: Made) -> str:
    return put(any_place(rng, made), rng.choice(("#N/A", "#DIV/0!", "#REF!", "#VALUE!", "Err:502")))


@damage(CELLS)
def _date_for_anything(rng: random.Random, made: Made) -> str:
    texts = (
        "2026-09-15", "15/09/2026", "09/15/26", "2026-02-30", "2-Jun", "1900-01-00", "45915",
        "2026-09-15T10:00:00", "20260915", "9999-12-31", "0001-01-01",
    )  # fmt: skip
    return put(any_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _minutes(rng: random.Random, made: Made) -> str:
    texts = ("0:07.70", "1:02.35", "00:00:07", "1:02,35", "0.000125", "7:70", ":", "1:2:3:4")
    return put(number_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _no_mark(rng: random.Random, made: Made) -> str:
    texts = ("DNS", "DNF", "d.n.f.", "DQ", "NT", "NM", "-", "–", "x", "n/a", "failed", "foul")
    return put(number_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _mark_beside_number(rng: random.Random, made: Made) -> str:
    place = number_place(rng, made)
    text = _digits(place[1][place[2]].text)
    marks = ("{}w", "{}h", "{} PB", "*{}", "{}*", "({})", "~{}", "{}?", "<{}", "{} (2)", "{}/3")
    return put(place, rng.choice(marks).format(text))


@damage(CELLS)
def _below_nought(rng: random.Random, made: Made) -> str:
    return put(number_place(rng, made), rng.choice(("-1", "-0.0", "0", "0.00", "-7.7")), typed=True)


@damage(CELLS)
def _number_of_programs(rng: random.Random, made: Made) -> str:
    texts = ("1e5", "1E-300", "inf", "-inf", "nan", "NaN", "1_000", "0x1F", "1d5", "TRUE", "null")
    return put(any_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _marks_of_the_file(rng: random.Random, made: Made) -> str:
    texts = ('"', '""', "a,b;c\td", "a\nb", "a\r\nb", "\n", 'say "7"', "'", "\\", "a\rb")
    return put(any_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _marks_of_a_source(rng: random.Random, made: Made) -> str:
    return put(
        any_place(rng, made), rng.choice(("a!b!c!d", "a;b", "%21", "a=b; c=d", "{raw}", "%s"))
    )


@damage(CELLS)
def _text_that_would_run(rng: random.Random, made: Made) -> str:
    texts = (
        "<script>alert(1)</script>", '#import "x"', "{{7*7}}", "$math$", "`x`", "]]>", "../../x",
        "__import__('os')", "<img src=x onerror=y>", "${HOME}", "%(name)s", "file:///x",
    )  # fmt: skip
    return put(any_place(rng, made), rng.choice(texts))


@damage(CELLS)
def _very_long(rng: random.Random, made: Made) -> str:
    return put(any_place(rng, made), rng.choice(("x", "1 ", "é", "<b>")) * rng.choice((300, 9000)))


@damage(CELLS)
def _cell_of_elsewhere(rng: random.Random, made: Made) -> str:
    other = any_row(rng, any_sheet(rng, made))
    return put(any_place(rng, made), rng.choice(other).text if other else "")


@damage(CELLS)
def _nobody(rng: random.Random, made: Made) -> str:
    sheet = rng.choice(made.of_day())
    row = any_row(rng, sheet)
    headings = [cell.text for cell in sheet.headings]
    at = headings.index("athlete_id") if "athlete_id" in headings else 0
    texts = ("Z99", "", "a01", " A01 ", "CON", "A0l", "7", "Ardo Quillmark", "A01,A02", "A" * 65)
    return put((sheet, row, min(at, len(row) - 1)), rng.choice(texts))


@damage(CELLS)
def _no_such_test(rng: random.Random, made: Made) -> str:
    sheet = rng.choice(made.of_day())
    headings = [cell.text for cell in sheet.headings]
    at = next((headings.index(h) for h in ("test", "lift") if h in headings), 0)
    texts = ("60 yards", "CMK", "60m", "40 m", "bench", "", "back squat", "grip", "6 x 30 m")
    return put((sheet, any_row(rng, sheet), at), rng.choice(texts))


@damage(CELLS)
def _attempt_or_rep(rng: random.Random, made: Made) -> str:
    sheet = rng.choice(made.of_day())
    headings = [cell.text for cell in sheet.headings]
    wanted = [
        x for x, h in enumerate(headings) if h in ("attempt", "rep", "reps", "side", "result")
    ]
    place = (sheet, any_row(rng, sheet), rng.choice(wanted or [0]))
    return put(
        place, rng.choice(("0", "1", "2", "1.0", "01", "-1", "999", "9999", "one", "1st", "L"))
    )
