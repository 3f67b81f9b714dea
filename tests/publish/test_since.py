"""What changed since the last build is told once, and a rebuild of the same says the same."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from pypdf import PdfReader

from pipeline import build, tables
from pipeline.build import Request
from pipeline.publish import manifest, since
from tests import seasons
from tests.end_to_end.builds import digests

DAY = "2026-09-15"
EMPTY = {name: tables.empty(name) for name in ("findings", "results")}


def _results(**values: float) -> pd.DataFrame:
    blank = dict.fromkeys(tables.SCHEMAS["results"].columns)
    rows = [
        {**blank, "day": DAY, "athlete_id": who, "test": "60 m", "measure": "time", "value": value}
        for who, value in values.items()
    ]
    rows.append({**rows[0], "day": "2026-05-12", "value": 1.0})
    return tables.shape("results", pd.DataFrame(rows))


def _findings(*rows: int) -> pd.DataFrame:
    one = {
        "severity": "note", "code": "cell-corrected", "message": "m", "file": "a.csv",
        "sheet": "", "column": "t60_s", "athlete_id": "A01",
    }  # fmt: skip
    lines = [{**one, "row": row} for row in rows] + [{**one, "code": "hand-timed", "row": 9}]
    return tables.shape("findings", pd.DataFrame(lines))


def _begun(inputs: dict[str, str], **more: Any) -> dict[str, Any]:
    return {
        "inputs": inputs, "templates": {"t": "1"}, "versions": {"v": "1"},
        "parameters": {"day": DAY}, "environment": {}, **more,
    }  # fmt: skip


def _before(folder: Path, begun: dict[str, Any], **frames: pd.DataFrame) -> Path:
    (folder / "data").mkdir(parents=True)
    manifest.write(folder, begun)
    for name, frame in {**EMPTY, **frames}.items():
        (folder / "data" / f"{name}.csv").write_bytes(tables.to_csv(name, frame))
    return folder


def test_files_corrections_and_results_that_differ_are_told(tmp_path: Path) -> None:
    inputs = {"a.csv": "1", "b.csv": "1", "day/force/A01.csv": "1", "day/force/A02.csv": "1"}
    before = _before(
        tmp_path / DAY,
        _begun(inputs),
        results=_results(A01=7.7, A02=6.9, A04=8.0, X09=9.0),
        findings=_findings(2),
    )
    now = {"results": _results(A01=7.6, A02=6.9, A03=7.1), "findings": _findings(2, 3)}
    begun = _begun({"a.csv": "2", "b.csv": "1", "c.csv": "1"}, versions={"v": "2"})
    told = since.last_build(before, begun, now, ["A01", "A02", "A03", "A04"])
    assert told["inputs"] == {"changed": ["a.csv"], "new": ["c.csv"], "gone": {"day/force": 2}}
    assert told["tools"] == ["versions"]
    assert [(one["code"], one["row"]) for one in told["corrections"]] == [("cell-corrected", 3)]
    changed = [
        (one["athlete_id"], one["before"], one["after"]) for one in told["results"]["changed"]
    ]
    assert changed == [("A01", 7.7, 7.6), ("A03", None, 7.1), ("A04", 8.0, None)]
    assert told["results"]["others"] == 1
    assert "X09" not in json.dumps(told)


def test_the_same_inputs_say_again_what_was_said(tmp_path: Path) -> None:
    said = {"inputs": {"changed": ["a.csv"]}}
    before = _before(tmp_path / DAY, _begun({"a.csv": "1"}, since=said))
    assert since.last_build(before, _begun({"a.csv": "1"}), EMPTY, []) == said
    other = since.last_build(before, _begun({"a.csv": "2"}), EMPTY, [])
    assert other["results"] == {"compared": True, "changed": [], "others": 0}


@pytest.mark.parametrize("damage", ["none", "no json", "other", "list", "tables"])
def test_a_build_before_that_is_none_of_ours_stops_nothing(tmp_path: Path, damage: str) -> None:
    folder = tmp_path / DAY
    if damage != "none":
        _before(folder, _begun({"a.csv": "1"}))
        texts = {"no json": "{", "other": '{"parameters": {}, "environment": {}}', "list": "[]"}
        if damage in texts:
            (folder / manifest.NAME).write_text(texts[damage])
        else:
            (folder / "data" / "results.csv").write_bytes(b"\xff\x00")
    told = since.last_build(folder, _begun({"a.csv": "2"}), EMPTY, [])
    assert told == {} if damage != "tables" else told["results"] == {"compared": False}


def _build(season: Path, out: Path, *formats: str, only: tuple[str, ...] = ()) -> Path:
    request = Request(season, out, only=only, formats=formats)
    (built,) = build.build(request, lambda *_: None)
    assert not built.failed
    return built.folder


def test_a_rebuild_of_the_same_gives_the_same_bytes_with_and_without_one_before(
    tidy: Path, tmp_path: Path
) -> None:
    _build(tidy, tmp_path / "a")
    (tidy / "corrections.csv").write_text(
        "file,row,column,action,value,reason,by\n"
        f"{seasons.DAY_FOLDER}/lifts.csv,3,load_kg,replace,141,misread,Coach Vey\n"
    )
    second = _build(tidy, tmp_path / "a")
    told = manifest.read(second)["since"]
    assert told["inputs"]["new"] == ["corrections.csv"]
    assert [(c["code"], c["row"]) for c in told["corrections"]] == [("cell-corrected", 3)]
    best = [r for r in told["results"]["changed"] if r["measure"] == "one_rep_max"]
    assert [(r["athlete_id"], r["before"], r["after"]) for r in best] == [("A02", 140.0, 141.0)]
    was = digests(second)
    assert digests(_build(tidy, tmp_path / "a")) == was
    alone = digests(_build(tidy, tmp_path / "b"))
    assert {name for name in was if was[name] != alone[name]} == {"manifest.json"}


@pytest.mark.slow
def test_pages_carry_a_revision_and_the_index_says_what_changed(tidy: Path, tmp_path: Path) -> None:
    first = _build(tidy, tmp_path / "a", "html", "pdf", only=("A01",))
    page, index = ((first / n).read_text() for n in ("athletes/A01.html", "index.html"))
    (code,) = re.findall(r"<footer>Revision ([0-9a-f]{10})</footer>", page)
    printed = PdfReader(io.BytesIO((first / "athletes" / "A01.pdf").read_bytes()))
    assert all(f"Revision {code}" in sheet.extract_text() for sheet in printed.pages)
    assert "No earlier build of this day differs from this one." in index
    lifts = tidy / seasons.DAY_FOLDER / "lifts.csv"
    lifts.write_text(lifts.read_text().replace("140", "142.5"))
    second = _build(tidy, tmp_path / "a", "html", only=("A01",))
    assert (second / "athletes" / "A01.html").read_text() == page
    changed = (second / "index.html").read_text()
    assert f"{seasons.DAY_FOLDER}/lifts.csv changed" in changed
    assert "A02: back squat: 140.0 kg → 142.5 kg" in changed
    staff = [set(re.findall(r"Revision ([0-9a-f]{10})", text)) for text in (index, changed)]
    assert not staff[0] & staff[1]
    assert build.verify(second, tidy, 1, lambda *_: None) == []
