"""A day's folder is whole or absent."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import CannotStartError
from pipeline.publish import swap


def _folders(out: Path) -> list[str]:
    return sorted(p.name for p in out.iterdir() if p.is_dir())


def _fail_half_way(out: Path) -> None:
    with swap.place(out), swap.whole(out, "day") as here:
        (here / "page.html").write_text("half")
        raise RuntimeError("stopped")


def test_a_clean_end_swaps_the_folder_in(tmp_path: Path) -> None:
    for text in ("first", "second"):
        with swap.place(tmp_path), swap.whole(tmp_path, "day") as here:
            (here / "page.html").write_text(text)
        assert (tmp_path / "day" / "page.html").read_text() == text
    assert _folders(tmp_path) == ["day"]


def test_a_fault_leaves_the_former_folder_untouched(tmp_path: Path) -> None:
    with swap.place(tmp_path), swap.whole(tmp_path, "day") as here:
        (here / "page.html").write_text("first")
    with pytest.raises(RuntimeError, match="stopped"):
        _fail_half_way(tmp_path)
    assert (tmp_path / "day" / "page.html").read_text() == "first"
    assert _folders(tmp_path) == ["day"]


def test_a_swap_cut_short_between_its_renames_is_repaired(tmp_path: Path) -> None:
    old = tmp_path / ".old-day"
    old.mkdir()
    (old / "page.html").write_text("former")
    (tmp_path / ".building-day").mkdir()
    with swap.place(tmp_path):
        pass
    assert (tmp_path / "day" / "page.html").read_text() == "former"
    assert _folders(tmp_path) == ["day"]


def test_a_swap_cut_short_after_its_renames_is_repaired(tmp_path: Path) -> None:
    (tmp_path / ".old-day").mkdir()
    (tmp_path / "day").mkdir()
    (tmp_path / "day" / "page.html").write_text("new")
    with swap.place(tmp_path):
        pass
    assert (tmp_path / "day" / "page.html").read_text() == "new"
    assert _folders(tmp_path) == ["day"]


def test_two_builds_cannot_write_to_one_place(tmp_path: Path) -> None:
    with (
        swap.place(tmp_path),
        pytest.raises(CannotStartError, match="Another build"),
        swap.place(tmp_path),
    ):
        pass


def test_a_place_that_cannot_be_written_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotStartError, match="cannot be written"), swap.place(tmp_path / "file"):
        pass
