"""Reports of published finalists, as pages a reader opens: the printed figures stand on them.

Rows and their sources as in ``tests/reference`` (status: seen).
"""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pandas as pd
import pypdf
import pytest

from pipeline import build
from tests import finals

pytestmark = pytest.mark.slow

STARTS = {
    "R2009WC-1": "1.73 s",  # from the gun: 1.88 - 0.146 = 1.734; Graubner & Nixdorf 2011
    "R1988OG-1": "1.70 s",  # from the gun: 1.83 - 0.132 = 1.698; Brueggemann & Glad 1990
    "R1997WC-1": "1.71 s",  # from first movement: 1.71 as printed; Ritzdorf et al. 1997
    "R1999WC-8": "1.80 s",  # from first movement: 1.80 as printed; Ferro et al. 2001
}
"""The start phase of those reported on, reckoned by hand from the printed row."""

FINALISTS = pytest.mark.parametrize("finalist", list(STARTS))
PAGES = pytest.mark.parametrize("page", ["html", "pdf"])


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> build.Built:
    place = tmp_path_factory.mktemp("finals")
    finals.write_finals_season(place / "season")
    made: list[str] = []
    request = build.Request(place / "season", place / "reports", only=tuple(STARTS))
    (day,) = build.build(request, lambda _done, _total, name: made.append(name))
    assert set(STARTS) <= set(made)
    return day


@pytest.fixture(scope="module")
def rows() -> pd.DataFrame:
    return finals.finalists()


def files_of(day: build.Built, finalist: str) -> dict[str, Path]:
    return {
        "html": day.folder / "athletes" / f"{finalist}.html",
        "pdf": day.folder / "athletes" / f"{finalist}.pdf",
        "ipynb": day.folder / "notebooks" / f"{finalist}.ipynb",
    }


def words(path: Path) -> str:
    """What a reader sees on a page, with single blanks."""
    if path.suffix == ".pdf":
        text = "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    else:
        joined = re.sub(r"</?span[^>]*>", "", path.read_text(encoding="utf-8"))
        text = html.unescape(re.sub(r"<[^>]*>", " ", joined))
    return " ".join(text.split())


def test_every_page_of_the_finals_is_made_and_nothing_set_aside(built: build.Built) -> None:
    """44 printed rows go in; four finalists' pages and the day's account come out."""
    assert built.complete
    assert built.failed == ()
    assert built.pages == len(STARTS) + 1
    assert built.set_aside == 0
    assert built.folder.name == finals.DAY
    for finalist in STARTS:
        for path in files_of(built, finalist).values():
            assert path.stat().st_size > 1000


def test_only_those_asked_for_get_a_page(built: build.Built) -> None:
    """Of 44 rows (``tests/reference``) four were asked for."""
    assert {path.stem for path in (built.folder / "athletes").iterdir()} == set(STARTS)


@PAGES
@FINALISTS
def test_a_page_holds_every_gate_of_the_printed_row(
    built: build.Built, rows: pd.DataFrame, finalist: str, page: str
) -> None:
    """Source: t10 to t100 of the row; each line is gate, clock, time and speed since the last."""
    text = words(files_of(built, finalist)[page])
    before = 0
    for at, clock in finals.hundredths(rows).loc[finalist].items():
        time = clock - before
        line = f"{at} m {clock / 100:.2f} s {time / 100:.2f} s {1000 / time:.2f} m/s"
        assert line in text
        before = clock


@PAGES
@FINALISTS
def test_a_page_holds_every_phase_from_first_movement(
    built: build.Built, rows: pd.DataFrame, finalist: str, page: str
) -> None:
    """Source: t10, t30, t60, t100 and ``reaction_s`` of the row; the start as in ``STARTS``.

    Each stands twice: in the first table, after “–” for no earlier day, and in the working.
    """
    text = words(files_of(built, finalist)[page])
    splits = finals.hundredths(rows).loc[finalist]
    phases = {"0–10 m, start": STARTS[finalist]}
    for name, (lower, upper) in finals.PHASES.items():
        phases[f"{lower}–{upper} m, {name}"] = f"{(splits[upper] - splits[lower]) / 100:.2f} s"
    for label, time in phases.items():
        assert f"{label} – {time}" in text
        assert f"{label} {time}" in text


@PAGES
@FINALISTS
def test_a_page_names_the_clock_of_its_report(
    built: build.Built, rows: pd.DataFrame, finalist: str, page: str
) -> None:
    """Source: ``splits_include_reaction`` of the row."""
    text = words(files_of(built, finalist)[page])
    clock = rows.loc[finalist, "clock"]
    other = {finals.GUN: finals.MOVEMENT, finals.MOVEMENT: finals.GUN}[clock]
    assert f"{clock} clock" in text
    assert f"{other} clock" not in text


@FINALISTS
def test_no_other_finalist_is_on_a_page(
    built: build.Built, rows: pd.DataFrame, finalist: str
) -> None:
    """Ids and names are those of ``tests/finals.py``; notebooks are read with their outputs."""
    paths = files_of(built, finalist)
    seen = {kind: words(paths[kind]) for kind in ("html", "pdf")}
    seen["markup"] = paths["html"].read_text(encoding="utf-8")
    seen["ipynb"] = paths["ipynb"].read_text(encoding="utf-8")
    assert json.loads(seen["ipynb"])["cells"]
    others = rows.drop(index=finalist)
    for text in seen.values():
        assert rows.loc[finalist, "name"] in text
        assert [who for who in (*others.index, *others["name"]) if who in text] == []


@FINALISTS
def test_no_other_finalist_is_in_the_slice_a_page_is_made_from(
    built: build.Built, rows: pd.DataFrame, finalist: str
) -> None:
    """The slice travels with the page: it must hold nothing of anybody else."""
    text = (built.folder / "data" / "athletes" / f"{finalist}.json").read_text(encoding="utf-8")
    others = rows.drop(index=finalist)
    assert [who for who in (*others.index, *others["name"]) if who in text] == []
