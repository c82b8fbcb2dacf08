"""The words of the command line. Nothing here imports what only one command needs."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeAlias

from diagnose import __version__

_ABOUT: Final = """\
From the symptoms and readings of a vacuum-tube AM/CW transmitter to what is probably
wrong with it and what to measure next."""
_STATUSES: Final = """\
exit status: 0 done; 1 some input could not be used, the rest was; 2 wrong usage;
3 at least one case has a standing stop order."""


@dataclass(frozen=True)
class Said:
    """What the help says of a command: in its list, at its head, at its end."""

    help: str
    about: str
    example: str


SAID: Final[Mapping[str, Said]] = {
    "interview": Said(
        "guided, at the bench: asks, ranks, and says what to measure next",
        "Takes in a set, proposes one check after another with its reason, its dangers and what a\n"
        "good set shows, and keeps the case file after every answer. With a CASE that exists it goes\n"
        "on there. Ctrl-C or Ctrl-D ends it; nothing is lost.",
        "examples:\n"
        "  diagnose interview                               asks which rig it is\n"
        "  diagnose interview my_set.yaml --rig gannet_60   a new case, or on with one that exists\n"
        "  diagnose interview my_set.yaml --answers typed.txt",
    ),
    "report": Said(
        "readings, verdict, ranking, next checks, cautions",
        "Says of each case whether it is safe, what is probably wrong, and what to do next;\n"
        "then the details. With --format json, one case gives an object, several give a list.",
        "example: diagnose report cases/my_set.yaml --workings",
    ),
    "explain": Said(
        "the reasons for and against a cause",
        "Shows for one cause where its prior comes from, the chain to what was seen, each piece\n"
        "of evidence by weight with its rule, and why it is not higher.",
        "examples:\n"
        "  diagnose explain cases/my_set.yaml                the leading cause\n"
        "  diagnose explain cases/my_set.yaml hv.rectifier_tube\n"
        "  diagnose explain cases/my_set.yaml rectifier",
    ),
    "batch": Said(
        "many cases at once",
        "Diagnoses every case in the files and folders named (*.yaml and *.yml, folders within\n"
        "folders too), in the order given, each folder by name. A broken case is named on\n"
        "standard error, and the rest goes on.",
        "example: diagnose batch cases/ --format csv --output cases.csv",
    ),
    "rules": Said(
        "check, list and show the rules",
        "The knowledge behind the results: what it holds, and whether it is sound.",
        "example: diagnose rules check --shop my_shop",
    ),
    "rules check": Said(
        "find what is wrong or missing in the rules",
        "Reads all rules and reports every problem with its place, then what the book holds and\n"
        "how many faults it expects in each rig. With a shop folder: what is said of that, and\n"
        "what it changes; the rest with --all.",
        "example: diagnose rules check --shop my_shop",
    ),
    "rules list": Said(
        "the kinds of stage, the rules of one, or what has certain words",
        "Lists the kinds of stage; with a kind, its parts, indications, checks and rules; with\n"
        "--find, all entries that have these words, tubes and sources included.",
        'examples:\n  diagnose rules list supply\n  diagnose rules list --find "plate mils"',
    ),
    "rules show": Said(
        "one rule, part, indication, check, tube or source in full",
        "Shows an entry of the book with its reason, its source, and the file and line to change.",
        "examples:\n"
        "  diagnose rules show supply/weak-rectifier-sags\n"
        "  diagnose rules show supply.voltage\n"
        "  diagnose rules show 6146",
    ),
    "rigs": Said(
        "list and show the rigs",
        "The types of transmitter that the book knows.",
        "example: diagnose rigs list",
    ),
    "rigs list": Said("the rigs of the book", "Lists the rigs of the book.", "example: diagnose rigs list"),
    "rigs show": Said(
        "one rig: stages, tubes, chart",
        "Shows a rig's stages with what feeds them, its tubes and its chart of expected readings.",
        "example: diagnose rigs show gannet_60",
    ),
}


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
    for add in (_interview, _report, _explain, _batch, _rules, _rigs):
        add(commands)
    return top


Commands: TypeAlias = "argparse._SubParsersAction[Parser]"


class Parser(argparse.ArgumentParser):
    """argparse, with the usage error told in our own two lines."""

    def error(self, message: str) -> None:  # type: ignore[override]  # exits, as its base does
        self.exit(2, f"{self.prog}: {message}\nSee `{self.prog} --help`.\n")


def _add(commands: Commands, words: str) -> Parser:
    """The parser of a command, or of an action of one (`rules check`), with what is said of it."""
    said = SAID[words]
    return commands.add_parser(
        words.rpartition(" ")[2],
        help=said.help,
        description=said.about,
        epilog=f"{said.example}\n\n{_STATUSES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def _actions(commands: Commands, words: str) -> Commands:
    """A command that is carried out by its actions."""
    return _add(commands, words).add_subparsers(dest="action", metavar="ACTION", required=True)


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


def _interview(commands: Commands) -> None:
    command = _add(commands, "interview")
    command.add_argument(
        "case",
        nargs="?",
        type=Path,
        metavar="CASE",
        help="the case file, new or begun; default: named after rig and day",
    )
    command.add_argument("--rig", metavar="RIG", help="the id or name of the rig of a new case")
    command.add_argument(
        "--answers",
        type=Path,
        metavar="FILE",
        help="take the answers from a file, a line each (# begins a remark)",
    )
    _common(command)


def _report(commands: Commands) -> None:
    command = _add(commands, "report")
    command.add_argument("cases", nargs="+", type=Path, metavar="CASE", help="a case file")
    command.add_argument("--workings", action="store_true", help="show the likelihood of every state too")
    _top(command, "show N parts, checks and explanations")
    _common(command, "text", "json")


def _explain(commands: Commands) -> None:
    command = _add(commands, "explain")
    command.add_argument("case", type=Path, metavar="CASE", help="a case file")
    command.add_argument(
        "cause", nargs="?", metavar="CAUSE", help="a cause, a part, or a piece of its name that fits only one"
    )
    _common(command, "text", "json")


def _batch(commands: Commands) -> None:
    command = _add(commands, "batch")
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
    actions = _actions(commands, "rules")
    check = _add(actions, "rules check")
    check.add_argument(
        "--all", action="store_true", help="tell also what the built-in rules are told without the shop"
    )
    _common(check, "text", "json")
    listing = _add(actions, "rules list")
    listing.add_argument("kind", nargs="?", metavar="KIND", help="a kind of stage")
    listing.add_argument(
        "--find", metavar="WORDS", help="only entries that have all of these words, and how to show them"
    )
    _common(listing, "text", "json")
    show = _add(actions, "rules show")
    show.add_argument("name", metavar="NAME", help="KIND, KIND/RULE, KIND.NAME, a tube type or a source")
    _common(show)


def _rigs(commands: Commands) -> None:
    actions = _actions(commands, "rigs")
    _common(_add(actions, "rigs list"), "text", "json")
    show = _add(actions, "rigs show")
    show.add_argument("rig", metavar="RIG", help="the id of a rig")
    _common(show, "text", "json")
