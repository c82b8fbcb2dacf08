"""A person's words taken apart into remarks: what each says is wrong, and which signs it says are not there.

What is said to be well, and the story of what was done before, are no remarks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from diagnose.interview.stems import SIDE_WORDS, stem, stems

NEGATORS: Final = frozenset({"no", "not", "none", "never", "without", "neither", "nor", "cannot"})
_SPLIT = re.compile(r"[,;:!?]|\.(?:\s|\Z)|\b(?:and|but|also|then)\b", re.IGNORECASE)
_STORY = re.compile(r"\b(?:ever )?since\b.*", re.IGNORECASE)
_NOT = re.compile(r"n['\u2019]t\b", re.IGNORECASE)
_WELL = re.compile(
    r"""\b(?:nothing|no\s?thing|not\s+anything)\b.*\bwrong\b | ^\s*(?:nothing|none|all)\s*$
    | \bno\s+(?:known\s+)?(?:fault|problem|trouble|complaint|issue|symptom)s?\b | \bnot\s+aware\b
    | \b(?:routine|general|periodic|yearly|annual)\s+(?:check|test|inspection|overhaul|service) | \bcheck-?\s?up\b
    | ^\s*(?:all|everything|it|set|the\s+set)\s+(?:(?:is|seems|looks|was)\s+)?(?:fine|ok|okay|well|good|right|normal)\b""",
    re.IGNORECASE | re.VERBOSE,
)
_WORKS = re.compile(
    r"""\b(?:(?:works?|working|worked|plays?|runs?|is)\s+(?:fine|ok|okay|well|good|great|perfect|perfectly|normally
    |properly|all\s+right)\s*(?:$|(?:on|in)\b) | works?\s+(?:on|in)\s+\w+\s*\w*$ | ^\s*\w+\s+(?:fine|ok|okay)\s*$)""",
    re.IGNORECASE | re.VERBOSE,
)
_DENIED = re.compile(r"\b(?:no|not|never|only|hardly|barely)\b", re.IGNORECASE)
_NOT_MUCH = re.compile(r"\bno[tr]?\s+(?:much|enough|very much|a lot)\b(?:\s+of\b)?", re.IGNORECASE)
_ON_BAND = re.compile(
    r"\b(not|only|dead|nothing|weak|low)\s+(?:working\s+|work\s+)?on\s+\d+\s*(?:m\b|met\w+|band)?",
    re.IGNORECASE,
)
_WORD = re.compile(r"[a-z0-9]+")
_BETWEEN: Final = frozenset(
    {"a", "an", "any", "the", "more", "longer", "sign", "signs", "of", "such", "at", "all"}
)
# Words of any talk, which alone say nothing of what is wrong.
_TALK: Final = (
    "work run find found check test time good bad fine ok right wrong problem fault trouble since still now again go "
    "not no put buy bought use used day year every always never only more first second other another take turn need "
    "know old new make say look see barn"
)
HOW_MUCH: Final = frozenset(s for text in SIDE_WORDS.values() for s in stems(text)) | NEGATORS
INCIDENTAL: Final = HOW_MUCH | frozenset(stem(word) for word in _TALK.split())


@dataclass(frozen=True)
class Remark:
    """One thing that was said: its words, and the stems of what is said not to be there."""

    words: str
    denied: frozenset[str] = frozenset()


def remarks(words: str) -> Iterator[Remark]:
    """What is said to be wrong, remark by remark."""
    for piece in _SPLIT.split(_NOT.sub(" not", words)):
        said = _STORY.sub("", piece)
        if is_well(said):
            continue
        said = _NOT_MUCH.sub("little", _ON_BAND.sub("gone on one band", said))
        yield Remark(said, denied(said))


def is_well(words: str) -> bool:
    """Whether a remark says that nothing is wrong."""
    return bool(_WELL.search(words)) or (bool(_WORKS.search(words)) and not _DENIED.search(words))


def nothing_wrong(words: str) -> bool:
    """Whether words say that nothing is wrong, and nothing else."""
    pieces = [piece for piece in _SPLIT.split(_NOT.sub(" not", words)) if piece.strip()]
    return bool(pieces) and all(is_well(piece) for piece in pieces)


def denied(words: str) -> frozenset[str]:
    """The stems that a remark says are not there: `no smoke or smell` denies both."""
    found: set[str] = set()
    denying = False
    for word in _WORD.findall(words.casefold()):
        if word in NEGATORS or (word == "or" and found):
            denying = True
        elif denying and word not in _BETWEEN:
            found.add(stem(word))
            denying = False
    return frozenset(found)
