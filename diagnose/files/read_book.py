"""The rules folders as a book, with every problem found on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from diagnose.files import values
from diagnose.files.check_figures import check_figures
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.gather import RuleFile, digest, gather
from diagnose.files.links import check_borrowed, check_circles, check_reasons
from diagnose.files.overlay import lay_over, merge_sections, without_orders
from diagnose.files.read_bench import SECTIONS, check_instruments, read_bench
from diagnose.files.read_library import read_sources, read_tubes
from diagnose.files.read_meters import read_meters
from diagnose.files.read_rig import read_rig, rig_features
from diagnose.files.read_stage import read_stage
from diagnose.files.schema import validate
from diagnose.files.scope import Borrowed, Library, Pending, Shelf
from diagnose.files.yaml_parse import parse_bytes, read_document
from diagnose.model.knowledge import Book, StageKind
from diagnose.problems import Place, Problem, errors

Loaded = tuple[Book | None, tuple[Problem, ...]]

# A file says by its first words what it is: the key that marks each sort, in order of precedence.
MARKS: Mapping[str, tuple[str, ...]] = {
    "stage": ("kind",),
    "rig": ("rig",),
    "tubes": ("tubes",),
    "sources": ("sources",),
    "meters": ("meters",),
    "bench": SECTIONS,
}
_IGNORED = ("case", "ledger")
# What the other files seem to do wrong while one file cannot be read at all.
_CONSEQUENCES = frozenset(
    {
        *("unknown-kind", "unknown-source", "unknown-tube", "unknown-feature", "unknown-indication"),
        *("port-gives", "no-bench"),
    }
)


def load_book(rules_dir: Path, shop: Path | None = None) -> Loaded:
    """The book of a rules folder with a shop folder over it; no book where there are errors."""
    return read_files(gather(rules_dir, shop), rules_dir, shop)


def read_files(files: tuple[RuleFile, ...], rules_dir: Path, shop: Path | None) -> Loaded:
    """The book in files that have been gathered already."""
    faults = Faults()
    if not any(not file.local for file in files):
        faults.error(Place(str(rules_dir)), "no-rules", "there are no rule files in this folder")
        return None, faults.all()
    pile = _sorted(files, faults)
    if not pile.of("bench"):
        said = "no file declares the bench (facts, gradings, ...)"
        faults.error(Place(str(rules_dir)), "no-bench", said)
    book = _read(pile, shop, digest(files), faults)
    if pile.unreadable:
        faults.found = [problem for problem in faults.found if problem.id not in _CONSEQUENCES]
    problems = faults.all()
    return (None if errors(problems) else book), problems


@dataclass
class _Pile:
    """The documents by sort and id, with the shop's laid over."""

    roots: dict[tuple[str, str], Node] = field(default_factory=dict)
    withdrawn: list[str] = field(default_factory=list)
    unreadable: bool = False  # a file is missing here that names of the others may stand in

    def of(self, sort: str) -> list[Node]:
        return [root for (own, _), root in self.roots.items() if own == sort]


def _sorted(files: tuple[RuleFile, ...], faults: Faults) -> _Pile:
    """Every file read, recognized and laid where it belongs."""
    pile = _Pile()
    for file in files:
        root = _root(file, faults)
        if root is None:
            pile.unreadable = pile.unreadable or file.path.suffix == ".yaml"
            continue
        sort = _sort(root, file, faults)
        if not sort:
            pile.unreadable = pile.unreadable or not file.local
            continue
        id = values.text(root, MARKS[sort][0]) if sort in ("stage", "rig") else ""
        there = pile.roots.get((sort, id))
        if there is None:
            root = without_orders(root, faults)
        elif file.local:
            root, withdrawn = lay_over(there, root, id, faults)
            pile.withdrawn.extend(withdrawn)
        elif id:
            mark = root.entries[MARKS[sort][0]]
            said = f"the {sort} `{id}` is declared already ({there.place.file})"
            faults.error(mark, "duplicate-id", said, "give it another id")
            continue
        else:
            root = merge_sections((there, root), faults) or root
        pile.roots[sort, id] = root
    for (sort, _), root in pile.roots.items():
        faults.found.extend(validate(root, sort))
    return pile


def _root(file: RuleFile, faults: Faults) -> Node | None:
    if file.path.suffix == ".yml":
        faults.warning(Place(file.name), "suffix", "this file is not read", "name it .yaml")
        return None
    if file.content is None:
        document, problems = read_document(file.path, file.name)
    else:
        document, problems = parse_bytes(file.content, file.name)
    faults.found.extend(problems)
    if document is None:
        return None
    root = document.root
    if file.path.name.startswith("sources.d_") and "sources" not in root.entries:
        return replace(root, value={"sources": root})  # a file of sources may be its entries alone
    return root


def _sort(root: Node, file: RuleFile, faults: Faults) -> str:
    """What the file is, by the keys at its top; "" for what is no rule file."""
    if file.local and any(key in root.entries for key in _IGNORED):
        return ""
    for sort, marks in MARKS.items():
        if any(mark in root.entries for mark in marks):
            return sort
    said = "nothing at the top of this file says what it is"
    hint = "start it with one of: " + ", ".join(mark for marks in MARKS.values() for mark in marks)
    faults.error(root, "unknown-file", said, hint)
    return ""


def _read(pile: _Pile, shop: Path | None, fingerprint: str, faults: Faults) -> Book | None:
    """The values of all documents, in the order in which they need each other."""
    bench_root = merge_sections(pile.of("bench"), faults)
    if bench_root is None:
        return None
    local = f"{shop}/" if shop is not None else ""
    bench = read_bench(bench_root, faults)
    sources = read_sources(_section(pile, "sources"))
    tubes = read_tubes(_section(pile, "tubes"), sources, faults)
    features: dict[str, tuple[str, ...]] = {}
    for root in pile.of("rig"):
        for name, words in rig_features(root).items():
            features[name] = tuple(dict.fromkeys((*features.get(name, ()), *words)))
    shelf = Shelf(bench.bench, bench.gradings, sources, features, faults)
    kinds: dict[str, StageKind] = {}
    borrowed: list[Borrowed] = []
    pending: list[Pending] = []
    for root in pile.of("stage"):
        read = read_stage(root, shelf, local)
        kinds[read.kind.id] = read.kind
        borrowed.extend(read.borrowed)
        pending.extend(read.pending)
    check_instruments(bench_root, kinds, faults)
    library = Library(kinds, tubes, bench.bench.instruments, faults)
    rigs = {rig.id: rig for rig in (read_rig(root, library, local) for root in pile.of("rig"))}
    check_borrowed(borrowed, kinds, rigs, faults)
    check_figures(pending, kinds, rigs, tubes, faults)
    check_circles(kinds, rigs, faults)
    check_reasons(kinds, faults)
    meters = read_meters(_section(pile, "meters"), bench.bench.instruments, faults)
    for meter in meters.values():
        if any(meter.id in rig.stages for rig in rigs.values()):
            said = f"`{meter.id}` is the name of a stage of a rig"
            faults.error(meter.place, "duplicate-id", said, "give the meter another name")
    return Book(
        bench=bench.bench,
        kinds=Frozen(kinds),
        rigs=Frozen(rigs),
        tubes=tubes,
        sources=sources,
        digest=fingerprint,
        shop=str(shop) if shop is not None else "",
        withdrawn=tuple(pile.withdrawn),
        meters=meters,
    )


def _section(pile: _Pile, sort: str) -> Node | None:
    """The one section of the files of a sort: sources, tubes, meters."""
    root = pile.roots.get((sort, ""))
    return root.get(sort) if root is not None else None
