"""Laws that hold for every network and all evidence."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.inference.layout import Impossible, lay_out
from diagnose.inference.scale import GOOD, OVER, Array
from diagnose.inference.solve import Blameless, Solution, log_evidence, solve
from tests.inference.agreement import how_many, laid_out, silent, solved
from tests.oracle import PlainArrow, PlainEvidence, PlainNetwork, PlainNode
from tests.strategies import (
    Seeded,
    Size,
    cases,
    likelihoods,
    network,
    plain_evidence,
    plain_network,
    support,
)

MIDDLE = Size(parts=(2, 8), indications=(2, 8))
Case = tuple[PlainNetwork, PlainEvidence]
laws = settings(max_examples=how_many(80), deadline=None)


def _same(one: Solution, other: Solution, rename: dict[int, int] | None = None) -> None:
    np.testing.assert_allclose(one.log_evidence, other.log_evidence, rtol=1e-10, atol=1e-10)
    for mine, theirs in ((one.presence, other.presence), (one.blame, other.blame)):
        for node, values in mine.items():
            other_node = rename[node] if rename else node
            np.testing.assert_allclose(values, theirs[other_node], rtol=0, atol=1e-10)


@given(case=cases(MIDDLE))
@laws
def test_presence_adds_up_and_blame_is_a_share_of_it(case: Case) -> None:
    """Presence sums to one; blame lies between nothing and presence; a good part has none."""
    found = solved(*case, asked=range(len(case[0].nodes)))
    if found is None:
        return
    for node, presence in found.presence.items():
        assert presence.sum() == pytest.approx(1.0, abs=1e-12)
        assert np.all(presence >= 0)
        assert np.all(found.blame[node] >= 0)
        assert np.all(found.blame[node] <= presence + 1e-15)
        assert found.blame[node][0, 0] == 0.0
    for states in found.states.values():
        assert states.sum() == pytest.approx(1.0, abs=1e-12)


@given(case=cases(MIDDLE), seed=st.integers(0, 10_000))
@laws
def test_the_order_of_nodes_and_arrows_does_not_matter(case: Case, seed: int) -> None:
    """Any other numbering with parents first, and any order of the arrows into a node."""
    plain, evidence = case
    rng = np.random.default_rng(seed)
    waiting = {n: {a.parent for a in plain.into(n)} for n in range(len(plain.nodes))}
    order: list[int] = []
    while waiting:
        ready = [n for n, parents in waiting.items() if parents <= set(order)]
        order.append(int(rng.choice(ready)))
        del waiting[order[-1]]
    new = {node: number for number, node in enumerate(order)}
    arrows = [replace(a, parent=new[a.parent], child=new[a.child]) for a in plain.arrows]
    rng.shuffle(arrows)
    other = PlainNetwork(tuple(plain.nodes[n] for n in order), tuple(arrows))
    moved = PlainEvidence(
        {new[n]: row for n, row in evidence.likelihood.items()},
        frozenset(new[n] for n in evidence.signs),
    )
    first, second = solved(plain, evidence), solved(other, moved)
    assert (first is None) == (second is None)
    if first is not None and second is not None:
        _same(first, second, new)


@given(case=cases(MIDDLE), data=st.data())
@laws
def test_an_indication_nobody_looked_at_changes_nothing(case: Case, data: st.DataObject) -> None:
    """Without evidence below it a node may be left out, or asked for, or given an empty likelihood."""
    plain, evidence = case
    used = {a.parent for a in plain.arrows} | set(evidence.likelihood)
    leaves = [n for n, node in enumerate(plain.nodes) if not node.part and n not in used]
    first = solved(plain, evidence)
    if not leaves or first is None:
        return
    leaf = data.draw(st.sampled_from(leaves))
    asked = solved(plain, evidence, asked=[leaf])
    nothing = (Fraction(1),) * len(plain.nodes[leaf].sides)
    empty = PlainEvidence({**evidence.likelihood, leaf: nothing}, evidence.signs)
    assert asked is not None
    _same(first, asked)
    told = solved(plain, empty)
    assert told is not None
    _same(first, told)
    shorter = PlainNetwork(
        (
            *plain.nodes[:leaf],
            PlainNode((GOOD,), (0,), (Fraction(1), Fraction(0), Fraction(0)), (), (Fraction(1),), False),
            *plain.nodes[leaf + 1 :],
        ),
        tuple(a for a in plain.arrows if a.child != leaf),
    )
    without = solved(shorter, evidence)
    assert without is not None
    _same(first, without)


@given(case=cases(MIDDLE), data=st.data())
@laws
def test_evidence_for_a_cause_alone_weighs_by_its_likelihood(case: Case, data: st.DataObject) -> None:
    """An indication that only one part can push multiplies the odds of that part's states.

    P(X = x | everything else) depends on the part alone, so whatever else is known, posterior odds are the
    odds before times the likelihood ratio: a ratio above 1 never lowers the cause. (With a second
    parent no such law holds: the sign may speak for the other and against this one.)
    """
    plain, evidence = case
    before = solved(plain, evidence)
    parts = [n for n, node in enumerate(plain.nodes) if node.part]
    if before is None:
        return
    part = data.draw(st.sampled_from(parts))
    modes = len(plain.nodes[part].sides)
    leak = Fraction(data.draw(st.integers(1, 30)), 100)
    chances = [Fraction(data.draw(st.integers(0, 20)), 20) for _ in range(modes - 1)]
    own = PlainNode(
        (GOOD, OVER), (0, 1), (Fraction(1), Fraction(0), Fraction(0)), (), (1 - leak, leak), False
    )
    rows = ((Fraction(1), Fraction(0)), *[(1 - c, c) for c in chances])
    leaf = len(plain.nodes)
    more = PlainNetwork((*plain.nodes, own), (*plain.arrows, PlainArrow(part, leaf, rows, True)))
    seen = PlainEvidence({**evidence.likelihood, leaf: (Fraction(0), Fraction(1))}, evidence.signs | {leaf})
    after = solved(more, seen)
    if part not in before.presence:
        before = solved(plain, evidence, asked=[part])
        assert before is not None
    assert after is not None
    weight = np.array([float(leak)] + [float(1 - (1 - leak) * (1 - c)) for c in chances])
    expected = before.presence[part][0] * weight
    expected /= expected.sum()
    np.testing.assert_allclose(after.presence[part][0], expected, atol=1e-10)
    assert after.presence[part][0, 0] <= before.presence[part][0, 0] + 1e-12
    for mode in range(1, modes):
        if weight[mode] == weight.max():
            assert after.presence[part][0, mode] >= before.presence[part][0, mode] - 1e-12


@given(case=cases(MIDDLE), data=st.data())
@laws
def test_a_batch_equals_single_runs(case: Case, data: st.DataObject) -> None:
    """Variants of the evidence run together, impossible ones among them, give what each gives alone.

    A variant a million times less probable than the likeliest is not held to as many digits, for it matters
    in proportion; one that is beyond the digits of a double may count as impossible.
    """
    plain, evidence = case
    if not evidence.likelihood:
        return
    values = likelihoods(evidence)
    varied = data.draw(st.sampled_from(sorted(values)))
    size = len(values[varied])
    rows = np.vstack([values[varied], np.eye(size), np.full(size, 0.5)])
    together = {**values, varied: rows}
    try:
        structure = lay_out(network(plain), support(together), evidence.signs, range(len(plain.nodes)))
    except Impossible:
        return
    batch = solve(structure, together)
    assert batch.log_evidence.shape == (len(rows),)
    top = batch.log_evidence.max()
    if np.isneginf(top):
        assert np.isneginf(log_evidence(structure, together)).all()
        return
    share = np.exp(batch.log_evidence - top)
    np.testing.assert_allclose(np.exp(log_evidence(structure, together) - top), share, atol=1e-10)
    for row, alone in enumerate(rows):
        single = solve(structure, {**values, varied: alone})
        if np.isneginf(single.log_evidence[0]):
            assert share[row] < 1e-11
            assert all(np.isnan(posterior).all() for posterior in single.presence.values())
            continue
        if single.log_evidence[0] < top - np.log(1e6):
            continue
        for mine, theirs in (
            (batch.presence, single.presence),
            (batch.blame, single.blame),
            (batch.states, single.states),
        ):
            for node, posterior in mine.items():
                np.testing.assert_allclose(posterior[row], theirs[node][0], atol=1e-9)
        np.testing.assert_allclose(batch.log_evidence[row], single.log_evidence[0], atol=1e-9)


@given(case=cases(MIDDLE), data=st.data())
@laws
def test_to_clamp_a_part_is_to_condition_on_it(case: Case, data: st.DataObject) -> None:
    """P(evidence, state) over P(evidence) is the presence; the others follow by total probability."""
    plain, evidence = case
    free = solved(plain, evidence, asked=range(len(plain.nodes)))
    parts = [n for n, node in enumerate(plain.nodes) if node.part and n not in evidence.likelihood]
    if free is None or not parts:
        return
    part = data.draw(st.sampled_from(parts))
    size = len(plain.nodes[part].sides)
    given_all = {**likelihoods(evidence), part: np.eye(size)}
    structure = lay_out(
        network(plain), {**support(given_all), part: range(size)}, evidence.signs, range(len(plain.nodes))
    )
    clamped = solve(structure, given_all)
    share = np.exp(clamped.log_evidence - free.log_evidence)
    np.testing.assert_allclose(share, free.presence[part][0], atol=1e-10)
    for node, posterior in free.presence.items():
        total = sum(w * row for w, row in zip(share, clamped.presence[node], strict=True) if w > 0)
        np.testing.assert_allclose(total, posterior[0], atol=1e-10)
        blamed = sum(w * row for w, row in zip(share, clamped.blame[node], strict=True) if w > 0)
        np.testing.assert_allclose(blamed, free.blame[node][0], atol=1e-10)


@given(case=cases(MIDDLE), factor=st.floats(1e-30, 1e30))
@laws
def test_only_ratios_of_a_likelihood_count(case: Case, factor: float) -> None:
    """A factor on one likelihood moves the logarithm of the evidence and no posterior."""
    plain, evidence = case
    before = solved(plain, evidence)
    if before is None or not evidence.likelihood:
        return
    values = likelihoods(evidence)
    node = min(values)
    after = solve(laid_out(plain, evidence), {**values, node: values[node] * factor})
    shifted = replace(after, log_evidence=after.log_evidence - np.log(factor))
    _same(before, shifted)


@given(case=cases(MIDDLE), data=st.data())
@laws
def test_silence_and_blame_are_two_sides_of_one_thing(case: Case, data: st.DataObject) -> None:
    """P(a part silent | evidence) is one minus its blame; more parts silent is never more probable."""
    plain, evidence = case
    before = solved(plain, evidence)
    parts = [n for n, node in enumerate(plain.nodes) if node.part]
    if before is None:
        return
    structure = laid_out(plain, evidence)
    values = likelihoods(evidence)
    some = data.draw(st.lists(st.sampled_from(parts), unique=True))
    log = float(before.log_evidence[0])
    for part in parts:
        quiet = float(log_evidence(structure, values, silent([part]))[0])
        blame = float(before.blame[part].sum()) if part in before.blame else 0.0
        assert np.exp(quiet - log) == pytest.approx(1.0 - blame, abs=1e-10)
        half = {part: Blameless(np.array([0.5]), np.array([0.5]))}
        mixed = float(log_evidence(structure, values, half)[0])
        assert np.exp(mixed - log) == pytest.approx(1.0 - blame / 2, abs=1e-10)
    fewer = log
    for number in range(len(some)):
        quiet = float(log_evidence(structure, values, silent(some[: number + 1]))[0])
        assert quiet <= fewer + 1e-12
        fewer = quiet
    nobody = Blameless(np.ones(1), np.zeros(1))
    _same(before, solve(structure, values, dict.fromkeys(parts, nobody)))


def test_a_part_that_no_sign_lies_below_is_silent_already() -> None:
    """To hold it blameless changes nothing, whether it is present or not."""
    plain, evidence = _pushed(Fraction(1, 2), sign=False)
    structure = laid_out(plain, evidence)
    free = log_evidence(structure, likelihoods(evidence))
    held = log_evidence(structure, likelihoods(evidence), silent([0]))
    np.testing.assert_allclose(held, free)


def _pushed(prior: Fraction, sign: bool) -> Case:
    """One part of one mode that pushes one symptom 8 of 10; the symptom seen, or seen good."""
    none = (Fraction(1), Fraction(0), Fraction(0))
    part = PlainNode((GOOD, OVER), (0, 1), none, (), (1 - prior, prior), True)
    symptom = PlainNode((GOOD, OVER), (0, 1), none, (), (Fraction(99, 100), Fraction(1, 100)), False)
    rows = ((Fraction(1), Fraction(0)), (Fraction(1, 5), Fraction(4, 5)))
    seen = (Fraction(0), Fraction(1)) if sign else (Fraction(1), Fraction(0))
    return (
        PlainNetwork((part, symptom), (PlainArrow(0, 1, rows, True),)),
        PlainEvidence({1: seen}, frozenset({1} if sign else ())),
    )


def test_one_part_and_one_symptom_by_hand() -> None:
    """Prior 1 of 10, push 8 of 10, leak 1 of 100, symptom seen.

    Seen and present: 0.1 (1 - 0.2 * 0.99) = 0.0802; seen and absent: 0.9 * 0.01 = 0.009. Present
    0.0802 / 0.0892. Blame is present and drawn: 0.1 * 0.8 / 0.0892, a little less.
    """
    found = solved(*_pushed(Fraction(1, 10), sign=True))
    assert found is not None
    assert np.exp(found.log_evidence[0]) == pytest.approx(0.0892)
    assert found.presence[0][0, 1] == pytest.approx(0.0802 / 0.0892)
    assert found.blame[0][0, 1] == pytest.approx(0.08 / 0.0892)


def test_five_hundred_signs_of_one_part() -> None:
    """Evidence of about 1e-1000 keeps its digits: closed form in logarithms."""
    signs = 500
    none = (Fraction(1), Fraction(0), Fraction(0))
    part = PlainNode((GOOD, OVER), (0, 1), none, (), (Fraction(9, 10), Fraction(1, 10)), True)
    leaf = PlainNode((GOOD, OVER), (0, 1), none, (), (Fraction(99, 100), Fraction(1, 100)), False)
    rows = ((Fraction(1), Fraction(0)), (Fraction(999, 1000), Fraction(1, 1000)))
    plain = PlainNetwork(
        (part, *[leaf] * signs), tuple(PlainArrow(0, n + 1, rows, True) for n in range(signs))
    )
    evidence = PlainEvidence(
        {n + 1: (Fraction(0), Fraction(1)) for n in range(signs)}, frozenset(range(1, signs + 1))
    )
    found = solved(plain, evidence)
    assert found is not None
    present = np.log(0.1) + signs * np.log(1 - 0.99 * 0.999)
    absent = np.log(0.9) + signs * np.log(0.01)
    total = np.logaddexp(present, absent)
    assert total < -1000 * np.log(9)
    assert found.log_evidence[0] == pytest.approx(total, rel=1e-12)
    assert found.presence[0][0, 1] == pytest.approx(np.exp(present - total), rel=1e-9)
    drawn_nothing = np.log(0.1) + signs * np.log(0.999 * 0.01)
    assert found.blame[0][0, 1] == pytest.approx(
        np.exp(present - total) - np.exp(drawn_nothing - total), rel=1e-9
    )


@given(case=cases(MIDDLE))
@laws
def test_a_layout_serves_all_likelihoods_on_its_support(case: Case) -> None:
    """Widening the support of every observation to all states changes no result."""
    plain, evidence = case
    narrow = solved(plain, evidence)
    values = likelihoods(evidence)
    try:
        wide = solve(
            lay_out(network(plain), {n: range(len(v)) for n, v in values.items()}, evidence.signs),
            values,
        )
    except Impossible:
        assert narrow is None
        return
    if narrow is None:
        assert np.isneginf(wide.log_evidence[0])
    else:
        _same(narrow, wide)


@given(case=cases(MIDDLE))
@laws
def test_a_prediction_is_the_posterior_without_the_observation_itself(case: Case) -> None:
    """What all the rest says of each observed indication, read off at once, equals leaving it out."""
    plain, evidence = case
    values = likelihoods(evidence)
    observed = [n for n in values if not plain.nodes[n].part]
    opened = {**support(values), **{n: range(len(values[n])) for n in observed}}
    try:
        together = solve(lay_out(network(plain), opened, evidence.signs, observed, marks=False), values)
    except Impossible:
        return
    if np.isneginf(together.log_evidence[0]):
        return
    for node in observed:
        kept = {n: row for n, row in evidence.likelihood.items() if n != node}
        left_out = solved(plain, PlainEvidence(kept, evidence.signs - {node}), asked=[node])
        assert left_out is not None
        np.testing.assert_allclose(together.predicted[node], left_out.states[node], atol=1e-9)


@given(case=cases(MIDDLE), data=st.data())
@laws
def test_the_blame_of_some_parts_alone(case: Case, data: st.DataObject) -> None:
    """Following the marks of a few parts gives the same blame of these, and the same presence of all."""
    plain, evidence = case
    full = solved(plain, evidence)
    parts = [n for n, node in enumerate(plain.nodes) if node.part]
    if full is None:
        return
    some = data.draw(st.lists(st.sampled_from(parts), unique=True))
    values = likelihoods(evidence)
    found = solve(lay_out(network(plain), support(values), evidence.signs, marks=some), values)
    for node, presence in full.presence.items():
        np.testing.assert_allclose(found.presence[node], presence, atol=1e-10)
    assert set(found.blame) == set(some) & set(full.blame)
    for node, blame in found.blame.items():
        np.testing.assert_allclose(blame, full.blame[node], atol=1e-10)


def test_random_evidence_on_one_network_many_times() -> None:
    """Cached machines are not changed by use: the first answer again after many other questions."""
    answers: dict[int, Array] = {}
    for round_ in range(2):
        for seed in range(20):
            choose = Seeded(seed)
            plain = plain_network(choose, MIDDLE)
            found = solved(plain, plain_evidence(choose, plain, MIDDLE))
            if found is not None and round_ == 0:
                answers[seed] = found.log_evidence
            elif found is not None:
                np.testing.assert_array_equal(found.log_evidence, answers[seed])
    assert answers
