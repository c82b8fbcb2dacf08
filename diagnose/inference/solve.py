"""Numbers into a structure: one forward run, one backward run, and the posteriors read off.

All tables carry a leading batch axis, so that many variants of the evidence (the outcomes of a
check, the steps of an integration) share one plan. Presence and silence of every part come from the
same backward run; a part's blame is the difference of the two.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from diagnose.inference.contraction import Contraction
from diagnose.inference.elimination import (
    PLAIN,
    TWOFOLD,
    Run,
    error_bound,
    run_backward,
    run_forward,
)
from diagnose.inference.gathering import Gathering
from diagnose.inference.scale import Array
from diagnose.inference.structure import Gatherer, Structure


@dataclass(frozen=True, eq=False)
class Blameless:
    """Weights of a part being present and free to take part, and present but silent, per variant.

    Shapes (B,). The usual question has `free` 1 and `silent` 0; a part held blameless has 0 and 1.
    """

    free: Array
    silent: Array


@dataclass(frozen=True, eq=False)
class Solution:
    """Posteriors of a run over B variants.

    `log_evidence`: natural logarithm, shape (B,). `presence[part]` and `blame[part]`: shape (B, S),
    entry 0 the good state (blame 0); blame only where the structure follows marks. `states[node]`:
    shape (B, S), for nodes that were asked. Rows of an impossible variant are NaN. With parts held, all
    of this is given that they are silent.
    """

    log_evidence: Array
    presence: Mapping[int, Array]
    blame: Mapping[int, Array]
    states: Mapping[int, Array]
    error: float


@dataclass(frozen=True, eq=False)
class _Weights:
    """Of N parts with at most S states: prior times likelihood (B, N, S); free and silent (B, N)."""

    own: Array
    free: Array
    silent: Array
    by_state: Array  # (B, N, S): whether marked or not
    by_slot: Array  # (B, N, 2 S): state by state, unmarked and marked


@dataclass(frozen=True, eq=False)
class _Filled:
    """What the way back needs of one gatherer.

    `others`: (B, P, K), what has gathered apart from each absorbed part. `ended`: (B, K, C), ends weighed
    and put into classes. `opened`: (B, C_parent or 1, K), what gathers, by its only open parent if it
    has just one.
    """

    others: Array
    ended: Array
    opened: Array


STRICT = 1e-10  # relative error of the evidence that nobody will notice
_ROUNDING = 30.0  # natural logarithm: a variant so much less probable than the likeliest counts as impossible
_UNIT = 2.0**-53


def log_evidence(
    structure: Structure,
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless] | None = None,
    accuracy: float = STRICT,
) -> Array:
    """Natural logarithm of the probability of the evidence, shape (B,)."""
    values, variants = _checked(structure, likelihood, held or {})
    weights = _weights(structure, values, held or {})
    tables, _ = _fill(structure, values, weights)
    run, _ = _run(structure.contraction, tables, accuracy)
    return np.broadcast_to(run.log_sum, (variants,))


def solve(
    structure: Structure,
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless] | None = None,
    accuracy: float = STRICT,
) -> Solution:
    """Posteriors of all parts and of the asked nodes. Likelihoods of shape (S,) or (B, S).

    `accuracy`: the relative error of the evidence that rounding may leave; past it twofold numbers are used.
    """
    values, variants = _checked(structure, likelihood, held or {})
    weights = _weights(structure, values, held or {})
    tables, filled = _fill(structure, values, weights)
    run, error = _run(structure.contraction, tables, accuracy)
    derivatives = run_backward(run)
    reader = _Reader(structure, values, weights, filled, derivatives, variants)
    return reader.solution(np.broadcast_to(run.log_sum, (variants,)), error)


def _run(plan: Contraction, tables: Sequence[Array], accuracy: float) -> tuple[Run[Any], float]:
    """The forward run, with twice the digits where plain ones may not do, and its relative error.

    A sum near one cannot have lost much: only small ones are looked at. Of several variants the most
    probable one counts; less probable ones matter in proportion to it.
    """
    plain = run_forward(plan, tables, PLAIN)
    top = np.max(plain.log_sum[np.isfinite(plain.log_sum)], initial=-np.inf)
    if top > np.log(2 * _UNIT / accuracy):
        _forget_rounding(plain.log_sum, _ROUNDING)
        return plain, accuracy
    error = float(error_bound(plain)[np.argmax(np.nan_to_num(plain.log_sum, nan=-np.inf))])
    if error < accuracy:
        _forget_rounding(plain.log_sum, _ROUNDING)
        return plain, error
    run = run_forward(plan, tables, TWOFOLD)
    _forget_rounding(run.log_sum, 2 * _ROUNDING)
    return run, _UNIT * (error if np.isfinite(error) else 1.0)


def _forget_rounding(log_sum: Array, below: float) -> None:
    """Takes for impossible what lies so far below the likeliest variant that it may be rounding alone."""
    top = np.max(log_sum[np.isfinite(log_sum)], initial=-np.inf)
    log_sum[np.isnan(log_sum) | (log_sum < top - below)] = -np.inf


def _checked(
    structure: Structure, likelihood: Mapping[int, Array], held: Mapping[int, Blameless]
) -> tuple[dict[int, Array], int]:
    """Likelihoods as (B or 1, S), and the number of variants. ValueError where they do not fit."""
    if not likelihood.keys() <= structure.outside.keys():
        raise ValueError("a likelihood for a node that the structure does not observe")
    values: dict[int, Array] = {}
    variants = 1
    for node, outside in structure.outside.items():
        if node not in likelihood:
            if outside:
                raise ValueError(f"node {node} was laid out as observed, but has no likelihood")
            continue
        given = likelihood[node]
        given = given[np.newaxis] if given.ndim == 1 else given
        if given.shape[1] != structure.network.nodes[node].scale.size:
            raise ValueError(f"likelihood of node {node} has shape {given.shape}")
        if not (given.min() >= 0 and given.max() < np.inf):  # a number that is none fails too
            raise ValueError(f"likelihood of node {node} is negative or not a number")
        if outside and given[:, outside].any():
            raise ValueError(f"likelihood of node {node} on a state outside its support")
        values[node] = given
        variants = max(variants, given.shape[0])
    for blameless in held.values():
        variants = max(variants, len(blameless.free), len(blameless.silent))
    return values, variants


def _weights(structure: Structure, values: Mapping[int, Array], held: Mapping[int, Blameless]) -> _Weights:
    parts = structure.parts
    own = structure.prior[np.newaxis]
    observed = [(row, values[node]) for row, node in enumerate(parts) if node in values]
    if observed:
        own = np.repeat(own, max(given.shape[0] for _, given in observed), axis=0)
        for row, given in observed:
            own[:, row, : given.shape[1]] *= given
    free, silent = np.ones((1, len(parts))), np.zeros((1, len(parts)))
    at = [(row, held[node]) for row, node in enumerate(parts) if node in held]
    if at:
        variants = max(max(len(b.free), len(b.silent)) for _, b in at)
        free, silent = np.repeat(free, variants, axis=0), np.repeat(silent, variants, axis=0)
        for row, blameless in at:
            free[:, row] = blameless.free
            silent[:, row] = blameless.silent
    by_slot = np.zeros((max(len(own), len(free)), len(parts), own.shape[2], 2))
    by_slot[..., 0] = own * free[..., np.newaxis]
    by_slot[..., 1] = own * silent[..., np.newaxis]
    by_slot[:, :, 0, 0] = own[:, :, 0]
    by_slot[:, :, 0, 1] = 0.0
    flat = by_slot.reshape(*by_slot.shape[:2], 2 * own.shape[2])
    return _Weights(own, free, silent, by_slot.sum(-1), flat)


def _fill(
    structure: Structure, values: Mapping[int, Array], weights: _Weights
) -> tuple[list[Array], list[_Filled]]:
    """The tables of the product, in the order of the contraction's inputs."""
    tables: list[Array] = [np.empty(0)] * structure.contraction.inputs
    for root in structure.roots:
        table = weights.by_slot[:, root.row] @ root.to_class
        tables[root.table] = table if table.shape[1] > 1 else table[:, 0]
    return tables, [_gather(g, values, weights, tables) for g in structure.gatherers]


