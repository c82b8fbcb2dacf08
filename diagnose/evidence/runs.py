"""A method of computing run on uncertain figures: its result, and what each source of uncertainty adds to it.

That is what the result does when the source is off by one standard uncertainty (JCGM 100:2008, 5.1.3, note 2). A
source moves all that rests on it together (5.2.2).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.circuits.method import CannotCompute, Method, Value
from diagnose.uncertain import Uncertain

Results = Mapping[str, float]


@dataclass(frozen=True)
class Inputs:
    """The arguments of a method, figures in SI base units."""

    figures: Mapping[str, Uncertain]
    words: Mapping[str, str]

    def moved(self, source: str, sign: float) -> dict[str, Value]:
        """The arguments when one source is off by so many standard uncertainties."""
        moved = {name: x.value + sign * x.parts.get(source, 0.0) for name, x in self.figures.items()}
        return {**moved, **self.words}

    def sources(self) -> list[str]:
        """All that the figures are uncertain from."""
        return list(dict.fromkeys(source for x in self.figures.values() for source in x.parts))


class Runs:
    """The runs of methods for one rig; each is kept, for several quantities come from one."""

    def __init__(self) -> None:
        self._kept: dict[tuple[object, ...], Results | str] = {}

    def with_uncertainty(self, method: Method, result: str, inputs: Inputs) -> Uncertain | str:
        """A result in the unit of the method, with what each source of its inputs adds; or why not."""
        found = self._run(method, inputs.moved("", 0.0))
        if isinstance(found, str):
            return found
        if result not in found:
            return f"the method gives no {result.replace('_', ' ')} for these parts"
        value, parts = found[result], {}
        for source in inputs.sources():
            ways = [self._run(method, inputs.moved(source, sign)) for sign in (1.0, -1.0)]
            up, down = (way.get(result) if not isinstance(way, str) else None for way in ways)
            if up is None and down is None:
                return f"it cannot be computed with any change of {source}"
            # where one way leads to no working circuit, the other one counts in full
            parts[source] = ((value if up is None else up) - (value if down is None else down)) / (
                2.0 if up is not None and down is not None else 1.0
            )
        return Uncertain(value, parts)

    def _run(self, method: Method, values: Mapping[str, Value]) -> Results | str:
        """The results of a method in its own units, or why there are none."""
        key = (method.id, *sorted(values.items()))
        if key not in self._kept:
            try:
                results = method.run(values)
                usable = all(map(math.isfinite, results.values()))
                self._kept[key] = results if usable else "the method gives no number for these parts"
            except CannotCompute as error:
                self._kept[key] = str(error)
        return self._kept[key]
