"""A shop's file laid over a built-in one: new entries, amendments and withdrawals.

All of it happens on plain data before anything is read, so an amended rule is checked like any
other and every value keeps the place where the person wrote it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults, did_you_mean

# Mappings whose keys are ids: there an amendment must name what exists.
COLLECTIONS = frozenset(
    {
        *("features", "ports", "quantities", "symptoms", "patterns", "parts", "modes", "rules"),
        *("checks", "stop_orders", "stages", "tubes", "sources"),
        *("facts", "safety", "setups", "hazards", "instruments", "gradings", "reports"),
        *("budgets", "advice", "shop_talk"),
    }
)
# The same where they stand at the top of a file; further down such names are those of other things.
SECTIONS = frozenset({"values", "figures", "derived", "sockets", "chart_meters", "meters"})
# Mappings that say one thing: the end of an arrow, or a reference, is put in another's place, not merged with it.
ENDS = frozenset({"from", "to", "damages"})
REFERENCES = frozenset({"most", "least", "source_resistance", "or"})
# Lists of rows, and the keys that tell one row from another: there an amendment must name a row that exists.
ROWS: Mapping[str, tuple[str, ...]] = {"chart": ("quantity", "mode", "band")}
ORDERS = ("amend", "withdraw")


def lay_over(base: Node, over: Node, id: str, faults: Faults) -> tuple[Node, tuple[str, ...]]:
    """The base with the shop's file over it, and the ids of what it withdrew."""
    entries = dict(base.entries)
    withdrawn = _withdraw(entries, over.get("withdraw"), id, faults)
    amend = over.get("amend")
    if amend is not None:
        _expect_mapping(amend, "amend", faults)
        entries = dict(_amended(replace(base, value=entries), amend, (), faults).entries)
    for key, node in over.entries.items():
        if key not in ORDERS and key not in ("kind", "rig"):
            _add(entries, key, node, faults)
    return replace(base, value=entries), withdrawn


def without_orders(root: Node, faults: Faults) -> Node:
    """A file that stands alone has nothing to amend or withdraw."""
    for order in ORDERS:
        node = root.get(order)
        if node is not None:
            said = f"there is nothing here to {order}: no built-in file declares this"
            faults.error(node.key_place, "overlay", said)
    kept = {key: node for key, node in root.entries.items() if key not in ORDERS}
    return replace(root, value=kept)


def _add(entries: dict[str, Node], key: str, node: Node, faults: Faults, *, local: bool = True) -> None:
    """Add a section of another file: new ids to a mapping, rows to a list."""
    there = entries.get(key)
    if there is None:
        entries[key] = node
    elif node.value is None:
        faults.error(node, "type", f"`{key}` is empty", "remove it, or write something under it")
    elif isinstance(there.value, tuple) and isinstance(node.value, tuple):
        fresh = _fresh_rows(key, there, node, faults) if key in ROWS else node.value
        entries[key] = replace(there, value=(*there.value, *fresh))
    elif isinstance(there.value, Mapping) and isinstance(node.value, Mapping):
        merged = dict(there.value)
        for id, entry in node.value.items():
            if id in merged:
                said = f"`{id}` is there already ({merged[id].key_place})"
                change = f"change it under `amend: {{{key}: {{{id}: ...}}}}`"
                hint = change if local else "give it another id"
                faults.error(entry.key_place, "duplicate-id", said, hint)
            else:
                merged[id] = entry
        entries[key] = replace(there, value=merged)
    else:
        said = f"`{key}` is there already ({there.key_place})"
        faults.error(node.key_place, "duplicate-id", said, f"change it under `amend: {{{key}: ...}}`")


def _amended(base: Node, patch: Node, path: tuple[str, ...], faults: Faults) -> Node:
    """The base with the patch merged in; an empty value takes a key away."""
    if not isinstance(base.value, Mapping) or not isinstance(patch.value, Mapping):
        return patch
    entries = dict(base.value)
    for key, node in patch.value.items():
        there, below = entries.get(key), (*path, key)
        if there is None and (_holds_ids(path) or (not path and _holds_ids(below))):
            said = f"`{key}` is not there to be amended"
            hint = did_you_mean(key, entries) or "write it outside `amend` to add it"
            faults.error(node.key_place, "overlay-unknown", said, hint)
        elif node.value is None:
            entries.pop(key, None)
        elif there is None or _is_whole(below):
            entries[key] = node
        elif not path and key in ROWS and there.members and node.members:
            entries[key] = _amended_rows(key, there, node, faults)
        else:
            entries[key] = _amended(there, node, below, faults)
    return replace(base, value=entries)


