"""Posteriors out of the derivatives of all tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.inference.filling import Filled, Given, Weights
from diagnose.inference.gathering import Gathering
from diagnose.inference.scale import Array
from diagnose.inference.structure import Gatherer, Structure


@dataclass(frozen=True, eq=False)
class Solution:
    """Posteriors of a run over B variants, of the parts that the structure reads.

    `log_evidence`: natural logarithm, shape (B,); minus infinity where a variant is impossible, or so
    improbable that it cannot be told from impossible. `presence[part]` and `blame[part]`: shape (B, S), entry
    0 the good state (blame 0); blame only of parts whose marks the structure follows. `states[node]`: shape
    (B, S), for nodes that were asked; `predicted[node]` the same, for those that are no parts, without the
    node's own evidence: what all the rest says of it, among the states in its support. Rows of an impossible
    variant are NaN. With parts held, all of this is given that they are silent. `error`: what rounding may have cost the worst of it, relative for the
    evidence, absolute for the posteriors.
    """

    log_evidence: Array
    presence: Mapping[int, Array]
    blame: Mapping[int, Array]
    states: Mapping[int, Array]
    predicted: Mapping[int, Array]
    error: float


class Reader:
    """Posteriors out of the derivatives of all tables."""

    def __init__(
        self,
        structure: Structure,
        given: Given,
        weights: Weights,
        filled: Sequence[Filled],
        derivatives: Sequence[Array | None],
    ) -> None:
        self.structure, self.weights, self.derivatives = structure, weights, derivatives
        self.values, self.variants = given.values, given.variants
        # per part and state: the rest of the world with the part free, and with it silent
        self.masses = np.zeros((given.variants, *structure.prior.shape, 2))
        self.asked: dict[int, Array] = {}
        for root in structure.roots:
            if not self._is_read(root.row):
                continue
            back = self._derivative(root.table)
            back = back if root.to_class.shape[1] > 1 else back[:, np.newaxis]
            rest = (back @ root.to_class.T).reshape(back.shape[0], -1, 2)
            self.masses[:, root.row] = rest * weights.own[:, root.row, :, np.newaxis]
        for gatherer, full in zip(structure.gatherers, filled, strict=True):
            if any(self._is_read(row) for row in gatherer.absorbed):
                self._read_absorbed(gatherer, full)
            own = gatherer.row is not None and self._is_read(gatherer.row)
            if own or gatherer.node in structure.asked:
                self._read_ends(gatherer, full)

    def _is_read(self, row: int) -> bool:
        return self.structure.read is None or self.structure.parts[row] in self.structure.read

    def _derivative(self, table: int) -> Array:
        values = self.derivatives[table]
        if values is None:
            raise AssertionError("a derivative that the plan was not asked for")
        return values

    def _read_absorbed(self, gatherer: Gatherer, full: Filled) -> None:
        back = full.others * self._at_start(gatherer, full)[:, np.newaxis]
        rest = (gatherer.moved @ back[..., np.newaxis])[..., 0]
        rows = gatherer.absorbed
        rest = rest.reshape(*rest.shape[:2], self.masses.shape[2], -1)  # marks told apart or not
        self.masses[:, rows] = rest * self.weights.own[:, rows, :, np.newaxis]

    def _at_start(self, gatherer: Gatherer, full: Filled) -> Array:
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

    def _at_ends(self, gatherer: Gatherer, full: Filled) -> Array:
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

    def _read_ends(self, gatherer: Gatherer, full: Filled) -> None:
        """States of an asked node, and of a part that others can ruin, free and silent."""
        gathered, lineage = gatherer.gathered, gatherer.lineage
        # (B, L, C): what each label would weigh in each class
        by_label = gathered.ends.T @ self._at_ends(gatherer, full)
        if lineage is None or gatherer.row is None:
            states = self.structure.network.nodes[gatherer.node].scale.size
            mass = np.maximum((by_label * gathered.to_class).sum(-1), 0.0)
            self.asked[gatherer.node] = self._by_state(gathered, mass, states)
            return
        if gatherer.node in self.values:
            by_label = by_label * self.values[gatherer.node][:, gathered.states, np.newaxis]
        for side, table in enumerate((lineage.free, lineage.silent)):
            mass = (by_label * (lineage.good + table)).sum(-1)
            most = self.masses.shape[2]
            self.masses[:, gatherer.row, :, side] = self._by_state(gathered, mass, most)

    def _by_state(self, gathered: Gathering, mass: Array, states: int) -> Array:
        result = np.zeros((self.variants, states))
        for label, state in enumerate(gathered.states.tolist()):
            result[:, state] += mass[:, label]
        return result

    def solution(self, log_sum: Array) -> Solution:
        """All posteriors, normalized."""
        impossible = np.isneginf(log_sum) | np.isnan(log_sum)
        np.maximum(self.masses, 0.0, out=self.masses)  # a difference may round below zero
        free, silent = self.masses[..., 0], self.masses[..., 1]
        weighed = free * self.weights.free[..., np.newaxis]
        weighed += silent * self.weights.silent[..., np.newaxis]
        weighed[..., 0] = free[..., 0]
        # silence is part of presence; rounding may leave it larger by a unit in the last place
        blamed = np.maximum(free - silent, 0.0) * self.weights.free[..., np.newaxis]
        blamed[..., 0] = 0.0
        presence: dict[int, Array] = {}
        blame: dict[int, Array] = {}
        states: dict[int, Array] = {}
        predicted: dict[int, Array] = {}
        with np.errstate(invalid="ignore", divide="ignore"):
            total = weighed.sum(-1, keepdims=True)
            total[impossible] = np.nan
            present = weighed / total
            blamed /= total
            for node, mass in self.asked.items():
                mass[impossible] = np.nan
                predicted[node] = mass / mass.sum(1, keepdims=True)
                states[node] = predicted[node]
                if node in self.values:
                    counted = mass * self.values[node]
                    states[node] = counted / counted.sum(1, keepdims=True)
        followed = self.structure.followed
        for row, node in enumerate(self.structure.parts):
            if not self._is_read(row):
                continue
            size = self.structure.network.nodes[node].scale.size
            presence[node] = present[:, row, :size]
            if followed is None or node in followed:
                blame[node] = blamed[:, row, :size]
            if node in self.structure.asked:
                states[node] = presence[node]
        return Solution(log_sum, presence, blame, states, predicted, 0.0)
