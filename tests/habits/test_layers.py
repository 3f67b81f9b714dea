"""The layers of the house hold, and every module stands in one."""

from __future__ import annotations

from pathlib import Path

from importlinter.cli import lint_imports

ROOT = Path(__file__).parents[2]


def test_layers_hold() -> None:
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == 0


def test_only_the_face_prints_and_exits() -> None:
    offenders = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in sorted((ROOT / "pipeline").rglob("*.py"))
        if path.name != "cli.py"
        for number, line in enumerate(path.read_text().splitlines(), start=1)
        if line.lstrip().startswith(("print(", "sys.exit(", "raise SystemExit", "click.echo("))
    ]
    assert offenders == []
