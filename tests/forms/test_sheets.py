"""The recording sheets: the lines of the files, nothing of a person but id and name, tagged."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from pipeline import prepare
from pipeline.battery import KINDS
from pipeline.cli import main
from pipeline.forms import rows, sheets
from pipeline.forms.rows import BODY, Person
from pipeline.forms.wording import CONDITIONS
from tests import seasons
from tests.forms import filled

BATTERY = """\
planned = ["60 m", "countermovement jump", "drop jump", "split squat"]
tests."60 m".who = ["sprint women"]
tests."60 m".no_mark = "A false start, or <b> #panic() to you."
"""


def _data(listed: prepare.Squad) -> dict[str, Any]:
    plans = rows.stations(listed.battery, ())
    blocks = [rows.block(p, listed.people, listed.battery, walk_ins=2) for p in plans]
    return sheets.pages(listed.people, blocks, listed.battery, "here")


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The pack on each paper, and once more, by the command."""
    place = tmp_path_factory.mktemp("sheets")
    season = filled.season(place / "season", BATTERY)
    packs = {}
    for name, paper in (("A4", "A4"), ("Letter", "Letter"), ("again", "A4")):
        out = place / f"{name}.pdf"
        done = _run("sheets", season, filled.DATE, "--paper", paper, "--out", out)
        assert (done.exit_code, done.stderr) == (0, "")
        packs[name] = out.read_bytes()
    return packs


def _text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


# --- the same as the files ------------------------------------------------------------------


def test_the_paper_has_the_rows_and_columns_of_the_file(tmp_path: Path) -> None:
    listed = prepare.squad(filled.season(tmp_path), filled.DATE)
    plans = rows.stations(listed.battery, ())
    blocks = [rows.block(plan, listed.people, listed.battery) for plan in plans]
    files = {sheet.name: sheet for sheet in rows.sheets(blocks, lambda _: {})}
    seen = 0
    for plan, station in zip(plans, _data(listed)["stations"], strict=True):
        test = plan.name if plan else ""
        sheet = files[rows.SHEETS[plan.kind] if plan else BODY]
        keys = [column["key"] for column in station["columns"]]
        told = [c for c in ("test", "lift") if c in sheet.columns]
        own = [
            dict(zip(sheet.columns, row, strict=True))
            for row in sheet.rows
            if not told or row[sheet.columns.index(told[0])] == test
        ]
        lines = [row for row in station["rows"] if row[0]]
        assert lines == [[row[key] for key in keys] for row in own], test
        blank = [c for c in sheet.columns if c not in (*keys, *told)]
        assert all(row[column] == "" for row in own for column in blank), test
        seen += len(lines)
    assert seen == sum(len(sheet.rows) for sheet in files.values()) > 200


def test_walk_ins_have_the_same_lines_without_a_name(tmp_path: Path) -> None:
    listed = prepare.squad(filled.season(tmp_path, BATTERY), filled.DATE)
    for station in _data(listed)["stations"]:
        keys = [column["key"] for column in station["columns"]]
        named, blank = (
            [row[2:] for row in station["rows"] if bool(row[0]) is here] for here in (True, False)
        )
        assert keys[:2] == ["athlete_id", "name"]
        assert len(blank) * station["people"] == len(named) * 2
        assert {tuple(row) for row in blank} == {tuple(row) for row in named}


def test_a_test_nobody_on_the_list_does_keeps_its_lines_for_walk_ins(tmp_path: Path) -> None:
    battery = 'planned = ["60 m"]\ntests."60 m".who = ["veterans"]\n'
    listed = prepare.squad(filled.season(tmp_path, battery), filled.DATE)
    _, station = _data(listed)["stations"]
    assert station["people"] == 0
    assert "Nobody on the list" in station["nobody"]
    assert [row[2] for row in station["rows"]] == ["1", "1", "2", "2"]


def test_the_running_order_is_group_by_group_and_as_the_roster_has_it(tmp_path: Path) -> None:
    listed = prepare.squad(filled.season(tmp_path), filled.DATE)
    assert [p.athlete_id for p in listed.people] == ["007", "A03", "A02"]


def test_stations_stand_in_the_order_of_the_day(tmp_path: Path) -> None:
    season = filled.season(tmp_path, 'tests."200 m".station = 2\n')
    order = [s["heading"] for s in _data(prepare.squad(season, filled.DATE))["stations"]]
    names = [text.partition(". ")[2] for text in order]
    assert names[:3] == ["body measures", "200 m", "countermovement jump"]
    assert names[-1] == "6 x 30 m"
    assert [text.partition(".")[0] for text in order] == [str(n + 1) for n in range(len(order))]


