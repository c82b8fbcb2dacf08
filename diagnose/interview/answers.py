"""What a person at the bench answers, as an observation: forgiving of the form, never of the meaning.

The line is put into the form of the case file and read by the same readers; here is only what people say
and files do not. Knows no terminal.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_seen import Subject, seen
from diagnose.files.rig_names import RigNames, names_on
from diagnose.files.scalars import plain_scalar
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Indication, State
from diagnose.model.measuring import Figure
from diagnose.problems import NOWHERE
from diagnose.units import UnitError, split_quantity

READ: Final = "read"
UNKNOWN: Final = "not known"
CANNOT: Final = "cannot be measured"
NO_SUCH: Final = "no such thing on this set"
UNCLEAR: Final = "not understood"


@dataclass(frozen=True)
class Meant:
    """What a line means for one indication. An observation goes with READ and UNKNOWN, a reason with UNCLEAR."""

    kind: str
    observation: Observation | None = None
    because: str = ""
    hint: str = ""


_YES: Final = frozenset({"y", "yes", "yep", "yeah", "yup", "aye", "true", "it does", "it is", "they do"})
_NO: Final = frozenset({"n", "no", "nope", "nah", "false", "it does not", "it is not", "no it does not"})
_UNKNOWN: Final = frozenset(
    {
        "?", "not sure", "unsure", "not known", "unknown", "do not know", "i do not know", "dunno", "no idea",
        "not certain", "can not tell", "can not say", "hard to say", "maybe", "perhaps", "skip", "skip it", "pass",
        "next", "later",
    }
)  # fmt: skip
_CANNOT: Final = frozenset(
    {
        "can not measure", "can not", "can not do", "can not measure it", "can not measure that", "can not read",
        "can not read it", "can not reach", "can not reach it", "can not do it", "can not do that",
        "unable", "not possible", "impossible", "no way to measure", "no instrument", "no meter",
    }
)  # fmt: skip
_NO_SUCH: Final = re.compile(
    r"(?:there is )?(?:no such|not fitted|not present|does not exist|not on this (?:set|rig)|"
    r"it has no(?:ne| such)|has none)\b.*\Z"
)
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
_ZERO: Final = _BY_SIDE["over"] - {"dead", "absent", "missing", "gone"}

_FILLER = re.compile(
    r"(?:=|:|(?:it|that|this|meter|the meter|i|now)\s+(?=\S)|(?:it'?s|is|reads|shows|says|read|get|got|see|"
    r"measured?|at)\s+(?=\S))\s*",
    re.IGNORECASE,
)
_ABOUT = re.compile(
    r"(?:about|around|roughly|approximately|approx\.?|ca\.?|circa|nearly|almost|some|say|~|c\.)\s*(?=[-+.~\d])",
    re.IGNORECASE,
)
_OR_SO = re.compile(r"\s*(?:\bor so|\bish|(?<=\d)ish|\bmore or less|\bor thereabouts)\b", re.IGNORECASE)
_UNSTEADY = re.compile(
    r"(?:it\s+)?(?:jump|swing|wander|vari|flicker|fluctuat|bounc|hop|oscillat|mov|hunt|drift|change|unsteady|"
    r"unstable)\w*\b[\s,:]*(?:about|around)?\s*",
    re.IGNORECASE,
)
_NUMBER: Final = r"[-+]?(?:\d[\d,]*\.?\d*|\.\d+)"
_SPAN = re.compile(
    rf"(?P<low>{_NUMBER}\s*[^\d\s.\-\u2013\u2014]*?)\s*(?:\.\.+|\u2026|-|\u2013|\u2014|\band\b)\s*"
    rf"(?P<high>{_NUMBER}\s*\S*(?:\s\D*)?)\Z"
)
_PLUS_MINUS = re.compile(
    rf"(?P<mid>{_NUMBER})\s*(?P<unit>\D*?)\s*(?:\+/?-|\xb1)\s*(?P<by>{_NUMBER})\s*(?P<rest>.*)\Z"
)
_PERCENT = re.compile(r"(?:%|percent)\Z")
_ON = re.compile(r"[\s,]+(?:on|in|at)\s+(?:the\s+)?(?P<what>[\w ]+?)\s*\Z", re.IGNORECASE)
_WARMTH = re.compile(r"[\s,]+(?:when\s+)?(?P<what>cold|warm|hot)\Z", re.IGNORECASE)
_WITH = re.compile(r"[\s,]+with\s+(?:the\s+|a\s+|an\s+|my\s+)?(?P<what>[\w .-]+?)\s*\Z", re.IGNORECASE)
_LONGEST: Final = 200


@lru_cache(maxsize=8)
def names_of(assembly: Assembly) -> RigNames:
    """The names of everything that can be read on a rig and its bench."""
    return names_on(assembly.book, assembly.rig)


def desk_of(assembly: Assembly, case: Case) -> Desk:
    """What is needed to judge an answer, with an empty list of faults."""
    book = assembly.book
    meters = {**book.meters, **case.meters}
    return Desk(book.rigs[case.rig], names_of(assembly), book.bench, Faults(), meters, len(case.work))


def folded(line: str) -> str:
    """The words of a line in small letters, its short forms written out, without marks at the end."""
    line = line.replace("\u2019", "'").casefold().strip().rstrip(".!,;").strip()
    line = re.sub(r"\bcan'?t\b|\bcannot\b|\bcant\b", "can not", line)
    line = re.sub(r"\bdon'?t\b", "do not", line)
    line = re.sub(r"\b(does|is|did|was)n'?t\b", r"\1 not", line)
    line = re.sub(r"\bthere'?s\b", "there is", line)
    return " ".join(line.replace(",", " ").split()) if not any(c.isdigit() for c in line) else line


def understood(line: str, name: str, assembly: Assembly, case: Case) -> Meant:
    """What an answer means for one quantity, symptom, pattern or figure of the rig, by its full name.

    KeyError if the rig has none of that name. The observation has no period: the course gives it one.
    """
    desk = desk_of(assembly, case)
    subject = desk.names.indications.get(name) or desk.names.figures[name]
    said = " ".join(line.split())
    if len(said) > _LONGEST:
        return Meant(UNCLEAR, because="that is too long for an answer", hint=_hint(subject))
    word = folded(said)
    if not word:
        return Meant(UNCLEAR, because="nothing was said", hint=_hint(subject))
    if word in _UNKNOWN:
        return Meant(UNKNOWN, Observation(name, as_written="not known"))
    if word in _CANNOT or word.startswith("can not measure"):
        return Meant(CANNOT)
    if _NO_SUCH.match(word):
        return Meant(NO_SUCH)
    plain = _meant(said, name, subject, desk)
    if plain.kind != UNCLEAR:
        return plain
    rest, told = _circumstances(said, desk)
    if not told:
        return plain
    bare = _meant(rest, name, subject, desk)
    if bare.observation is None:
        return bare
    return replace(bare, observation=replace(bare.observation, **told))


def _meant(said: str, name: str, subject: Subject, desk: Desk) -> Meant:
    word = folded(said)
    if isinstance(subject, Indication):
        state = state_meant(word, subject)
        if state is not None:
            return Meant(READ, Observation(name, state=state.id, as_written=state.id))
        if subject.sort != "quantity":
            return Meant(UNCLEAR, because=_no_state(said, subject), hint=_hint(subject))
    return _measured(said, name, subject, desk)


def state_meant(word: str, indication: Indication) -> State | None:
    """The state that a folded word names: yes and no, the good one, a side, an id, a title, a beginning."""
    states, symptom = indication.states, indication.sort == "symptom"
    by_id = {state.id: state for state in states}
    if word in by_id:
        return by_id[word]
    if symptom and (word in _YES or word in _NO):
        return by_id.get("yes" if word in _YES else "no")
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
        if any(t.startswith(word) for t in (_spoken(state.id), state.title.casefold())) and len(word) > 1
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


def _measured(said: str, name: str, subject: Subject, desk: Desk) -> Meant:
    """A value or a range, in the words that a case file takes."""
    if folded(said) in _ZERO:
        said = "0"
    unsteady = _UNSTEADY.match(said)
    if unsteady and isinstance(subject, Indication):
        named = [s for s in subject.states if _UNSTEADY.match(f"{_spoken(s.id)} ") and s.side]
        if len(named) == 1:
            return Meant(READ, Observation(name, state=named[0].id, as_written=named[0].id))
        if not any(c.isdigit() for c in said):
            because = f"`{said}` says that it is not steady, but not what it reads"
            return Meant(UNCLEAR, because=because, hint=f"say between what: `60 to 80 {subject.unit}`")
    written = _as_in_files(said[unsteady.end() :] if unsteady else said, subject.unit)
    if not any(c.isdigit() for c in written):
        return Meant(UNCLEAR, because=_no_state(said, subject), hint=_hint(subject))
    written = _by_size(written, subject)
    faults = Faults()
    node = Node(plain_scalar(written), NOWHERE, NOWHERE, written)
    found = seen(name, subject, node, replace(desk, faults=faults))
    if found is None:
        problem = faults.found[0] if faults.found else None
        because = problem.text if problem else f"`{said}` is not understood"
        because = because.removeprefix(f"{name}: ").removesuffix("; it is left out")
        return Meant(UNCLEAR, because=because, hint=problem.suggestion if problem else "")
    return Meant(READ, found)


def _as_in_files(said: str, unit: str) -> str:
    """The line as a case file would have it: `about 145 mA`, `60 to 80 mA`."""
    text = said.strip().rstrip("!;,").strip()
    text = text[:-1] if text.endswith(".") and text[-2:-1].isalpha() else text
    while (filler := _FILLER.match(text)) is not None and filler.end():
        text = text[filler.end() :]
    text, times = _OR_SO.subn("", text)
    about = _ABOUT.match(text)
    if about:
        text = text[about.end() :]
    roughly = bool(about) or times > 0
    text = re.sub(r"\A(?:between|from)\s+", "", text, flags=re.IGNORECASE)
    text = re.sub(r"(\d\s*\D*?)\s+to\s+(?=[-+.\d])", r"\1 .. ", text, flags=re.IGNORECASE)
    both = _PLUS_MINUS.match(text)
    if both:
        return _around(both, unit)
    span = _SPAN.match(text)
    if span:
        low, high = span["low"].strip(), span["high"].strip()
        high = high if _has_unit(high, unit) or _has_unit(low, unit) else f"{high} {unit}".strip()
        return f"{'about ' if roughly else ''}{low} to {high}"
    if not _has_unit(text, unit):
        text = f"{text} {unit}".strip()
    return f"about {text}" if roughly else text


def _by_size(written: str, subject: Subject) -> str:
    """A value with a minus where it is asked how far negative something is: what counts is its size."""
    if isinstance(subject, Figure) or not re.search(r"\bnegative\b", subject.ask):
        return written
    if subject.plausible is None or subject.plausible[0] < 0:
        return written
    return re.sub(r"\A((?:about\s+)?)-\s*(?=[.\d])", r"\1", written)


def _around(both: re.Match[str], unit: str) -> str:
    """A value with what it may be off by, as a range."""
    middle, by = float(both["mid"].replace(",", "")), float(both["by"].replace(",", ""))
    of_value = _PERCENT.match(both["rest"].strip()) and not _PERCENT.match(both["unit"].strip() or unit)
    by = abs(middle) * by / 100 if of_value else by
    named = both["unit"].strip() or ("" if of_value else both["rest"].strip()) or unit
    return f"{middle - by:.6g} to {middle + by:.6g} {named}".strip()


def _has_unit(text: str, unit: str) -> bool:
    """Whether a number names its unit; what is no number at all is left as it is."""
    try:
        return bool(split_quantity(text, unit)[1])
    except UnitError:
        return True


def _circumstances(said: str, desk: Desk) -> tuple[str, dict[str, Any]]:
    """What stands behind the value (`on 20m`, `cold`, `with the wattmeter`), and the line without it."""
    told: dict[str, Any] = {}
    while True:
        for pattern, read in ((_WARMTH, _warmth), (_WITH, _meter), (_ON, _band_or_mode)):
            match = pattern.search(said)
            found = dict(read(match["what"], desk)) if match else {}
            if match and found:
                told |= found
                said = said[: match.start()].strip()
                break
        else:
            return said, told


def _warmth(word: str, desk: Desk) -> Iterator[tuple[str, Any]]:
    yield "warmth", "cold" if word.casefold() == "cold" else "warm"


def _meter(words: str, desk: Desk) -> Iterator[tuple[str, Any]]:
    wanted = words.casefold()
    titles = {id: _spoken(id) for id in desk.instruments}
    fitting = [id for id, title in titles.items() if wanted == title] or [
        id for id, title in titles.items() if title.startswith(wanted)
    ]
    if len(fitting) == 1:
        yield "meter", fitting[0]


def _band_or_mode(words: str, desk: Desk) -> Iterator[tuple[str, Any]]:
    word = re.sub(r"\s*(?:meters?|metres?|m|band)\b", "m", words.casefold()).replace(" ", "")
    if word in desk.rig.bands:
        yield "band", word
    elif words.casefold() in desk.rig.features.get("modes", ()):
        yield "mode", words.casefold()


def _no_state(said: str, subject: Subject) -> str:
    if isinstance(subject, Figure) or subject.sort == "quantity":
        return f"`{said}` is no value in {subject.unit}" if subject.unit else f"`{said}` is no value"
    if subject.sort == "symptom":
        return f"`{said}` is neither yes nor no"
    return f"`{said}` is none of the answers"


def _hint(subject: Subject) -> str:
    if isinstance(subject, Figure):
        return f"write it like `12.5 {subject.unit}`".strip()
    states = [_spoken(state.id) for state in subject.states]
    if subject.sort == "symptom":
        return "y, n, or `not sure`"
    if subject.sort == "quantity":
        return f"write a value like `12.5 {subject.unit}`, or {', '.join(states)}".strip()
    return "one of: " + ", ".join(f"{number} {state}" for number, state in enumerate(states, start=1))


def _spoken(id: str) -> str:
    return id.replace("_", " ").casefold()
