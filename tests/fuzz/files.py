"""Damage to whole files, and to what else may lie on a disk."""

from __future__ import annotations

import os
import random
from pathlib import Path

from .damage import FILES, any_sheet, cleared, damage, note_needed
from .made import DAY, TEXTS, Made, Sheet


def _lost(made: Made, sheet: Sheet) -> None:
    """Nobody knows any more what the file says; without a roster nothing starts."""
    sheet.known = False
    note_needed(made, sheet)


def _take(rng: random.Random, made: Made) -> tuple[Sheet, bytes]:
    sheet = any_sheet(rng, made)
    _lost(made, sheet)
    return sheet, made.files.get(sheet.path, b"")


@damage(FILES, late=True)
def _truncated(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    made.files[sheet.path] = data[: rng.randrange(max(len(data), 1))]
    return sheet.path


@damage(FILES, late=True)
def _emptied(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files[sheet.path] = rng.choice((b"", b"\n", b" ", b"\xef\xbb\xbf", b"\x00" * 100))
    return sheet.path


@damage(FILES, late=True)
def _bytes_flipped(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    flipped = bytearray(data)
    for _ in range(rng.choice((1, 5, 60))):
        if flipped:
            flipped[rng.randrange(len(flipped))] = rng.randrange(256)
    made.files[sheet.path] = bytes(flipped)
    return sheet.path


@damage(FILES, late=True)
def _noise(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files[sheet.path] = rng.randbytes(rng.choice((1, 100, 3000)))
    return sheet.path


@damage(FILES, late=True)
def _another_ending(rng: random.Random, made: Made) -> str:
    """The bytes of one format under the name of another."""
    sheet, data = _take(rng, made)
    made.files.pop(sheet.path, None)
    suffixes = {".csv", ".tsv", ".xlsx", ".xls", ".ods"} - {sheet.suffix}
    sheet.suffix = rng.choice(sorted(suffixes))
    made.files[sheet.path] = data
    return sheet.path


@damage(FILES, late=True)
def _ending_not_read(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    made.files.pop(sheet.path, None)
    sheet.suffix = rng.choice((".pdf", ".docx", ".numbers", ".txt", "", ".CSV", ".xlsm", ".bak"))
    made.files[sheet.path] = data
    return sheet.path


@damage(FILES)
def _other_encoding(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made, book=False)
    if not sheet.book:
        sheet.encoding = rng.choice(("utf-16", "utf-8-sig", "cp1252", "utf-8"))
        if rng.random() < 0.3:  # nothing says which it is: the reader may refuse it
            sheet.encoding = rng.choice(("utf-16-le", "utf-16-be", "utf-32", "cp437", "utf-7"))
            _lost(made, sheet)
    return f"{sheet.path}: {sheet.encoding}"


@damage(FILES)
def _other_separator(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made, book=False)
    sheet.separator = rng.choice((",", ";", "\t"))
    if rng.random() < 0.2:  # one that is not read
        sheet.separator = rng.choice(("|", ":", " "))
        _lost(made, sheet)
    return f"{sheet.path}: {sheet.separator!r}"


@damage(FILES)
def _other_line_ends(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made, book=False)
    sheet.line_end = rng.choice(("\n", "\r\n", "\r", "\n\n", "\r\r\n", "\x00\n"))
    if "\x00" in sheet.line_end or len(sheet.line_end) > 1:
        sheet.known = sheet.line_end == "\r\n"
        note_needed(made, sheet)
    return f"{sheet.path}: {sheet.line_end!r}"


@damage(FILES)
def _line_that_names_the_separator(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made, book=False)
    sheet.mark = f"sep={sheet.separator}\r\n".encode()
    _lost(made, sheet)
    return sheet.path


@damage(FILES, late=True)
def _quote_left_open(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    at = rng.randrange(len(data) + 1)
    made.files[sheet.path] = data[:at] + b'"' + data[at:]
    return sheet.path


@damage(FILES, late=True)
def _renamed(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    made.files.pop(sheet.path, None)
    sheet.stem = rng.choice((f"{sheet.stem} (1)", f"{sheet.stem}_final", "results", "x" * 200, "é"))
    made.files[sheet.path] = data
    return sheet.path


@damage(FILES, late=True)
def _capital_letters(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    made.files.pop(sheet.path, None)
    sheet.stem, sheet.suffix = sheet.stem.upper(), sheet.suffix.upper()
    made.files[sheet.path] = data
    return sheet.path


@damage(FILES, late=True)
def _removed(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files.pop(sheet.path, None)
    return sheet.path


@damage(FILES, late=True)
def _two_of_one_kind(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    suffix = rng.choice(sorted({".csv", ".tsv", ".xlsx", ".xls", ".ods"} - {sheet.suffix}))
    made.files[sheet.path.removesuffix(sheet.suffix) + suffix] = data
    return f"{sheet.path} and {suffix}"


@damage(FILES, late=True)
def _what_a_computer_leaves(rng: random.Random, made: Made) -> str:
    sheet = any_sheet(rng, made)
    data = made.files.get(sheet.path, b"")
    names = (f"~${sheet.stem}.xlsx", f".~lock.{sheet.stem}.ods#", ".DS_Store", "Thumbs.db",
             f"._{sheet.stem}.csv", "desktop.ini")  # fmt: skip
    for name in names:
        made.files[f"{DAY}/{name}"] = rng.choice((b"", b"\x05lock", data))
    return "temporary files"


@damage(FILES, late=True)
def _folder_in_its_place(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files.pop(sheet.path, None)
    path = sheet.path
    made.disk.append(lambda season: cleared(season, path).mkdir())
    return sheet.path


@damage(FILES, late=True)
def _folder_beside(rng: random.Random, made: Made) -> str:
    name = rng.choice(("old", "jumps", "force", "photos", "FORCE"))
    made.files[f"{DAY}/{name}/{rng.choice(('jumps.csv', 'a.txt', 'traces.csv'))}"] = b"a,b\n1,2\n"
    return name


def _linked(made: Made, sheet: Sheet, target: str, data: bytes | None) -> None:
    def link(season: Path) -> None:
        outside = season.parent / target
        if data is not None:
            outside.write_bytes(data)
        cleared(season, path).symlink_to(outside)

    path = sheet.path
    made.disk.append(link)


@damage(FILES, late=True)
def _link_out_of_the_season(rng: random.Random, made: Made) -> str:
    sheet, data = _take(rng, made)
    made.files.pop(sheet.path, None)
    _linked(made, sheet, f"elsewhere{sheet.suffix}", data)
    return sheet.path


@damage(FILES, late=True)
def _link_to_nothing(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files.pop(sheet.path, None)
    _linked(made, sheet, "nothing", None)
    return sheet.path


@damage(FILES, late=True)
def _link_to_itself(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files.pop(sheet.path, None)
    path = sheet.path
    made.disk.append(
        lambda season: cleared(season, path).symlink_to(path.rsplit("/", maxsplit=1)[-1])
    )
    return sheet.path


@damage(FILES, late=True)
def _pipe_in_its_place(rng: random.Random, made: Made) -> str:
    sheet, _ = _take(rng, made)
    made.files.pop(sheet.path, None)
    path = sheet.path
    made.disk.append(lambda season: os.mkfifo(cleared(season, path)))
    return sheet.path


@damage(FILES)
def _very_many_rows(rng: random.Random, made: Made) -> str:
    sheet = rng.choice(made.of_day())
    if sheet.suffix in TEXTS:
        sheet.rows += [list(sheet.rows[-1]) for _ in range(300)]
    return sheet.path
