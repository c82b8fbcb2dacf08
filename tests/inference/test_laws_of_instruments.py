"""What must hold of instruments: one that is tired is one suspect, and what is said of it holds for all it read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from math import log2
from pathlib import Path

import numpy as np
import pytest

from diagnose.advice.outlook import outlook
from diagnose.evidence.collect import collect
from diagnose.explanation.contributions import contributions
from diagnose.inference import trust
from diagnose.inference.answer import answer
from diagnose.inference.asking import ask
from diagnose.inference.conflict import tail
from diagnose.inference.layout import Impossible
from diagnose.inference.question import CLOSE_ENOUGH, Question
from diagnose.inference.sets import explanations
from diagnose.inference.solve import solve
from diagnose.inference.trust import with_dials
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case as BenchCase
from diagnose.model.case import Observation
from tests import oracle
from tests.inference import metered
from tests.inference.agreement import how_many
from tests.inference.metered import DEAD, LOW, TRUE, Case, Metered, PlainReading, metered_case
from tests.oracle import DOWN, GOOD, OVER, UP, PlainArrow, PlainEvidence, PlainNetwork, PlainNode
from tests.rig_truth import metered_assembly, truth
from tests.strategies import Seeded, Size

NOTHING = Fraction(0)
RARE = Fraction(1, 100)
FAIR = (Fraction(1, 2), Fraction(1, 4), Fraction(1, 4))


def few(of: int) -> Fraction:
    return Fraction(of, 1000)


def bench(parts: int, meters: int, astray: Fraction = RARE) -> PlainNetwork:
    """Parts that are weak or dead, each with a quantity of its own (normal, low, high, absent), and meters."""
    nodes = [PlainNode((GOOD, OVER), (0, 1), FAIR, (), (few(980), few(20)), True) for _ in range(parts)]
    row = (few(100), few(800), NOTHING, few(100))
    arrows = []
    for part in range(parts):
        arrows.append(PlainArrow(part, parts + part, ((Fraction(1), *(NOTHING,) * 3), row), True))
        leak = (few(994), few(2), few(2), few(2))
        nodes.append(PlainNode((GOOD, DOWN, UP, OVER), (0, 1, 1, 1), FAIR, (), leak, False))
    shows = (1 - 3 * astray, astray, astray, astray)
    nodes += [PlainNode((GOOD, DOWN, UP, OVER), (0, 1, 1, 1), FAIR, (), shows, False)] * meters
    return PlainNetwork(tuple(nodes), tuple(arrows))


def read_as(state: int, node: int, *instruments: int) -> PlainReading:
    """A reading that is surely of one state: of the quantity itself, or of what a meter makes of a good value."""
    values = [few(1)] * 4
    values[state] = Fraction(1)
    low, high, dead = (Fraction(state == s) for s in (1, 2, 3))
    return PlainReading(
        node,
        tuple((instrument, Fraction(1)) for instrument in instruments),
        tuple(values),
        low,
        high,
        dead,
        FAIR,
        state > 0,
    )


def asked(network: PlainNetwork, *readings: PlainReading) -> Question:
    instruments = tuple(sorted({node for reading in readings for node, _ in reading.instruments}))
    case = Case(network, PlainEvidence(), instruments, readings)
    return with_dials(metered.question(case), metered.readings(case))


def believed(question: Question, nodes: Sequence[int]) -> list[list[float]]:
    """The posterior of some nodes."""
    structure = question.structure(nodes)
    found = solve(structure, question.likelihood)
    return [found.states[node][0].tolist() for node in nodes]


@pytest.mark.parametrize("count", [2, 3, 5, 8])
def test_one_tired_meter_is_one_suspect(count: int) -> None:
    """The more readings of one meter are low, the less any part is suspected; each by itself blames its part."""
    network, meter = bench(count, 1), 2 * count
    alone = believed(asked(network, read_as(1, count, meter)), [0])[0][1]
    together = believed(
        asked(network, *(read_as(1, count + n, meter) for n in range(count))), [meter, *range(count)]
    )
    assert together[0][LOW] > 0.9
    assert all(part[1] < alone for part in together[1:])
    assert all(part[1] < 0.1 for part in together[1:])


def test_two_meters_that_agree_blame_the_parts() -> None:
    """Each quantity read low with both meters: the meters are acquitted, and belief in the part has risen."""
    network, one, two = bench(2, 2, few(2)), 4, 5
    with_one = believed(asked(network, read_as(1, 2, one)), [0])[0][1]
    with_both = believed(asked(network, read_as(1, 2, one), read_as(1, 2, two)), [0, one, two])
    assert with_both[0][1] > with_one
    everything = [read_as(1, node, meter) for node in (2, 3) for meter in (one, two)]
    found = believed(asked(network, *everything), [0, 1, one, two])
    assert found[0][1] > 0.5
    assert found[1][1] > 0.5
    assert found[2][TRUE] > 0.9
    assert found[3][TRUE] > 0.9


def test_meters_that_disagree_are_one_of_them_astray() -> None:
    """One quantity, low on one meter and normal on the other: a meter is wrong, and which is not known."""
    network = bench(1, 2)
    found = believed(asked(network, read_as(1, 1, 2), read_as(0, 1, 3)), [0, 2, 3])
    assert found[1][LOW] > 0.3
    assert found[1][TRUE] + found[2][TRUE] < 1.3
    assert found[0][1] < 0.5


def test_a_meter_that_reads_low_can_hide_a_high() -> None:
    """A normal reading of a meter that is known to read low leaves room for a high value."""
    network = bench(1, 1)
    question = asked(network, read_as(0, 1, 2))
    free = believed(question, [1])[0]
    known = replace(question, likelihood={**question.likelihood, 2: np.array([0.0, 1.0, 0.0, 0.0])})
    hidden = believed(known, [1])[0]
    assert free[2] < 0.01
    assert hidden[2] > 0.5  # a good value would have been shown low


@pytest.mark.parametrize("count", [2, 4])
def test_nothing_on_every_range_is_the_dead_meter(count: int) -> None:
    """One zero may be a dead part; zero everywhere is the meter."""
    network, meter = bench(count, 1), 2 * count
    found = believed(
        asked(network, *(read_as(3, count + n, meter) for n in range(count))), [meter, *range(count)]
    )
    assert found[0][DEAD] > 0.8
    assert all(part[1] < 0.15 for part in found[1:])


@pytest.mark.parametrize("kind", [Metered(instruments=(1, 2), pushed=0, tells=0)])
def test_an_instrument_that_cannot_be_astray_changes_nothing(kind: Metered) -> None:
    """With a meter that is always true a reading is evidence on the quantity itself."""
    compared = 0
    for seed in range(how_many(30)):
        case = metered_case(Seeded(130_000 + seed), kind)
        sure = PlainNode(
            (GOOD, DOWN, UP, OVER), (0, 1, 1, 1), FAIR, (), (Fraction(1), *(NOTHING,) * 3), False
        )
        nodes = tuple(sure if n in case.instruments else node for n, node in enumerate(case.network.nodes))
        case = replace(case, network=PlainNetwork(nodes, case.network.arrows))
        direct = metered.question(case)
        likelihood = dict(direct.likelihood)
        for reading in case.readings:
            size = len(nodes[reading.node].sides)
            row = np.zeros(size)
            row[: len(reading.states)] = [float(v) for v in reading.states]
            likelihood[reading.node] = likelihood.get(reading.node, np.ones(size)) * row
        read = frozenset(r.node for r in case.readings if r.abnormal)
        direct = replace(direct, likelihood=likelihood, abnormal=direct.abnormal | read)
        own = [n for n in range(len(nodes)) if n not in case.instruments]
        try:
            wanted = believed(direct, own)
            found = believed(with_dials(metered.question(case), metered.readings(case)), own)
        except Impossible:
            continue
        compared += 1
        for one, other in zip(wanted, found, strict=True):
            assert one == pytest.approx(other, abs=1e-9, nan_ok=True)
    assert compared > 10


def test_without_its_readings_an_instrument_is_as_before() -> None:
    """Its prior is all that is known of it when the readings are taken away, one dial after another."""
    network = bench(2, 1)
    question = asked(network, read_as(1, 2, 4), read_as(1, 3, 4))
    assert believed(question, [4])[0][LOW] > 0.3
    for dial in tuple(question.dials):
        question = question.without(dial)
    assert believed(question, [4])[0] == pytest.approx([0.97, 0.01, 0.01, 0.01], abs=1e-12)


WIDE_KINDS = {
    "one meter of many readings": Metered(Size(parts=(2, 3), indications=(2, 4)), (1, 1), (4, 5), tells=0),
    "two meters": Metered(Size(parts=(1, 3), indications=(2, 3)), (2, 2), (4, 4), tells=0),
}


@pytest.mark.parametrize("kind", WIDE_KINDS)
@pytest.mark.parametrize("budget", [30.0, 200.0])
def test_what_was_left_out_is_bounded(kind: str, budget: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where meters are taken as true, the evidence that this leaves out is no more than the bound says.

    So is what it does to any posterior; and only what lost nothing is called exact.
    """
    monkeypatch.setattr(trust, "WIDE", budget)
    monkeypatch.setattr(trust, "DEFAULT_BUDGET", budget)
    trusted = bounded = 0
    for seed in range(how_many(12)):
        case = metered_case(Seeded(140_000 + seed), WIDE_KINDS[kind])
        exact = oracle.solve(*metered.with_dials(case))
        question = with_dials(metered.question(case), metered.readings(case))
        if exact is None or question.left_out == 0.0:
            continue
        trusted += 1
        found = answer(question)
        assert found.exact <= (question.left_out <= CLOSE_ENOUGH)
        if found.contradiction or not np.isfinite(question.left_out):
            continue  # the readings cannot be right together with meters that are true
        bounded += 1
        kept = np.exp(found.solution.log_evidence[0])
        assert kept <= float(exact.evidence) * (1 + 1e-9)
        assert float(exact.evidence) <= kept * (1 + question.left_out) * (1 + 1e-9)
        off = question.left_out
        for node, values in found.solution.presence.items():
            for state, value in enumerate(values[0].tolist()):
                true = float(exact.states[node][state])
                assert value / (1 + off) - 1e-9 <= true <= 1 - (1 - value) / (1 + off) + 1e-9
    assert trusted > 0
    assert bounded > 0


