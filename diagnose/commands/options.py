"""The words of the command line. Nothing here imports what only one command needs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final, TypeAlias

from diagnose import __version__

_ABOUT: Final = """\
From the symptoms and readings of a vacuum-tube AM/CW transmitter to what is probably
wrong with it and what to measure next."""
_STATUSES: Final = """\
exit status: 0 done; 1 some input could not be used, the rest was; 2 wrong usage;
3 at least one case has a standing stop order."""


def parser() -> Parser:
    """The parser of the whole command line."""
    top = Parser(
        prog="diagnose",
        description=_ABOUT,
        epilog=f"{_STATUSES}\n\nexample: diagnose report cases/my_set.yaml",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"diagnose {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for add in (_report, _explain, _batch, _rules, _rigs):
        add(commands)
    return top


Commands: TypeAlias = "argparse._SubParsersAction[Parser]"


class Parser(argparse.ArgumentParser):
    """argparse, with the usage error told in our own two lines."""

    def error(self, message: str) -> None:  # type: ignore[override]  # exits, as its base does
        self.exit(2, f"{self.prog}: {message}\nSee `{self.prog} --help`.\n")


def _add(
    commands: Commands,
    name: str,
    help: str,
    about: str,
    example: str,
) -> Parser:
    return commands.add_parser(
        name,
        help=help,
        description=about,
        epilog=f"{example}\n\n{_STATUSES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def _common(command: Parser, *formats: str) -> None:
    command.add_argument(
        "--shop", metavar="DIR", help="folder with your own rules, laid over the built-in ones"
    )
    command.add_argument("--no-color", action="store_true", help="plain text (NO_COLOR does the same)")
    if formats:
        command.add_argument("--format", choices=formats, default=formats[0], help=f"default: {formats[0]}")


def _top(command: Parser, help: str) -> None:
    command.add_argument("--top", type=_positive, metavar="N", help=help)


def _positive(text: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() else 0
    if number < 1:
        raise argparse.ArgumentTypeError(f"`{text}` is not a whole number from 1 on")
    return number


def _report(commands: Commands) -> None:
    command = _add(
        commands,
        "report",
        "readings, verdict, ranking, next checks, cautions",
        "Says of each case whether it is safe, what is probably wrong, and what to do next;\n"
        "then the details. With --format json, one case gives an object, several give a list.",
        "example: diagnose report cases/my_set.yaml --workings",
    )
    command.add_argument("cases", nargs="+", type=Path, metavar="CASE", help="a case file")
    command.add_argument("--workings", action="store_true", help="show the likelihood of every state too")
    _top(command, "show N parts, checks and explanations")
    _common(command, "text", "json")


def _explain(commands: Commands) -> None:
    command = _add(
        commands,
        "explain",
        "the reasons for and against a cause",
        "Shows for one cause where its prior comes from, the chain to what was seen, each piece\n"
        "of evidence by weight with its rule, and why it is not higher.",
        "examples:\n"
        "  diagnose explain cases/my_set.yaml                the leading cause\n"
        "  diagnose explain cases/my_set.yaml hv.rectifier_tube\n"
        "  diagnose explain cases/my_set.yaml rectifier",
    )
    command.add_argument("case", type=Path, metavar="CASE", help="a case file")
    command.add_argument(
        "cause", nargs="?", metavar="CAUSE", help="a cause, a part, or a piece of its name that fits only one"
    )
    _common(command, "text", "json")


def _batch(commands: Commands) -> None:
    command = _add(
        commands,
        "batch",
        "many cases at once",
        "Diagnoses every case in the files and folders named (*.yaml and *.yml, folders within\n"
        "folders too), in the order given, each folder by name. A broken case is named on\n"
        "standard error, and the rest goes on.",
        "example: diagnose batch cases/ --format csv --output cases.csv",
    )
    command.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a case file or a folder")
    command.add_argument(
        "--output", type=Path, metavar="FILE", help="write here instead of to standard output"
    )
    command.add_argument(
        "--jobs", type=_positive, metavar="N", help="processes; default: as many as processors"
    )
    command.add_argument("--advice", action="store_true", help="work out the next checks too (slower)")
    _top(command, "keep only the first N of the ranked lists (json, jsonl)")
    _common(command, "table", "json", "jsonl", "csv")


def _rules(commands: Commands) -> None:
    command = _add(
        commands,
        "rules",
        "check, list and show the rules",
        "The knowledge behind the results: what it holds, and whether it is sound.",
        "example: diagnose rules check --shop my_shop",
    )
    actions = command.add_subparsers(dest="action", metavar="ACTION", required=True)
    check = _add(
        actions,
        "check",
        "find what is wrong or missing in the rules",
        "Reads all rules and reports every problem with its place, then what the book holds and\n"
        "how many faults it expects in each rig.",
        "example: diagnose rules check --shop my_shop",
    )
    _common(check, "text", "json")
    listing = _add(
        actions,
        "list",
        "the kinds of stage, or the rules of one",
        "Lists the kinds of stage; with a kind, its parts, indications, checks and rules.",
        "example: diagnose rules list supply",
    )
    listing.add_argument("kind", nargs="?", metavar="KIND", help="a kind of stage")
    _common(listing, "text", "json")
    show = _add(
        actions,
        "show",
        "one rule, part, indication or check in full",
        "Shows an entry of the book with its reason, its source, and the file and line to change.",
        "examples:\n  diagnose rules show supply/weak-rectifier-sags\n  diagnose rules show supply.voltage",
    )
    show.add_argument("name", metavar="NAME", help="KIND, KIND/RULE or KIND.NAME")
    _common(show)


def _rigs(commands: Commands) -> None:
    command = _add(
        commands,
        "rigs",
        "list and show the rigs",
        "The types of transmitter that the book knows.",
        "example: diagnose rigs list",
    )
    actions = command.add_subparsers(dest="action", metavar="ACTION", required=True)
    listing = _add(
        actions, "list", "the rigs of the book", "Lists the rigs of the book.", "example: diagnose rigs list"
    )
    _common(listing, "text", "json")
    show = _add(
        actions,
        "show",
        "one rig: stages, tubes, chart",
        "Shows a rig's stages with what feeds them, its tubes and its chart of expected readings.",
        "example: diagnose rigs show gannet_60",
    )
    show.add_argument("rig", metavar="RIG", help="the id of a rig")
    _common(show, "text", "json")
