"""Numbers into a structure: one forward run, one backward run, and the posteriors read off.

All tables carry a leading batch axis, so that many variants of the evidence (the outcomes of a
check, the steps of an integration) share one plan. Presence and silence of every part come from the
same backward run; a part's blame is the difference of the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.inference.contraction import Run, run_backward, run_forward
from diagnose.inference.scale import Array
from diagnose.inference.structure import Laid, Structure


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
    entry 0 the good state (blame 0). `states[node]`: shape (B, S), for nodes that were asked.
    Rows of an impossible variant are NaN.
    """

    log_evidence: Array
    presence: Mapping[int, Array]
    blame: Mapping[int, Array]
    states: Mapping[int, Array]


@dataclass(frozen=True, eq=False)
class _Filled:
    """Input tables of one run, with what the way back needs of the absorbed parts."""

    tables: tuple[Array, ...]
    before: Mapping[tuple[int, int], Array]  # (node, position): accumulation before that part
    weights: Mapping[int, Array]  # (B, X) weights of an absorbed part's outcomes


def log_evidence(
    structure: Structure,
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless] | None = None,
) -> Array:
    """Natural logarithm of the probability of the evidence, shape (B,)."""
    filled = _fill(structure, likelihood, held or {})
    return run_forward(structure.contraction, filled.tables).log_sum


def solve(
    structure: Structure,
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless] | None = None,
) -> Solution:
    """Posteriors of all parts and of the asked nodes. Likelihoods of shape (S,) or (B, S)."""
    filled = _fill(structure, likelihood, held or {})
    run = run_forward(structure.contraction, filled.tables)
    return _read(structure, likelihood, filled, run)


def _over_outcomes(laid: Laid, likelihood: Mapping[int, Array]) -> Array:
    """Likelihood of each outcome of a node, shape (B or 1, X)."""
    states = [state for state, _ in laid.outcomes]
    values = likelihood.get(laid.node)
    if values is None:
        return np.ones((1, len(states)))
    return np.atleast_2d(values)[:, states]


def _part_weights(laid: Laid, held: Mapping[int, Blameless]) -> Array:
    """Free or silent weight of each outcome of a part, shape (B or 1, X)."""
    blameless = held.get(laid.node)
    if blameless is None:
        return np.array([[0.0 if marked else 1.0 for _, marked in laid.outcomes]])
    columns = [
        np.ones_like(blameless.free)
        if state == 0
        else (blameless.silent if marked else blameless.free)
        for state, marked in laid.outcomes
    ]
    return np.stack(columns, axis=1)


def _fill(
    structure: Structure, likelihood: Mapping[int, Array], held: Mapping[int, Blameless]
) -> _Filled:
    before: dict[tuple[int, int], Array] = {}
    weights: dict[int, Array] = {}
    start: dict[int, Array] = {}
    for node, laid in structure.laid.items():
        if laid.start is None:
            continue
        vector = laid.start.sum(0)[np.newaxis]
        for position, folded in enumerate(laid.absorbed):
            part = structure.laid[folded.part]
            weight = part.prior * _part_weights(part, held) * _over_outcomes(part, likelihood)
            weights[folded.part] = weight
            before[node, position] = vector
            moved = np.einsum("bx,xij->bij", weight, folded.transitions)
            vector = np.einsum("bi,bij->bj", vector, moved)
        start[node] = vector
    tables = []
    for piece in structure.pieces:
        laid = structure.laid[piece.node]
        tables.append(_table(structure, piece.what, piece.link, laid, start, likelihood, held))
    return _Filled(tuple(tables), before, weights)


def _table(
    structure: Structure,
    what: str,
    link: int,
    laid: Laid,
    start: Mapping[int, Array],
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless],
) -> Array:
    if what == "asked":
        return np.ones((1, len(laid.outcomes)))
    if laid.gathered is None:
        assert laid.prior is not None
        return laid.prior * _part_weights(laid, held) * _over_outcomes(laid, likelihood)
    if what == "start":
        return start[laid.node]
    if what == "ends":
        return _part_ends(laid, likelihood, held)
    if what == "root":
        return _closed(structure, laid, start[laid.node][:, np.newaxis], likelihood)[:, 0]
    transitions = laid.entering[link][1]
    if what == "first":
        return np.einsum("bk,pkj->bpj", start[laid.node], transitions)
    if what == "only":
        opened = np.einsum("bk,pkj->bpj", start[laid.node], transitions)
        return _closed(structure, laid, opened, likelihood)
    if what == "middle":
        return transitions[np.newaxis]
    return _closed(structure, laid, transitions[np.newaxis], likelihood)


