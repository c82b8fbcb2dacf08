"""Carrying out changes of a course and keeping its case, whatever becomes of the file meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from diagnose.interview.course import Course
from diagnose.interview.dialogue import Dialogue
from diagnose.interview.keep import Changed, NotWritten
from diagnose.interview.questions import Change
from diagnose.model.case import Case


class Keeps(Protocol):
    """Where a case is kept: raises Changed if someone else changed it, NotWritten if it cannot be written."""

    def write(self, case: Case) -> None:
        """Keeps the case."""


@dataclass
class Keeping:
    """A place where a case is kept, and whether the last entry is in it."""

    dialogue: Dialogue
    keeper: Keeps
    unwritten: str = ""  # why the last entry is not in the file

    def carried_out(self, change: Change, course: Course) -> Course:
        """The course after a change, which is kept; a file that was changed meanwhile is taken up first."""
        now = change(course)
        try:
            self.keeper.write(now.case)
            self.unwritten = ""
        except Changed as changed:
            self.dialogue.say(
                "The case file was changed elsewhere meanwhile; what stands there now is taken up."
            )
            return self.kept(change(now.anew(changed.case)))
        except NotWritten as failed:
            self._say_unwritten(failed)
        return now

    def kept(self, course: Course) -> Course:
        """Writes the case as it is, if it can be; the course of what stands in the file where that was changed."""
        try:
            self.keeper.write(course.case)
            self.unwritten = ""
        except Changed as changed:
            return course.anew(changed.case)
        except NotWritten as failed:
            self._say_unwritten(failed)
        return course

    def _say_unwritten(self, failed: NotWritten) -> None:
        if self.unwritten != str(failed):
            self.dialogue.say(
                f"Not written: {failed}. It is kept in memory and tried again at the next entry."
            )
        self.unwritten = str(failed)
