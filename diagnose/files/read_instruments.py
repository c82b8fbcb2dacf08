"""Meters of a stage: what each does to everything that is read with it."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.model.knowledge import State
from diagnose.model.measuring import DEAD, HIGH, LOW, TRUE, Astray

# How far a tired meter reads off, where its entry says nothing else.
USUAL: Mapping[str, Astray] = {LOW: Astray(0.80, 0.10), HIGH: Astray(1.25, 0.12), DEAD: Astray(0.05)}


def instrument_states() -> tuple[State, ...]:
    """What an instrument may show, the truth first; nothing of it comes about by itself."""
    return (
        State(TRUE, title="reads true"),
        State(LOW, "down", "reads low"),
        State(HIGH, "up", "reads high"),
        State(DEAD, "over", "reads next to nothing"),
    )


def read_astray(node: Node, faults: Faults) -> dict[str, Astray]:
    """How far it errs in each of its states but the true one."""
    return {state: _astray(state, node.get(state), usual, faults) for state, usual in USUAL.items()}


def _astray(state: str, node: Node | None, usual: Astray, faults: Faults) -> Astray:
    if node is None:
        return usual
    gain = values.ratio(node.get("shows"), faults)
    spread = values.share(node.get("spread"), faults)
    if gain is not None and (gain <= 1 if state == HIGH else not 0 < gain < 1):
        said = f"an instrument that shows {100 * gain:g} % of the truth does not read {state}"
        if state == DEAD:
            said = f"a dead instrument cannot show {100 * gain:g} % of what a good set shows"
        faults.error(node.entries["shows"], "range", said)
        gain = None
    return Astray(usual.gain if gain is None else gain, usual.spread if spread is None else spread)
