"""The program: parse, hand over, and turn every failure into one line and a next step."""

from __future__ import annotations

import argparse
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import Final

from diagnose.commands import status
from diagnose.commands.options import parser
from diagnose.commands.output import Output, standard_output
from diagnose.problems import Unusable

Command = Callable[[argparse.Namespace, Output], int]

# Imported when asked for, so that a report does not wait for what only a batch needs.
COMMANDS: Final = {
    "interview": "diagnose.commands.interview",
    "report": "diagnose.commands.report",
    "explain": "diagnose.commands.explain",
    "batch": "diagnose.commands.batch",
    "rules": "diagnose.commands.rules",
    "rigs": "diagnose.commands.rigs",
}
SHOWN_PROBLEMS: Final = 10


def run() -> None:
    """The `diagnose` script."""
    for library in ("OPENBLAS", "MKL", "OMP"):
        # the tables are small: threads inside one product only wait for each other
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    sys.exit(main(sys.argv[1:]))


def main(arguments: Sequence[str]) -> int:
    """Carries out one command line and gives its exit status."""
    try:
        options = parser().parse_args(arguments)
    except SystemExit as ended:  # argparse has said why, or shown the help
        return int(ended.code or 0)
    output = standard_output(color=not options.no_color)
    return guarded(_command(options.command), options, output)


def _command(name: str) -> Command:
    def call(options: argparse.Namespace, output: Output) -> int:
        command: Command = import_module(COMMANDS[name]).command
        return command(options, output)

    return call


def guarded(command: Command, options: argparse.Namespace, output: Output) -> int:
    """Runs a command; whatever goes wrong ends in one line, a next step and a status."""
    try:
        ended = command(options, output)
        output.out.file.flush()
    except BrokenPipeError:
        _close_quietly()
        return status.PIPE_CLOSED
    except KeyboardInterrupt:
        output.message("diagnose: interrupted; nothing was changed.")
        return status.INTERRUPTED
    except Unusable as error:
        return _unusable(error, output)
    except OSError as error:
        return _failed_file(error, output)
    except Exception as error:  # the funnel: a fault of the program must not look like the user's
        return _program_fault(error, output)
    return ended


def _unusable(error: Unusable, output: Output) -> int:
    output.message(f"diagnose: {error.what}")
    output.problems(error.problems[:SHOWN_PROBLEMS])
    more = len(error.problems) - SHOWN_PROBLEMS
    if more > 0:
        output.message(f"... and {more} more.")
    return status.UNUSABLE


def _failed_file(error: OSError, output: Output) -> int:
    reason = (error.strerror or str(error)).lower()
    named = f"{error.filename}: " if error.filename else ""
    output.message(f"diagnose: {named}{reason}. Look at the path and its permissions.")
    return status.UNUSABLE


def _program_fault(error: Exception, output: Output) -> int:
    if os.environ.get("DIAGNOSE_DEBUG") == "1":
        traceback.print_exception(error, file=sys.stderr)
    said = str(error).splitlines()[0] if str(error) else ""
    output.message(
        f"diagnose: a fault of the program itself ({type(error).__name__}{': ' if said else ''}{said}). "
        "Please report it with the case file and what DIAGNOSE_DEBUG=1 adds."
    )
    return status.FAULT


def _close_quietly() -> None:
    """Points standard output elsewhere, so that closing it at exit does not complain again."""
    sys.stdout = open(os.devnull, "w")  # noqa: SIM115 - lives until the program ends
