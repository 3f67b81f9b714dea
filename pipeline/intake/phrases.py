"""How cells of any table look: statistics in several languages, remarks, units, numbers."""

from __future__ import annotations

import re
from collections.abc import Callable

from pipeline.intake import words

Test = Callable[[str], bool]

_NUMBER = re.compile(r"[-+−]?(\d[\d.,’' ]*|[.,]\d+)([eE][-+]?\d+)?\s*%?\Z")
_CLOCK = re.compile(r"\d{1,3}(:\d{1,2}){1,2}([.,]\d+)?\Z")
_BRACKETS = re.compile(r"\A[\[(]\s*(.*?)\s*[\])]\Z", re.DOTALL)
_UNIT_LAST = re.compile(r"\A(.*?)\s*([\[(][^\[\]()]*[\])])\Z", re.DOTALL)

_TOTALS = frozenset({
    "mean", "means", "average", "averages", "avg", "ave", "sd", "s_d", "std", "stdev", "std_dev",
    "stddev", "standard_deviation", "total", "totals", "median", "cv", "sem", "variance", "var",
    "mittelwert", "mittel", "durchschnitt", "standardabweichung", "stabw", "summe", "gesamt",
    "moyenne", "ecart_type", "ecarttype", "mediane", "somme", "media", "promedio", "desviacion",
    "desviacion_estandar", "mediana", "suma", "deviazione", "deviazione_standard", "somma",
    "totale", "gemiddelde", "standaarddeviatie", "mediaan", "totaal", "som", "desvio_padrao",
    "desvio", "soma", "srednia", "odchylenie", "odchylenie_standardowe", "razem", "medel",
    "medelvarde", "standardavvikelse", "summa",
})  # fmt: skip
_MAY_BE_TOTALS = frozenset({
    "max", "min", "maximum", "minimum", "best", "worst", "range", "sum", "count", "n", "iqr",
    "mode", "mw", "sa", "se", "low", "high",
})  # fmt: skip
"""Words that are somebody's name or id as well."""
_OF_WHAT = r"(\s*[:=]|\s*[(\[].*|\s+(of|all|squad|team|group|girls|boys|women|men)\b.*)?\Z"
_TOTAL = re.compile(
    rf"(?:(?:squad|team|group|overall)\s+)?([^\s:=(\[]+(?:\s(?=dev|est|sta|pad)\S+)?){_OF_WHAT}",
    re.IGNORECASE,
)
_COUNT = re.compile(r"n\s*=\s*\d+\Z", re.IGNORECASE)
_REMARKS = frozenset({
    "note", "notes", "nb", "n_b", "remark", "remarks", "comment", "comments", "legend", "key",
    "source", "ps", "bemerkung", "bemerkungen", "anmerkung", "anmerkungen", "hinweis", "hinweise",
    "legende", "quelle", "remarque", "remarques", "nota", "notas", "observacion", "observaciones",
    "observacoes", "osservazioni", "opmerking", "opmerkingen", "uwaga", "uwagi", "anmarkning",
    "anmarkningar",
})  # fmt: skip
_FOOTNOTES = ("*", "†", "‡", "•")
_LITTLE = re.compile(
    r"\d{1,2}|[tar]_?\d{1,2}|(trial|attempt|rep|try|set|versuch|essai|intento|prova|poging|proba|"
    r"forsok)_?\d{1,2}|l|r|left|right|best|pre|post"
)
_OTHER_UNITS = frozenset({
    "m/s/s", "m/s2", "m/s²", "mph", "min", "n", "w", "w/kg", "n/kg", "%", "°", "deg", "degrees",
    "bw", "hz", "reps", "y",
})  # fmt: skip
"""Units that no heading may end in, but a row of units may hold."""


def is_dash(text: str) -> bool:
    """Whether a cell is a mark for nothing."""
    return text in ("-", "–", "—", "−", "/", ".")


def is_number(text: str) -> bool:
    """Whether a cell looks like a number or a time."""
    return bool(_NUMBER.match(text) or _CLOCK.match(text))


def is_computed(text: str) -> bool:
    """Whether a cell looks like what a column is summed up in: a number, a formula, an error."""
    return is_number(text) or text.startswith(("=", "#"))


def is_rule(text: str) -> bool:
    """Whether a cell is a line drawn with signs."""
    return bool(re.fullmatch(r"[-–—−_=.*~]+", text))


def is_total(text: str) -> bool:
    """Whether a cell names a statistic that is hardly a name of anybody, as *best of squad*."""
    match = _TOTAL.match(text)
    word = _total_word(text)
    return word in _TOTALS or bool(word in _MAY_BE_TOTALS and match and match.group(3))


def may_be_total(text: str) -> bool:
    """Whether a cell names a statistic, or somebody."""
    return _total_word(text) in _MAY_BE_TOTALS


def _total_word(text: str) -> str:
    match = _TOTAL.match(text)
    return words.plain(match.group(1)) if match else ""


def is_count(text: str) -> bool:
    """Whether a cell says how many there were, as ``n = 12``."""
    return bool(_COUNT.match(text))


def opens_remark(text: str) -> bool:
    """Whether a cell begins a note on the table."""
    opening, colon, _ = text.partition(":")
    return text.startswith(_FOOTNOTES) or (bool(colon) and words.plain(opening) in _REMARKS)


def is_prose(text: str) -> bool:
    """Whether a lone cell reads like words to a reader, and not like an id."""
    return bool(re.search(r"[^\W\d_].*\s|\s.*[^\W\d_]|:", text))


def is_unit(text: str) -> bool:
    """Whether a cell names a unit, in brackets or not."""
    return bool(words.unit_named(text)) or bare(text).casefold() in _OTHER_UNITS


def bare(text: str) -> str:
    """A unit without its brackets."""
    match = _BRACKETS.match(text)
    return match.group(1) if match else text


def says_little(name: str) -> bool:
    """Whether a column's name needs its group's: a number, an attempt, a side."""
    match = _UNIT_LAST.match(name)
    return bool(_LITTLE.fullmatch(words.plain(match.group(1) if match else name)))


def joined(group: str, name: str) -> str:
    """A group's and a column's name as one; the group's unit goes last."""
    match = _UNIT_LAST.match(group)
    return f"{match.group(1)} {name} {match.group(2)}" if match else f"{group} {name}"