def test_a_reading_that_says_nothing_convicts_nobody_where_it_is_hardened() -> None:
    """All states as likely as each other but for the last digit: hardened it is good, as most sets are."""
    network = bench(1, 1)
    says_nothing = replace(read_as(3, 1, 2), states=(few(999), few(999), few(999), Fraction(1)))
    question = asked(network, says_nothing)
    hard = question.hardened()
    (dial,) = question.dials
    assert hard.likelihood[dial].argmax() == 0
    told = asked(network, read_as(3, 1, 2)).hardened()
    assert told.likelihood[dial].argmax() == 3


# A rail and its tap, both read low with one meter.
SEEN = (
    Observation("hv.voltage", value=510.0, meter="voltmeter"),
    Observation("hv.tap", value=250.0, meter="voltmeter"),
)


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: Path = tmp_path_factory.mktemp("book")
    return metered_assembly(folder)


@pytest.fixture(scope="module")
def on_dials(assembly: Assembly) -> Question:
    case = BenchCase("t", "small", observations=SEEN)
    question = ask(assembly, case, collect(assembly, case))
    assert sorted(question.name_of(dial) for dial in question.dials) == ["hv.tap", "hv.voltage"]
    return question


def test_parts_of_a_meter_are_blamed_as_brute_force_says(assembly: Assembly, on_dials: Question) -> None:
    """Presence and blame of every part, those of the meter among them."""
    exact = truth(on_dials)
    found = answer(on_dials).solution
    for node, values in found.presence.items():
        assert values[0].tolist() == pytest.approx([float(v) for v in exact.states[node]], abs=1e-9)
        assert found.blame[node][0].tolist() == pytest.approx([float(v) for v in exact.blame[node]], abs=1e-9)
    meter = assembly.parts["voltmeter.calibration"]
    assert found.blame[on_dials.bones.index[meter.id]][0, 1] > 0.05


