"""A case file as a case of a rig in the book; what cannot be used is named and read around."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from diagnose.files import values
from diagnose.files.document import Document, Node, read_document
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.read_history import NOT_KNOWN, read_history
from diagnose.files.read_readings import Desk, choice, read_readings, read_symptoms
from diagnose.files.rig_names import GOOD, RigNames, names_on
from diagnose.files.schema import validate
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.case import Case, Work
from diagnose.model.knowledge import Bench, Book, Rig
from diagnose.problems import Problem

Loaded = tuple[Case | None, tuple[Problem, ...]]


def read_case(path: Path, book: Book, name: str | None = None) -> Loaded:
    """The case in a file. None if its rig is unknown or the file unreadable.

    A case with a bad reading is still a case: the reading is left out and its problem kept.
    """
    document, problems = read_document(path, name)
    if document is None:
        return None, problems
    return case_of(document, book, problems)


def case_of(document: Document, book: Book, so_far: tuple[Problem, ...] = ()) -> Loaded:
    """The case in a document that has been read; `so_far` is what was said of it."""
    root, faults = document.root, Faults(list(so_far))
    faults.found.extend(validate(root, "case"))
    rig = _rig(root, book, faults)
    if rig is None:
        return None, faults.all()
    names = names_on(book, rig)
    desk = Desk(rig, names, book.bench.reports, faults)
    case = Case(
        id=values.text(root, "case") or Path(document.file).stem,
        rig=rig.id,
        about=values.text(root, "about"),
        mains=values.quantity(root.get("mains"), "V", faults),
        mode=choice(root.get("mode"), "mode of this rig", rig.features.get("modes", ()), faults),
        band=choice(root.get("band"), "band of this rig", rig.bands, faults),
        history=read_history(root.get("history"), book.bench.facts, faults),
        safety=tuple(_safety(root, book.bench, faults)),
        bench=Frozen(dict(_bench(root, book.bench, faults))),
        intermittent=values.flag(root, "intermittent"),
        observations=(*read_readings(root, desk), *read_symptoms(root, desk)),
        inspected=Frozen(dict(_inspected(root, names, faults))),
        work=tuple(_work(root, names, faults)),
        confirmed=_confirmed(root.get("confirmed"), names, faults),
        place=root.place,
    )
    problems = faults.all()
    return replace(case, problems=problems), problems


@lru_cache(maxsize=16)
def assembly_of(book: Book, rig: str) -> Assembly:
    """The rig's own network, kept: a batch reads many cases of few rigs."""
    return assemble(book, book.rigs[rig])


def _rig(root: Node, book: Book, faults: Faults) -> Rig | None:
    node, word = root.get("rig"), values.text(root, "rig")
    if word in book.rigs:
        return book.rigs[word]
    if node is not None and word:
        faults.unknown(node, "unknown-rig", f"`{word}` is no rig of the book", word, book.rigs)
    elif not faults.found:
        faults.error(root, "unknown-rig", "the case names no rig", "add `rig:`")
    return None


def _safety(root: Node, bench: Bench, faults: Faults) -> Iterator[str]:
    """What has been proven on this bench."""
    for node in values.scalars(root, "safety"):
        word = choice(node, "safety fact of the bench", bench.safety, faults)
        if word:
            yield word


def _bench(root: Node, bench: Bench, faults: Faults) -> Iterator[tuple[str, str]]:
    """The state of the bench now."""
    section = root.get("bench")
    for group, node in section.entries.items() if section is not None else ():
        setup = bench.setups.get(group)
        if setup is None:
            said = f"`{group}` is no set-up of the bench"
            faults.unknown(node.key_place, "unknown-setup", said, group, bench.setups)
            continue
        word = choice(node, f"state of {group}", setup.states, faults)
        if word:
            yield group, word


def _inspected(root: Node, names: RigNames, faults: Faults) -> Iterator[tuple[str, str]]:
    """Parts that were examined, and what was found."""
    section = root.get("inspected")
    for part, node in section.entries.items() if section is not None else ():
        modes = names.modes.get(part)
        if modes is None:
            said = f"`{part}` is no part of this rig"
            faults.unknown(node.key_place, "unknown-part", said, part, names.modes)
            continue
        word = values.text(node)
        if word in NOT_KNOWN or node.value is None:
            continue
        if word in (GOOD, *modes):
            yield part, word
        elif word:
            said = f"`{word}` is no mode of {part}"
            faults.unknown(node, "unknown-mode", said, word, (GOOD, *modes))


def _work(root: Node, names: RigNames, faults: Faults) -> Iterator[Work]:
    """Work done, as plain texts or entries."""
    section = root.get("work")
    for node in section.members if section is not None else ():
        if node.is_scalar:
            yield Work(values.text(node), place=node.place)
            continue
        answers = choice(node.get("answers"), "stop order of this rig", names.stops, faults)
        if node.entries:
            yield Work(values.text(node, "did"), answers, node.place)


def _confirmed(node: Node | None, names: RigNames, faults: Faults) -> tuple[str, ...] | None:
    """The causes that were found in the end; none at all is an answer too."""
    if node is None or node.value is None:
        return None
    known = names.causes()
    found: list[str] = []
    for entry in values.scalars(node):
        word = values.text(entry)
        if word in known:
            found.append(word)
        else:
            said = f"`{word}` is no cause on this rig"
            faults.unknown(entry, "unknown-cause", said, word, known)
    return tuple(found)