def _gather(
    gatherer: Gatherer, values: Mapping[int, Array], weights: _Weights, tables: list[Array]
) -> _Filled:
    """Fill the tables of one gatherer."""
    vector = gatherer.start
    others = vector[:, np.newaxis]
    if gatherer.absorbed:
        rows = (weights.by_slot if gatherer.tells_marks else weights.by_state)[:, gatherer.absorbed]
        drawn = (rows[:, :, np.newaxis] @ gatherer.moved)[:, :, 0]
        others = _all_but_one(drawn) * vector[:, np.newaxis]
        vector = others[:, 0] * drawn[:, 0]
    ended = _ended(gatherer, values, weights)
    first, final = gatherer.tables
    links = gatherer.links
    opened = vector[:, np.newaxis]
    if len(links) < 2:
        if links:
            opened = opened * links[0]
        table = opened @ ended
        table = table if links else table[:, 0]
        tables[final] = table if ended.shape[2] > 1 else table[..., 0]
        return _Filled(others, ended, opened)
    several = vector.shape[1] > 1
    for position, link in enumerate(links):
        tables[first + 1 + position] = link[np.newaxis] if several else link[np.newaxis, :, 0]
    if ended.shape[2] > 1:
        tables[final] = ended if several else ended[:, 0]
    else:
        vector = vector * ended[..., 0]
    tables[first] = vector if several else vector[:, 0]
    return _Filled(others, ended, opened)


