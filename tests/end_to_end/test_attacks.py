"""A season that means harm: names, cells, settings and file names that would run, hide or flood.

One build of it, and everything that came out looked at as a reader's programs would.
"""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import openpyxl
import pytest
from pypdf import PdfReader

from pipeline import build, tables
from tests import seasons

pytestmark = pytest.mark.slow

SCRIPT = "<script>alert(1)</script>"
PICTURE = "<img src=x onerror=alert(1)>"
CLOSING = "</script>]]><!-- --><A & B>"
TYPST = '#panic("x") #import "x" $math$ `code`'
JINJA = "{{7131*1013}} {% for x in y %} {x}"
FORMULA = "=cmd|'/c calc'!A1"
TURNED = "Ada\u202eevil\u2066\ufeff\x00\x1b[31m"
FLOOD = "W" * 10_000
EMOJI = "Zoë 🏃\u200d♀️ ]]>"


def _quoted(*cells: str) -> str:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue()


ROSTER = "athlete_id,name,sex,birth_date,groups,event,joined,left,share\n" + "".join(
    _quoted(key, name, "F", "2004-05-01", groups, event, "", "", share)
    for key, name, groups, event, share in (
        ("H01", SCRIPT + JINJA, f"{PICTURE};{FORMULA}", TYPST, "full"),
        ("-H2", FLOOD, FLOOD, FLOOD, "full"),
        ("H03", TURNED, CLOSING, EMOJI, "initials"),
        ("H04", FORMULA, "@SUM(A1)", "\tx", "none"),
    )
)
SPRINTS = "session,athlete_id,test,attempt,wind_mps,surface,t10_s,t30_s,t60_s\n" + "".join(
    _quoted(*cells)
    for cells in (
        (SCRIPT, "H01", "60 m", "1", "-1.2", PICTURE, "2.04", "4.28", "7.70"),
        (SCRIPT, "H01", "60 m", "2", "+0.6", PICTURE, "2.05", "4.30", "7.72"),
        (SCRIPT, "-H2", "60 m", "1", "0.3", FLOOD, "2.10", "4.40", "7.90"),
        (SCRIPT, "H03", "60 m", "1", "0.3", TURNED, "2.11", "4.41", FORMULA),
        (SCRIPT, FORMULA, "60 m", "1", "0.3", TURNED, "2.11", "4.41", FLOOD),
        (SCRIPT, "../../H01", TYPST, "1", "", "", "2.11", "", ""),
    )
)
OTHER = "athlete_id,test,attempt,value\n" + "".join(
    _quoted(who, test, "1", "5.5") for who in ("H01", "-H2", "H03") for test in (PICTURE, FLOOD)
)
STATUS = "athlete_id,test,status,reason\n" + "".join(
    _quoted(who, "", "limited", reason)
    for who, reason in (("H01", SCRIPT), ("-H2", FLOOD), ("H03", FORMULA + TURNED))
)
PLAN = "athlete_id,from,sprint_phase,emphasis,note\n" + _quoted(
    "H01", "2026-05-15", "start", "", f"{SCRIPT} {TYPST}"
)


def _toml(text: str) -> str:
    return json.dumps(text)  # a TOML basic string escapes as JSON does


BATTERY = f"""\
season = {_toml(SCRIPT + TYPST)}
[tests.{_toml(PICTURE)}]
kind = "other"
unit = "pt"
better = "higher"
[tests.{_toml(FLOOD)}]
kind = "other"
unit = "pt"
better = "higher"
"""
DAY = f"""\
date = 2026-09-15
term = {_toml(PICTURE + JINJA)}
venue = {_toml(SCRIPT)}
[session.{_toml(SCRIPT)}]
venue = {_toml(TYPST + FORMULA)}
timing = "gates"
start = "three-point"
"""
HOSTILE_FOLDER = "2026-09 <b onclick=x>#panic()"


@pytest.fixture(scope="module", name="day")
def _day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("attack")
    files: dict[str, str | bytes | None] = dict.fromkeys(seasons.TIDY)
    files |= {"roster.csv": ROSTER, "battery.toml": BATTERY, "plan.csv": PLAN}
    sheets = {"day.toml": DAY, "sprints.csv": SPRINTS, "other.csv": OTHER, "status.csv": STATUS}
    files |= {f"{HOSTILE_FOLDER}/{name}": content for name, content in sheets.items()}
    files[f"{HOSTILE_FOLDER}/{FORMULA.replace('/', '')} <script>.csv"] = "a\n1\n"
    season = seasons.write(place / "season", files)
    request = build.Request(season, place / "out")
    (built,) = build.build(request, lambda *_: None)
    assert built.failed == ()
    assert built.pages == 5  # three athletes, the squad, the testing day
    assert not (place / "H01.html").exists()
    return built.folder