def _closed(
    structure: Structure, laid: Laid, table: Array, likelihood: Mapping[int, Array]
) -> Array:
    """Turn the last axis, an accumulation, into outcomes weighed by their likelihood.

    The outcome axis is summed when the node has no variable of its own.
    """
    assert laid.gathered is not None
    over = _over_outcomes(laid, likelihood)
    ends = laid.gathered.ends
    if _has_variable(structure, laid):
        closed = table @ ends
        shape = (over.shape[0],) + (1,) * (closed.ndim - 2) + (over.shape[1],)
        return closed * over.reshape(shape) if laid.node in structure.observed else closed
    final = over @ ends.T  # (B, K)
    if table.ndim == 2:
        return np.einsum("bk,bk->b", table, final)
    summed: Array = np.einsum("b...k,bk->b...", table, final)
    return summed


def _has_variable(structure: Structure, laid: Laid) -> bool:
    return laid.node in structure.variables


def _part_ends(
    laid: Laid, likelihood: Mapping[int, Array], held: Mapping[int, Blameless]
) -> Array:
    """Table (B, K, X) from a part's accumulation to its outcomes, free, silent or by lineage."""
    assert laid.gathered is not None
    over = _over_outcomes(laid, likelihood)
    weights = _part_weights(laid, held)
    batch = max(over.shape[0], weights.shape[0])
    table = np.zeros((batch, laid.gathered.size, len(laid.outcomes)))
    for x, (state, marked) in enumerate(laid.outcomes):
        plain = laid.gathered.place.get((state, False))
        if plain is not None:
            table[:, :, x] += laid.gathered.ends[:, plain] * weights[:, x, np.newaxis]
        lineage = laid.gathered.place.get((state, True))
        if marked and lineage is not None:
            table[:, :, x] += laid.gathered.ends[:, lineage]
        table[:, :, x] *= over[:, x, np.newaxis]
    return table


def _read(
    structure: Structure, likelihood: Mapping[int, Array], filled: _Filled, run: Run
) -> Solution:
    adjoints = run_backward(run)
    presence: dict[int, Array] = {}
    blame: dict[int, Array] = {}
    states: dict[int, Array] = {}
    from_start: dict[int, Array] = {}
    network = structure.network
    for piece, adjoint in zip(structure.pieces, adjoints, strict=True):
        laid = structure.laid[piece.node]
        if piece.what == "asked":
            size = network.nodes[piece.node].scale.size
            states[piece.node] = _normal(_by_state(laid, adjoint, size))
        elif laid.gathered is None:
            assert laid.prior is not None
            over = laid.prior * _over_outcomes(laid, likelihood) * adjoint
            _split(network.nodes[piece.node].scale.size, laid, over, presence, blame)
        elif piece.what == "ends":
            _split_ends(laid, likelihood, adjoint, structure, presence, blame)
        if laid.absorbed and piece.what in ("root", "first", "only", "start"):
            from_start[piece.node] = _start_adjoint(
                structure, piece.what, laid, adjoint, likelihood
            )
    for node, back in from_start.items():
        _read_absorbed(structure, node, back, filled, likelihood, presence, blame)
    return Solution(run.log_sum, presence, blame, states)


