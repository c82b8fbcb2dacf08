"""Collecting the faults of an input while reading goes on."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field

from diagnose.files.document import Node
from diagnose.problems import ERROR, WARNING, Place, Problem, in_order

Where = Node | Place
FEW = 20  # faults of one table that are told one by one
SHORT = 3  # letters up to which names look alike by chance: 20m and 80m


@dataclass
class Faults:
    """The problems found so far; readers add to it and carry on with what is usable."""

    found: list[Problem] = field(default_factory=list)

    def error(self, where: Where, id: str, text: str, suggestion: str = "") -> None:
        """Note what makes an entry unusable."""
        self.found.append(Problem(place_of(where), ERROR, id, text, suggestion))

    def warning(self, where: Where, id: str, text: str, suggestion: str = "") -> None:
        """Note what may be meant otherwise."""
        self.found.append(Problem(place_of(where), WARNING, id, text, suggestion))

    def unknown(self, where: Where, id: str, text: str, name: str, known: Iterable[str]) -> None:
        """Note a name that does not exist, with the nearest that does."""
        self.error(where, id, text, did_you_mean(name, known))

    def keep_few(self, since: int, suggestion: str) -> None:
        """Of the problems found from number `since` on, those of one table, keep the first few and count the rest."""
        more = self.found[since + FEW :]
        if more:
            del self.found[since + FEW :]
            text = f"{len(more)} more faults in this table are not listed"
            self.error(more[0].place, "more", text, suggestion)

    def all(self) -> tuple[Problem, ...]:
        """Everything found, in file order."""
        return in_order(self.found)


def place_of(where: Where) -> Place:
    """The place itself, or the place of a node's value."""
    return where.place if isinstance(where, Node) else where


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name that looks most like `name`, or "" if none does."""
    names = list(dict.fromkeys(known))
    lower = {candidate.lower().replace("-", "_"): candidate for candidate in reversed(names)}
    close = difflib.get_close_matches(
        name.lower().replace("-", "_"), lower, n=1, cutoff=0.6 if len(name) > SHORT else 0.75
    )
    if close:
        return lower[close[0]]
    last = name.rpartition(".")[2]
    ends = [candidate for candidate in names if candidate.rpartition(".")[2] == last]
    return ends[0] if len(ends) == 1 else ""


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """A suggestion: the nearest name, or all of them where they are few."""
    names = list(dict.fromkeys(known))
    close = nearest(name, names)
    if close:
        return f"did you mean `{close}`?"
    if 0 < len(names) <= 8:
        return "known here: " + ", ".join(names)
    return ""
