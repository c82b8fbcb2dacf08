"""How large a file of ours may be: far more than anyone writes, far less than would hurt."""

from __future__ import annotations

from typing import Final

MAX_BYTES: Final = 4_000_000
MAX_DEPTH: Final = 40  # lists and mappings one inside the other
MAX_NODES: Final = 200_000  # values in one file, repeated ones (aliases) written out
MAX_SCALAR: Final = 20_000  # characters of one value