def test_sets_with_the_meter_in_them_agree_with_brute_force(on_dials: Question) -> None:
    """The probability that exactly these take part: the meter alone, a part alone, or both."""
    names = ("voltmeter.calibration", "hv.rectifier", "hv.dropper")
    suspects = [on_dials.bones.index[name] for name in names]
    sets = explanations(on_dials, suspects)
    everyone = frozenset(suspects)
    silent = [everyone - frozenset(c) for size in range(4) for c in combinations(suspects, size)]
    exact = truth(on_dials, sets=silent)
    for chosen, probability in sets.items():
        total = sum(
            (-1) ** (len(chosen) - size) * exact.silent[everyone - frozenset(inner)]
            for size in range(len(chosen) + 1)
            for inner in combinations(chosen, size)
        )
        assert probability == pytest.approx(float(total / exact.evidence), abs=1e-9)
    assert sum(sets.values()) == pytest.approx(1.0, abs=1e-9)


def test_contributions_of_dials_add_up(assembly: Assembly, on_dials: Question) -> None:
    """Bits for and against each cause sum to the change of its log odds, the meter's causes too."""
    exact = truth(on_dials)
    for name in ("voltmeter.calibration", "hv.rectifier", "hv.dropper"):
        part = on_dials.bones.index[name]
        for mode in range(1, 1 + len(assembly.parts[name].part.modes)):
            shares, residual = contributions(on_dials, part, mode)
            after = float(exact.states[part][mode])
            before = float(on_dials.network.nodes[part].leak[mode])
            wanted = log2(after / (1 - after)) - log2(before / (1 - before))
            assert sum(shares.values()) + residual == pytest.approx(wanted, abs=1e-9)
            assert abs(residual) < 0.05


