"""`diagnose batch`: many cases, one result each, in a stable order."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from typing import IO, Final

from diagnose.commands import status
from diagnose.commands.many import Done, Job, case_files, diagnosed
from diagnose.commands.output import Output
from diagnose.commands.replace import replaced
from diagnose.problems import Unusable
from diagnose.render import numbers, table
from diagnose.render.json_text import as_line
from diagnose.render.page import Page
from diagnose.render.theme import PLAIN_WIDTH, make_console

Writer = Callable[[Iterator[Done], IO[str], Page], None]


def command(options: argparse.Namespace, output: Output) -> int:
    """Diagnoses all cases and writes them in the format asked for."""
    files = case_files(options.paths)
    if not files:
        raise Unusable("there are no case files (*.yaml, *.yml) in what was named.")
    jobs = options.jobs or _processors()
    job = Job(options.shop, options.advice, options.advice and options.format in DETAILED, options.top)
    watch = _Watch(output, len(files))
    write = WRITERS[options.format]
    results = diagnosed(files, job, jobs)
    with closing(results):
        if options.output is None:
            write(watch.over(results), output.out.file, output.page())
        else:
            with replaced(options.output) as stream:
                write(watch.over(results), stream, Page(PLAIN_WIDTH))
    return watch.finish()


def _processors() -> int:
    """Processors that this process may use."""
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity is not None else os.cpu_count() or 1


class _Watch:
    """Lets the results through, names what is broken, and counts."""

    def __init__(self, output: Output, expected: int) -> None:
        self.output = output
        self.expected = expected
        self.seen = self.broken = 0
        self.statuses: set[int] = set()
        self.shows = output.err.is_terminal and expected > 1

    def over(self, results: Iterator[Done]) -> Iterator[Done]:
        """The results that have a record; the problems of all go to standard error."""
        for done in results:
            self.seen += 1
            self._progress()
            if done.problems:
                self._clear()
                self.output.problems(done.problems)
            if not done.complete:
                self.statuses.add(status.UNUSABLE)
            if done.record is None:
                self.broken += 1
                continue
            if done.record["stop_orders"]:
                self.statuses.add(status.STOP)
            yield done

    def finish(self) -> int:
        """The closing line, and the exit status."""
        self._clear()
        if self.broken:
            self.output.message(
                f"{numbers.count(self.seen - self.broken, 'case')} diagnosed; "
                f"{numbers.count(self.broken, 'file')} could not be used."
            )
        return status.worst(self.statuses)

    def _progress(self) -> None:
        if self.shows and (self.seen % 10 == 0 or self.seen == self.expected):
            sys.stderr.write(f"\r{self.seen} of {self.expected} cases")
            sys.stderr.flush()

    def _clear(self) -> None:
        if self.shows:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def _jsonl(results: Iterator[Done], stream: IO[str], page: Page) -> None:
    for done in results:
        stream.write(as_line(done.record) + "\n")
        stream.flush()


def _json(results: Iterator[Done], stream: IO[str], page: Page) -> None:
    lead = "[\n"
    for done in results:
        stream.write(lead + as_line(done.record))
        lead = ",\n"
    stream.write("\n]\n" if lead == ",\n" else "[]\n")


def _csv(results: Iterator[Done], stream: IO[str], page: Page) -> None:
    stream.write(table.csv_line(table.COLUMNS))
    for done in results:
        if done.record is not None:
            stream.write(table.csv_row(str(done.path), done.record))


def _table(results: Iterator[Done], stream: IO[str], page: Page) -> None:
    console = make_console(stream)
    table.head(page)
    for done in results:
        if done.record is not None:
            table.row(page, done.record, done.leader)
        page.print(console)
        page.lines.clear()


DETAILED: Final = ("json", "jsonl")  # formats that hold joint explanations and conflict
WRITERS: Final[dict[str, Writer]] = {
    "table": _table,
    "json": _json,
    "jsonl": _jsonl,
    "csv": _csv,
}
