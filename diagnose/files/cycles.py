"""Circles in graphs of names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping


def find_cycle(arrows: Mapping[str, Iterable[str]]) -> tuple[str, ...]:
    """The names along one circle, the first again at the end; empty if there is none.

    Depth first without recursion: a chain of stages may be longer than the interpreter's stack.
    """
    done: set[str] = set()
    for start in arrows:
        path: list[str] = []
        on_path: set[str] = set()
        trail: list[Iterator[str]] = [iter((start,))]
        while trail:
            name = next(trail[-1], None)
            if name is None:
                trail.pop()
                if path:
                    gone = path.pop()
                    on_path.discard(gone)
                    done.add(gone)
            elif name in on_path:
                return (*path[path.index(name) :], name)
            elif name not in done:
                path.append(name)
                on_path.add(name)
                trail.append(iter(arrows.get(name, ())))
    return ()
