"""No word of an input is ever run: the calls that could do it stand nowhere in the pipeline."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]
_RUN = frozenset({"eval", "exec", "compile", "__import__", "execfile"})
_MODULES = frozenset({"pickle", "cPickle", "dill", "cloudpickle", "joblib", "marshal", "shelve",
                      "yaml", "ruamel", "subprocess", "code", "runpy", "ctypes"})  # fmt: skip
_METHODS = frozenset({"popen", "read_pickle", "spawnl", "execv", "import_module"})
_OF_MODULES = {"builtins": _RUN, "os": frozenset({"system"})}
_ALLOW_PICKLE = "allow_pickle"


def faults(source: str) -> list[str]:
    """What in a module could run a text, by line."""
    found = []
    for node in ast.walk(ast.parse(source)):
        names: set[str] = set()
        if isinstance(node, ast.Call):
            called = node.func
            if isinstance(called, ast.Name):
                names = {called.id} & _RUN
            elif isinstance(called, ast.Attribute):
                names = {called.attr} & _METHODS
                if isinstance(called.value, ast.Name):
                    names |= {called.attr} & _OF_MODULES.get(called.value.id, frozenset())
            names |= {k.arg for k in node.keywords if k.arg in (_ALLOW_PICKLE, "shell")}
        elif isinstance(node, ast.Import):
            names = {alias.name.split(".")[0] for alias in node.names} & _MODULES
        elif isinstance(node, ast.ImportFrom):
            names = {(node.module or "").split(".")[0]} & _MODULES
        found += [f"{node.lineno}: {name}" for name in sorted(names)]  # type: ignore[attr-defined]  # has a line
    return found


def test_nothing_in_the_pipeline_can_run_a_text() -> None:
    modules = sorted((ROOT / "pipeline").rglob("*.py"))
    assert len(modules) > 100
    assert {p.name: found for p in modules if (found := faults(p.read_text()))} == {}


def test_each_way_would_be_found() -> None:
    ways = (
        "eval(x)", "exec(x)", "import pickle", "from yaml import load", "import subprocess as s",
        "os.system(x)", "pd.read_pickle(x)", "np.load(x, allow_pickle=True)", "run(x, shell=True)",
        "builtins.eval(x)", "__import__(x)",
    )  # fmt: skip
    assert [way for way in ways if not faults(way)] == []
    assert (
        faults(
            "frame.evaluate(x); re.compile(x); json.loads(x); platform.system(); typst.compile(x)"
        )
        == []
    )
