"""The telling words of a text, folded and taken back to their stems, and how far two words are slips of each other."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

_EMPTY: Final = frozenset(
    {
        "a", "an", "and", "any", "are", "as", "at", "be", "been", "but", "by", "can", "did", "do", "does",
        "for", "from", "get", "gets", "got", "had", "has", "have", "he", "her", "his", "how", "i", "if", "in",
        "into", "is", "it", "its", "just", "like", "me", "my", "of", "on", "or", "our", "s", "she", "so",
        "some", "t", "that", "the", "their", "them", "then", "there", "these", "they", "this", "those", "to",
        "too", "us", "was", "we", "went", "were", "what", "when", "where", "which", "while", "who", "will",
        "with", "would", "you", "your", "very", "really", "about", "around", "roughly", "between", "come", "comes", "coming", "out", "set", "seem", "seems", "thing", "rig",
        "transmitter", "up", "down", "over",
    }
)  # fmt: skip
# How people say that something is short, too much or gone; the sides of a state are those of the model.
SIDE_WORDS: Final[Mapping[str, str]] = {
    "down": "low weak less little small drops poor reduced half lacks punch",
    "up": "high much more large excessive",
    "over": "no none nothing dead zero absent missing gone without",
}
_DIRECTIONS: Final = frozenset({"up", "down", "out", "over"})
_WORD = re.compile(r"[a-z0-9]+(?:\.[0-9]+)?")


def tells(words: str) -> bool:
    """Whether words say more than how much: `none` and `too high` alone are no sign of anything."""
    how_much = {stem for text in SIDE_WORDS.values() for stem in stems(text)}
    return any(len(stem) > 2 and stem not in how_much for stem in stems(words))


def stems(text: str, empty: frozenset[str] = frozenset()) -> list[str]:
    """The telling words of a text, folded and without their endings, each once; not those of `empty`."""
    words = _WORD.findall(text.casefold().replace("\u2019", "'").replace("n't", " not"))
    return list(dict.fromkeys(stem(word) for word in words if word not in _EMPTY and word not in empty))


def directions(text: str) -> frozenset[str]:
    """The words of a text that turn its meaning and tell nothing else: what goes up does not go down."""
    return _DIRECTIONS.intersection(_WORD.findall(text.casefold()))


def stem(word: str) -> str:
    """A word without plural, `ing` and `ed`: hums, humming and hummed are all `hum`."""
    if len(word) <= 3 or not word.isalpha():
        return word
    for ending, least in (("ing", 3), ("ied", 2), ("ies", 2), ("ed", 3), ("es", 3), ("s", 3)):
        if word.endswith(ending) and len(word) - len(ending) >= least:
            cut = word[: -len(ending)]
            if ending in ("ied", "ies"):
                return cut + "y"
            if ending == "s" and word.endswith("ss"):
                return word
            if ending == "es" and not cut.endswith(("s", "x", "z", "ch", "sh")):
                cut += "e"
            if ending in ("ing", "ed") and cut[-1:] == cut[-2:-1] and cut[-1] not in "lsz":
                cut = cut[:-1]
            return cut.removesuffix("e") if len(cut) > 3 else cut
    return word.removesuffix("e") if len(word) > 4 else word


def slips(first: str, second: str) -> int:
    """Letters changed, left out, added or swapped with the next (restricted Damerau distance); 3 for more than two."""
    if abs(len(first) - len(second)) > 2:
        return 3
    before: list[int] = []
    row = list(range(len(second) + 1))
    for i, letter in enumerate(first, start=1):
        older, before, row = before, row, [i]
        for j, other in enumerate(second, start=1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == second[j - 2] and first[i - 2] == other:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
        if min(row) > 2:
            return 3
    return min(row[-1], 3)
