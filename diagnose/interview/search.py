"""From a person's own words to the signs, readings and parts of the rig that they may mean, best first.

Words are folded, taken back to their stems and forgiven a slip of the pen; a word counts the more the fewer
entries have it. What is found is only offered: the person says which of it was meant.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from diagnose.interview.remarks import INCIDENTAL, NEGATORS, Remark, remarks
from diagnose.interview.stems import slips, stems

SHOWN: Final = 6
_TITLE, _TERM, _ASK, _STAGE = 1.0, 0.92, 0.45, 0.5  # what a word counts by where it stands
_COMPLAINT: Final = 1.0  # added where the whole of what was said is how people complain of it
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
    said: tuple[tuple[str, ...], ...] = ()  # stems of the phrases by which people complain of it
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

    def denied(self, stems: frozenset[str]) -> bool:
        """Whether this is said not to be there; a sign that is itself something missing never is."""
        return bool(self.weights.keys() & stems) and not self._own & NEGATORS

    def complained(self, said: frozenset[str], denied: frozenset[str]) -> float:
        """The share of what was said that is the longest phrase by which people complain of this; 0 for none.

        What is denied is no complaint, but for a phrase that says itself that something is missing.
        """
        whole = (
            len(phrase)
            for phrase in self.said
            if said.issuperset(phrase)
            and not NEGATORS.issuperset(phrase)
            and (not denied.intersection(phrase) or NEGATORS.intersection(phrase))
        )
        return max(whole, default=0) / len(said) if said else 0.0

    def means(self, said: frozenset[str], telling: frozenset[str]) -> bool:
        """Whether words that tell little by themselves still mean this: a whole title, or what the rig is proven by."""
        whole = (phrase for phrase in (*self.titles, *self.terms) if len(phrase) > 1)
        proof = self.proof and not telling and any(said.intersection(phrase) for phrase in self.terms)
        return proof or any(said.issuperset(phrase) for phrase in whole)

    @cached_property
    def _own(self) -> frozenset[str]:
        """The stems of the titles and the trade's words."""
        return frozenset(stem for phrase in (*self.titles, *self.terms) for stem in phrase)

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
    def idioms(self) -> frozenset[frozenset[str]]:
        """The trade's words with a `no` that says nothing of how much: `no punch` is not no power."""
        return frozenset(
            frozenset(phrase)
            for entry in self.entries
            for phrase in entry.terms
            if len(phrase) > 1 and NEGATORS & set(phrase)
        )

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
        found = [hits for remark in remarks(words) if (hits := self._fitting(remark))]
        together: dict[Entry, float] = {}
        for hits in found:
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
            for hits in found
        )
        return tuple(Hit(entry, together[entry]) for entry in dict.fromkeys((*firsts, *ranked)))[:most]

    def _fitting(self, remark: Remark) -> tuple[Hit, ...]:
        """The entries that fit one remark, the best first."""
        wanted = [stem for stem in stems(remark.words, self.empty) if not stem.isdigit()]
        idioms = [phrase for phrase in self.idioms if phrase <= set(wanted)]
        spoken = frozenset(wanted)
        wanted = [stem for stem in wanted if not (stem in NEGATORS and any(stem in i for i in idioms))]
        said = frozenset(wanted)
        telling = said - INCIDENTAL
        told: set[int] = set()  # the entries that fit by more than words of any talk
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
            told.update(touched if stem in telling else ())
            for number, gain in touched.items():
                scores[number] += rare * gain
        if not whole:
            return ()
        hits = []
        for number, score in enumerate(scores):
            entry = self.entries[number]
            complained = entry.complained(spoken, remark.denied)
            fits = (
                score > 0
                and not entry.denied(remark.denied)
                and (number in told or entry.means(said, telling))
            )
            if complained or fits:
                share = score / whole * (_OTHER_SIDE if said & entry.other_sides and not complained else 1.0)
                share *= _OTHER_STAGE if named and not named & entry.weights.keys() else 1.0
                hits.append(Hit(entry, share + entry.bonus(said) + _COMPLAINT * complained))
        hits.sort(key=lambda hit: (-hit.score, len(hit.entry.title), hit.entry.name, hit.entry.state))
        hits = _each_once(hits)
        alone = [hit.score - _COMPLAINT * hit.entry.complained(spoken, remark.denied) for hit in hits]
        least = max(_ENOUGH, _NEAR_BEST * max(alone, default=0.0))
        return tuple(hit for hit in hits if hit.score >= least)

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
            elif not found and len(stem) > 4 and slips(stem, known) <= (1 if len(stem) < 8 else 2):
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
