"""Builds started as a user starts them, and what they leave behind."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

from filelock import FileLock

COMMAND = (sys.executable, "-m", "pipeline")
ROOT = Path(__file__).parents[2]


def run(
    *arguments: object, cwd: Path = ROOT, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run the command and give what it printed."""
    paths = {"PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        cwd=cwd,
        env={**os.environ, **paths, **(env or {})},
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )


def digests(day: Path) -> dict[str, str]:
    """Every file of a day's folder by its digest; of the manifest all but its environment."""
    found = {}
    for path in sorted(day.rglob("*")):
        if not path.is_file():
            continue
        data = path.read_bytes()
        if path.name == "manifest.json":
            manifest = json.loads(data)
            manifest.pop("environment")
            data = json.dumps(manifest, sort_keys=True).encode()
        found[path.relative_to(day).as_posix()] = hashlib.sha256(data).hexdigest()
    return found


def demo(folder: Path) -> Path:
    """The demo's latest day under ``folder``, built as the README says by whoever asks first."""
    out = folder / "demo"
    with FileLock(folder / "demo.lock"):
        if not out.exists():
            done = run("build", ROOT / "inputs_demo", "--out", out, "--workers", 2)
            assert done.returncode == 0, done.stderr
    (day,) = (p for p in out.iterdir() if p.is_dir())
    return day
