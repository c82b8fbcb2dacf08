"""Numbers into the tables of a structure: priors, likelihoods, and parts held silent.

All tables carry a leading batch axis of size 1 or B, so that many variants of the evidence share one plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.inference.scale import Array
from diagnose.inference.structure import Gatherer, Structure
from diagnose.inference.twofold import Twofold, contract

_ROUNDED = 2.0**-50

Table = Array | Twofold


@dataclass(frozen=True, eq=False)
class Blameless:
    """Weights of a part being present and free to take part, and present but silent, per variant.

    Shapes (B,). The usual question has `free` 1 and `silent` 0; a part held blameless has 0 and 1.
    """

    free: Array
    silent: Array


@dataclass(frozen=True, eq=False)
class Given:
    """The numbers of a question: likelihoods as (B or 1, S), parts held, and how many variants B.

    The likelihoods are scaled to a maximum of 1; `scale`: (B,), logarithm of what was divided out.
    """

    values: Mapping[int, Array]
    held: Mapping[int, Blameless]
    variants: int
    scale: Array


def checked(structure: Structure, likelihood: Mapping[int, Array], held: Mapping[int, Blameless]) -> Given:
    """The numbers, when they fit the structure; ValueError when not."""
    if not likelihood.keys() <= structure.outside.keys():
        raise ValueError("a likelihood for a node that the structure does not observe")
    values: dict[int, Array] = {}
    variants = 1
    scale: Array = np.zeros(1)
    for node, outside in structure.outside.items():
        if node not in likelihood:
            if outside:
                raise ValueError(f"node {node} was laid out as observed, but has no likelihood")
            continue
        given = likelihood[node]
        given = given[np.newaxis] if given.ndim == 1 else given
        if given.ndim != 2 or given.shape[1] != structure.network.nodes[node].scale.size:
            raise ValueError(f"likelihood of node {node} has shape {likelihood[node].shape}")
        top = given.max(1)
        if not (given.min() >= 0 and top.max() < np.inf):  # a number that is none fails too
            raise ValueError(f"likelihood of node {node} is negative or not a number")
        if outside and given[:, outside].any():
            raise ValueError(f"likelihood of node {node} on a state outside its support")
        if top.min() < 1.0 or top.max() > 1.0:
            top = np.where(top > 0, top, 1.0)
            given = given / top[:, np.newaxis]
            scale = scale + np.log(top)
        values[node] = given
        variants = max(variants, len(given))
    for blameless in held.values():
        variants = max(variants, len(blameless.free), len(blameless.silent))
    return Given(values, held, variants, np.broadcast_to(scale, (variants,)))


@dataclass(frozen=True, eq=False)
class Weights:
    """Of N parts with at most S states: prior times likelihood (B, N, S); free and silent (B, N)."""

    own: Array
    free: Array
    silent: Array
    by_state: Array  # (B, N, S): whether marked or not
    by_slot: Array  # (B, N, 2 S): state by state, unmarked and marked


@dataclass(frozen=True, eq=False)
class Filled:
    """What the way back needs of one gatherer.

    `others`: (B, P, K), what has gathered apart from each absorbed part. `ended`: (B, K, C), ends weighed
    and put into classes. `opened`: (B, C_parent or 1, K), what gathers, by its only open parent if it
    has just one.
    """

    others: Array
    ended: Array
    opened: Array


def weigh(structure: Structure, given: Given) -> Weights:
    """Priors, likelihoods and the holding of all parts."""
    parts = structure.parts
    held = given.held
    own = structure.prior[np.newaxis]
    observed = [(row, given.values[node]) for row, node in enumerate(parts) if node in given.values]
    if observed:
        own = np.repeat(own, max(len(values) for _, values in observed), axis=0)
        for row, values in observed:
            own[:, row, : values.shape[1]] *= values
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
    return Weights(own, free, silent, by_slot.sum(-1), flat)


def fill(
    structure: Structure, values: Mapping[int, Array], weights: Weights, exact: bool = False
) -> tuple[list[Table], list[Filled]]:
    """The tables of the nodes, in the order of the contraction's inputs.

    Differences of likelihoods are taken here. `exact` keeps twice the digits of them, so that what they should
    cancel to is found to be nothing, and a small likelihood beside a large one is not lost.
    """
    tables: list[Table] = [np.empty(0)] * structure.tables
    for root in structure.roots:
        table = weights.by_slot[:, root.row] @ root.to_class
        tables[root.table] = table if table.shape[1] > 1 else table[:, 0]
    return tables, [_gather(g, values, weights, tables, exact) for g in structure.gatherers]


def _gather(
    gatherer: Gatherer, values: Mapping[int, Array], weights: Weights, tables: list[Table], exact: bool
) -> Filled:
    """Fill the tables of one gatherer."""
    vector = gatherer.start
    others = vector[:, np.newaxis]
    if gatherer.absorbed:
        rows = (weights.by_slot if gatherer.tells_marks else weights.by_state)[:, gatherer.absorbed]
        drawn = (rows[..., np.newaxis] * gatherer.moved).sum(2)
        others = _all_but_one(drawn) * vector[:, np.newaxis]
        vector = others[:, 0] * drawn[:, 0]
    weighed = _weighed(gatherer, values, weights)
    ended: Array = gatherer.gathered.ends @ weighed
    first, final = gatherer.tables
    links = gatherer.links
    opened = vector[:, np.newaxis]
    if len(links) < 2:
        if links:
            opened = opened * links[0]
        table = _by_class(gatherer, opened, weighed, ended, exact)
        tables[final] = table if links else table[:, 0]
        return Filled(others, ended, opened)
    several = vector.shape[1] > 1
    for position, link in enumerate(links):
        tables[first + 1 + position] = link[np.newaxis] if several else link[np.newaxis, :, 0]
    own: Table = vector
    ends: Table = _exactly(gatherer, weighed) if exact else ended
    if ended.shape[2] > 1:
        tables[final] = ends if several else ends[:, 0]
    elif isinstance(ends, Twofold):
        own = contract(Twofold.of(vector), ends[..., 0], "bk,bk->bk")
    else:
        own = vector * ends[..., 0]
    tables[first] = own if several else own[:, 0]
    return Filled(others, ended, opened)


def _by_class(gatherer: Gatherer, opened: Array, weighed: Array, ended: Array, exact: bool) -> Table:
    """The table of a gatherer of one table: (B, C_parent or 1, C), without the last axis if that is of one."""
    if exact:
        table = contract(Twofold.of(opened), _exactly(gatherer, weighed), "bpk,bkc->bpc")
        return table if ended.shape[2] > 1 else table[..., 0]
    plain: Array = opened @ ended
    # a chance below the last place of the terms it is a difference of is none
    plain[np.abs(plain) < _ROUNDED * (opened @ np.abs(ended))] = 0.0
    return plain if ended.shape[2] > 1 else plain[..., 0]


def _exactly(gatherer: Gatherer, weighed: Array) -> Twofold:
    """From what has gathered to the node's classes, weighed, with no digit of the differences lost."""
    return contract(Twofold.of(gatherer.gathered.ends), Twofold.of(weighed), "kl,blc->bkc")


def _all_but_one(factors: Array) -> Array:
    """Product along axis 1 of all the others, without dividing; shape as given."""
    result = np.ones_like(factors)
    np.cumprod(factors[:, :-1], axis=1, out=result[:, 1:])
    onward = np.cumprod(factors[:, :0:-1], axis=1)
    result[:, :-1] *= onward[:, ::-1]
    return result


def _weighed(gatherer: Gatherer, values: Mapping[int, Array], weights: Weights) -> Array:
    """From the node's labels to its classes, weighed by what was observed: (B, L, C)."""
    gathered, lineage = gatherer.gathered, gatherer.lineage
    if lineage is not None:
        free = weights.free[:, gatherer.row].reshape(-1, 1, 1)
        silent = weights.silent[:, gatherer.row].reshape(-1, 1, 1)
        to_class = lineage.good + free * lineage.free + silent * lineage.silent
    else:
        to_class = gathered.to_class[np.newaxis]
    if gatherer.node in values:
        to_class = to_class * values[gatherer.node][:, gathered.states, np.newaxis]
    return to_class
