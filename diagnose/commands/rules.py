"""`diagnose rules`: check, list and show what the book says."""

from __future__ import annotations

import argparse

from diagnose.commands import status
from diagnose.commands.opening import nearest, open_book
from diagnose.commands.output import Output
from diagnose.files.find import rules_folder, shop_folder
from diagnose.files.read_book import load_book
from diagnose.model.knowledge import Book, StageKind
from diagnose.problems import errors, in_order
from diagnose.render.book import Entry, entry_page, kind_page, kinds_page
from diagnose.render.record import as_text
from diagnose.render.review import review_page, review_record
from diagnose.review.checks import review


def command(options: argparse.Namespace, output: Output) -> int:
    """Carries out one action on the rules."""
    return {"check": check, "list": listing, "show": show}[options.action](options, output)


def check(options: argparse.Namespace, output: Output) -> int:
    """Every problem of the rules, read afresh from their files."""
    book, problems = load_book(rules_folder(), shop_folder(options.shop))
    found = review(book) if book is not None else None
    if found is not None:
        problems = in_order((*problems, *found.problems))
    if options.format == "json":
        output.write(as_text(review_record(problems, found)) + "\n")
    else:
        page = output.page()
        review_page(page, problems, found)
        output.show(page)
    return status.UNUSABLE if errors(problems) else status.DONE


def listing(options: argparse.Namespace, output: Output) -> int:
    """The kinds of stage, or the entries of one."""
    book = open_book(options.shop)
    if options.kind is not None and options.kind not in book.kinds:
        return _unknown(options.kind, "kind of stage", list(book.kinds), output)
    kinds = list(book.kinds.values()) if options.kind is None else [book.kinds[options.kind]]
    if options.format == "json":
        output.write(as_text([_kind_record(kind) for kind in kinds]) + "\n")
        return status.DONE
    page = output.page()
    if options.kind is None:
        kinds_page(page, book)
    else:
        kind_page(page, kinds[0])
    output.show(page)
    return status.DONE


def show(options: argparse.Namespace, output: Output) -> int:
    """One entry in full."""
    book = open_book(options.shop)
    known = entries(book)
    found = known.get(options.name)
    if found is None:
        return _unknown(options.name, "entry of the book", list(known), output)
    page = output.page()
    entry_page(page, found)
    output.show(page)
    return status.DONE


def entries(book: Book) -> dict[str, Entry]:
    """Every entry by the name that `show` takes: KIND, KIND/RULE, KIND.NAME, KIND.PART.MODE."""
    known: dict[str, Entry] = {}
    for kind in book.kinds.values():
        known[kind.id] = kind
        known.update({rule.id: rule for rule in kind.rules.values()})
        known.update({f"{kind.id}.{check.id}": check for check in kind.checks.values()})
        known.update({f"{kind.id}.{i.id}": i for i in kind.indications.values()})
        for part in kind.parts.values():
            known[f"{kind.id}.{part.id}"] = part
            known.update({f"{kind.id}.{part.id}.{mode.id}": part for mode in part.modes})
    return known


def _unknown(name: str, sort: str, known: list[str], output: Output) -> int:
    hint = nearest(name, known) or "`diagnose rules list` names what there is."
    output.message(f"diagnose: `{name}` is no {sort}; {hint}")
    return status.USAGE


def _kind_record(kind: StageKind) -> dict[str, object]:
    return {
        "kind": kind.id,
        "title": kind.title,
        "parts": [f"{part.id}.{mode.id}" for part in kind.parts.values() for mode in part.modes],
        "indications": list(kind.indications),
        "checks": list(kind.checks),
        "rules": [
            {
                "id": rule.id,
                "from": rule.from_name,
                "from_state": rule.from_state,
                "to": rule.to_name,
                "to_state": rule.to_state,
                "damages": rule.damages,
                "chance": rule.chance,
                "source": rule.source,
                "local": rule.local,
                "where": str(rule.place),
            }
            for rule in kind.rules.values()
        ],
    }
