"""A folder that is whole or absent: built aside, then swapped in by two renames.

``.building-NAME`` is a build under way, ``.old-NAME`` the former folder during the swap. One lock
for the place where reports go: whoever holds it may sweep what a killed build left behind.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from pathlib import Path

from filelock import FileLock, Timeout

from pipeline.errors import CannotStartError

_BUILDING, _OLD, _LOCK = ".building-", ".old-", ".lock"


@contextlib.contextmanager
def place(out: Path) -> Iterator[None]:
    """Hold the place where reports go, repaired and swept.

    Raises:
        CannotStartError: another build holds it, or it cannot be written.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        lock = FileLock(out / _LOCK, timeout=0)
        lock.acquire()
    except Timeout as error:
        raise CannotStartError(
            f"Another build is writing to {out.name!r}; wait for it to end."
        ) from error
    except OSError as error:
        raise CannotStartError(f"{out.name!r} cannot be written: {error.strerror}.") from error
    try:
        _repair(out)
        yield
    finally:
        lock.release()


def _repair(out: Path) -> None:
    """Bring back a folder whose swap was cut short, and sweep unfinished builds."""
    for old in sorted(out.glob(f"{_OLD}*")):
        final = out / old.name.removeprefix(_OLD)
        if final.exists():
            _remove(old)
        else:
            old.rename(final)
    for building in sorted(out.glob(f"{_BUILDING}*")):
        _remove(building)


def _remove(folder: Path) -> None:
    """Remove a folder; a last write of a dying worker may need a second try."""
    for _ in range(3):
        shutil.rmtree(folder, ignore_errors=True)
        if not folder.exists():
            return
    shutil.rmtree(folder)


@contextlib.contextmanager
def whole(out: Path, name: str) -> Iterator[Path]:
    """Give a hidden folder to build in; on a clean end it becomes ``out/name``, else it goes.

    Raises:
        CannotStartError: ``out/name`` is there and no folder of reports, so it must not go.
    """
    building, final, old = out / f"{_BUILDING}{name}", out / name, out / f"{_OLD}{name}"
    _refuse_strangers(final)
    building.mkdir()
    try:
        yield building
        if final.exists():
            final.rename(old)
        building.rename(final)
    except BaseException:
        _remove(building)
        raise
    if old.exists():
        _remove(old)


_OURS = frozenset({"athletes", "data", "notebooks", "manifest.json"})
_PAGES = frozenset({".html", ".pdf"})


def _refuse_strangers(final: Path) -> None:
    """A folder that holds anything else than reports was not made here."""
    if not (final.is_symlink() or final.exists()):
        return
    known = final.is_dir() and all(_ours(path) for path in final.iterdir())
    if known and not final.is_symlink():
        return
    raise CannotStartError(
        f"{final.name!r} in {final.parent.name!r} is no folder of reports, so it was not "
        "replaced; move it, or choose another folder with --out."
    )


def _ours(path: Path) -> bool:
    return path.name in _OURS or path.suffix in _PAGES or path.name.startswith(".")
