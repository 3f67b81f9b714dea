"""From a path to bytes: only plain files, whole, and as they were at one moment."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from pipeline.intake import limits

TEXT_SUFFIXES = (".csv", ".tsv")
BOOK_SUFFIXES = (".xlsx", ".xls", ".ods")
SUFFIXES = (*TEXT_SUFFIXES, *BOOK_SUFFIXES)

_LITTER = frozenset({"thumbs.db", "desktop.ini"})
_READS = 2
"""How often a file is read before it counts as being written still."""


class UnreadableError(Exception):
    """The file could not be read; the text completes “could not be read: …”."""


def is_litter(path: Path) -> bool:
    """Whether a program or a desktop left the file: nobody's data, and no word is lost on it."""
    name = path.name.casefold()
    return name.startswith((".", "~$")) or name.endswith("~") or name in _LITTER


def named(folder: Path, stem: str) -> list[Path]:
    """What a folder holds under this name with an ending we read, be it a plain file or not."""
    found = (p for p in folder.iterdir() if p.stem.casefold() == stem and not is_litter(p))
    return sorted(p for p in found if p.suffix.lower() in SUFFIXES)


def contents(path: Path) -> bytes:
    """The bytes of a plain file.

    A link is refused wherever it leads: what it points at is not the season's. A file that
    changes under our eyes is read once more.

    Raises:
        UnreadableError: no plain file, too large, locked, or written to all the time.
    """
    why = why_not_plain(path)
    if why:
        raise UnreadableError(why)
    try:
        for _ in range(_READS):
            before = path.stat()
            if before.st_size > limits.LARGEST_FILE:
                raise UnreadableError(f"it is larger than {limits.megabytes(limits.LARGEST_FILE)}")
            data = _read(path)
            if _mark(before) == _mark(path.stat()) and len(data) == before.st_size:
                return data
    except PermissionError as error:
        raise UnreadableError("another program has it open, or it may not be read") from error
    except OSError as error:
        raise UnreadableError(f"the disk does not give it ({error.strerror})") from error
    raise UnreadableError("it changed while it was being read; close the program that writes it")


def why_not_plain(path: Path) -> str:
    """Why a path is no file that could be read; empty for a plain file. Opens nothing."""
    try:
        mode = path.lstat().st_mode
    except OSError:
        return "it is not there"
    if stat.S_ISLNK(mode):
        return "it is a link to another place, and links are not followed"
    if stat.S_ISDIR(mode):
        return "it is a folder with a file's name"
    return "" if stat.S_ISREG(mode) else "it is no plain file"


def _read(path: Path) -> bytes:
    """At most one byte over the limit, whatever the file has grown to."""
    with path.open("rb") as opened:
        return opened.read(limits.LARGEST_FILE + 1)


def _mark(found: os.stat_result) -> tuple[int, int]:
    return found.st_size, found.st_mtime_ns