def _holds_ids(path: tuple[str, ...]) -> bool:
    """Whether the keys of a mapping are ids of entries."""
    return bool(path) and (path[-1] in COLLECTIONS or (len(path) == 1 and path[0] in SECTIONS))


def _is_whole(path: tuple[str, ...]) -> bool:
    """Whether a mapping says one thing."""
    if path[0] == "rules":
        return path[-1] in ENDS
    return path[-1] in REFERENCES or path[-2:-1] == ("from",)


def _amended_rows(section: str, there: Node, patch: Node, faults: Faults) -> Node:
    """The rows with those of the patch merged in, each into the row that it names."""
    rows = list(there.members)
    numbers = {_told_by(section, row): number for number, row in enumerate(rows)}
    for row in patch.members:
        number = numbers.get(_told_by(section, row))
        if not row.entries:
            rows.append(row)  # its shape is judged with all the others
        elif number is None:
            said = f"the {section} has no row for {_called(section, row)} to be amended"
            faults.error(row, "overlay-unknown", said, "write it outside `amend` to add it")
        else:
            rows[number] = _amended(rows[number], row, (section, ""), faults)
    return replace(there, value=tuple(rows))


def _fresh_rows(section: str, there: Node, added: Node, faults: Faults) -> Iterator[Node]:
    """The rows that are added, without those that are there already."""
    known = {_told_by(section, row): row for row in there.members}
    for row in added.members:
        other = known.get(_told_by(section, row)) if row.entries else None
        if other is None:
            yield row
            continue
        said = f"the {section} has a row for {_called(section, row)} already ({other.place})"
        faults.error(row, "duplicate-id", said, f"change it under `amend: {{{section}: [...]}}`")


def _told_by(section: str, row: Node) -> tuple[str, ...]:
    return tuple(values.text(row, key) for key in ROWS[section])


def _called(section: str, row: Node) -> str:
    return ", ".join(word for word in _told_by(section, row) if word)


def _withdraw(entries: dict[str, Node], orders: Node | None, id: str, faults: Faults) -> tuple[str, ...]:
    """Take out what the shop withdraws; the ids are kept for the record."""
    if orders is None:
        return ()
    _expect_mapping(orders, "withdraw", faults)
    gone: list[str] = []
    for section, names in orders.entries.items():
        there = entries.get(section)
        if there is None or section not in (*COLLECTIONS, *SECTIONS, *ROWS):
            said = f"`{section}` holds nothing that can be withdrawn"
            known = [key for key in entries if key in (*COLLECTIONS, *SECTIONS, *ROWS)]
            faults.unknown(names.key_place, "overlay-unknown", said, section, known)
            continue
        known = [_told_by(section, row)[0] for row in there.members] if section in ROWS else [*there.entries]
        for node in values.scalars(names):
            name = values.text(node)
            if name in known:
                there = _without(there, section, name)
                known = [other for other in known if other != name]
                gone.append(_full(id, section, name))
            else:
                said = f"`{name}` is not there to be withdrawn"
                faults.unknown(node, "overlay-unknown", said, name, known)
        entries[section] = there
    return tuple(gone)


def _without(there: Node, section: str, name: str) -> Node:
    """A collection without an entry, or a list without the rows of a name."""
    if section in ROWS:
        return replace(there, value=tuple(r for r in there.members if _told_by(section, r)[0] != name))
    return replace(there, value={key: entry for key, entry in there.entries.items() if key != name})


def _full(id: str, section: str, name: str) -> str:
    """The id on record: supply/weak-rectifier-sags for a rule, supply/checks/read for the rest."""
    return "/".join(part for part in (id, "" if section == "rules" else section, name) if part)


def _expect_mapping(node: Node, what: str, faults: Faults) -> None:
    if not isinstance(node.value, Mapping):
        hint = "write it like `withdraw: {rules: [id]}` or `amend: {rules: {id: {chance: 1 of 10}}}`"
        faults.error(node, "type", f"`{what}` should be a mapping", hint)


def merge_sections(nodes: Iterable[Node], faults: Faults) -> Node | None:
    """Several built-in files of one sort (sources, bench) as one; a repeated id is a problem."""
    merged: Node | None = None
    for node in nodes:
        if merged is None:
            merged = node
            continue
        entries = dict(merged.entries)
        for key, section in node.entries.items():
            _add(entries, key, section, faults, local=False)
        merged = replace(merged, value=entries)
    return merged
