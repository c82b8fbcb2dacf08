"""Exit statuses, and which wins when several apply."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

DONE: Final = 0
UNUSABLE: Final = 1  # some input could not be used; the rest still was
USAGE: Final = 2
STOP: Final = 3  # at least one case has a standing stop order
FAULT: Final = 70  # a fault of the program itself
INTERRUPTED: Final = 130
PIPE_CLOSED: Final = 141


def worst(statuses: Iterable[int]) -> int:
    """The status of several cases: a stop order wins over unusable input, that over done."""
    seen = set(statuses)
    for status in (STOP, UNUSABLE):
        if status in seen:
            return status
    return DONE
