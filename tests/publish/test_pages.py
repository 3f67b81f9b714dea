"""Names can do no harm, letters do not vanish, and a PDF is tagged."""

from __future__ import annotations

import datetime as dt
import io
import re

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from pypdf import PdfReader

from pipeline.battery import TEMPLATES
from pipeline.errors import PageError
from pipeline.publish import fonts, html, pdf
from pipeline.report import blocks, charts, wording

DATE = dt.date(2026, 9, 15)
DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'

NASTY = [
    "<img src=x onerror=alert(1)>",
    "A & B <C>",
    "A # B",
    "A*B*",
    "@A07",
    '#panic("x")',
    "= Heading",
    "_A_",
    "// c",
    "{{7*7}}",
    "$x^2$",
    "\\",
    "`code`",
]


def _pdf(*content: blocks.Block) -> bytes:
    data = [block.data() for block in (blocks.Title("Page"), *content)]
    return pdf.to_pdf(data, title="Page", date=DATE, templates=TEMPLATES / "typst")


def _text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def test_the_media_type_of_blocks_has_one_spelling() -> None:
    assert blocks.BLOCKS_TYPE == html.BLOCKS


@pytest.mark.parametrize("name", NASTY)
def test_a_name_is_only_ever_text(name: str) -> None:
    title = blocks.Title(name, [name])
    table = blocks.Table(name, [name, "b"], [[name, name]])
    everything = (title, table, blocks.Prose(name, lead=name), blocks.Bullets([name]))
    shown = "".join(block.html() for block in everything)
    assert "<img" not in shown
    assert "<C>" not in shown
    printed = _pdf(table, blocks.Prose(name, lead=name), blocks.Bullets([name]))
    assert name in _text(printed).replace("\n", " ")


@pytest.mark.parametrize("name", ["Łucja Őry", "Şevval ğ", "Θάλεια", "Дарья", "ñø"])
def test_letters_that_the_fonts_have_are_printed(name: str) -> None:
    assert fonts.missing(name) == []
    assert name in _text(_pdf(blocks.Prose(name)))


@pytest.mark.parametrize("name", ["김서연", "王芳", "नेहा", "🏃"])
def test_letters_that_the_fonts_lack_become_boxes_and_never_lose_the_page(name: str) -> None:
    assert fonts.missing(name)
    assert fonts.BOX in _text(_pdf(blocks.Prose(f"{name}!")))


@pytest.mark.parametrize("name", ["a\x00b", "a\x01b", "a\ufeffb", "a\u202eb"])
def test_control_characters_are_dropped_before_the_page_is_set(name: str) -> None:
    assert "ab" in _text(_pdf(blocks.Prose(name))).replace(fonts.BOX, "")


def test_an_arabic_name_is_covered() -> None:
    assert fonts.missing("ليلى الحداد") == []
    assert _pdf(blocks.Prose("ليلى الحداد"))


def test_the_pdf_is_tagged_and_dated_by_the_testing_day() -> None:
    reader = PdfReader(io.BytesIO(_pdf(blocks.Prose("x"))))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  # a PDF boolean, not Python's
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()
    assert reader.metadata is not None
    assert reader.metadata.title == "Page"
    assert str(reader.metadata["/CreationDate"]).startswith("D:20260915")


def test_a_picture_without_words_is_refused() -> None:
    with pytest.raises(PageError, match="alt"):
        _pdf(blocks.Chart("caption", "", DRAWING, DRAWING))


def test_headings_out_of_order_are_refused() -> None:
    data = [blocks.Title("Page").data(), blocks.Heading("three").data()]
    with pytest.raises(PageError):
        pdf.to_pdf(data, title="Page", date=DATE, templates=TEMPLATES / "typst")


def _drawing(name: str, *values: float) -> blocks.Chart:
    points = [charts.Point(f"{n} May 2026", v, f"{v:g}", 0) for n, v in enumerate(values, start=1)]
    return charts.trends(name, [charts.Panel("x (s)", points, "", "a")], "caption", "alt")


def test_a_drawing_is_the_same_twice_and_shares_no_inner_id_with_another() -> None:
    first, again, other = (_drawing(name, 1, 2) for name in ("one", "one", "two"))
    assert first == again
    ids = [set(re.findall(r'id="([^"]+)"', c.outlined)) for c in (first, other)]
    assert ids[0]
    assert not ids[0] & ids[1]


def test_a_trend_heading_is_not_cut_at_the_edge_nor_by_its_neighbour(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawn: list[Figure] = []

    def keep(figure: Figure, *_: object, **__: object) -> str:
        if figure not in drawn:
            drawn.append(figure)
        return DRAWING

    monkeypatch.setattr(charts, "_svg", keep)
    points = [charts.Point(f"{n} May 2026", n, str(n), 0) for n in (1, 2)]
    long = ("Drop jump, reactive strength, 40 cm (m/s)", "Countermovement jump, jump height (cm)")
    titles = [wording.say("trend better", title=t, better="higher") for t in long * 2]
    charts.trends("one", [charts.Panel(t, points, "", "a") for t in titles], "caption", "alt")
    (figure,) = drawn
    figure.draw_without_rendering()  # headings find their height when drawn
    texts = [t for t in figure.findobj(Text) if isinstance(t, Text) and t.get_text() in titles]
    boxes = [t.get_window_extent() for t in texts]
    assert len(boxes) == len(titles)
    for n, box in enumerate(boxes):
        end = figure.bbox.x1 if n % 2 else figure.axes[n + 1].bbox.x0
        assert box.x1 < end, titles[n]
        assert box.y1 < figure.bbox.y1, titles[n]
        assert n < 2 or box.y1 < figure.axes[n - 2].bbox.y0, titles[n]


def test_a_drawing_asks_nothing_from_outside() -> None:
    drawing = _drawing("one", 1, 2)
    for svg in (drawing.outlined, drawing.lettered):
        outside = svg.replace("http://www.w3.org/", "")
        assert "http" not in outside
        assert "<script" not in outside


@pytest.mark.parametrize("values", [(3.0,), (3.0, 3.0), (0.0,)])
def test_one_term_and_equal_values_still_draw_a_mark(values: tuple[float, ...]) -> None:
    drawn = _drawing("x", *values).lettered
    marks = re.search(r'<g id="x-PathCollection_1">.*?</g>\s*</g>', drawn, re.DOTALL)
    assert marks is not None
    assert marks.group().count("<use") == len(values)
