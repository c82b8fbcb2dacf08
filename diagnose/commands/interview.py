"""`diagnose interview`: the guided dialogue at the bench, from a terminal, a pipe or a file of answers."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Callable
from pathlib import Path

from diagnose.commands import status
from diagnose.commands.opening import nearest, open_book, open_case
from diagnose.commands.output import Output
from diagnose.interview.changes import switched_off
from diagnose.interview.closing import summary
from diagnose.interview.course import begin
from diagnose.interview.dialogue import Dialogue, Ended
from diagnose.interview.keep import Keeper, Locked, new_path
from diagnose.interview.keeping import Keeping
from diagnose.interview.resuming import resumed
from diagnose.interview.rig_choice import choose_rig, is_other, named, nearest_rig
from diagnose.interview.session import Session
from diagnose.interview.setups import is_changed, stands, to_make_safe
from diagnose.interview.verbs import VERBS
from diagnose.interview.which_one import elsewhere
from diagnose.model.case import Case
from diagnose.model.knowledge import Book, Rig
from diagnose.problems import Unusable, errors
from diagnose.render.page import Page, styled

Lines = Callable[[], str | None]


def command(options: argparse.Namespace, output: Output) -> int:
    """Holds the interview, and says where it is kept however it ends."""
    book = open_book(options.shop)
    lines, echo = _lines(options.answers)
    dialogue = Dialogue(output.out, lines, echo, portions=not echo and output.out.is_terminal)
    try:
        path, case, fresh = _opened(options, book, dialogue, output)
    except (Ended, KeyboardInterrupt):
        dialogue.gap()
        dialogue.say("Nothing was entered, and nothing is kept.")
        return status.DONE
    try:
        with Keeper.open(path, book, fresh=fresh) as keeper:
            if not fresh:
                dialogue.say(f"Going on with {path}: {book.rigs[case.rig].title}.")
            case = keeper.case or case  # as it stands now that nobody else writes it
            was = case.bench
            case = switched_off(case, book.bench)  # nobody knows what was done to the set meanwhile
            course = begin(book, case) if fresh else resumed(book, case)
            session = Session(dialogue, course, Keeping(dialogue, keeper), VERBS, elsewhere)
            return _held(session, path, fresh=fresh, off=case.bench != was)
    except Locked as locked:
        raise Unusable(str(locked)) from None


def _held(session: Session, path: Path, *, fresh: bool, off: bool) -> int:
    """Runs a session to its end, with a summary and where to go on; `off`: power was left on in the run before."""
    dialogue = session.dialogue
    try:
        if fresh:
            session.keep()
        begun = session.course.case
        stopped = bool(begun.observations and session.course.standing.stop_orders)
        if not fresh and (off or is_changed(session.course)) and not stopped:
            dialogue.gap()
            left, why = stands(session.course), "with power off" if off else "as it was left"
            dialogue.say(f"The bench is taken to stand {why}: {left}. `bench` puts that right.")
            for caution in to_make_safe(
                session.course.assembly.book.bench
            ):  # who knows what was done to the set meanwhile
                dialogue.say(styled((caution, "caution")), indent=2)
            dialogue.gap()
        session.run(fresh=fresh or not (begun.bench or begun.work or begun.cannot))
    except (Ended, KeyboardInterrupt):
        dialogue.gap()
    dialogue.portions = False  # nobody answers any more
    session.keep()  # what was interrupted before it was written, or could not be written then
    page = Page(dialogue.out.width)
    course = session.course
    if course.case.observations:
        summary(page, course, session.words)
        page.blank()
    if session.keeping.unwritten:
        page.say(f"NOT kept: {session.keeping.unwritten}.")
    else:
        page.say(f"Kept in {path}. Go on with:")
    dialogue.show(page)
    if not session.keeping.unwritten:
        dialogue.out.print(f"  diagnose interview {shlex.quote(str(path))}", soft_wrap=True)
    if course.case.observations and course.standing.stop_orders:
        return status.STOP
    return status.UNUSABLE if session.keeping.unwritten else status.DONE


def _opened(
    options: argparse.Namespace, book: Book, dialogue: Dialogue, output: Output
) -> tuple[Path, Case, bool]:
    """The path, the case on it, and whether it is a new one."""
    path: Path | None = options.case
    if path is not None and path.exists():
        opened = open_case(path, book)
        if opened.case is None:
            raise Unusable(f"{path} cannot be gone on with.", errors(opened.problems))
        output.problems(opened.problems)
        if options.rig and opened.case.rig not in [
            rig.id for rig in named(options.rig, [*book.rigs.values()])
        ]:
            raise Unusable(f"{path} is a case of the rig {opened.case.rig}, not {options.rig}.")
        return path, opened.case, False
    if path is not None and not path.parent.is_dir():
        raise Unusable(f"there is no folder {path.parent} to keep {path.name} in. Make it first.")
    rig, about = _rig(options.rig, book, dialogue)
    path = path if path is not None else new_path(Path(), rig.id)
    dialogue.say(f"{rig.title}. Kept in {path} after every answer; Ctrl-C or Ctrl-D ends.")
    return path, Case(path.stem, rig.id, about=about), True


def _rig(asked: str | None, book: Book, dialogue: Dialogue) -> tuple[Rig, str]:
    if not asked:
        return choose_rig(dialogue, book)
    if is_other(asked):
        return nearest_rig(dialogue, book)
    found = named(asked, list(book.rigs.values()))
    if len(found) == 1:
        return found[0], ""
    hint = nearest(asked, book.rigs) or "known: " + ", ".join(book.rigs)
    raise Unusable(f"`{asked}` is no rig of the book; {hint}")


def _lines(answers: Path | None) -> tuple[Lines, bool]:
    """Where the answers come from, and whether they are to be shown as if they were typed."""
    if answers is not None:
        text = answers.read_text(encoding="utf-8", errors="replace")
        kept = iter([line for line in text.splitlines() if not line.lstrip().startswith("#")])
        return lambda: next(kept, None), True
    reconfigure = getattr(sys.stdin, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    return _typed, not sys.stdin.isatty()


def _typed() -> str | None:
    line = sys.stdin.readline()
    return line.rstrip("\n") if line else None
