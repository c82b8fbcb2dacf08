"""The parts that work may have been done to, by the words it is told in: stage, title, remedy, tube types.

More is offered here than a search would: the person has done something to a part, and only picks which.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Final

from diagnose.interview.indexes import parts
from diagnose.interview.search import Entry
from diagnose.interview.stems import stems
from diagnose.model.assembly import Assembly

MOST: Final = 8
_TITLE, _MODE, _DO, _STAGE = 1.0, 0.5, 0.4, 0.6  # what a word counts by where it stands
_BEGINS: Final = 0.7
_TYPED: Final = "tube"  # what a type number stands for
_WORD = re.compile(r"[a-z0-9]+")


def touched(words: str, assembly: Assembly) -> tuple[Entry, ...]:
    """The parts whose words were said, at most so many, the best first."""
    said, typed = _said(words, assembly)
    having = _having(assembly)
    scores: dict[str, float] = {}
    entries = {entry.name: entry for entry in parts(assembly).entries}
    for stem in said:
        gains: dict[str, float] = {}
        for known in having:
            close = 1.0 if known == stem else _BEGINS if len(stem) > 3 and known.startswith(stem) else 0.0
            for name, weight in having[known].items() if close else ():
                gains[name] = max(gains.get(name, 0.0), close * weight)
        rare = math.log(1 + len(entries) / (1 + len(gains)))
        for name, gain in gains.items():
            scores[name] = scores.get(name, 0.0) + rare * gain
    if typed:  # nothing says more than the type of the tube
        at = {name for name in entries if assembly.parts[name].stage in typed}
        scores = {name: score for name, score in scores.items() if name in at} or dict.fromkeys(at, 0.0)
    ranked = sorted(scores, key=lambda name: (-scores[name], len(entries[name].title), name))
    return tuple(entries[name] for name in ranked[:MOST])


def _said(words: str, assembly: Assembly) -> tuple[list[str], frozenset[str]]:
    """The stems that tell to what something was done, and the stages whose tubes were named by their type."""
    types = {
        tube.casefold(): frozenset(s.id for s in assembly.rig.stages.values() if tube in s.tubes)
        for stage in assembly.rig.stages.values()
        for tube in stage.tubes
    }
    told: list[str] = []
    typed: frozenset[str] = frozenset()
    for word in _WORD.findall(words.casefold()):
        type = next((t for t in (word, word.removesuffix("s")) if t in types), "")
        if type:
            typed |= types[type]
            told.append(_TYPED)
        else:
            told.append(assembly.book.bench.shop_talk.get(word, word))
    return [stem for stem in stems(" ".join(told)) if not stem.isdigit()], typed


@lru_cache(maxsize=8)
def _having(assembly: Assembly) -> Mapping[str, Mapping[str, float]]:
    """What each stem counts for each part that has it."""
    found: dict[str, dict[str, float]] = {}
    for entry in parts(assembly).entries:
        for text, weight in _texts(assembly, entry.name):
            for stem in stems(text):
                of = found.setdefault(stem, {})
                of[entry.name] = max(of.get(entry.name, 0.0), weight)
    return found


def _texts(assembly: Assembly, name: str) -> Iterator[tuple[str, float]]:
    placed = assembly.parts[name]
    yield placed.part.title, _TITLE
    yield f"{assembly.rig.stages[placed.stage].title} {placed.stage.replace('_', ' ')}", _STAGE
    for mode in placed.part.modes:
        yield mode.title, _MODE
        remedy = placed.remedy(mode)
        if remedy is not None:
            yield remedy.do, _DO
