"""A network the size of a rig, for timing: `python -m tests.inference.bench_network [seeds] [kind]`.

Twenty-five stages: mains, heaters and three supplies feed all others, which form a chain. Each has
five parts (one of them pushes broadly) and six indications. Twenty are observed, eight of them
abnormal. The evidence is taken from a world drawn from the network itself, so that it hangs together.
Kinds: `bench` (supplies measured first, mostly hard evidence), `blind` (no supply measured, the worst
order of work) and `soft` (every quantity read on a meter and so uncertain).
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np

from diagnose.inference.contraction import TooWide
from diagnose.inference.gathering import gathering
from diagnose.inference.network import Arrow, Network, Node
from diagnose.inference.scale import DOWN, GOOD, OVER, UP, Array, Scale
from diagnose.inference.solve import Solution, solve
from diagnose.inference.structure import lay_out

STAGES, HUBS = 25, 5
LEVEL = Scale((GOOD, OVER, DOWN, UP), (0, 1, 1, 1))
EXCESS = Scale((GOOD, UP), (0, 1))
SYMPTOM = Scale((GOOD, OVER), (0, 1))
JUDGED = Scale((GOOD, OVER, OVER), (0, 1, 2), mute=frozenset({2}))
PATTERN = Scale((GOOD, OVER, OVER, OVER), (0, 1, 2, 3))
ONE_MODE = Scale((GOOD, OVER), (0, 1))
TWO_MODES = Scale((GOOD, OVER, OVER), (0, 1, 2))
ABSENT, LOW, HIGH = 1, 2, 3


@dataclass(frozen=True, eq=False)
class Bench:
    """A network with one observation of each of twenty nodes."""

    network: Network
    likelihood: dict[int, Array]
    abnormal: frozenset[int]
    hubs: tuple[int, ...]

    def support(self) -> dict[int, tuple[int, ...]]:
        """States the observations leave possible."""
        return {n: tuple(np.flatnonzero(v > 0).tolist()) for n, v in self.likelihood.items()}


class _Builder:
    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.nodes: list[Node] = []
        self.into: list[dict[int, Array]] = []
        self.needs: set[tuple[int, int]] = set()

    def add(self, scale: Scale, leak: float, is_part: bool = False) -> int:
        own = np.zeros(scale.size)
        for state in range(1, scale.size):
            if state not in scale.mute:
                own[state] = leak * self.rng.uniform(0.5, 1.5)
        own[0] = 1 - own[1:].sum()
        self.nodes.append(Node(scale, own, is_part))
        self.into.append({})
        return len(self.nodes) - 1

    def push(self, parent: int, state: int, child: int, to: int, chance: float) -> None:
        shape = (self.nodes[parent].scale.size, self.nodes[child].scale.size)
        rows = self.into[child].setdefault(parent, np.eye(shape[1])[np.zeros(shape[0], int)])
        chance = min(chance, rows[state, 0])
        rows[state, to] += chance
        rows[state, 0] -= chance

    def need(self, parent: int, child: int, unmet: tuple[int, ...]) -> None:
        shape = (self.nodes[parent].scale.size, self.nodes[child].scale.size)
        rows = np.eye(shape[1])[np.zeros(shape[0], int)]
        for state in unmet:
            rows[state] = np.eye(shape[1])[-1]
        self.into[child][parent] = rows
        self.needs.add((parent, child))

    def network(self) -> Network:
        into = tuple(
            tuple(
                Arrow(parent, child, rows, (parent, child) not in self.needs)
                for parent, rows in sorted(arrows.items())
            )
            for child, arrows in enumerate(self.into)
        )
        return Network(tuple(self.nodes), into)


def rig(seed: int) -> tuple[Network, tuple[int, ...], tuple[tuple[int, ...], ...]]:
    """The network, the hub quantities, and the indications of every stage (first: the main one)."""
    rng = np.random.default_rng(seed)
    build = _Builder(rng)
    mains: list[int] = []
    stages: list[tuple[int, ...]] = []
    for stage in range(STAGES):
        parts = [
            build.add(_one(rng, (ONE_MODE, TWO_MODES, TWO_MODES)), rng.uniform(0.002, 0.03), True)
            for _ in range(4)
        ]
        unnamed = build.add(ONE_MODE, 0.004, True)
        if rng.random() < 0.4:
            build.push(parts[0], 1, parts[1], 1, 0.3)
        main = build.add(LEVEL, 0.002)
        second = build.add(LEVEL if rng.random() < 0.5 else EXCESS, 0.003)
        others = [build.add(_one(rng, (SYMPTOM, JUDGED, PATTERN, EXCESS)), 0.003) for _ in range(4)]
        own = (main, second, *others)
        for part in parts:
            for mode in range(1, build.nodes[part].scale.size):
                for target in rng.choice(own, rng.integers(1, 4), replace=False):
                    _push(build, part, mode, int(target), rng.uniform(0.3, 0.95))
        for part in parts[:2]:
            build.push(part, 1, main, int(rng.choice((ABSENT, LOW, LOW, HIGH))), 0.8)
        for target in own:
            _push(build, unnamed, 1, target, 0.3)
        for target in rng.choice(own[1:], 2, replace=False):
            state = int(rng.choice((ABSENT, LOW, HIGH)))
            _push(build, main, state, int(target), rng.uniform(0.3, 0.9))
        for other in others:
            if build.nodes[other].scale is JUDGED:
                build.need(main, other, (ABSENT,))
        feeds = [] if stage == 0 else [mains[0]] if stage < HUBS else _feeds(rng, mains, stage)
        for feed in feeds:
            build.push(feed, ABSENT, main, ABSENT, 0.95)
            build.push(feed, LOW, main, LOW, rng.uniform(0.5, 0.9))
            build.push(feed, HIGH, main, HIGH, rng.uniform(0.2, 0.6))
        mains.append(main)
        stages.append(own)
    return build.network(), tuple(mains[:HUBS]), tuple(stages)


def _feeds(rng: np.random.Generator, mains: list[int], stage: int) -> list[int]:
    """The stage before, the heaters, and one or two supplies."""
    supplies = rng.choice(mains[2:HUBS], rng.integers(1, 3), replace=False)
    before = [mains[stage - 1]] if stage > HUBS else []
    return [*before, mains[1], *(int(s) for s in supplies)]


def _one(rng: np.random.Generator, scales: tuple[Scale, ...]) -> Scale:
    return scales[int(rng.integers(len(scales)))]


def _push(build: _Builder, parent: int, state: int, child: int, chance: float) -> None:
    scale = build.nodes[child].scale
    targets = [s for s in range(1, scale.size) if s not in scale.mute]
    build.push(parent, state, child, int(build.rng.choice(targets)), chance)


def bench(seed: int, kind: str = "bench", observed: int = 20, abnormal: int = 8) -> Bench:
    """A rig with twenty observations of a world in which several things are wrong."""
    network, hubs, stages = rig(seed)
    rng = np.random.default_rng(seed + 1_000_000)
    everything = [node for own in stages for node in own]
    while True:
        states = _world(network, rng)
        wrong = [
            n
            for n in everything
            if states[n]
            and states[n] not in network.nodes[n].scale.mute
            and not (kind == "blind" and n in hubs)
        ]
        if len(wrong) >= abnormal:
            break
    signs = {int(n) for n in rng.choice(wrong, abnormal, replace=False)}
    fine = [n for n in everything if not states[n]]
    first = [n for n in fine if n in hubs] if kind != "blind" else []
    rest = [n for n in fine if n not in hubs]
    first = first[:3]
    chosen = [*first, *(int(n) for n in rng.choice(rest, observed - abnormal - len(first), replace=False))]
    likelihood = {}
    for node in (*signs, *chosen):
        size = network.nodes[node].scale.size
        hard = np.eye(size)[states[node]]
        share = 1.0 if kind == "soft" and size == LEVEL.size else 0.15
        if rng.random() < share:
            hard = np.maximum(hard, rng.uniform(0.001, 0.3, size))
            hard[list(network.nodes[node].scale.mute)] = 0.0
        likelihood[node] = hard
    return Bench(network, likelihood, frozenset(signs), hubs)


def _world(network: Network, rng: np.random.Generator) -> list[int]:
    """States of all nodes, drawn from the network."""
    states: list[int] = []
    for node, arrows in zip(network.nodes, network.into, strict=True):
        rows = [node.leak, *(arrow.draws[states[arrow.parent]] for arrow in arrows)]
        drawn = [int(rng.choice(len(row), p=row)) for row in rows]
        best = {
            side: max(
                (d for d in drawn if node.scale.sides[d] == side),
                key=lambda d: node.scale.ranks[d],
                default=0,
            )
            for side in (DOWN, UP, OVER)
        }
        if best[OVER]:
            states.append(best[OVER])
        elif best[DOWN] and best[UP]:
            states.append((0, best[DOWN], best[UP])[int(rng.choice(3, p=node.scale.split))])
        else:
            states.append(best[DOWN] or best[UP])
    return states


def solved(case: Bench) -> Solution:
    """Lay out and solve once."""
    structure = lay_out(case.network, case.support(), case.abnormal)
    return solve(structure, case.likelihood)


def main(seeds: int, kind: str, repeats: int = 5) -> None:
    """Print times per seed and their distribution: the best of some runs, with and without caches."""
    cold, warm, laying = [], [], []
    for seed in range(seeds):
        case = bench(seed, kind)
        try:
            runs = [_timed(case, cold=True) for _ in range(repeats)]
            laying.append(min(run[0] for run in runs))
            cold.append(min(run[1] for run in runs))
            warm.append(min(_timed(case, cold=False)[1] for _ in range(repeats)))
        except TooWide as wide:
            print(f"{seed:4d} too wide: {wide.cells:.3g} cells")
            continue
        plan = lay_out(case.network, case.support(), case.abnormal).contraction
        print(
            f"{seed:4d} {cold[-1]:9.1f} ms  laid {laying[-1]:7.1f}  warm {warm[-1]:9.1f}"
            f"  cells {plan.cells:9.3g}  work {plan.work:9.3g}  steps {len(plan.steps)}"
        )
    for name, values in (("cold", cold), ("laying out", laying), ("warm", warm)):
        shares = np.percentile(values, [0, 50, 90, 100]).round(1) if values else []
        print(f"{kind} {name}: least, median, 90 %, most: {shares} ms; solved {len(values)}/{seeds}")


def _timed(case: Bench, cold: bool) -> tuple[float, float]:
    """Milliseconds to lay out, and in all."""
    if cold:
        gathering.cache_clear()
    started = time.perf_counter()
    structure = lay_out(case.network, case.support(), case.abnormal)
    laid = time.perf_counter()
    solve(structure, case.likelihood)
    return 1e3 * (laid - started), 1e3 * (time.perf_counter() - started)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20, sys.argv[2] if len(sys.argv) > 2 else "bench")