def _start_adjoint(
    structure: Structure, what: str, laid: Laid, adjoint: Array, likelihood: Mapping[int, Array]
) -> Array:
    """Derivative with respect to the accumulation after the absorbed parts, shape (B, K)."""
    assert laid.gathered is not None
    if what == "start":
        return adjoint
    if what == "first":
        return np.einsum("bpj,pkj->bk", adjoint, laid.entering[0][1])
    over = _over_outcomes(laid, likelihood)
    ends = laid.gathered.ends
    if _has_variable(structure, laid):
        if laid.node in structure.observed:
            shape = (over.shape[0],) + (1,) * (adjoint.ndim - 2) + (over.shape[1],)
            adjoint = adjoint * over.reshape(shape)
        opened = adjoint @ ends.T
    else:
        final = over @ ends.T
        if what == "root":
            opened = adjoint[:, np.newaxis] * final
        else:
            opened = adjoint[:, :, np.newaxis] * final[:, np.newaxis]
    if what == "root":
        return opened
    back: Array = np.einsum("bpj,pkj->bk", opened, laid.entering[0][1])
    return back


def _read_absorbed(
    structure: Structure,
    node: int,
    back: Array,
    filled: _Filled,
    likelihood: Mapping[int, Array],
    presence: dict[int, Array],
    blame: dict[int, Array],
) -> None:
    laid = structure.laid[node]
    for position in reversed(range(len(laid.absorbed))):
        folded = laid.absorbed[position]
        part = structure.laid[folded.part]
        assert part.prior is not None
        before = filled.before[node, position]
        onward = np.einsum("xij,bj->bxi", folded.transitions, back)
        adjoint = np.einsum("bi,bxi->bx", before, onward)
        over = part.prior * _over_outcomes(part, likelihood) * adjoint
        size = structure.network.nodes[folded.part].scale.size
        _split(size, part, over, presence, blame)
        back = np.einsum("bx,bxi->bi", filled.weights[folded.part], onward)


def _split(
    size: int, laid: Laid, masses: Array, presence: dict[int, Array], blame: dict[int, Array]
) -> None:
    """Presence and blame of a root part from the masses of its outcomes, shape (B, X)."""
    here = np.zeros((masses.shape[0], size))
    silent = np.zeros_like(here)
    marked_states = {state for state, marked in laid.outcomes if marked}
    for x, (state, marked) in enumerate(laid.outcomes):
        (silent if marked else here)[:, state] += masses[:, x]
    for state in range(1, size):
        if state not in marked_states:
            silent[:, state] = here[:, state]
    _store(laid.node, here, silent, presence, blame)


def _split_ends(
    laid: Laid,
    likelihood: Mapping[int, Array],
    adjoint: Array,
    structure: Structure,
    presence: dict[int, Array],
    blame: dict[int, Array],
) -> None:
    """Presence and blame of a part that others can ruin, from the table of its ends."""
    assert laid.gathered is not None
    size = structure.network.nodes[laid.node].scale.size
    over = _over_outcomes(laid, likelihood)
    here = np.zeros((adjoint.shape[0], size))
    silent = np.zeros_like(here)
    has_shadow = {state for state, marked in laid.outcomes if marked}
    for x, (state, marked) in enumerate(laid.outcomes):
        plain = laid.gathered.place.get((state, False))
        if plain is None:
            continue
        mass = (adjoint[:, :, x] @ laid.gathered.ends[:, plain]) * over[:, x]
        (silent if marked else here)[:, state] += mass
    for state in range(1, size):
        if state not in has_shadow:
            silent[:, state] = here[:, state]
    _store(laid.node, here, silent, presence, blame)


def _store(
    node: int, here: Array, silent: Array, presence: dict[int, Array], blame: dict[int, Array]
) -> None:
    with np.errstate(invalid="ignore", divide="ignore"):
        total = here.sum(1, keepdims=True)
        presence[node] = here / total
        # silence is part of presence; rounding may leave it larger by one unit in the last place
        share = np.maximum(here - silent, 0.0) / total
    share[:, 0] = 0.0
    blame[node] = share


def _by_state(laid: Laid, masses: Array, size: int) -> Array:
    result = np.zeros((masses.shape[0], size))
    for x, (state, _) in enumerate(laid.outcomes):
        result[:, state] += masses[:, x]
    return result


def _normal(masses: Array) -> Array:
    with np.errstate(invalid="ignore", divide="ignore"):
        shares: Array = masses / masses.sum(1, keepdims=True)
    return shares
