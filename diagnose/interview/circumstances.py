"""What stands behind a value: the band or mode, the warmth, the meter it was read under."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from diagnose.files.desk import Desk
from diagnose.interview.spoken import spoken

_ON = re.compile(r"[\s,]+(?:on|in|at)\s+(?:the\s+)?(?P<what>[\w ]+?)\s*\Z", re.IGNORECASE)
_WARMTH = re.compile(r"[\s,]+(?:when\s+)?(?P<what>cold|warm|hot)\Z", re.IGNORECASE)
_WITH = re.compile(r"[\s,]+with\s+(?:the\s+|a\s+|an\s+|my\s+)?(?P<what>[\w .-]+?)\s*\Z", re.IGNORECASE)


def circumstances(said: str, desk: Desk) -> tuple[str, dict[str, Any]]:
    """What stands behind the value (`on 20m`, `cold`, `with the wattmeter`), and the line without it."""
    told: dict[str, Any] = {}
    while True:
        for pattern, read in ((_WARMTH, _warmth), (_WITH, _meter), (_ON, _band_or_mode)):
            match = pattern.search(said)
            found = dict(read(match["what"], desk)) if match else {}
            if match and found:
                told |= found
                said = said[: match.start()].strip()
                break
        else:
            return said, told


def _warmth(word: str, desk: Desk) -> Iterator[tuple[str, Any]]:
    yield "warmth", "cold" if word.casefold() == "cold" else "warm"


def _meter(words: str, desk: Desk) -> Iterator[tuple[str, Any]]:
    wanted = words.casefold()
    titles = {id: spoken(id) for id in desk.instruments}
    fitting = [id for id, title in titles.items() if wanted == title] or [
        id for id, title in titles.items() if title.startswith(wanted)
    ]
    if len(fitting) == 1:
        yield "meter", fitting[0]


def _band_or_mode(words: str, desk: Desk) -> Iterator[tuple[str, Any]]:
    word = re.sub(r"\s*(?:meters?|metres?|m|band)\b", "m", words.casefold()).replace(" ", "")
    if word in desk.rig.bands:
        yield "band", word
    elif words.casefold() in desk.rig.features.get("modes", ()):
        yield "mode", words.casefold()
