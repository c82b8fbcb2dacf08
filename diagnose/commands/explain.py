"""`diagnose explain`: the reasons for and against one cause."""

from __future__ import annotations

import argparse

from diagnose.commands import status
from diagnose.commands.choose import NotOneCauseError, choose_cause
from diagnose.commands.opening import assembly_for, open_book, open_case
from diagnose.commands.output import Output
from diagnose.diagnosis import diagnose
from diagnose.explanation.account import account
from diagnose.problems import Unusable
from diagnose.render.account import explained
from diagnose.render.json_text import as_text
from diagnose.render.record import account_record
from diagnose.render.words import words_of

SHOWN = 12


def command(options: argparse.Namespace, output: Output) -> int:
    """Explains the cause named, or the leading one."""
    book = open_book(options.shop)
    opened = open_case(options.case, book)
    if opened.case is None:
        raise Unusable("this case cannot be explained.", opened.problems)
    assembly = assembly_for(opened.case, book)
    diagnosis = diagnose(assembly, opened.case)
    output.problems(opened.problems)
    try:
        cause = choose_cause(options.cause, assembly, diagnosis) if options.cause else None
    except NotOneCauseError as error:
        output.message(f"diagnose: {error}; {_instead(error, options)}")
        return status.USAGE
    if cause is None and not diagnosis.causes:
        raise Unusable("no cause of this rig can be ranked, so there is nothing to explain.")
    found = account(assembly, opened.case, diagnosis, cause)
    if options.format == "json":
        output.write(as_text(account_record(diagnosis, found)) + "\n")
    else:
        output.show(explained(diagnosis, found, words_of(assembly), output.out.width))
    if diagnosis.stop_orders:
        return status.STOP
    return status.DONE if opened.complete else status.UNUSABLE


def _instead(error: NotOneCauseError, options: argparse.Namespace) -> str:
    if not error.fitting:
        return f"`diagnose report {options.case}` names the causes that matter."
    named = ", ".join(error.fitting[:SHOWN])
    more = len(error.fitting) - SHOWN
    return f"name one of: {named}" + (f" and {more} more." if more > 0 else ".")
