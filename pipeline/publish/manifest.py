"""The manifest: what went in, what came out, and with which versions.

``environment`` says where and how this one build ran; it is the only part that may differ between
two builds of the same inputs and is left out of every comparison.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import platform
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from pipeline.errors import CannotStartError

NAME = "manifest.json"
_PACKAGES = (
    "ipython", "matplotlib", "nbconvert", "nbformat", "numpy", "pandas", "papermill", "scipy",
    "seaborn", "testing-reports", "typst", "xlsxwriter",
)  # fmt: skip

_REVISION_LETTERS = 10


def digest(path: Path) -> str:
    """SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def hashes(root: Path, files: Iterable[Path]) -> dict[str, str]:
    """Digest of each file by its path relative to ``root``, sorted."""
    named = {p.relative_to(root).as_posix(): p for p in files}
    return {name: digest(named[name]) for name in sorted(named)}


def outputs(day: Path) -> dict[str, str]:
    """Digests of everything in a day's folder but the manifest itself."""
    files = (p for p in day.rglob("*") if p.is_file() and p.name != NAME)
    return hashes(day, files)


def versions() -> dict[str, str]:
    """Versions of the packages that shape the bytes."""
    return {name: importlib.metadata.version(name) for name in _PACKAGES}


def environment(**more: str) -> dict[str, str]:
    """Where this build ran."""
    return {"python": platform.python_version(), "system": platform.system(), **more}


def revision(*parts: object) -> str:
    """A short code of what a page was made from: equal for equal parts, which JSON must hold."""
    text = json.dumps(parts, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:_REVISION_LETTERS]


def write(day: Path, content: Mapping[str, Any]) -> None:
    """Write the manifest of a day's folder."""
    text = json.dumps(content, indent=1, sort_keys=True, ensure_ascii=False)
    (day / NAME).write_bytes((text + "\n").encode())


def read(day: Path) -> dict[str, Any]:
    """Read the manifest of a day's folder.

    Raises:
        CannotStartError: there is none.
    """
    try:
        content: dict[str, Any] = json.loads((day / NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise CannotStartError(
            f"{day.name!r} holds no {NAME}: it is no report folder, or its build never ended."
        ) from error
    if not isinstance(content, dict) or not content.keys() >= {"parameters", "environment"}:
        raise CannotStartError(f"{NAME} in {day.name!r} is none of this tool's; build it again.")
    return content


def differences(before: Mapping[str, str], after: Mapping[str, str]) -> list[str]:
    """What differs between two sets of digests, a line each."""
    lines = []
    for name in sorted(before.keys() | after.keys()):
        if name not in after:
            lines.append(f"missing in the rebuild: {name}")
        elif name not in before:
            lines.append(f"new in the rebuild: {name}")
        elif before[name] != after[name]:
            lines.append(f"differs: {name}")
    return lines