# --- what is printed ------------------------------------------------------------------------


def test_every_kind_of_test_has_a_protocol_and_conditions_of_its_own(tmp_path: Path) -> None:
    battery = prepare.squad(filled.season(tmp_path), filled.DATE).battery
    assert set(sheets.ASKED_FOR) == {*KINDS, BODY}
    assert {key for keys in sheets.ASKED_FOR.values() for key in keys} == set(CONDITIONS)
    for plan in battery.tests.values():
        assert all((plan.protocol, plan.order, plan.rest, plan.no_mark)), plan.name
    for needed in ("timing", "start", "clock", "surface", "temperature", "observer"):
        assert needed in sheets.ASKED_FOR["sprint"]


def test_a_squads_pack_is_whole_and_tagged_on_either_paper(made: dict[str, bytes]) -> None:
    sizes = {"A4": (595, 842), "Letter": (612, 792)}
    for paper, size in sizes.items():
        reader = PdfReader(io.BytesIO(made[paper]))
        assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"] == True  # noqa: E712  # a PDF boolean
        box = reader.pages[0].mediabox
        assert (round(box.width), round(box.height)) == size
        text = _text(made[paper])
        assert "Ada Quillon" in text
        assert "Dov" not in text  # left before that day
        for heading in ("2. countermovement jump", "3. drop jump", "4. 60 m", "5. split squat"):
            assert heading in text
        assert "10 m, s" in text
        assert "Test under supervision" in text
        assert "Many athletes are minors." in text


def test_equal_inputs_give_equal_bytes(made: dict[str, bytes]) -> None:
    assert made["A4"] == made["again"]


def test_text_of_battery_and_roster_is_only_ever_text(made: dict[str, bytes]) -> None:
    text = _text(made["A4"]).replace("\n", " ")
    assert "A false start, or <b> #panic() to you." in text
    assert '=HYPERLINK("x")' in text


def test_nothing_of_a_person_but_id_and_name_is_printed(made: dict[str, bytes]) -> None:
    text = _text(made["A4"])
    for fact in ("2004", "2003", "sprint women", "sprint men", "100/200 m"):
        assert fact not in text
    metadata = PdfReader(io.BytesIO(made["A4"])).metadata
    assert metadata is not None
    assert set(metadata) <= {"/Title", "/CreationDate", "/ModDate", "/Creator"}


def test_a_very_long_name_is_cut_on_paper(tmp_path: Path) -> None:
    listed = prepare.squad(filled.season(tmp_path, BATTERY), filled.DATE)
    long = Person("A", "x" * 10_000)
    data = _data(replace(listed, people=(*listed.people, long)))
    assert data["people"]["rows"][-1] == ["4", "A", "x" * 47 + "…"]
    names = {row[1] for row in data["stations"][0]["rows"]}
    assert names == {p.name for p in listed.people} | {"x" * 47 + "…", ""}


# --- refusals -------------------------------------------------------------------------------


def test_a_file_that_is_there_is_refused_and_kept(tmp_path: Path) -> None:
    season = filled.season(tmp_path / "season", BATTERY)
    out = tmp_path / "kept.pdf"
    out.write_bytes(b"kept")
    done = _run("sheets", season, filled.DATE, "--out", out)
    assert (done.exit_code, "is there already" in done.stderr) == (2, True)
    assert out.read_bytes() == b"kept"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["kept.pdf", "season"]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("2026-09-31",), "is no date"),
        (("2026-09-15", "--test", "cnj"), "is no test of the battery"),
        (("2026-09-15", "--paper", "A3"), "is not one of"),
    ],
)
def test_what_cannot_be_printed_is_one_sentence_and_exit_2(
    tmp_path: Path, arguments: tuple[str, ...], sentence: str
) -> None:
    season = seasons.write(tmp_path / "season", {})
    done = _run("sheets", season, *arguments, "--out", tmp_path / "a.pdf")
    assert done.exit_code == 2
    assert sentence in done.stderr
    assert "Traceback" not in done.output
    assert not (tmp_path / "a.pdf").exists()


def test_faults_of_the_battery_are_told_and_the_sheets_still_made(tmp_path: Path) -> None:
    season = filled.season(tmp_path / "season", 'planned = ["60 m", "61 m"]\n')
    done = _run("sheets", season, filled.DATE, "--out", tmp_path / "a.pdf")
    assert (done.exit_code, "planned.61 m" in done.stderr) == (0, True)
    assert "4. " not in _text((tmp_path / "a.pdf").read_bytes())
