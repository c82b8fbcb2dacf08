"""A value or a range as people say it (`about 145 mils`, `jumps between 60 and 80`), read as a case file is."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_seen import Subject, seen
from diagnose.files.scalars import plain_scalar
from diagnose.interview.meant import READ, UNCLEAR, Meant, hint_for, no_state
from diagnose.interview.spoken import ZERO, folded, spoken
from diagnose.model.case import Observation
from diagnose.model.knowledge import Indication
from diagnose.model.measuring import Figure
from diagnose.problems import NOWHERE
from diagnose.units import UnitError, split_quantity

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


def measured(said: str, name: str, subject: Subject, desk: Desk) -> Meant:
    """A value or a range, in the words that a case file takes."""
    if folded(said) in ZERO:
        said = "0"
    unsteady = _UNSTEADY.match(said)
    if unsteady and isinstance(subject, Indication):
        named = [s for s in subject.states if _UNSTEADY.match(f"{spoken(s.id)} ") and s.side]
        if len(named) == 1:
            return Meant(READ, Observation(name, state=named[0].id, as_written=named[0].id))
        if not any(c.isdigit() for c in said):
            because = f"`{said}` says that it is not steady, but not what it reads"
            return Meant(UNCLEAR, because=because, hint=f"say between what: `60 to 80 {subject.unit}`")
    written = _as_in_files(said[unsteady.end() :] if unsteady else said, subject.unit)
    if not any(c.isdigit() for c in written):
        return Meant(UNCLEAR, because=no_state(said, subject), hint=hint_for(subject))
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
