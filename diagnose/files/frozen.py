"""A dictionary that cannot be changed: fast to read, and it can go to another process."""

from __future__ import annotations

from typing import Any, NoReturn, TypeVar

K = TypeVar("K")
V = TypeVar("V")


class Frozen(dict[K, V]):
    """A read-only mapping; unlike a mapping proxy it can be pickled and copied."""

    __slots__ = ()

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("this mapping is read-only")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = _refuse
    __ior__ = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self))

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (dict(self),))

    def __copy__(self) -> Frozen[K, V]:
        return self

    def __deepcopy__(self, memo: object) -> Frozen[K, V]:
        return self
