"""`diagnose report`: each case as a page, or all of them as JSON."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.commands import status
from diagnose.commands.opening import assembly_for, open_book, open_case
from diagnose.commands.output import Output
from diagnose.diagnosis import diagnose
from diagnose.model.assembly import Assembly
from diagnose.model.result import Diagnosis
from diagnose.render.json_text import as_text
from diagnose.render.record import record


@dataclass(frozen=True)
class Reported:
    """A diagnosed case, None where the file could not be used, with its exit status."""

    diagnosis: Diagnosis | None
    assembly: Assembly | None
    status: int


def command(options: argparse.Namespace, output: Output) -> int:
    """Reports on the cases in the order given."""
    reports = _diagnosed(options, output)
    if options.format == "json":
        return _json(reports, options, output)
    return _text(reports, options, output)


def _diagnosed(options: argparse.Namespace, output: Output) -> Iterator[Reported]:
    book = open_book(options.shop)
    for path in options.cases:
        opened = open_case(path, book)
        if opened.case is None:
            output.problems(opened.problems)
            yield Reported(None, None, status.UNUSABLE)
            continue
        assembly = assembly_for(opened.case, book)
        diagnosis = diagnose(assembly, opened.case)
        output.problems(p for p in opened.problems if p not in diagnosis.messages)
        ended = status.DONE if opened.complete else status.UNUSABLE
        yield Reported(diagnosis, assembly, status.STOP if diagnosis.stop_orders else ended)


def _json(reports: Iterator[Reported], options: argparse.Namespace, output: Output) -> int:
    """One case as an object, several as a list, whatever of them could be used."""
    done = list(reports)
    records = [record(r.diagnosis, options.top) for r in done if r.diagnosis is not None]
    if len(options.cases) > 1:
        output.write(as_text(records) + "\n")
    elif records:
        output.write(as_text(records[0]) + "\n")
    return status.worst(report.status for report in done)


def _text(reports: Iterator[Reported], options: argparse.Namespace, output: Output) -> int:
    from diagnose.render.first import View  # noqa: PLC0415 - JSON does without the screens
    from diagnose.render.screen import report  # noqa: PLC0415
    from diagnose.render.words import words_of  # noqa: PLC0415

    statuses = []
    for done in reports:
        statuses.append(done.status)
        if done.diagnosis is None or done.assembly is None:
            continue
        if len(statuses) > 1:
            output.write(f"\n{'-' * output.out.width}\n\n")
        view = View(words_of(done.assembly), options.top, options.workings)
        output.show(report(done.diagnosis, view, output.out.width))
    return status.worst(statuses)
