"""Checks and questions that several stages of a rig share: which stage is meant is said with each."""

from __future__ import annotations

from collections import Counter
from functools import lru_cache

from diagnose.model.assembly import Assembly


@lru_cache(maxsize=8)
def _shared(assembly: Assembly) -> frozenset[str]:
    """The ids of the checks and indications that have their title or question from more than one stage of the rig."""
    titles = [(id, placed.check.title) for id, placed in assembly.checks.items()]
    titles += [(id, asked_in_words(assembly, id)) for id in assembly.indications]
    often = Counter(title for _, title in titles)
    return frozenset(id for id, title in titles if often[title] > 1)


def asked_in_words(assembly: Assembly, name: str) -> str:
    """What is asked for an indication, on one line; its title where the book has no question for it."""
    indication = assembly.indications[name].indication
    return " ".join(indication.ask.split()) or indication.title


def stage_said(assembly: Assembly, id: str) -> str:
    """The title of the stage or instrument that a check or indication is of, if another has the same; else ""."""
    if id not in _shared(assembly):
        return ""
    stage = id.partition(".")[0]
    placed = assembly.rig.stages.get(stage)
    if placed is not None:
        return placed.title
    instrument = assembly.book.bench.instruments.get(stage)
    return instrument.title if instrument is not None else stage.replace("_", " ")


def check_title(assembly: Assembly, check: str, title: str) -> str:
    """The title of a check, with its stage where another stage has the same."""
    stage = stage_said(assembly, check)
    return f"{title} ({stage})" if stage else title
