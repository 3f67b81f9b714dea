"""Signed corrections: applied where they fit, stale where the cell changed, never a raw file."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from pipeline import computing
from pipeline.catalogue import Severity
from pipeline.intake import corrections, folder
from pipeline.intake.frames import RawRow
from pipeline.intake.readers import RawSheet
from pipeline.reading import Intake
from tests import seasons
from tests.intake.small import adds_up, book, found, read, season, states

HEAD = "file,sheet,row,column,was,action,value,reason,by\n"
D = seasons.DAY_FOLDER
JUMPS = """\
athlete_id,test,attempt,arms,flight_time_s
A01,cmj,1,hips,0.511
A01,cmj,2,hips,5.19
A02,cmj,1,hips,0.550
A02,cmj,2,hips,O.56
A03,cmj,1,hips,1.350
A03,cmj,2,hips,0.530
nobody,cmj,1,hips,0.500
"""
SIGNED = f"""\
{D}/jumps.csv,,3,flight_time_s,5.19,replace,0.519,point misplaced,Coach Vey
{D}/jumps.csv,,5,flight_time_s,,exclude,,illegible,Coach Vey
{D}/jumps.csv,,6,flight_time_s,1.35,accept,,seen on film,Coach Vey
{D}/jumps.csv,,8,athlete_id,nobody,replace,A02,was Bram,Coach Vey
{D}/jumps.csv,,7,,,exclude,,she slipped,Coach Vey
{D}\\sprints.csv,,3,t30_s,4.31,replace,4.30,misread,Coach Vey
./{D}/sprints.csv,,4,,,accept,,as run,Coach Vey
status.csv,,2,reason,,exclude,,no file of that name,Coach Vey
{D}/status.csv,,2,Status,full,replace,limited,only one leg,Coach Vey
{D}/nothing.csv,,2,x,,exclude,,r,Coach Vey
{D}/jumps.csv,,99,flight_time_s,,exclude,,r,Coach Vey
{D}/jumps.csv,,2,height,,exclude,,r,Coach Vey
{D}/jumps.csv,,2,arms,free,replace,hips,r,Coach Vey
{D}/jumps.csv,,2,attempt,,exclude,,r,Coach Vey
{D}/jumps.csv,,2,attempt,,replace,3,r,Coach Vey
{D}/jumps.csv,Other,2,attempt,,exclude,,r,Coach Vey
{D}/jumps.csv,,4,flight_time_s,,delete,,r,Coach Vey
{D}/jumps.csv,,4,flight_time_s,,exclude,,,Coach Vey
{D}/jumps.csv,,4,flight_time_s,,replace,,r,
../roster.csv,,2,name,,replace,X,r,Coach Vey
battery.toml,,2,name,,replace,X,r,Coach Vey
roster.csv,,2,name,Ada Quillon,replace,Ada Quillon-Vey,married,Coach Vey
"""


@pytest.fixture(scope="module", name="day")
def _day(tmp_path_factory: pytest.TempPathFactory) -> Intake:
    sheets = {
        "jumps.csv": JUMPS,
        "sprints.csv": seasons.SPRINTS,
        "status.csv": "athlete_id,test,status,reason\nA03,60 m,full,\n",
    }
    return read(tmp_path_factory.mktemp("c"), sheets, {"corrections.csv": HEAD + SIGNED})


def test_every_line_has_the_fate_it_should(day: Intake) -> None:
    own = [f for f in found(day) if f[0].startswith("correction-")]
    assert sorted((row, code, column) for code, row, column in own) == [
        (8, "correction-idle", "action"),
        (9, "correction-nowhere", "file"), (11, "correction-nowhere", "file"),
        (12, "correction-nowhere", "row"), (13, "correction-nowhere", "column"),
        (14, "correction-stale", "was"), (15, "correction-twice", "row"),
        (16, "correction-twice", "row"), (17, "correction-nowhere", "sheet"),
        (18, "correction-unclear", "action"), (19, "correction-unsigned", "reason"),
        (20, "correction-unclear", "value"), (20, "correction-unsigned", "by"),
        (21, "correction-nowhere", "file"), (22, "correction-nowhere", "file"),
    ]  # fmt: skip
    account = day.account.set_index("file").loc["corrections.csv"]
    assert account[["rows", "used", "flagged", "set_aside"]].tolist() == [22, 8, 1, 13]


def test_applied_ones_stand_at_their_cells_with_the_athlete(day: Intake) -> None:
    told = {
        (f.place.file.rpartition("/")[2], f.place.row, f.code): f
        for f in day.findings
        if f.code in ("cell-corrected", "cell-excluded", "row-excluded", "finding-accepted")
    }
    assert {key: (f.athlete_id, f.place.column) for key, f in told.items()} == {
        ("jumps.csv", 3, "cell-corrected"): ("A01", "flight_time_s"),
        ("jumps.csv", 5, "cell-excluded"): ("A02", "flight_time_s"),
        ("jumps.csv", 6, "finding-accepted"): ("A03", "flight_time_s"),
        ("jumps.csv", 7, "row-excluded"): ("A03", ""),
        ("jumps.csv", 8, "cell-corrected"): ("", "athlete_id"),
        ("sprints.csv", 3, "cell-corrected"): ("A01", "t30_s"),
        ("status.csv", 2, "cell-corrected"): ("A03", "status"),
        ("roster.csv", 2, "cell-corrected"): ("A01", "name"),
    }
    assert all(f.severity is Severity.NOTE for f in told.values())
    one = told["jumps.csv", 3, "cell-corrected"].message
    for word in ("“5.19”", "“0.519”", "point misplaced", "Coach Vey", "row 2"):
        assert word in one
    accepted = [f.message for f in day.findings if f.code == "finding-accepted"]
    assert any("value-implausible" in message for message in accepted)


def test_what_is_used_is_what_was_signed_and_the_raw_cell_stays_in_sight(day: Intake) -> None:
    trials = day.trials
    flights = trials.values[trials.values["quantity"] == "flight_time"]
    who = trials.attempts.loc[flights["key"], "athlete_id"]
    told = zip(who, flights["raw"], flights["value"], flights["status"], strict=True)
    assert list(told) == [
        ("A01", "0.511", 0.511, "used"), ("A01", "5.19", 0.519, "used"),
        ("A02", "0.550", 0.55, "used"), ("A03", "1.350", 1.35, "used"),
        ("A02", "0.500", 0.5, "used"),
    ]  # fmt: skip
    assert flights["source"].iloc[1] == (f"corrections.csv!!2!value;{D}/jumps.csv!!3!flight_time_s")
    split = trials.values[trials.values["source"].str.endswith("sprints.csv!!3!t30_s")]
    assert (split["raw"].item(), split["value"].item()) == ("4.31", 4.3)
    assert day.roster.athletes["A01"].name == "Ada Quillon-Vey"
    assert [s.status for s in day.statuses] == ["limited"]


def test_excluded_rows_are_counted_as_set_aside_and_none_is_lost(day: Intake) -> None:
    assert states(day, "jumps.csv") == (7, 5, 0, 2)
    assert adds_up(day)


def test_results_come_from_the_corrected_cell_and_name_it(day: Intake) -> None:
    results = computing.compute(day).tables["results"]
    height = results[(results["athlete_id"] == "A01") & (results["measure"] == "jump_height")]
    assert height["value"].item() == pytest.approx(33.018, abs=5e-3)  # 9.80665 · 0.519² / 8
    assert height["source"].item().startswith("corrections.csv!!2!value;")


def test_no_raw_file_is_changed_and_reading_again_says_the_same(tmp_path: Path) -> None:
    sheets = {"jumps.csv": JUMPS}
    over = {"corrections.csv": HEAD + SIGNED}
    here = season(tmp_path, sheets, over)
    before = {p: hashlib.sha256(p.read_bytes()).digest() for p in here.rglob("*") if p.is_file()}
    opened, _ = folder.open_season(here)
    signed = corrections.read(opened)
    raw = opened.read(here / D / "jumps.csv")
    first = signed.applied(f"{D}/jumps.csv", raw)
    assert first == signed.applied(f"{D}/jumps.csv", raw)
    assert first != raw
    assert before == {p: hashlib.sha256(p.read_bytes()).digest() for p in before}


def _corrected(tmp_path: Path, lines: str, *sheets: RawSheet) -> list[RawSheet]:
    here = seasons.write(tmp_path / "season", {"corrections.csv": HEAD + lines})
    opened, _ = folder.open_season(here)
    return corrections.read(opened).applied("a.xlsx", list(sheets))


def test_a_workbook_s_sheet_is_named_where_there_are_several(tmp_path: Path) -> None:
    row = RawRow(2, ("A01", "7.7"))
    one, two = (RawSheet(name, ("athlete_id", "t60_s"), (row,)) for name in ("One", "Two"))
    lines = "a.xlsx,Two,2,T60 (s),7.70,replace,7.07,r,b\na.xlsx,,2,t60_s,,exclude,,r,b\n"
    made = _corrected(tmp_path, lines, one, two)
    assert made[0] == one
    assert made[1].rows == (RawRow(2, ("A01", "7.07")),)


def test_a_cell_beyond_a_short_row_can_be_filled(tmp_path: Path) -> None:
    sheet = RawSheet("", ("athlete_id", "x", "t60_s"), (RawRow(2, ("A01",)),))
    (made,) = _corrected(tmp_path, "a.xlsx,,2,t60_s,,replace,7.07,r,b\n", sheet)
    assert made.rows == (RawRow(2, ("A01", "", "7.07")),)


def test_a_row_and_one_of_its_cells_are_not_both_taken(tmp_path: Path) -> None:
    sheet = RawSheet("", ("athlete_id", "t60_s"), (RawRow(2, ("A01", "7")), RawRow(3, ("A01",))))
    lines = "a.xlsx,,2,,,exclude,,r,b\na.xlsx,,2,t60_s,,replace,8,r,b\na.xlsx,,3,,,exclude,,r,b\n"
    (made,) = _corrected(tmp_path, lines, sheet)
    assert made.rows == (sheet.rows[0],)
    assert made.excluded == (3,)


def test_corrections_may_be_a_workbook_and_an_unreadable_file_corrects_nothing(
    tmp_path: Path,
) -> None:
    rows = [HEAD.strip().split(","), [f"{D}/jumps.csv", None, 3, "flight_time_s", 5.19, "replace",
            0.519, "point misplaced", "Coach Vey"]]  # fmt: skip
    for name, content in (("corrections.xlsx", book({"C": rows})), ("corrections.csv", b"\xff")):
        here = seasons.write(tmp_path / name, {name: content, f"{D}/jumps.csv": JUMPS})
        opened, _ = folder.open_season(here)
        made = corrections.read(opened).applied(
            f"{D}/jumps.csv", opened.read(here / D / "jumps.csv")
        )
        assert made[0].rows[1].cells[-1] == ("0.519" if name.endswith("xlsx") else "5.19")
