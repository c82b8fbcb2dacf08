"""From what a person calls a cause to the cause."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

from diagnose.model.assembly import Assembly
from diagnose.model.result import Diagnosis


@dataclass
class NotOneCauseError(Exception):
    """A name that fits no cause, or several; `fitting` are the nearest ids."""

    said: str
    fitting: tuple[str, ...]

    def __str__(self) -> str:
        return self.said


def choose_cause(named: str, assembly: Assembly, diagnosis: Diagnosis) -> str:
    """The cause meant by an id, by a part's id (its most blamed mode) or by a piece of one part's name.

    Raises NotOneCauseError.
    """
    causes = {id: placed.id for id, placed, _ in assembly.causes()}
    if named in causes:
        return named
    ranked = [cause.id for cause in diagnosis.causes if cause.id in causes]
    ranked += [id for id in causes if id not in ranked]
    fitting = [id for id in ranked if causes[id] == named] or _containing(named, ranked, assembly)
    parts = tuple(dict.fromkeys(causes[id] for id in fitting))
    if len(parts) == 1:
        return fitting[0]
    if parts:
        raise NotOneCauseError(f"`{named}` fits {len(parts)} parts of this rig", parts)
    raise NotOneCauseError(f"`{named}` is no cause of this rig", _nearest(named, causes, assembly))


def _containing(piece: str, causes: list[str], assembly: Assembly) -> list[str]:
    """The causes whose id or title holds the piece; exact words of an id count before mere pieces."""
    wanted = " ".join(piece.lower().replace("_", " ").split())
    if not wanted:
        return []
    words = [id for id in causes if piece.lower() in id.lower().split(".")]
    return words or [id for id in causes if wanted in _spoken(id, assembly)]


def _spoken(cause: str, assembly: Assembly) -> str:
    placed, mode = assembly.cause(cause)
    stage = assembly.rig.stages[placed.stage].title
    text = f"{cause.replace('.', ' ').replace('_', ' ')} | {stage} {placed.part.title} {mode.title}"
    return f"{text} | {cause}".lower()


def _nearest(named: str, causes: dict[str, str], assembly: Assembly) -> tuple[str, ...]:
    known = [*dict.fromkeys(causes.values()), *causes]
    close = get_close_matches(named, known, n=4, cutoff=0.5)
    if close:
        return tuple(close)
    tails = {part.rpartition(".")[2]: part for part in dict.fromkeys(causes.values())}
    return tuple(tails[tail] for tail in get_close_matches(named, list(tails), n=4, cutoff=0.5))
