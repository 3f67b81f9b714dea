"""The in-process engine gives what a kernel gives, and hides nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from pipeline.battery import TEMPLATES
from pipeline.publish.notebook import KERNEL, WORKER, Job, Outcome
from pipeline.publish.workers import Pool

TITLE = """\
from pipeline.report.blocks import Section, Title

Section.of(Title("A page"))"""


def _shown(expression: str) -> str:
    return f"Section.of(Title({expression}))"


@pytest.fixture(scope="module", name="pool")
def _pool() -> Iterator[Pool]:
    with Pool(1) as pool:
        yield pool


def make(pool: Pool, job: Job) -> Outcome:
    (outcome,) = pool.run([job])
    return outcome


def _job(folder: Path, cells: list[str], engine: str = WORKER, name: str = "page") -> Job:
    kernel = {"name": "python3", "display_name": "x", "language": "python"}
    notebook = new_notebook(metadata={"kernelspec": kernel})
    notebook.cells = [
        new_code_cell("word = 'default'", metadata={"tags": ["parameters"]}),
        *(new_code_cell(cell) for cell in cells),
    ]
    folder.mkdir(parents=True, exist_ok=True)
    template = folder / f"{name}-template.ipynb"
    nbformat.write(notebook, template)
    return Job(
        name=name,
        template=template,
        templates=TEMPLATES,
        notebook=folder / "notebooks" / f"{name}.ipynb",
        parameters={"word": "given"},
        date=dt.date(2026, 9, 15),
        engine=engine,
        html=folder / f"{name}.html",
    )


@pytest.mark.slow
def test_both_engines_give_the_same_notebook(pool: Pool, tmp_path: Path) -> None:
    cells = [
        TITLE,
        f"from IPython.display import display\ndisplay({_shown('word')})\n{_shown('word * 2')}",
        f"hidden = {_shown('word')};",
        f"{_shown('word')};",
    ]
    made = {}
    for engine in (WORKER, KERNEL):
        outcome = make(pool, _job(tmp_path / engine, cells, engine))
        assert outcome == Outcome("page", files=outcome.files)
        made[engine] = (tmp_path / engine / "notebooks" / "page.ipynb").read_bytes()
    assert made[WORKER] == made[KERNEL]
    assert b"given" in made[WORKER]


def test_the_given_parameter_counts(pool: Pool, tmp_path: Path) -> None:
    make(pool, _job(tmp_path, [TITLE, _shown("word")]))
    page = (tmp_path / "page.html").read_text()
    assert "given" in page
    assert "default" not in page


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("1 / 0", "cell 2 stopped with ZeroDivisionError: division by zero"),
        ("print('hello')", "cell 3 wrote to stdout: hello"),
        ("import warnings\nwarnings.warn('careful')", "UserWarning: careful"),
        ("import sys\nx = sys.stderr.write('oops\\n')", "cell 3 wrote to stderr: oops"),
        ("def broken(:", "SyntaxError"),
        ("{'a': 1}", "an output that the page cannot show"),
    ],
)
def test_a_fault_in_a_notebook_fails_the_page_with_a_sentence(
    pool: Pool, tmp_path: Path, cell: str, why: str
) -> None:
    cells = [cell] if "stopped" in why else [TITLE, cell]
    outcome = make(pool, _job(tmp_path, cells))
    assert why in outcome.why
    assert outcome.files == ()
    assert not (tmp_path / "page.html").exists()
    assert not (tmp_path / "notebooks" / "page.ipynb").exists()


def test_a_warm_process_warns_again(pool: Pool, tmp_path: Path) -> None:
    cell = "import warnings\nwarnings.warn('careful')"
    for name in ("first", "second"):
        assert "careful" in make(pool, _job(tmp_path, [TITLE, cell], name=name)).why


def test_nothing_is_left_from_one_notebook_to_the_next(pool: Pool, tmp_path: Path) -> None:
    assert make(pool, _job(tmp_path, [TITLE, "left_over = 1"], name="first")).why == ""
    assert "NameError" in make(pool, _job(tmp_path, [TITLE, "left_over"], name="second")).why


def test_a_parameter_that_the_notebook_does_not_take_is_refused(pool: Pool, tmp_path: Path) -> None:
    job = _job(tmp_path, [TITLE])
    template = nbformat.read(job.template, as_version=4)
    template.cells[0].source = "wort = 'default'"
    nbformat.write(template, job.template)
    assert "the notebook takes ['wort'], but was given ['word']" in make(pool, job).why


def test_a_template_without_a_parameters_tag_is_refused(pool: Pool, tmp_path: Path) -> None:
    job = _job(tmp_path, [TITLE])
    template = nbformat.read(job.template, as_version=4)
    template.cells[0].metadata.tags = []
    nbformat.write(template, job.template)
    assert "0 cells tagged" in make(pool, job).why


def test_markdown_may_hold_headings_only(pool: Pool, tmp_path: Path) -> None:
    job = _job(tmp_path, [TITLE])
    template = nbformat.read(job.template, as_version=4)
    template.cells.append(new_markdown_cell("## Fine\n\nA sentence from nowhere."))
    nbformat.write(template, job.template)
    assert "more than a heading: A sentence from nowhere." in make(pool, job).why


@pytest.mark.slow
def test_a_notebook_that_kills_its_process_fails_alone(tmp_path: Path) -> None:
    killer = "import os\nos._exit(7)"
    jobs = [_job(tmp_path, [TITLE], name=f"good-{n}") for n in range(5)]
    jobs.insert(2, _job(tmp_path, [TITLE, killer], name="killer"))
    with Pool(2) as pool:
        outcomes = {outcome.name: outcome for outcome in pool.run(jobs)}
    assert outcomes.pop("killer").why == "its process ended without a word"
    assert len(outcomes) == 5
    assert all(not outcome.why for outcome in outcomes.values())
    assert not (tmp_path / "killer.html").exists()
