"""How people say yes and no, too much and too little, at the bench: from a line to its words, and to a state."""

from __future__ import annotations

import re
from typing import Final

from diagnose.model.knowledge import Indication, State

_YES: Final = frozenset({"y", "yes", "yep", "yeah", "yup", "aye", "true", "it does", "it is", "they do"})
_NO: Final = frozenset({"n", "no", "nope", "nah", "false", "it does not", "it is not", "no it does not"})
_NORMAL: Final = frozenset(
    {
        "normal", "ok", "okay", "good", "fine", "right", "all right", "correct", "as usual", "as it should",
        "as it should be", "as expected", "looks good", "in order", "as in a good set",
    }
)  # fmt: skip
_AS_EVER: Final = frozenset({"normal", "as usual", "as in a good set"})  # what says it of a sign too
_BY_SIDE: Final = {
    "down": frozenset(
        {
            "low",
            "too low",
            "down",
            "weak",
            "little",
            "small",
            "too little",
            "less",
            "under",
            "barely moves",
            "hardly moves",
        }
    ),
    "up": frozenset(
        {
            "high",
            "too high",
            "up",
            "much",
            "too much",
            "large",
            "more",
            "over",
            "off scale",
            "off the scale",
            "pegged",
            "pinned",
            "full scale",
        }
    ),
    "over": frozenset({"none", "nothing", "zero", "nil", "dead", "absent", "missing", "gone", "no reading"}),
}
ZERO: Final = _BY_SIDE["over"] - {"dead", "absent", "missing", "gone"}


def folded(line: str) -> str:
    """The words of a line in small letters, its short forms written out, without marks at the end."""
    line = line.replace("\u2019", "'").casefold().strip().rstrip(".!,;").strip()
    line = re.sub(r"\bcan'?t\b|\bcannot\b|\bcant\b", "can not", line)
    line = re.sub(r"\bdon'?t\b", "do not", line)
    line = re.sub(r"\b(does|is|did|was)n'?t\b", r"\1 not", line)
    line = re.sub(r"\bthere'?s\b", "there is", line)
    return " ".join(line.replace(",", " ").split()) if not any(c.isdigit() for c in line) else line


def spoken(id: str) -> str:
    """An id as people would say it."""
    return id.replace("_", " ").casefold()


def state_meant(word: str, indication: Indication) -> State | None:
    """The state that a folded word names: yes and no, the good one, a side, an id, a title, a beginning."""
    states, symptom = indication.states, indication.sort == "symptom"
    by_id = {state.id: state for state in states}
    if word in by_id:
        return by_id[word]
    if symptom and (word in _YES or word in _NO):
        return by_id.get("yes" if word in _YES else "no")
    if symptom and states[0].title and word in (indication.title.casefold(), states[0].title[4:].casefold()):
        return by_id.get("yes" if word == indication.title.casefold() else "no")
    if word in (_AS_EVER if symptom else _NORMAL):
        return states[0]
    if word in _YES or word in _NO:
        return None  # `no` is not the beginning of `normal`
    if not symptom and word.isdecimal() and indication.sort != "quantity":
        number = int(word)
        return states[number - 1] if 1 <= number <= len(states) else None
    word = re.sub(r"^(?:very|much|far|quite|it is|is|reads)\s+", "", word)
    beginning = [
        state
        for state in states
        if any(t.startswith(word) for t in (spoken(state.id), state.title.casefold())) and len(word) > 1
    ]
    if len(beginning) == 1:
        return beginning[0]
    return None if symptom else _on_side(word, indication)


def _on_side(word: str, indication: Indication) -> State | None:
    """The only state on the side that a word speaks of; little of what should be little is good."""
    states = indication.states
    sides = {state.side for state in states}
    for side, words in _BY_SIDE.items():
        on_side = [state for state in states if state.side == side]
        if word in words and len(on_side) == 1:
            return on_side[0]
    opposite = {frozenset({"", "up"}): "down", frozenset({"", "down"}): "up"}.get(frozenset(sides), "")
    if opposite and indication.sort == "quantity" and word in _BY_SIDE[opposite]:
        return states[0]
    return None
