"""A program that keeps a case and adds reading after reading, as fast as it can, until it is killed.

`python -m tests.interview.writer RULES CASE`; after each write it prints how many readings are in the file.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from diagnose.files.read_book import load_book
from diagnose.interview.keep import Keeper
from diagnose.model.case import Case, Observation


def main(rules: Path, path: Path) -> None:
    """Goes on from what is in the file."""
    book, _ = load_book(rules)
    assert book is not None
    with Keeper.open(path, book) as keeper:
        case = keeper.case or Case(path.stem, "finch")
        while True:
            number = len(case.observations) + 1
            seen = Observation("hv.voltage", value=500.0 + number, as_written=f"{500 + number} V")
            case = replace(case, observations=(*case.observations, seen))
            keeper.write(case)
            print(number, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
