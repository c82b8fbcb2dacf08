"""YAML 1.2 core scalars: what a plain word in a file stands for.

The YAML library follows version 1.1, where `no` is false, `1:30` is ninety and `010` is eight.
These few rules are the core schema of YAML 1.2 (section 10.3.2) without octal and hexadecimal
numbers, infinities and not-a-number, which nobody at a bench writes: those stay texts.
"""

from __future__ import annotations

import math
import re

Scalar = str | int | float | bool | None

_NULLS = frozenset({"", "~", "null", "Null", "NULL"})
_TRUTHS = {
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_INTEGER = re.compile(r"[-+]?[0-9]{1,300}\Z")
_DECIMAL = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z")


def plain_scalar(text: str) -> Scalar:
    """The value of an unquoted scalar."""
    if text in _NULLS:
        return None
    if text in _TRUTHS:
        return _TRUTHS[text]
    if _INTEGER.match(text):
        return int(text)
    if _DECIMAL.match(text):
        number = float(text)
        return number if math.isfinite(number) else text
    return text
