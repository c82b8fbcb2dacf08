"""The closed loop from the command line: `python -m tests.closed_loop.run --write`.

Takes every cause of every rig, in an order mixed by the seed, and pairs of them. `--share N` takes every Nth,
`--minutes M` begins no further set after so long: what was run then is the head of the mixed order, a fair sample.
With `--write` the results and docs/closed-loop.md are written, else the table is printed. `--go-on` takes only what is
missing in the results that are kept, with the seed and the numbers they were made with, and adds it to them. `--page` makes
the page anew of them.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, as_completed, wait
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from functools import lru_cache
from multiprocessing import get_context
from time import monotonic
from typing import Any

import numpy as np

from diagnose.commands.opening import open_book
from diagnose.files.read_case import assembly_of
from diagnose.model.assembly import Assembly
from diagnose.model.knowledge import Book
from tests.closed_loop.loop import CAP, Account, TooLong, interviewed
from tests.closed_loop.page import PAGE, page
from tests.closed_loop.results import RESULTS, Results
from tests.closed_loop.sets import causes_of, pairs_of, simulated
from tests.closed_loop.ways import ADVISED, WAYS

PATIENCE = 45.0  # seconds of the processor after which one interview is broken off


@dataclass(frozen=True)
class Task:
    """One set to simulate, and the ways in which it is asked."""

    rig: str
    causes: tuple[str, ...]
    seed: int
    ways: tuple[str, ...]


@lru_cache(maxsize=1)
def _book() -> Book:
    return open_book(None)


@lru_cache(maxsize=8)
def assembly(rig: str) -> Assembly:
    """The network of a rig of the built-in book."""
    return assembly_of(_book(), rig)


def tasks(rigs: Sequence[str], seed: int, share: int = 1, pairs: int = 0, orders: int = 1) -> list[Task]:
    """All sets in an order mixed by the seed: every `share` th of them; every `orders` th is asked in all ways.

    `pairs`: double faults of each rig.
    """
    found: list[tuple[str, tuple[str, ...]]] = [
        (rig, (cause,)) for rig in rigs for cause in causes_of(assembly(rig))
    ]
    found += [(rig, pair) for rig in rigs for pair in pairs_of(assembly(rig), pairs, seed)]
    mixed = np.random.default_rng(seed).permutation(len(found))
    chosen = [found[int(number)] for number in mixed][::share]
    return [
        Task(rig, causes, seed, WAYS if not place % orders else (ADVISED,))
        for place, (rig, causes) in enumerate(chosen)
    ]


def accounts_of(task: Task) -> list[dict[str, Any]]:
    """The accounts of one set; one that says so where no set shows anything."""
    own = assembly(task.rig)
    subject = simulated(own, task.causes, task.seed)
    if subject is None:
        silent = Account(task.rig, task.causes, "", (), task.seed)
        return [asdict(silent)]
    found: list[Account] = []
    for way in task.ways:
        with _patience(PATIENCE):
            found += interviewed(own, subject, [way])
    return [_rounded(account) for account in found]


@contextmanager
def _patience(seconds: float) -> Iterator[None]:
    """Raises TooLong after so much time of the processor, where the system has such a clock."""

    def over(*_: object) -> None:
        raise TooLong

    if not hasattr(signal, "setitimer"):
        yield
        return
    before = signal.signal(signal.SIGVTALRM, over)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def _rounded(account: Account) -> dict[str, Any]:
    return asdict(account) | {"milliseconds": [round(each) for each in account.milliseconds]}


def run(asked: Sequence[Task], jobs: int, minutes: float) -> Iterator[list[dict[str, Any]]]:
    """The accounts of one set after another; none is begun after so many minutes."""
    begun = monotonic()

    def within() -> Iterator[Task]:
        for task in asked:
            if minutes and monotonic() - begun > 60 * minutes:
                return
            yield task

    if jobs == 1:
        yield from map(accounts_of, within())
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        running: set[Future[list[dict[str, Any]]]] = set()
        for task in within():
            running.add(pool.submit(accounts_of, task))
            if len(running) >= jobs:
                done, running = wait(running, return_when=FIRST_COMPLETED)
                yield from (future.result() for future in done)
        yield from (future.result() for future in as_completed(running))


def main(words: Sequence[str]) -> int:
    """Runs what was asked for and writes or prints the page."""
    parser = argparse.ArgumentParser(prog="python -m tests.closed_loop.run", description=__doc__)
    parser.add_argument("--rig", action="append", help="only this rig (may be repeated)")
    parser.add_argument("--share", type=int, default=1, metavar="N", help="every Nth cause")
    parser.add_argument("--orders", type=int, default=1, metavar="N", help="every Nth set in the orders too")
    parser.add_argument("--pairs", type=int, default=80, metavar="N", help="double faults of each rig")
    parser.add_argument("--minutes", type=float, default=0, metavar="M", help="begin no set after so long")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, metavar="J", help="processes")
    parser.add_argument("--seed", type=int, default=1, metavar="S")
    parser.add_argument("--write", action="store_true", help="write the results and the page")
    parser.add_argument("--go-on", action="store_true", help="write what is missing in the results")
    parser.add_argument("--page", action="store_true", help="only make the page anew")
    given = parser.parse_args(words)
    if given.page:
        PAGE.write_text(page(Results.read(RESULTS)), encoding="utf-8")
        return 0
    before = Results.read(RESULTS) if given.go_on else None
    if before is None:
        rigs = given.rig or sorted(_book().rigs)
        head = {
            "seed": given.seed, "share": given.share, "orders": given.orders, "pairs": given.pairs, "cap": CAP, "patience": PATIENCE,
            "minutes": given.minutes, "rigs": rigs,
            "search_minutes": _book().bench.advice["search_minutes"], "causes": {rig: len(causes_of(assembly(rig))) for rig in rigs},
        }  # fmt: skip
    else:
        head = before.head
    asked = tasks(head["rigs"], head["seed"], head["share"], head["pairs"], head["orders"])
    kept = before.rows if before is not None else ()
    left = missing(asked, kept)
    head = {**head, "sets": len(asked), "minutes": given.minutes}
    keeps = given.write or given.go_on
    if keeps:
        Results(head, kept).write(RESULTS)
    rows = (*kept, *_told(run(left, given.jobs, given.minutes), keeps))
    results = Results(head if missing(asked, rows) else {**head, "minutes": 0}, rows)
    if keeps:
        results.write(RESULTS)
        PAGE.write_text(page(results), encoding="utf-8")
    else:
        print(page(results))
    return 0


def missing(asked: Sequence[Task], rows: Sequence[Mapping[str, Any]]) -> list[Task]:
    """Those of the tasks that no row is of."""
    done = {(row["rig"], *row["causes"]) for row in rows}
    return [task for task in asked if (task.rig, *task.causes) not in done]


def _told(found: Iterable[list[dict[str, Any]]], keeps: bool) -> Iterator[dict[str, Any]]:
    """Each account as it comes, with a word on how it went; kept at once, so that nothing is lost with the run."""
    for accounts in found:
        for account in accounts:
            line = json.dumps(account, separators=(",", ":"))
            if keeps:
                with RESULTS.open("a", encoding="utf-8") as file:
                    file.write(f"{line}\n")
            row = json.loads(line)  # as those that are read again
            said = f"{row['rig']} {' + '.join(row['causes'])}, {row['way'] or 'silent'}: {row['end']}"
            print(f"{said}, {row['checks']} checks", file=sys.stderr, flush=True)
            yield row


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
