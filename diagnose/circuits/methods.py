"""All methods by id, as rule files use them.

Bias is negative, and at the bench it is written by its size. A method reckons with the sign; here an argument that
is below zero by its nature may come either way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from diagnose.circuits import class_c, networks, supply, tube_idle
from diagnose.circuits.method import Method, Value

_MODULES: Final = (supply, class_c, tube_idle, networks)

BELOW_ZERO: Final = frozenset({"grid_voltage", "known_grid_voltage", "fixed_voltage"})  # in every method
_OF_METHOD: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {"bias_divider": frozenset({"supply_voltage"})}
)


def by_size(method: Method) -> Method:
    """The method taking the size of what is below zero by its nature."""
    negative = (BELOW_ZERO | _OF_METHOD.get(method.id, frozenset())) & method.arguments.keys()
    if not negative:
        return method

    def run(values: Mapping[str, Value]) -> Mapping[str, float]:
        return method.run({name: _below_zero(name, value, negative) for name, value in values.items()})

    return replace(method, run=run)


def _below_zero(name: str, value: Value, negative: Iterable[str]) -> Value:
    return -abs(value) if name in negative and not isinstance(value, str) else value


METHODS: Final[Mapping[str, Method]] = MappingProxyType(
    {method.id: by_size(method) for module in _MODULES for method in module.METHODS}
)
