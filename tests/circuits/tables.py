"""Tables of a page in docs/ that are made anew: each stands between two marks, by its name."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"
MARK = re.compile(r"(<!-- table: (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)


@dataclass(frozen=True)
class Tables:
    """The tables of one page, each by its name with what makes it."""

    page: Path
    makers: Mapping[str, Callable[[], str]]

    def made_anew(self, page: str) -> str:
        """The text of the page with its tables as they are now."""
        return MARK.sub(lambda found: f"{found[1]}\n{self.makers[found[2]]()}\n{found[3]}", page)

    def main(self, words: Sequence[str]) -> None:
        """Prints the tables, or with `--write` puts them into the page."""
        if list(words) == ["--write"]:
            self.page.write_text(self.made_anew(self.page.read_text(encoding="utf-8")), encoding="utf-8")
            return
        for made in self.makers.values():
            print(made())


def table(heads: Sequence[str], lines: Iterable[Sequence[str]], left: Collection[str]) -> str:
    """A table whose columns are figures, but for those whose heads are in `left`."""
    ruler = ["---" if head in left else "---:" for head in heads]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in (heads, ruler, *lines)) + "\n"


def root_mean_square(values: Sequence[float]) -> float:
    """Of several deviations."""
    return math.sqrt(sum(value * value for value in values) / len(values))