class _Live(HTMLParser):
    """What a browser would take for markup: every tag and attribute but text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def _live(text: str) -> _Live:
    live = _Live()
    live.feed(text)
    return live


def _harmless(text: str) -> bool:
    """No mark that hides or turns text, and nothing that floods a page."""
    unseen = {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs")}
    return unseen <= set("\n\t\u200c\u200d") and "W" * 201 not in text


def test_nothing_in_a_page_is_live_that_we_did_not_make(day: Path) -> None:
    pages = sorted(day.rglob("*.html"))
    assert len(pages) == 6
    for page in pages:
        text = page.read_text(encoding="utf-8")
        live = _live(text)
        assert not live.tags & {"script", "img", "a"} - ({"a"} if page.stem == "index" else set())
        assert not {name for name in live.attributes if name.startswith("on")}
        assert "7223703" not in "".join(live.words), page.name
        assert _harmless(text), page.name
    first = "".join(_live((day / "athletes" / "H01.html").read_text()).words)
    assert (SCRIPT + JINJA)[:50] in first
    assert PICTURE in first


def test_the_pages_of_a_flood_end_with_an_ellipsis(day: Path) -> None:
    """A page of a 10,000-letter name is as short as another's."""
    text = (day / "athletes" / "-H2.html").read_text(encoding="utf-8")
    assert "W" * 59 + "…" in text
    assert len(text) < 2 * len((day / "athletes" / "H01.html").read_text(encoding="utf-8"))


def test_a_pdf_prints_a_name_and_runs_nothing(day: Path) -> None:
    pdfs = sorted(day.rglob("*.pdf"))
    assert len(pdfs) == 4
    for path in pdfs:
        reader = PdfReader(path)
        assert "/JavaScript" not in str(reader.trailer["/Root"])
        assert "/OpenAction" not in reader.trailer["/Root"]
        assert len(reader.pages) < 16
    printed = PdfReader(day / "athletes" / "H01.pdf").pages[0].extract_text().replace("\n", " ")
    assert "<script>alert(1)</script>{{7131*1013}}" in printed.replace(" ", "")
    assert '#panic("x")' in printed


def test_a_word_without_an_end_never_leaves_the_paper(day: Path) -> None:
    """Where the printed letters stand: x of the last one of every run, in points."""
    page = PdfReader(day / "athletes" / "-H2.pdf").pages[0]
    ends: list[float] = []

    def seen(text: str, _: object, matrix: list[float], __: object, size: float) -> None:
        if "WWW" in text:
            ends.append(matrix[4] + _WIDTH * size * text.count("W"))

    page.extract_text(visitor_text=seen)
    assert ends
    assert max(ends) < page.mediabox.right


_WIDTH = 0.98  # of a W in the page's font (DejaVu Sans), in ems


def test_a_notebook_is_valid_and_its_outputs_hold_no_live_markup(day: Path) -> None:
    notebooks = sorted(day.rglob("*.ipynb"))
    assert len(notebooks) == 5
    for path in notebooks:
        made = nbformat.read(path, as_version=4)
        nbformat.validate(made)
        outputs = [o for cell in made.cells for o in cell.get("outputs", [])]
        assert {o.output_type for o in outputs} <= {"execute_result", "display_data"}
        live = _live("".join(o.data["text/html"] for o in outputs))
        assert not live.tags & {"script", "img", "a"}
        assert all(_harmless(t) for o in outputs for t in o.data.values() if isinstance(t, str))
        assert not {name for name in live.attributes if name.startswith("on")}


def test_no_cell_of_a_csv_begins_a_formula_and_numbers_stay_numbers(day: Path) -> None:
    number = re.compile(r"[+-]?\d+(\.\d+)?(e-?\d+)?")
    cells = [
        cell
        for path in sorted((day / "data").glob("*.csv"))
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline=""))
        for cell in row
    ]
    dangerous = [c for c in cells if c.startswith(("=", "+", "-", "@", "\t", "\r"))]
    assert all(number.fullmatch(c) for c in dangerous)
    assert {"-1.2", "+0.6", "'" + FORMULA, "'-H2"} <= set(cells)
    assert all(_harmless(c) for c in cells)
    raw = tables.from_csv("trials", (day / "data" / "trials.csv").read_bytes())
    assert {"-1.2", FORMULA} <= set(raw["raw"])
    assert "-H2" in set(raw["athlete_id"])


def test_the_workbook_holds_text_where_a_formula_was_meant(day: Path) -> None:
    book = openpyxl.load_workbook(day / "data" / "results.xlsx")
    cells = [c for sheet in book.worksheets for row in sheet.iter_rows() for c in row]
    assert {c.data_type for c in cells} == {"s", "n"}
    meant = [c for c in cells if c.value == FORMULA]
    assert meant
    assert all(c.quotePrefix for c in meant)
    assert book.properties.creator in (None, "")
    assert all(_harmless(c.value) for c in cells if c.data_type == "s")


def test_json_holds_no_unseen_mark_and_every_file_has_a_plain_name(day: Path) -> None:
    for path in [*day.rglob("*.json")]:
        content = json.loads(path.read_text(encoding="utf-8"))
        assert _harmless(json.dumps(content, ensure_ascii=False)), path.name
    names = [p.relative_to(day).as_posix() for p in day.rglob("*")]
    assert all(re.fullmatch(r"[A-Za-z0-9_./-]+", name) for name in names)
