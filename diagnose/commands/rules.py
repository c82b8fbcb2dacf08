"""`diagnose rules`: check, list and show what the book says."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands import status
from diagnose.commands.entries import Named, entries, with_words
from diagnose.commands.opening import nearest, open_book
from diagnose.commands.output import Output
from diagnose.files.find import rules_folder, shop_folder
from diagnose.files.read_book import load_book
from diagnose.model.knowledge import StageKind
from diagnose.problems import Problem, errors, in_order
from diagnose.render.book import entry_line, found_page, kind_page, kinds_page, sort_of
from diagnose.render.entry import entry_page
from diagnose.render.json_text import as_text
from diagnose.render.review import review_page, review_record
from diagnose.review.checks import Review, review, shop_first


def command(options: argparse.Namespace, output: Output) -> int:
    """Carries out one action on the rules."""
    return {"check": check, "list": listing, "show": show}[options.action](options, output)


def check(options: argparse.Namespace, output: Output) -> int:
    """Every problem of the rules, read afresh from their files."""
    shop = shop_folder(options.shop)
    problems, found = _all_problems(shop)
    if options.format == "json":
        output.write(as_text(review_record(problems, found)) + "\n")
    else:
        shown = problems
        if shop is not None:
            without = () if options.all else _all_problems(None)[0]
            shown = shop_first(problems, str(shop), without, whole=options.all)
        page = output.page()
        review_page(page, shown, found, problems)
        output.show(page)
    return status.UNUSABLE if errors(problems) else status.DONE


def _all_problems(shop: Path | None) -> tuple[tuple[Problem, ...], Review | None]:
    """What is said of the rules with a shop folder over them or none, and the review of those that can be read."""
    book, problems = load_book(rules_folder(), shop)
    if book is None:
        return problems, None
    found = review(book)
    return in_order((*problems, *found.problems)), found


def listing(options: argparse.Namespace, output: Output) -> int:
    """The kinds of stage, the entries of one, or what has certain words."""
    book = open_book(options.shop)
    if options.kind is not None and options.kind not in book.kinds:
        return _unknown(options.kind, "kind of stage", list(book.kinds), output)
    if options.find is not None:
        return _found(with_words(book, book.kinds.get(options.kind), options.find), options, output)
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


def _found(found: list[Named], options: argparse.Namespace, output: Output) -> int:
    if options.format == "json":
        data = [{"name": name, "sort": sort_of(entry), "line": entry_line(entry)} for name, entry in found]
        output.write(as_text(data) + "\n")
        return status.DONE
    page = output.page()
    found_page(page, found)
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
    entry_page(page, found, book.sources)
    output.show(page)
    return status.DONE


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
