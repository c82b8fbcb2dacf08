"""Cases drawn from a rig's own network: a world in which things are wrong, and readings of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from diagnose.inference.network import Network
from diagnose.inference.rig_network import network_for, skeleton
from diagnose.inference.scale import DOWN, OVER, UP
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation

# Who tells a reading: reports of the bench file. What the bench reads just now is taken as said; what the
# owner remembers is wrong so often that it leaves every state possible.
CERTAIN = "bench"
DOUBTED = "owner"
HISTORY = {"years_stored": 25, "capacitors_replaced": "no"}
DRAWS = 2000


@dataclass(frozen=True)
class Wanted:
    """How many readings, how many of them abnormal, and how many told by the owner (soft: all states possible)."""

    readings: int = 20
    abnormal: int = 8
    soft: int = 0


def sampled_case(assembly: Assembly, seed: int, wanted: Wanted) -> Case:
    """A case of a set from long storage; the same for the same seed."""
    rng = np.random.default_rng(seed)
    bones = skeleton(assembly)
    network = network_for(bones, HISTORY)
    seen = [bones.index[name] for name in assembly.indications]
    for _ in range(DRAWS):
        world = drawn_world(network, rng)
        readable = [n for n in seen if world[n] not in network.nodes[n].scale.mute]
        bad = [n for n in readable if world[n]]
        good = [n for n in readable if not world[n]]
        if len(bad) >= wanted.abnormal and len(good) >= wanted.readings - wanted.abnormal:
            break
    else:
        raise ValueError(f"no world with {wanted.abnormal} abnormal readings in {DRAWS} draws")
    chosen = [*_some(rng, bad, wanted.abnormal), *_some(rng, good, wanted.readings - wanted.abnormal)]
    doubted = set(_some(rng, chosen, wanted.soft))
    observations = tuple(
        Observation(
            bones.names[node],
            _state(assembly, bones.names[node], world[node]),
            told_by=DOUBTED if node in doubted else CERTAIN,
        )
        for node in chosen
    )
    return Case(f"sampled_{seed}", assembly.rig.id, history=HISTORY, observations=observations)


def drawn_world(network: Network, rng: np.random.Generator) -> list[int]:
    """States of all nodes, drawn from the network, parents before children."""
    states: list[int] = []
    for node, arrows in zip(network.nodes, network.into, strict=True):
        rows = [node.leak, *(arrow.draws[states[arrow.parent]] for arrow in arrows)]
        drawn = [int(rng.choice(len(row), p=row)) for row in rows if row[0] < 1.0]
        worst = {
            side: max(
                (state for state in drawn if node.scale.sides[state] == side),
                key=node.scale.ranks.__getitem__,
                default=0,
            )
            for side in (DOWN, UP, OVER)
        }
        if worst[OVER]:
            states.append(worst[OVER])
        elif worst[DOWN] and worst[UP]:
            states.append((0, worst[DOWN], worst[UP])[int(rng.choice(3, p=node.scale.split))])
        else:
            states.append(worst[DOWN] or worst[UP])
    return states


def write_case(case: Case, folder: Path) -> Path:
    """The case as a file that reads as the same case."""
    history = ", ".join(f"{fact}: {value}" for fact, value in case.history.items())
    lines = [f"case: {case.id}", f"rig: {case.rig}", f"history: {{{history}}}", "readings:"]
    lines += [f"  {o.name}: {{value: {o.state}, told_by: {o.told_by}}}" for o in case.observations]
    path = folder / f"{case.id}.yaml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def _some(rng: np.random.Generator, items: list[int], count: int) -> list[int]:
    return [int(item) for item in rng.choice(items, min(count, len(items)), replace=False)] if count else []


def _state(assembly: Assembly, name: str, state: int) -> str:
    return assembly.indications[name].indication.states[state].id
