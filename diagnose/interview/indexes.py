"""What words are looked up in: the signs, the readings and the parts of a rig, each with its titles and trade terms."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from diagnose.interview.search import Entry, Index
from diagnose.interview.stems import SIDE_WORDS, stems
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.knowledge import State

# What one does to parts says little of which part it was.
_DOING: Final = frozenset(
    {
        "replace", "replaced", "replacing", "change", "changed", "changing", "new", "fit", "fitted", "put",
        "adjust", "adjusted", "clean", "cleaned", "cleaning", "swap", "swapped", "reset", "both", "old", "all",
        "one", "two", "pair", "repair", "repaired", "solder", "soldered", "check", "checked", "found",
    }
)  # fmt: skip


@lru_cache(maxsize=8)
def signs(assembly: Assembly) -> Index:
    """Everything abnormal that a person may complain of on a rig: symptoms, and quantities by their states."""
    entries = tuple(e for placed in assembly.indications.values() for e in _entries(assembly, placed))
    return Index(entries, _modes(assembly))


@lru_cache(maxsize=8)
def readable(assembly: Assembly) -> Index:
    """Every quantity, symptom and pattern of a rig, whatever its state."""
    return Index(
        tuple(
            _entry(assembly, placed, None)
            for placed in assembly.indications.values()
            if placed.indication.sort != "instrument"
        ),
        _modes(assembly),
    )


def _modes(assembly: Assembly) -> frozenset[str]:
    return frozenset(stem for mode in assembly.rig.features.get("modes", ()) for stem in stems(mode))


@lru_cache(maxsize=8)
def parts(assembly: Assembly) -> Index:
    """Every part of a rig that the book names."""
    found = []
    for placed in assembly.parts.values():
        if placed.part.unnamed:
            continue
        stage = assembly.rig.stages[placed.stage].title
        titles = [placed.part.title, *(mode.title for mode in placed.part.modes)]
        does = [remedy.do for mode in placed.part.modes if (remedy := placed.remedy(mode)) is not None]
        title = f"{placed.part.title} ({stage})"
        phrases = tuple(tuple(stems(title, _DOING)) for title in titles)
        asked = frozenset(stem for text in does for stem in stems(text, _DOING))
        found.append(Entry(placed.id, "", title, phrases, (), asked, frozenset(stems(stage))))
    return Index(tuple(found), empty=_DOING)


def _entries(assembly: Assembly, placed: PlacedIndication) -> Iterable[Entry]:
    if placed.indication.sort != "instrument":
        for state in placed.indication.states:
            if state.side:
                yield _entry(assembly, placed, state)


def _entry(assembly: Assembly, placed: PlacedIndication, state: State | None) -> Entry:
    indication = placed.indication
    stage = assembly.rig.stages[placed.stage].title
    title = f"{indication.title} ({stage})"
    texts = [indication.title]
    sides: dict[str, frozenset[str]] = {}
    if state is not None and indication.sort != "symptom":
        title = f"{indication.title}: {state.title or state.id.replace('_', ' ')} ({stage})"
        texts += [state.title, state.id.replace("_", " ")]
        if indication.sort == "quantity":
            sides = {side: frozenset(stems(words)) for side, words in SIDE_WORDS.items()}
            texts += sides.get(state.side, ())
    own = sides.get("" if state is None else state.side, frozenset())
    return Entry(
        name=placed.id,
        state="" if state is None else state.id,
        title=title,
        titles=tuple(tuple(stems(text)) for text in texts),
        terms=tuple(tuple(stems(text)) for text in indication.words),
        asked=frozenset(stems(indication.ask)),
        stage=frozenset(stems(f"{stage} {placed.stage.replace('_', ' ')}")),
        other_sides=frozenset().union(*sides.values()) - own,
        said=tuple(
            tuple(stems(text)) for text in indication.complaints.get("" if state is None else state.id, ())
        ),
        proof=placed.id in assembly.rig.proof,
    )
