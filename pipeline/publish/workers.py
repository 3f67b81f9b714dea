"""Warm worker processes that make pages side by side, and die with their parent."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor
from concurrent.futures import wait as futures_wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.connection import wait
from types import TracebackType
from typing import Self

from pipeline.publish.notebook import Job, Outcome, make

_DIED = "its process ended without a word"


class Pool:
    """Workers that stay warm from one set of pages to the next. Use it in a ``with``."""

    def __init__(self, workers: int) -> None:
        self._workers = workers
        self._executor = _executor(workers)

    def __enter__(self) -> Self:
        """The pool itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the workers; what was not begun is dropped."""
        self._executor.shutdown(cancel_futures=True)

    def run(self, jobs: Sequence[Job]) -> Iterator[Outcome]:
        """Make every page, in the order they finish.

        A notebook that kills its own process fails alone: the pages that were under way with it
        are made again, one at a time, and the others go on in new workers.
        """
        waiting = deque(jobs)
        suspects: list[Job] = []
        while waiting:
            yield from self._until_broken(waiting, suspects, self._workers)
        for job in suspects:
            broken: list[Job] = []
            yield from self._until_broken(deque([job]), broken, 1)
            if broken:
                yield Outcome(job.name, why=_DIED)

    def _until_broken(
        self, waiting: deque[Job], suspects: list[Job], at_once: int
    ) -> Iterator[Outcome]:
        """Take jobs from ``waiting`` until none is left or the workers break.

        No more jobs are handed out than there are workers, so that a break leaves few suspects.
        """
        running: dict[Future[Outcome], Job] = {}
        while waiting or running:
            while waiting and len(running) < at_once:
                running[self._executor.submit(make, waiting[0])] = waiting[0]
                waiting.popleft()
            done, _ = futures_wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                job = running.pop(future)
                try:
                    outcome = future.result()
                except BrokenProcessPool:
                    suspects.extend([job, *running.values()])
                    self._executor.shutdown()
                    self._executor = _executor(self._workers)
                    return
                yield outcome


def _executor(workers: int) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")  # a forked matplotlib or shell is no clean one
    return ProcessPoolExecutor(workers, mp_context=context, initializer=_start)


def _start() -> None:
    """Prepare a worker: leave when the parent does, then load what every page needs."""
    _leave_with_parent()
    import seaborn  # noqa: F401, ICN001, PLC0415  # warm up

    from pipeline.publish import engine, html, pdf, steady  # noqa: F401, PLC0415  # warm up


def _leave_with_parent() -> None:
    """Watch the parent: a killed parent cannot tell its workers, and they would live on."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=watch, name="parent-watch", daemon=True).start()
