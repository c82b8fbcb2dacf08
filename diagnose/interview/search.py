"""From a person's own words to the signs, readings and parts of the rig that they may mean, best first.

Words are folded, taken back to their stems and forgiven a slip of the pen; a word counts the more the fewer
entries have it. What is found is only offered: the person says which of it was meant.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.knowledge import State

SHOWN: Final = 6
_TITLE, _TERM, _ASK, _STAGE = 1.0, 0.92, 0.45, 0.5  # what a word counts by where it stands
_ENOUGH: Final = 0.28  # share of the question's weight from which an entry is offered
_NEAR_BEST: Final = 0.4  # share of the best entry's weight from which another is offered beside it
_PHRASE: Final = 0.35  # added where all words of a title or a trade term were said
_SAME, _BEGINS, _SLIP = 1.0, 0.75, 0.7
_ELSEWHERE: Final = 0.5  # what an entry gains by fitting another remark too
_AS_GOOD: Final = 0.99  # share of the best score that is as good as the best
_NOT_HERE: Final = 0.3  # what a word that no entry has counts against all of them
_ASIDE: Final = 0.3  # what a word counts that says when or where, such as a mode
_OTHER_SIDE: Final = 0.6  # left of the weight of a state if the words name another side
_OTHER_STAGE: Final = 0.75  # the same where the words name a stage and the entry is of another
_PROOF: Final = 0.06  # added to what the rig is proven by: people complain of that first

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
# What one does to parts says little of which part it was.
_DOING: Final = frozenset(
    {
        "replace", "replaced", "replacing", "change", "changed", "changing", "new", "fit", "fitted", "put",
        "adjust", "adjusted", "clean", "cleaned", "cleaning", "swap", "swapped", "reset", "both", "old", "all",
        "one", "two", "pair", "repair", "repaired", "solder", "soldered", "check", "checked", "found",
    }
)  # fmt: skip
# How people say that something is short, too much or gone; the sides of a state are those of the model.
_SIDE_WORDS: Final[Mapping[str, str]] = {
    "down": "low weak less little small drops poor reduced half",
    "up": "high much more large excessive",
    "over": "no none nothing dead zero absent missing gone without",
}
_REMARKS = re.compile(r"[,;:]|\.\s|\b(?:and|but|also|then)\b", re.IGNORECASE)
_WORD = re.compile(r"[a-z0-9]+(?:\.[0-9]+)?")


@dataclass(frozen=True)
class Entry:
    """Something that words can mean: its id on the rig, a state of it ("" for a part), and its words."""

    name: str
    state: str
    title: str
    titles: tuple[tuple[str, ...], ...] = ()  # stems of titles and states
    terms: tuple[tuple[str, ...], ...] = ()  # stems of the trade's words for it
    asked: frozenset[str] = frozenset()
    stage: frozenset[str] = frozenset()
    other_sides: frozenset[str] = frozenset()  # what says that another state is meant
    proof: bool = False

    @cached_property
    def weights(self) -> Mapping[str, float]:
        """What each stem counts here."""
        found = dict.fromkeys(self.asked, _ASK)
        found.update(dict.fromkeys(self.stage, _STAGE))
        for weight, phrases in ((_TERM, self.terms), (_TITLE, self.titles)):
            for phrase in phrases:
                found.update(dict.fromkeys(phrase, weight))
        return found

    def bonus(self, said: frozenset[str]) -> float:
        """What is added because a whole title or term was said, or because this is what a rig is proven by."""
        whole = [
            share * len(phrase) / len(said)
            for share, phrases in ((1.0, self.titles), (0.2, self.terms))
            for phrase in phrases
            if phrase and said.issuperset(phrase)
        ]
        return _PHRASE * max(whole, default=0.0) + (_PROOF if self.proof else 0.0)


@dataclass(frozen=True)
class Hit:
    """An entry with how well the words fit, from 0 to about 1."""

    entry: Entry
    score: float


@dataclass(frozen=True, eq=False)
class Index:
    """Entries by their words."""

    entries: tuple[Entry, ...]
    aside: frozenset[str] = frozenset()  # stems that say when or where, and little of what
    empty: frozenset[str] = frozenset()  # words that say nothing here

    @cached_property
    def stages(self) -> frozenset[str]:
        """The stems that name stages."""
        return frozenset().union(*(entry.stage for entry in self.entries)) if self.entries else frozenset()

    @cached_property
    def having(self) -> Mapping[str, tuple[int, ...]]:
        """The numbers of the entries that have each stem."""
        found: dict[str, list[int]] = {}
        for number, entry in enumerate(self.entries):
            for stem in entry.weights:
                found.setdefault(stem, []).append(number)
        return {stem: tuple(numbers) for stem, numbers in found.items()}

    def find(self, words: str, most: int = SHOWN) -> tuple[Hit, ...]:
        """The entries that the words may mean, at most so many.

        First the best of each remark, by what it has of the others where that decides; then the rest by rank.
        """
        remarks = [hits for remark in _REMARKS.split(words) if (hits := self._fitting(remark))]
        together: dict[Entry, float] = {}
        for hits in remarks:
            for hit in hits:
                best, rest = (
                    max(hit.score, together.get(hit.entry, 0.0)),
                    min(hit.score, together.get(hit.entry, 0.0)),
                )
                together[hit.entry] = best + _ELSEWHERE * rest
        ranked = sorted(together, key=lambda entry: -together[entry])
        firsts = (
            max(
                (hit.entry for hit in hits if hit.score >= _AS_GOOD * hits[0].score),
                key=lambda entry: together[entry],
            )
            for hits in remarks
        )
        return tuple(Hit(entry, together[entry]) for entry in dict.fromkeys((*firsts, *ranked)))[:most]

    def _fitting(self, words: str) -> tuple[Hit, ...]:
        """The entries that fit one remark, the best first."""
        wanted = [stem for stem in stems(words, self.empty) if not stem.isdigit()]
        said = frozenset(wanted)
        named = said & self.stages
        scores = [0.0] * len(self.entries)
        whole = 0.0
        for stem in wanted:
            near = self._near(stem)
            touched: dict[int, float] = {}
            for known, closeness in near.items():
                for number in self.having[known]:
                    gain = closeness * self.entries[number].weights[known]
                    touched[number] = max(touched.get(number, 0.0), gain)
            rare = math.log(1 + len(self.entries) / (1 + len(touched)))
            rare *= _ASIDE if stem in self.aside else 1.0
            whole += rare if touched else _NOT_HERE * rare
            for number, gain in touched.items():
                scores[number] += rare * gain
        if not whole:
            return ()
        hits = []
        for number, score in enumerate(scores):
            if score > 0:
                entry = self.entries[number]
                share = score / whole * (_OTHER_SIDE if said & entry.other_sides else 1.0)
                share *= _OTHER_STAGE if named and not named & entry.weights.keys() else 1.0
                hits.append(Hit(entry, share + entry.bonus(said)))
        hits.sort(key=lambda hit: (-hit.score, len(hit.entry.title), hit.entry.name, hit.entry.state))
        hits = _each_once(hits)
        best = hits[0].score if hits else 0.0
        return tuple(hit for hit in hits if hit.score >= max(_ENOUGH, _NEAR_BEST * best))

    def _near(self, stem: str) -> dict[str, float]:
        """The stems of the entries that a stem may mean, with how surely."""
        found = {stem: _SAME} if stem in self.having else {}
        if len(stem) < 4 or stem.isdigit():
            return found
        for known in self.having:
            if known in found or len(known) < 4:
                continue
            if known.startswith(stem) or (len(known) >= 5 and stem.startswith(known)):
                found[known] = _BEGINS
            elif not found and slips(stem, known) <= (1 if len(stem) < 8 else 2):
                found[known] = _SLIP
        return found


def _each_once(hits: list[Hit]) -> list[Hit]:
    """Of one indication the best fitting state only, unless another fits as well."""
    best: dict[str, float] = {}
    kept = []
    for hit in hits:
        if hit.score >= best.setdefault(hit.entry.name, hit.score):
            kept.append(hit)
    return kept


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
            sides = {side: frozenset(stems(words)) for side, words in _SIDE_WORDS.items()}
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
        proof=placed.id in assembly.rig.proof,
    )


def tells(words: str) -> bool:
    """Whether words say more than how much: `none` and `too high` alone are no sign of anything."""
    how_much = {stem for text in _SIDE_WORDS.values() for stem in stems(text)}
    return any(len(stem) > 2 and stem not in how_much for stem in stems(words))


def stems(text: str, empty: frozenset[str] = frozenset()) -> list[str]:
    """The telling words of a text, folded and without their endings, each once; not those of `empty`."""
    words = _WORD.findall(text.casefold().replace("\u2019", "'").replace("n't", " not"))
    return list(dict.fromkeys(stem(word) for word in words if word not in _EMPTY and word not in empty))


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
