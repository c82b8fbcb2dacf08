"""What the page says of the trial itself."""

from __future__ import annotations

from tests.closed_loop.answering import CANNOT, WRONG
from tests.closed_loop.loop import MOST_WRONG
from tests.closed_loop.perturbed import DEVIATION
from tests.closed_loop.ways import LOOK
from tests.paragraphs import wrapped


def introduction() -> str:
    """What is tried, and what that can show."""
    return wrapped(_INTRODUCTION)


def simulated(cap: int, search_minutes: float) -> str:
    """How sets, answers and minutes are simulated; `cap` is the most checks of an interview."""
    return wrapped(
        _SIMULATED.format(
            deviation=DEVIATION, wrong=f"{100 * WRONG:g}", cannot=f"{100 * CANNOT:g}",
            most_wrong=MOST_WRONG, cap=cap, look=LOOK, search=f"{search_minutes:g}",
        )
    )  # fmt: skip


_INTRODUCTION = """\
# Closed loop

How well the interview finds a fault can be tried without a bench: a simulated set has a known cause, its owner
tells two signs, and every check that is proposed is answered by the set, until the interview closes. This page says how
often the remedy that was needed came out on top, what it took, and how asking in a fixed order does.

It is a trial of the program against sets that behave roughly as the book says, not against real ones: it can
show that the advice asks well and stops well, not that the book is right."""

_SIMULATED = """\
## What is simulated

**The set.** Every set is drawn from a book of its own, in which the log-odds of every frequency and every
leak are shifted at random (normal, standard deviation {deviation:g}). Frequencies that exclude each other and would pass
certainty keep their shares of it. From that book one complete set is drawn through the rig's whole network: the
given cause is bad, every other part good, and every push is drawn once and stays as long as the part does. Leaks put
stray signs into every set, as they do in the book. A meter that has gone astray shifts what is read with it.

**The start.** Two signs that the cause makes and a good set would not show, drawn at random from those that an owner
notices: with no instrument but the set's own, and the set closed. Where there are fewer than two, the least telling
of the others stand in, those that the most parts can cause. Sets are drawn until one shows two; some causes never make
more than one. Of two faults one sign each is told. Nothing is told of the history, and all that safety asks for is
proven.

**The answers.** Each is the state that the set shows; {wrong} % of the answers name another state, {cannot} % of what is
asked cannot be measured. All ways of asking meet the same slips. A slip is one of a single look: what the interview has
looked at once more, because it is sooner a slip than a sign, slips for itself. The second look comes when the rest of
the check was answered. Values are told as states, not as figures.

**The end.** A remedy that is proposed is done and costs its minutes. If it is not the needed one it is entered as
work, the signs stay, and the interview goes on, up to {most_wrong} remedies that were not needed and {cap} checks. Where
nothing more would tell, the first remedy of the list that was not done yet is tried. Stop orders are answered and the
interview goes on. The needed remedy is the one of the cause; the same work on another part of that stage counts as the same.

**The minutes** are those of the book for checks, changes of set-up and remedies, needed or not. A set that was not put
right costs the {search} minutes of a search on top (*to a working set*).

**The other orders.** *By stage* takes the stages of the rig in its order and the checks of each in that of the book;
*at random* mixes them all. Both close by the same rule, ask the same answers at the same minutes, read again what
proves a piece of work or is sooner a slip, and pass over a check of which everything is known. Whether a check still
pays is worked out for them only once the leading part has the share from which a remedy is proposed, and at every
{look}th check: that can only delay the close where nothing more would tell, and their minutes are cut off at {cap} checks."""
