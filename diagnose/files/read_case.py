"""A case file as a case of a rig in the book; what cannot be used is named and read around."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path, PurePath
from typing import TypeVar

from diagnose.files import values
from diagnose.files.beside import Folder
from diagnose.files.choices import choice, choices
from diagnose.files.desk import Desk
from diagnose.files.document import Document, Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.read_circumstances import read_frequency, read_mains
from diagnose.files.read_drift import read_drift
from diagnose.files.read_history import NOT_KNOWN, read_history
from diagnose.files.read_meters import read_meters
from diagnose.files.read_readings import read_readings, read_symptoms
from diagnose.files.read_sockets import read_sockets
from diagnose.files.read_tables import read_tables
from diagnose.files.rig_names import GOOD, RigNames, names_on
from diagnose.files.schema import validate
from diagnose.files.yaml_parse import read_document
from diagnose.model.assembly import Assembly, assemble, at_bench
from diagnose.model.case import Case, Work
from diagnose.model.knowledge import Bench, Book, Rig
from diagnose.model.measuring import Meter
from diagnose.problems import Problem

Loaded = tuple[Case | None, tuple[Problem, ...]]
T = TypeVar("T")


def read_case(path: Path, book: Book, name: str | None = None) -> Loaded:
    """The case in a file. None if its rig is unknown or the file unreadable.

    A case with a bad reading is still a case: the reading is left out and its problem kept.
    """
    document, problems = read_document(path, name)
    if document is None:
        return None, problems
    return case_of(document, book, problems, path.parent)


def case_of(
    document: Document, book: Book, so_far: tuple[Problem, ...] = (), folder: Path | None = None
) -> Loaded:
    """The case in a document that has been read; `so_far` is what was said of it.

    `folder`: where the files lie that the case names. Without one it cannot name any.
    """
    root, faults = document.root, Faults(list(so_far))
    faults.found.extend(validate(root, "case"))
    rig = _rig(root, book, faults)
    if rig is None:
        return None, faults.all()
    meters = _meters(root, book, rig, faults)
    on_bench = at_bench(book, rig, (*book.meters.values(), *meters.values()))
    names = names_on(book, on_bench)
    work = tuple(_work(root, names, faults))
    has_none = Frozen(dict(_has_none(root, names, faults)))
    desk = Desk(rig, names, book.bench, faults, {**book.meters, **meters}, len(work))
    beside = Folder(folder, str(PurePath(document.file).parent))
    case = Case(
        id=values.text(root, "case") or Path(document.file).stem,
        rig=rig.id,
        about=values.text(root, "about"),
        mains=read_mains(root.get("mains"), rig, faults),
        mains_frequency=read_frequency(root.get("mains_frequency"), faults),
        mode=choice(root.get("mode"), "mode of this rig", rig.features.get("modes", ()), faults),
        band=choice(root.get("band"), "band of this rig", rig.bands, faults),
        meters=meters,
        drift=tuple(read_drift(root, _logged(book, rig), beside, desk)),
        instruments=_instruments(root.get("instruments"), book.bench, faults),
        history=read_history(root.get("history"), book.bench.facts, faults),
        safety=tuple(_safety(root, book.bench, faults)),
        bench=Frozen(dict(_bench(root, book.bench, faults))),
        cannot=tuple(dict.fromkeys((*_cannot(root, names, faults), *has_none))),
        has_none=has_none,
        intermittent=values.flag(root, "intermittent"),
        observations=(
            *read_readings(root, desk),
            *read_sockets(root, desk),
            *read_tables(root, beside, desk),
            *read_symptoms(root, desk),
        ),
        inspected=Frozen(dict(_inspected(root, names, faults))),
        work=work,
        confirmed=_confirmed(root.get("confirmed"), names, faults),
        place=root.place,
    )
    problems = faults.all()
    return replace(case, problems=problems), problems


# by rig and meters: that of the book which was asked last
_KEPT: dict[tuple[str, tuple[Meter, ...]], Assembly] = {}
_MOST_KEPT = 16


def assembly_of(book: Book, rig: str, meters: tuple[Meter, ...] = ()) -> Assembly:
    """The network of a rig on the bench, kept: a batch reads many cases of few rigs, all with one book.

    `meters`: those that the case describes, beside the instruments of every bench and the meters of the shop.
    """
    kept = _KEPT.get((rig, meters))
    if kept is None or kept.book is not book:
        if len(_KEPT) >= _MOST_KEPT:
            _KEPT.clear()
        on_bench = at_bench(book, book.rigs[rig], (*book.meters.values(), *meters))
        kept = _KEPT[rig, meters] = assemble(book, on_bench)
    return kept


def _rig(root: Node, book: Book, faults: Faults) -> Rig | None:
    node, word = root.get("rig"), values.text(root, "rig")
    if word in book.rigs:
        return book.rigs[word]
    if node is not None and word:
        faults.unknown(node, "unknown-rig", f"`{word}` is no rig of the book", word, book.rigs)
    elif not faults.found:
        faults.error(root, "unknown-rig", "the case names no rig", "add `rig:`")
    return None


def _meters(root: Node, book: Book, rig: Rig, faults: Faults) -> Frozen[str, Meter]:
    """The meters that the case describes; none is called like a stage of the rig, or as no stage can be."""
    meters = read_meters(root.get("meters"), book.bench.instruments, faults)
    for id in set(meters) & set(rig.stages):
        said = f"`{id}` is the name of a stage of this rig"
        faults.error(meters[id].place, "duplicate-id", said, "give the meter another name")
    return Frozen({id: meter for id, meter in meters.items() if id not in rig.stages and "." not in id})


def _logged(book: Book, rig: Rig) -> Iterator[str]:
    """The stages of a rig that take a drift log."""
    return (id for id, stage in rig.stages.items() if book.kinds[stage.kind].drift_log is not None)


def _instruments(node: Node | None, bench: Bench, faults: Faults) -> tuple[str, ...] | None:
    """The instruments at hand; an empty list is none at all, and nothing said is all of them."""
    if node is None or node.value is None:
        return None
    return tuple(dict.fromkeys(choices(node, "instrument of the bench", bench.instruments, faults)))


def _cannot(root: Node, names: RigNames, faults: Faults) -> Iterator[str]:
    """What cannot be taken on this bench, each once."""
    known = dict.fromkeys((*names.checks, *names.readable()))
    yield from dict.fromkeys(choices(root, "check or reading of this rig", known, faults, "cannot"))


def _has_none(root: Node, names: RigNames, faults: Faults) -> Iterator[tuple[str, str]]:
    """What the set does not have, with the words that said so."""
    known = dict.fromkeys((*names.checks, *names.readable()))
    section = root.get("has_none")
    for name, node, _ in _known(section, "check or reading of this rig", "unknown-name", known, faults):
        yield name, values.text(node)


def _safety(root: Node, bench: Bench, faults: Faults) -> Iterator[str]:
    """What has been proven on this bench."""
    yield from choices(root, "safety fact of the bench", bench.safety, faults, "safety")


def _bench(root: Node, bench: Bench, faults: Faults) -> Iterator[tuple[str, str]]:
    """The state of the bench now."""
    section = root.get("bench")
    for group, node, setup in _known(section, "set-up of the bench", "unknown-setup", bench.setups, faults):
        word = choice(node, f"state of {group}", setup.states, faults)
        if word:
            yield group, word


def _inspected(root: Node, names: RigNames, faults: Faults) -> Iterator[tuple[str, str]]:
    """Parts that were examined, and what was found."""
    section = root.get("inspected")
    for part, node, modes in _known(section, "part of this rig", "unknown-part", names.modes, faults):
        word = values.text(node)
        if word in NOT_KNOWN or node.value is None:
            continue
        if word in (GOOD, *modes):
            yield part, word
        elif word:
            said = f"`{word}` is no mode of {part}"
            faults.unknown(node, "unknown-mode", said, word, (GOOD, *modes))


def _known(
    section: Node | None, what: str, id: str, known: Mapping[str, T], faults: Faults
) -> Iterator[tuple[str, Node, T]]:
    """The entries of a section whose names are known, with what they name; the others are faults."""
    for name, node in section.entries.items() if section is not None else ():
        if name in known:
            yield name, node, known[name]
        else:
            faults.unknown(node.key_place, id, f"`{name}` is no {what}", name, known)


def _work(root: Node, names: RigNames, faults: Faults) -> Iterator[Work]:
    """Work done, as plain texts or entries."""
    section = root.get("work")
    for node in section.members if section is not None else ():
        if node.is_scalar:
            yield Work(values.text(node), place=node.place)
            continue
        answers = choice(node.get("answers"), "stop order of this rig", names.stops, faults)
        parts = choices(node, "part of this rig", names.modes, faults, "parts")
        if node.entries:
            cures = choices(node, "cause on this rig", names.causes(), faults, "cures")
            worked_on = dict.fromkeys([*parts, *(cause.rpartition(".")[0] for cause in cures)])
            changed = bool(worked_on) or values.flag(node, "changed", default=True)
            yield Work(values.text(node, "did"), answers, tuple(worked_on), cures, changed, node.place)


def _confirmed(node: Node | None, names: RigNames, faults: Faults) -> tuple[str, ...] | None:
    """The causes that were found in the end; none at all is an answer too."""
    if node is None or node.value is None:
        return None
    return choices(node, "cause on this rig", names.causes(), faults)
