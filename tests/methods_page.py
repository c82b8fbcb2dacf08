"""The page docs/methods.md: every method of computing, as rule files name it.

python -m tests.methods_page --write    makes it anew
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from diagnose.circuits.method import Argument, Method, Result
from diagnose.circuits.methods import BELOW_ZERO, METHODS
from tests.paragraphs import wrapped

PAGE = Path(__file__).parents[1] / "docs" / "methods.md"
_HEAD = """\
# Methods of computing

How the value of a good set follows from its parts. A quantity names a method under
[`computed`](rule-file.md#computed-values): `by` its id, `gives` one of its results, `from` where each argument
comes from. Amounts may come in any unit of the right kind. Arguments in italics may be left out. What lies below
zero by its nature ({below}) may be given with its sign or without.

The share behind a result is its standard uncertainty, found by holding the method against published figures
and simulated circuits: [supplies.md](supplies.md) and [final-amplifier.md](final-amplifier.md) show them. Made by
`python -m tests.methods_page --write` from `diagnose/circuits/`.
"""


def page() -> str:
    """The text of the page."""
    below = ", ".join(f"`{name}`" for name in sorted(BELOW_ZERO))
    return "\n".join((wrapped(_HEAD.format(below=below)), *(_section(m) for m in METHODS.values())))


def _section(method: Method) -> str:
    first = method.title[:1].upper() + method.title[1:]
    says = method.says[:1].upper() + method.says[1:].removesuffix(".")
    return "\n".join((
        f"## `{method.id}`\n",
        wrapped(f"{first}. {says}.\n"),
        _table(("argument", "what it is", "unit"), (_argument(*item) for item in method.arguments.items())),
        _table(("result", "what it is", "unit", "known to"), (_result(*item) for item in method.results.items())),
    ))  # fmt: skip


def _argument(name: str, argument: Argument) -> tuple[str, str, str]:
    shown = f"*`{name}`*" if argument.optional else f"`{name}`"
    default = "" if argument.default is None else f"; {argument.default:g}, if not said" if not isinstance(
        argument.default, str
    ) else f"; {argument.default}, if not said"  # fmt: skip
    unit = "a word: " + ", ".join(f"`{word}`" for word in argument.words) if argument.words else argument.unit
    return shown, argument.title + default, unit


def _result(name: str, result: Result) -> tuple[str, str, str, str]:
    within = f"{100.0 * result.within:g} %" if result.within else "exact"
    return f"`{name}`", result.title, result.unit, within


def _table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    def lines() -> Iterator[str]:
        yield f"| {' | '.join(heads)} |"
        yield f"|{'|'.join('---' for _ in heads)}|"
        for row in rows:
            yield f"| {' | '.join(row)} |"

    return "\n".join(lines()).replace("|  |", "| |") + "\n"


if __name__ == "__main__":
    if "--write" in sys.argv:
        PAGE.write_text(page(), encoding="utf-8")
    else:
        print(page(), end="")