def _all_but_one(factors: Array) -> Array:
    """Product along axis 1 of all the others, without dividing; shape as given."""
    result = np.ones_like(factors)
    np.cumprod(factors[:, :-1], axis=1, out=result[:, 1:])
    onward = np.cumprod(factors[:, :0:-1], axis=1)
    result[:, :-1] *= onward[:, ::-1]
    return result


def _ended(gatherer: Gatherer, values: Mapping[int, Array], weights: _Weights) -> Array:
    """From what has gathered (cumulative) to the node's classes, weighed: (B, K, C)."""
    gathered, lineage = gatherer.gathered, gatherer.lineage
    if lineage is not None:
        free = weights.free[:, gatherer.row].reshape(-1, 1, 1)
        silent = weights.silent[:, gatherer.row].reshape(-1, 1, 1)
        to_class = lineage.good + free * lineage.free + silent * lineage.silent
    else:
        to_class = gathered.to_class[np.newaxis]
    if gatherer.node in values:
        to_class = to_class * values[gatherer.node][:, gathered.states, np.newaxis]
    ended: Array = gathered.ends @ to_class
    return ended


class _Reader:
    """Posteriors out of the derivatives of all tables."""

    def __init__(
        self,
        structure: Structure,
        values: Mapping[int, Array],
        weights: _Weights,
        filled: Sequence[_Filled],
        derivatives: Sequence[Array | None],
        variants: int,
    ) -> None:
        self.structure, self.values, self.weights = structure, values, weights
        self.derivatives, self.variants = derivatives, variants
        # per part and state: the rest of the world with the part free, and with it silent
        self.masses = np.zeros((variants, *structure.prior.shape, 2))
        self.states: dict[int, Array] = {}
        for root in structure.roots:
            back = self._derivative(root.table)
            back = back if root.to_class.shape[1] > 1 else back[:, np.newaxis]
            rest = (back @ root.to_class.T).reshape(back.shape[0], -1, 2)
            self.masses[:, root.row] = rest * weights.own[:, root.row, :, np.newaxis]
        for gatherer, full in zip(structure.gatherers, filled, strict=True):
            if gatherer.absorbed:
                self._read_absorbed(gatherer, full)
            if gatherer.row is not None or gatherer.node in structure.asked:
                self._read_ends(gatherer, full)

    def _derivative(self, table: int) -> Array:
        values = self.derivatives[table]
        if values is None:
            raise AssertionError("a derivative that the plan was not asked for")
        return values

    def _read_absorbed(self, gatherer: Gatherer, full: _Filled) -> None:
        back = full.others * self._at_start(gatherer, full)[:, np.newaxis]
        rest = (gatherer.moved @ back[..., np.newaxis])[..., 0]
        rows = gatherer.absorbed
        rest = rest.reshape(*rest.shape[:2], self.masses.shape[2], -1)  # marks told apart or not
        self.masses[:, rows] = rest * self.weights.own[:, rows, :, np.newaxis]

    def _at_start(self, gatherer: Gatherer, full: _Filled) -> Array:
        """Derivative by what has gathered from the absorbed parts and the node itself, shape (B, K)."""
        back = self._derivative(gatherer.tables[0])
        size, classes = full.ended.shape[1:]
        if len(gatherer.links) > 1:
            back = back if size > 1 else back[:, np.newaxis]
            return back if classes > 1 else back * full.ended[..., 0]
        back = back if classes > 1 else back[..., np.newaxis]
        back = back if gatherer.links else back[:, np.newaxis]
        back = back @ full.ended.transpose(0, 2, 1)
        if gatherer.links:
            back = back * gatherer.links[0]
        summed: Array = back.sum(1)
        return summed

    def _at_ends(self, gatherer: Gatherer, full: _Filled) -> Array:
        """Derivative by the table from what has gathered to the classes, shape (B, K, C)."""
        size, classes = full.ended.shape[1:]
        several = len(gatherer.links) > 1
        if several and classes == 1:  # the ends were multiplied into what gathers
            back = self._derivative(gatherer.tables[0])
            back = back if size > 1 else back[:, np.newaxis]
            return (back * full.opened[:, 0])[..., np.newaxis]
        back = self._derivative(gatherer.tables[1])
        if several:
            return back if size > 1 else back[:, np.newaxis]
        back = back.reshape(back.shape[0], -1, classes)
        onto: Array = full.opened.transpose(0, 2, 1) @ back
        return onto

    def _read_ends(self, gatherer: Gatherer, full: _Filled) -> None:
        """States of an asked node, and of a part that others can ruin, free and silent."""
        gathered, lineage = gatherer.gathered, gatherer.lineage
        # (B, L, C): what each label would weigh in each class
        by_label = gathered.ends.T @ self._at_ends(gatherer, full)
        if gatherer.node in self.values:
            by_label = by_label * self.values[gatherer.node][:, gathered.states, np.newaxis]
        if lineage is None or gatherer.row is None:
            states = self.structure.network.nodes[gatherer.node].scale.size
            mass = np.maximum((by_label * gathered.to_class).sum(-1), 0.0)
            self.states[gatherer.node] = _normal(self._by_state(gathered, mass, states))
            return
        for side, table in enumerate((lineage.free, lineage.silent)):
            mass = (by_label * (lineage.good + table)).sum(-1)
            most = self.masses.shape[2]
            self.masses[:, gatherer.row, :, side] = self._by_state(gathered, mass, most)

    def _by_state(self, gathered: Gathering, mass: Array, states: int) -> Array:
        result = np.zeros((self.variants, states))
        for label, state in enumerate(gathered.states.tolist()):
            result[:, state] += mass[:, label]
        return result

    def solution(self, log_sum: Array, error: float) -> Solution:
        """All posteriors, normalized."""
        np.maximum(self.masses, 0.0, out=self.masses)  # a difference may round below zero
        free, silent = self.masses[..., 0], self.masses[..., 1]
        weighed = free * self.weights.free[..., np.newaxis]
        weighed += silent * self.weights.silent[..., np.newaxis]
        weighed[..., 0] = free[..., 0]
        # silence is part of presence; rounding may leave it larger by a unit in the last place
        blamed = np.maximum(free - silent, 0.0) * self.weights.free[..., np.newaxis]
        blamed[..., 0] = 0.0
        with np.errstate(invalid="ignore", divide="ignore"):
            total = weighed.sum(-1, keepdims=True)
            present = weighed / total
            blamed /= total
        presence: dict[int, Array] = {}
        blame: dict[int, Array] = {}
        for row, node in enumerate(self.structure.parts):
            states = self.structure.network.nodes[node].scale.size
            presence[node] = present[:, row, :states]
            if self.structure.followed is None or node in self.structure.followed:
                blame[node] = blamed[:, row, :states]
            if node in self.structure.asked:
                self.states[node] = presence[node]
        impossible = np.isneginf(log_sum)
        for table in (*presence.values(), *blame.values(), *self.states.values()):
            table[impossible] = np.nan
        return Solution(log_sum, presence, blame, self.states, error)


def _normal(masses: Array) -> Array:
    with np.errstate(invalid="ignore", divide="ignore"):
        shares: Array = masses / masses.sum(1, keepdims=True)
    return shares
