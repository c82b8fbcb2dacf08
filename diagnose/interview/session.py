"""The interview itself: show where things stand, ask, take the answer, keep it, and begin again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Final

from diagnose.interview.asking import asked
from diagnose.interview.closing import closing_page, closing_question
from diagnose.interview.complaint import matched
from diagnose.interview.confirming import cause_title, found_by_work
from diagnose.interview.course import Course
from diagnose.interview.cure import cured
from diagnose.interview.dangers import stop
from diagnose.interview.dialogue import UNSURE, Dialogue, is_yes
from diagnose.interview.doubtful import Doubts, doubt
from diagnose.interview.entering import UNANSWERED, not_understood, say_entered
from diagnose.interview.hand import Hand
from diagnose.interview.intake import intake
from diagnose.interview.keeping import Keeping
from diagnose.interview.meant import CANNOT, NO_SUCH, READ, UNCLEAR, UNKNOWN, Meant
from diagnose.interview.questions import Change, Skipped
from diagnose.interview.record import NoSuchEntryError
from diagnose.interview.screen import LEAST, LINES, Turn, turn
from diagnose.interview.steps import AGAIN, CHOSEN, Step
from diagnose.model.case import Observation
from diagnose.render.page import capital, sentence
from diagnose.render.words import Words, words_of

SHOWING: Final = frozenset({"grounds", "suppose", "readings", "record", "proof"})  # words that change nothing


@dataclass
class Session:
    """One run of the interview on one case."""

    dialogue: Dialogue
    course: Course
    keeping: Keeping
    verbs: Mapping[str, Callable[[Session, str], None]]  # what is done with a word and what follows it
    elsewhere: Callable[[Session, str], bool]  # takes what is said out of order; whether it was understood
    hand: Hand = field(default_factory=Hand)  # the check that is being done
    said: set[str] = field(default_factory=set)  # cautions given in full
    seen: object = None  # what was shown last
    whole: bool = False  # the check is to be shown in full once more
    over: bool = False
    told_cured: tuple[int, ...] = ()  # the pieces of work of which it was told that they were the cure
    doubts: Doubts = field(default_factory=Doubts)
    listed: tuple[str, ...] = ()  # the checks of the list that stands on the screen, in its order

    @property
    def step(self) -> Step | None:
        """What is being done; None: nothing is left to do."""
        return self.hand.step

    @property
    def name(self) -> str:
        """What is being asked of it."""
        return self.hand.name

    @property
    def words(self) -> Words:
        """Titles of everything on the rig."""
        return words_of(self.course.assembly)

    def shows(self, line: str) -> bool:
        """Shows what a line asks for, if it is a word that only shows something."""
        verb, _, rest = line.partition(" ")
        if verb.casefold() not in SHOWING or verb.casefold() not in self.verbs:
            return False
        try:
            self.verbs[verb.casefold()](self, rest.strip())
        except NoSuchEntryError as gone:
            self.dialogue.say(capital(sentence(str(gone))))
        return True

    def run(self, *, fresh: bool) -> None:
        """Intake and turns, until the person finishes or the input ends (Ended)."""
        self.dialogue.aside = self.shows
        taking_in = fresh
        with suppress(Skipped):
            matched(self.dialogue, self.course, self.apply)
        while not self.over:
            if taking_in and not (self.course.case.observations and self.course.standing.stop_orders):
                taking_in = not intake(self.dialogue, self.course, self.apply)
                self.course = replace(self.course, earlier=None, carried={})  # a complaint is no slip
                self.dialogue.gap()
            self.turn()

    def apply(self, change: Change, *, answer: bool = False) -> Course:
        """Carries out a change and keeps it. Unless it is an answer to what was asked, what to ask is considered anew."""
        step = self.hand.step
        if step is not None and not answer and not self.hand.begun and step.purpose != CHOSEN:
            self.hand.drop()
        self.course = self.keeping.carried_out(change, self.course)
        return self.course

    def keep(self) -> None:
        """Writes the case as it is, if it can be."""
        self.course = self.keeping.kept(self.course)

    # turns

    def turn(self) -> None:
        """One screen, one question, one line."""
        fresh = self._settle()
        if fresh and self._tell_cured():
            self._settle()
        if self.over:
            return
        if fresh:
            self.show()
        else:
            self.ask()
        line = self.dialogue.ask()
        try:
            self.take(line)
        except NoSuchEntryError as gone:
            self.dialogue.say(capital(sentence(str(gone))))
        self.dialogue.gap()

    def _settle(self) -> bool:
        """Whether something new is to be shown; what is asked next is chosen on the way."""
        self.hand.settle(self.course)
        now = (self.course, self.step.id if self.step is not None else "", self.name)
        fresh, self.seen = now != self.seen, now
        return fresh

    def show(self) -> None:
        """The screen of where things stand, with its question."""
        page = self.dialogue.page()
        if self.course.standing.stop_orders:
            stop(page, self.course.standing.stop_orders, self.words)
        elif self.step is None:
            closing_page(page, self.course, self.words)
        else:
            room = max(LINES - self.dialogue.since, LEAST)
            shown = Turn(self.course, self.words, self.step, self.name, self.said, self.whole, room=room)
            turn(page, shown)
            self.whole = False
            self.said.update(self.step.advised.cautions)
            self.dialogue.show(page)
            return
        self.dialogue.show(page)
        self.dialogue.gap()
        self.ask()

    def ask(self) -> None:
        """The question alone."""
        page = self.dialogue.page()
        if self.step is not None:
            asked(page, self.course, self.step, self.name)
        else:
            page.say(self.question())
        self.dialogue.show(page)

    def _tell_cured(self) -> bool:
        """Whether it was told that the work was the cure; the cause is then offered for the record."""
        done = self.course.suspected_cures
        if not self.course.cured or self.told_cured == done:
            return False
        self.told_cured = done
        page = self.dialogue.page()
        cured(page, self.course, self.words)
        self.dialogue.show(page)
        for repair in found_by_work(self.course):
            title = cause_title(self.course, repair.cause)
            line = self.dialogue.ask(f"Note it as the confirmed cause? {title} [y/n]")
            if is_yes(line):
                self.apply(lambda now, cause=repair.cause: now.confirm(cause), answer=True)  # type: ignore[misc]
                self.dialogue.say(f"Confirmed: {title}.")
            elif is_yes(line) is None and line and line.casefold() not in UNSURE:
                self.hand.drop()  # what is asked after it was not seen yet: this is no answer to it
                self.take(line)
                break
        self.dialogue.gap()
        return True

    def question(self) -> str:
        """What the prompt asks where no check does."""
        return closing_question(self.course)

    def take(self, line: str) -> None:
        """One line: a word of the interview, an answer, or something read or seen out of order."""
        if not line:
            self.dialogue.say("Answer, or type `help` for the words that may be used here.")
            return
        verb, _, rest = line.partition(" ")
        known = self.verbs.get(verb.casefold())
        if known is not None:
            known(self, rest.strip())
            return
        meant = self.meant(line)
        if meant is not None and meant.kind != UNCLEAR:
            self.answer(meant)
            return
        beginning = [v for v in self.verbs if v.startswith(verb.casefold())] if len(verb) > 2 else []
        if len(beginning) == 1:
            self.verbs[beginning[0]](self, rest.strip())
        elif (meant is not None and line[:1] in "-+.0123456789") or not self.elsewhere(self, line):
            stopped = bool(self.course.standing.stop_orders)
            self.dialogue.say(not_understood(line, meant, stopped=stopped))

    def meant(self, line: str) -> Meant | None:
        """What a line means as the answer to what is asked; None where nothing is."""
        return self.hand.meant(line, self.course)

    def answer(self, meant: Meant) -> None:
        """Takes an answer to what is asked."""
        step, name = self.step, self.name
        assert step is not None
        self.hand.answered.add(name)
        if meant.kind == CANNOT and step.purpose == AGAIN:
            self.apply(lambda now: now.enter(Observation(name)), answer=True)
            self.dialogue.say("It stands as it was entered. It is not asked for again before other work.")
        elif meant.kind == CANNOT:
            left_out = self.course.left_out(step.id, name)
            self.apply(lambda now: now.cannot(left_out), answer=True)
            self.dialogue.say(UNANSWERED[CANNOT])
        elif meant.kind == NO_SUCH:
            found = [o for o in self.course.case.observations if name and o.name == name]
            self.apply(lambda now: now.has_none(name or step.id, meant.because), answer=True)
            stands = " What was entered of it before stands until it is struck out too." if found else ""
            self.dialogue.say(f"{UNANSWERED[NO_SUCH]}{stands}")
        elif meant.observation is not None:
            self.enter(meant.observation, step)
        elif meant.kind == READ:
            self.apply(lambda now: now.done(step.id), answer=True)
        elif meant.kind == UNKNOWN:
            self.dialogue.say(UNANSWERED[UNKNOWN])

    def enter(self, observation: Observation, step: Step | None = None) -> None:
        """Keeps an observation and says how it was understood; one that is hard to believe has to be said twice.

        Without the check that it answers it is taken for what the check in hand shows, or the only one that does.
        """
        reason = doubt(self.course, observation)
        if self.doubts.doubted(self.dialogue, observation.name, observation.value, reason):
            self.hand.answered.discard(observation.name)
            return
        check = step.id if step is not None else self.hand.check_of(observation.name, self.course)
        before = self.course
        self.apply(lambda now: now.enter(observation, check=check), answer=step is not None)
        self.said.update(
            say_entered(self.dialogue, before, self.course, observation, self.said, told=step is None)
        )
