"""The words of tables in several languages: statistics, remarks, units, numbers. No sport."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable

from pipeline.units import HEADING_UNITS

Test = Callable[[str], bool]

_NUMBER = re.compile(r"[-+−]?(\d[\d.,’' ]*|[.,]\d+)([eE][-+]?\d+)?\s*%?\Z")
_CLOCK = re.compile(r"\d{1,3}(:\d{1,2}){1,2}([.,]\d+)?\Z")
_BRACKETS = re.compile(r"\A[\[(]\s*(.*?)\s*[\])]\Z", re.DOTALL)
_UNIT_LAST = re.compile(r"\A(.*?)\s*([\[(][^\[\]()]*[\])])\Z", re.DOTALL)

_TOTALS = frozenset({
    "mean", "means", "average", "averages", "avg", "ave", "sd", "s.d.", "std", "stdev", "std.dev",
    "stddev", "standard-deviation", "total", "totals", "median", "cv", "sem", "variance", "var",
    "mittelwert", "mittel", "durchschnitt", "standardabweichung", "stabw", "summe", "gesamt",
    "moyenne", "ecart-type", "ecarttype", "mediane", "somme", "media", "promedio", "desviacion",
    "desviacion-estandar", "mediana", "suma", "deviazione", "deviazione-standard", "somma",
    "totale", "gemiddelde", "standaarddeviatie", "mediaan", "totaal", "som", "desvio-padrao",
    "desvio", "soma", "srednia", "odchylenie", "odchylenie-standardowe", "razem", "medel",
    "medelvarde", "standardavvikelse", "summa",
})  # fmt: skip
_MAY_BE_TOTALS = frozenset({
    "max", "min", "maximum", "minimum", "best", "worst", "range", "sum", "count", "n", "iqr",
    "mode", "mw", "sa", "se", "low", "high",
})  # fmt: skip
"""Words that are somebody's name or id as well."""
_OF_WHAT = r"(\s*[:=]|\s*[(\[].*|\s+(of|all|squad|team|group|girls|boys|women|men)\b.*)?\Z"
_TOTAL = re.compile(
    rf"(?:(?:squad|team|group|overall)\s+)?([^\s:=(\[]+(?:\s(?=dev|est|sta|pad)\S+)?){_OF_WHAT}"
)
_COUNT = re.compile(r"n\s*=\s*\d+\Z", re.IGNORECASE)
_REMARK = re.compile(
    r"(notes?|n\.?b\.?|remarks?|comments?|legend|key|source|ps|"
    r"bemerkung(en)?|anmerkung(en)?|hinweise?|legende|quelle|"
    r"remarques?|notas?|observacion(es)?|observacoes|osservazioni|"
    r"opmerking(en)?|uwag[ai]|anmarkning(ar)?)\s*:|[*†‡•]",
    re.IGNORECASE,
)
_LITTLE = re.compile(
    r"#?\d{1,2}\.?|[tar]\.?\s?\d{1,2}|(trial|attempt|rep|try|set|versuch|essai|intento|prova|poging|"
    r"proba|forsok)\.?\s?#?\d{1,2}|l|r|left|right|best|pre|post",
    re.IGNORECASE,
)
_OTHER_UNITS = frozenset({
    "m/s", "m/s/s", "m/s2", "m/s²", "km/h", "kph", "mph", "sec", "secs", "seconds", "min", "cms",
    "n", "w", "w/kg", "n/kg", "%", "°", "deg", "degrees", "bw", "kgs", "lbs", "inches", "feet",
    "metres", "meters", "yards", "hz", "reps", "y",
})  # fmt: skip


def plain(text: str) -> str:
    """A text without accents and letter case."""
    parts = unicodedata.normalize("NFKD", text.strip().casefold())
    return "".join(part for part in parts if not unicodedata.combining(part))


def is_dash(text: str) -> bool:
    """Whether a cell is a mark for nothing."""
    return text in ("-", "–", "—", "−", "/", ".")


def is_number(text: str) -> bool:
    """Whether a cell looks like a number or a time."""
    return bool(_NUMBER.match(text) or _CLOCK.match(text))


def is_computed(text: str) -> bool:
    """Whether a cell looks like what a column is summed up in: a number, a formula, an error."""
    return is_number(text) or text.startswith(("=", "#"))


def is_total(text: str) -> bool:
    """Whether a cell names a statistic that is hardly a name of anybody."""
    return _total_word(text) in _TOTALS


def may_be_total(text: str) -> bool:
    """Whether a cell names a statistic, or somebody."""
    return _total_word(text) in _MAY_BE_TOTALS


def _total_word(text: str) -> str:
    match = _TOTAL.match(plain(text))
    return match.group(1).replace(" ", "-").rstrip(".") if match else ""


def is_count(text: str) -> bool:
    """Whether a cell says how many there were, as ``n = 12``."""
    return bool(_COUNT.match(text))


def opens_remark(text: str) -> bool:
    """Whether a cell begins a note on the table."""
    return bool(_REMARK.match(plain(text)))


def is_prose(text: str) -> bool:
    """Whether a lone cell reads like words to a reader, and not like an id."""
    return bool(re.search(r"[^\W\d_].*\s|\s.*[^\W\d_]|:", text))


def is_unit(text: str) -> bool:
    """Whether a cell names a unit, in brackets or not."""
    word = bare(text).casefold()
    return word in HEADING_UNITS or word in _OTHER_UNITS


def bare(text: str) -> str:
    """A unit without its brackets."""
    match = _BRACKETS.match(text)
    return match.group(1) if match else text


def says_little(name: str) -> bool:
    """Whether a column's name needs its group's: a number, an attempt, a side."""
    match = _UNIT_LAST.match(name)
    return bool(_LITTLE.fullmatch(plain(match.group(1) if match else name)))


def joined(group: str, name: str) -> str:
    """A group's and a column's name as one; the group's unit goes last."""
    match = _UNIT_LAST.match(group)
    return f"{match.group(1)} {name} {match.group(2)}" if match else f"{group} {name}"
