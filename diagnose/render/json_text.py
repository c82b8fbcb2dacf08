"""Plain data as JSON text, and the numbers in it."""

from __future__ import annotations

import json
import math
from typing import Any

Record = dict[str, Any]


def as_line(data: object) -> str:
    """Data as one line of JSON."""
    return json.dumps(data, allow_nan=False, separators=(", ", ": "))


def as_text(data: object) -> str:
    """Data as JSON for people to look at."""
    return json.dumps(data, allow_nan=False, indent=2)


def number(value: float | None) -> float | None:
    """A number to eight figures; null for what is not finite, because JSON has no word for it."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.8g}")
