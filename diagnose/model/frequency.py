"""Frequencies: `8 of 10`, `8.5 of 10`, `3 of 1000`, or a decimal from 0 to 1."""

from __future__ import annotations

import re

_OF = re.compile(r"(\d+(?:\.\d+)?)\s+of\s+(\d+)\Z")
_DECIMAL = re.compile(r"(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\Z")
_EXAMPLE = "write `8 of 10`, `3 of 1000` or a decimal from 0 to 1"


class FrequencyError(ValueError):
    """A text that is no frequency; the message says how to write one."""


def parse_frequency(written: str | int | float) -> float:
    """The probability that a frequency states; raises FrequencyError."""
    if isinstance(written, bool):
        raise FrequencyError(f"`{written}` is no frequency: {_EXAMPLE}")
    if isinstance(written, (int, float)):
        return _checked(float(written), str(written))
    text = written.strip()
    match = _OF.match(text[:40])
    if match and len(text) <= 40:
        seen, sets = float(match.group(1)), float(match.group(2))
        if sets == 0:
            raise FrequencyError(f"`{text}` counts no sets at all")
        return _checked(seen / sets, text)
    if len(text) <= 40 and _DECIMAL.match(text):
        return _checked(float(text), text)
    raise FrequencyError(f"`{text[:40]}` is no frequency: {_EXAMPLE}")


def _checked(probability: float, text: str) -> float:
    if not 0.0 <= probability <= 1.0:
        raise FrequencyError(f"`{text}` is not between none and all of them: {_EXAMPLE}")
    return probability
