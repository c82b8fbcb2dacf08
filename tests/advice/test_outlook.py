"""What a check would do, against the oracle: each outcome with its chance and the blame after it."""

from __future__ import annotations

from bisect import bisect_left
from itertools import permutations

import numpy as np
import pytest

from diagnose.advice.outlook import BUDGET, Outlooks, outlook
from diagnose.advice.prospects import Prospect
from diagnose.advice.worth import gain_bits
from diagnose.evidence.collect import collect
from diagnose.inference import sets as sets_of_parts
from diagnose.inference.answer import answer
from diagnose.inference.asking import ask
from diagnose.inference.question import Question
from diagnose.inference.sets import all_blameless, explanations
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from tests.rig_truth import FILES, truth
from tests.small_book import small_assembly


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    return small_assembly(tmp_path_factory.mktemp("book"), FILES)


def question(assembly: Assembly, *observations: Observation) -> Question:
    case = Case("t", "small", observations=observations)
    return ask(assembly, case, collect(assembly, case))


CASES = [
    (Observation("final.output", "low"),),
    (Observation("final.output", value=47.0),),
    (Observation("final.output", "low", told_by="owner"), Observation("final.hum", "yes")),
    (Observation("hv.voltage", "high"), Observation("final.output", "low")),
]


@pytest.mark.parametrize("observations", CASES)
def test_outcomes_agree_with_brute_force(assembly: Assembly, observations: tuple[Observation, ...]) -> None:
    """Chance of each outcome and blame of each part after it, to 1e-9."""
    asked = question(assembly, *observations)
    parts = [asked.bones.index[name] for name in assembly.parts]
    for check in assembly.checks.values():
        view = outlook(assembly, asked, check, parts)
        if view is None:
            assert all(asked.bones.index[name] in asked.likelihood for name in check.reveals)
            continue
        before = truth(asked)
        for row, ((name, state),) in enumerate(view.states):
            indication = assembly.indications[name]
            size = asked.network.nodes[asked.bones.index[name]].scale.size
            seen = [0.0] * size
            seen[indication.indication.state_index(state)] = 1.0
            if indication.needs and state == indication.indication.states[0].id:
                seen[-1] = 1.0
            after = truth(asked, {asked.bones.index[name]: seen})
            assert view.chance[row] == pytest.approx(float(after.evidence / before.evidence), abs=1e-9)
            for column, part in enumerate(parts):
                wanted = float(sum(after.blame[part]))
                assert view.blame[row, column] == pytest.approx(wanted, abs=1e-9)
        # what is learnt must average out to what is believed now
        now = [float(sum(before.blame[part])) for part in parts]
        assert view.chance @ view.blame == pytest.approx(np.array(now), abs=1e-9)
        assert gain_bits(view.joint()) >= 0


def test_checks_that_show_the_same_cost_the_work_of_one(assembly: Assembly) -> None:
    """So that another check is judged within the work that both together may cost."""
    asked = question(assembly, *CASES[0])
    parts = [asked.bones.index[name] for name in assembly.parts]
    found = {check: outlook(assembly, asked, check, parts) for check in assembly.checks.values()}
    each = [Prospect(check, check.reveals, 0.0) for check, view in found.items() if view is not None]

    def judged(prospects: list[Prospect], work: float) -> list[bool]:
        views = Outlooks(assembly, asked, parts).of(prospects, BUDGET, fewer=False, work=work)
        return [view is not None for view in views]

    for one, other in permutations(each[:2]):
        assert one.names != other.names
        enough = bisect_left(range(100_000), True, key=lambda work: all(judged([one, other], work)))
        assert judged([one, one, other], enough) == [True, True, True]
        assert not all(judged([one, one, other], enough - 1))


@pytest.mark.parametrize("much", [0.0, 1e9])
@pytest.mark.parametrize("observations", CASES)
def test_sets_agree_with_brute_force(
    assembly: Assembly, observations: tuple[Observation, ...], much: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The probability that exactly these parts take part, from the oracle's silent sets."""
    monkeypatch.setattr(sets_of_parts, "MUCH", much)
    asked = question(assembly, *observations)
    everyone = [asked.bones.index[name] for name in assembly.parts]
    suspects = everyone[:4]
    sets = explanations(asked, suspects)
    wanted = [frozenset(suspects) - frozenset(chosen) for chosen in sets]
    exact = truth(asked, sets=wanted)
    for chosen, probability in sets.items():
        total = sum(
            (-1) ** (len(chosen) - bin(bits).count("1"))
            * exact.silent[frozenset(suspects) - frozenset(p for i, p in enumerate(chosen) if bits >> i & 1)]
            for bits in range(1 << len(chosen))
        )
        assert probability == pytest.approx(float(total / exact.evidence), abs=1e-9)
    nobody = truth(asked, sets=[frozenset(suspects)])
    assert all_blameless(answer(asked), suspects) == pytest.approx(
        float(nobody.silent[frozenset(suspects)] / nobody.evidence), abs=1e-9
    )
