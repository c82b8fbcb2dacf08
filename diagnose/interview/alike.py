"""Which of a few features of a set a person's words mean: `two 6146 in parallel`, `6146s`, `tube rectifier`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from diagnose.interview.stems import stem

_COUNTS: Final = {
    "a": 1,
    "an": 1,
    "one": 1,
    "single": 1,
    "two": 2,
    "pair": 2,
    "both": 2,
    "twin": 2,
    "three": 3,
    "four": 4,
}
_WORD = re.compile(r"[a-z0-9]+")
_BEGINNING: Final = 5  # letters that words of one family share: modulator, modulated
_YES: Final = frozenset({"yes", "y", "yep", "yeah", "fitted"})
_NO: Final = frozenset({"no", "not", "without", "none", "nothing"})
_TUBES: Final = frozenset({"tube", "valve"})


def fitting_words(said: str, answers: Mapping[str, str], asked: str, none: str) -> tuple[str, ...]:
    """The answers that words fit best; all that there is one, where only the thing that is asked of is named.

    `answers`: each with the words it is listed by; a count alone is no match. `none`: the answer that there is none.
    """
    exact = [answer for answer in answers if answer.casefold() == said.casefold()]
    if exact:
        return tuple(exact)
    words = _telling(said)
    scores = {answer: _fit(words, _telling(shown), _telling(answer)) for answer, shown in answers.items()}
    best = max(scores.values())
    if best[0] > 0:
        return tuple(answer for answer, score in scores.items() if score == best)
    there = tuple(answer for answer in answers if answer != none)
    plain = {stem(word) for word in _WORD.findall(said.casefold())}
    if plain & _NO:
        return (none,) if none in answers else ()
    if plain & _TUBES:
        return tuple(answer for answer in there if answers[answer] != answer)
    of_it = any(_family(word, other) for word in words for other in _telling(asked))
    return there if none in answers and (of_it or plain & _YES) else ()


def _telling(text: str) -> dict[str, int]:
    """The words of a text, each with how many there are said to be (0 where that is not said)."""
    found: dict[str, int] = {}
    count = 0
    for word in _WORD.findall(text.casefold()):
        number = _COUNTS.get(word, int(word) if word.isdecimal() and len(word) == 1 else 0)
        if number:
            count = number
            continue
        several = bool(re.search(r"\d", word)) and word.endswith("s")
        if word in ("of", "and", "or", "x"):
            continue
        found[word.removesuffix("s") if several else stem(word)] = count or (2 if several else 0)
        count = 0
    return found


def _fit(said: Mapping[str, int], shown: Mapping[str, int], own: Mapping[str, int]) -> tuple[int, int, int]:
    """How many words are alike, how many of them in number too, and how many are in the answer's own words."""
    alike = [(word, other) for word in said for other in shown if _same(word, other)]
    counted = sum((said[word] or 1) == (shown[other] or 1) for word, other in alike)
    return len(alike), counted, sum(other in own for _, other in alike)


def _same(word: str, other: str) -> bool:
    """The same word, or the same type of tube with or without the letter of its later make."""
    return word == other or (
        word.isdecimal() and len(word) >= 3 and other[:-1] == word and other[-1:].isalpha()
    )


def _family(word: str, other: str) -> bool:
    return len(word) >= _BEGINNING and word[:_BEGINNING] == other[:_BEGINNING]