def test_conflict_weighs_each_dial_against_the_rest(assembly: Assembly, on_dials: Question) -> None:
    """The least believable reading: its tail by brute force with that reading left out, times their number.

    Low was found: low in truth, or a good value that the meter shows low, whichever is the likelier.
    """
    found = tail(on_dials, collect(assembly, BenchCase("t", "small", observations=SEEN)))
    tails = []
    for dial, of in on_dials.dials.items():
        rest = truth(on_dials.without(dial)).states[dial]
        low = assembly.indications[on_dials.name_of(dial)].indication.state_index("low")
        shown_low = on_dials.network.nodes[of].scale.size
        state = max((low, shown_low), key=lambda s: float(rest[s]) * float(on_dials.likelihood[dial][s]))
        tails.append(float(sum(v for v in rest if v <= rest[state])))
    assert found.chance == pytest.approx(min(1.0, 2 * min(tails)), abs=1e-9)


def test_the_outlook_of_a_comparison_averages_to_what_is_believed(
    assembly: Assembly, on_dials: Question
) -> None:
    """Comparing the meter with a second one: each outcome as brute force says, and no belief for nothing."""
    parts = [on_dials.bones.index[name] for name in ("voltmeter.calibration", "hv.rectifier", "hv.dropper")]
    view = outlook(assembly, on_dials, assembly.checks["voltmeter.compare"], parts)
    assert view is not None
    before = truth(on_dials)
    for row, ((name, state),) in enumerate(view.states):
        node = on_dials.bones.index[name]
        seen = [0.0] * on_dials.network.nodes[node].scale.size
        seen[assembly.indications[name].indication.state_index(state)] = 1.0
        after = truth(on_dials, {node: seen})
        assert view.chance[row] == pytest.approx(float(after.evidence / before.evidence), abs=1e-9)
        for column, part in enumerate(parts):
            assert view.blame[row, column] == pytest.approx(float(sum(after.blame[part])), abs=1e-9)
    now = [float(sum(before.blame[part])) for part in parts]
    assert view.chance @ view.blame == pytest.approx(np.array(now), abs=1e-9)
