"""Lints and types: all on, every exception with its reason."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
_SILENCED = re.compile(r"#\s*(noqa|type:\s*ignore)")
_WITH_REASON = re.compile(
    r"#\s*(noqa:\s*[A-Z]+\d+(,\s*[A-Z]+\d+)*|type:\s*ignore\[[^\]]+\])\s+#\s*\S+"
)


def _run(*command: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_ruff_finds_nothing() -> None:
    _run("ruff", "check", "--no-cache", ".")


def test_the_code_is_formatted() -> None:
    _run("ruff", "format", "--no-cache", "--check", ".")


def test_types_hold() -> None:
    _run("mypy", "--cache-dir=/dev/null")


def test_a_lint_is_silenced_only_with_its_reason() -> None:
    bare = [
        f"{path.relative_to(ROOT)}:{number}"
        for folder in ("pipeline", "tests")
        for path in sorted((ROOT / folder).rglob("*.py"))
        if path != Path(__file__)
        for number, line in enumerate(path.read_text().splitlines(), start=1)
        if _SILENCED.search(line) and not _WITH_REASON.search(line)
    ]
    assert bare == []
