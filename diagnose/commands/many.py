"""Diagnosing thousands of cases on all processors, with the results in the order of the cases."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

from diagnose.commands.opening import assembly_for, open_book, open_case
from diagnose.diagnosis import diagnose
from diagnose.model.knowledge import Book
from diagnose.problems import ERROR, Place, Problem, Unusable
from diagnose.render.json_text import Record
from diagnose.render.record import record

CHUNK = 16  # cases handed to a worker at once: large enough to hide the hand-over
AHEAD = 4  # chunks per worker in flight, so that the order costs no waiting and little memory
SUFFIXES = frozenset({".yaml", ".yml"})
# One thread per process: the arrays are small, and the processors are taken already.
_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True)
class Job:
    """What every worker is told once. `details`: joint explanations and conflict, which take most of the time."""

    shop: str | None
    advice: bool
    details: bool
    top: int | None = None


@dataclass(frozen=True)
class Done:
    """What came of one file: a record, or the problems that left none."""

    path: Path
    record: Record | None
    problems: tuple[Problem, ...] = ()
    complete: bool = True
    leader: Record = field(default_factory=dict)


def case_files(paths: Iterable[Path]) -> list[Path]:
    """The files named, and those in the folders named, each once; folders in the order of names."""
    found: dict[Path, None] = {}
    for path in paths:
        for file in _in_folder(path) if path.is_dir() else [path]:
            found.setdefault(file)
    return list(found)


def _in_folder(folder: Path) -> list[Path]:
    """Its case files and those of the folders in it, hidden ones left out."""
    files = []
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        files += [
            Path(here, name) for name in names if Path(name).suffix in SUFFIXES and not name.startswith(".")
        ]
    return sorted(files, key=lambda path: path.relative_to(folder).parts)


def diagnosed(files: Sequence[Path], job: Job, jobs: int) -> Generator[Done, None, None]:
    """What comes of each file, in their order."""
    chunks = [files[start : start + CHUNK] for start in range(0, len(files), CHUNK)]
    if min(jobs, len(chunks)) <= 1:
        worker = Worker(job)
        for file in files:
            yield worker.done(file)
        return
    try:
        yield from _in_processes(chunks, job, min(jobs, len(chunks)))
    except BrokenProcessPool as error:
        raise Unusable(
            "a worker process ended without an answer, perhaps for want of memory. Try --jobs 1."
        ) from error


def _in_processes(chunks: Sequence[Sequence[Path]], job: Job, jobs: int) -> Iterator[Done]:
    waiting: deque[Future[list[Done]]] = deque()
    remaining = iter(chunks)
    with _single_threaded():
        pool = ProcessPoolExecutor(jobs, get_context("spawn"), _start_worker, (job,))
        try:
            for chunk in remaining:
                waiting.append(pool.submit(_work, chunk))
                if len(waiting) >= jobs * AHEAD:
                    yield from waiting.popleft().result()
            while waiting:
                yield from waiting.popleft().result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _single_threaded() -> Iterator[None]:
    """The environment in which workers start; as it was afterwards."""
    added = [name for name in _THREADS if name not in os.environ]
    for name in added:
        os.environ[name] = "1"
    try:
        yield
    finally:
        for name in added:
            os.environ.pop(name, None)


class Worker:
    """Reads and diagnoses cases with one book; the rigs' networks are kept between cases."""

    def __init__(self, job: Job, book: Book | None = None) -> None:
        self.job = job
        self.book = open_book(job.shop) if book is None else book

    def done(self, path: Path) -> Done:
        """What comes of one file. A fault in the program costs this case only, and is named."""
        try:
            return self._done(path)
        except Exception as error:  # thousands of others are waiting
            said = f"a fault of the program itself ({type(error).__name__}: {error})"
            hint = f"`diagnose report {path}` shows more"
            return Done(path, None, (Problem(Place(str(path)), ERROR, "fault", said, hint),), False)

    def _done(self, path: Path) -> Done:
        opened = open_case(path, self.book)
        if opened.case is None:
            return Done(path, None, opened.problems, False)
        assembly = assembly_for(opened.case, self.book)
        diagnosis = diagnose(assembly, opened.case, advice=self.job.advice, details=self.job.details)
        leader: Record = {}
        if diagnosis.parts and diagnosis.parts[0].blame > 0:
            first = diagnosis.parts[0]
            leader = {"part": first.title, "stage": first.stage_title, "blame": first.blame}
        made = record(diagnosis, self.job.top)
        return Done(path, made, opened.problems, opened.complete, leader)


_worker: Callable[[Path], Done] | None = None


def _start_worker(job: Job) -> None:
    global _worker  # noqa: PLW0603 - what a process keeps between its chunks
    import signal  # noqa: PLC0415 - only here

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what an interrupt ends
    _worker = Worker(job).done


def _work(chunk: Sequence[Path]) -> list[Done]:
    assert _worker is not None
    return [_worker(path) for path in chunk]
