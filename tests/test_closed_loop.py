"""The closed loop: its sets are drawn as the inference says, its account adds up, and the interview finds faults.

Everything but the small sample at the end is about the loop itself: a loop that cheats would praise anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.evidence.read_with import instruments_of
from diagnose.inference.layout import lay_out
from diagnose.inference.rig_network import skeleton
from diagnose.inference.scale import DOWN, GOOD, OVER, UP, Scale
from diagnose.inference.solve import solve
from diagnose.interview.course import Course
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.measuring import DEAD, LOW, SHOWS
from tests.closed_loop import loop, run, ways
from tests.closed_loop.answering import CANNOT, WRONG, Answering
from tests.closed_loop.loop import CURED, MOST_WRONG, Account, interviewed, same_remedy
from tests.closed_loop.page import PAGE, page
from tests.closed_loop.perturbed import groups, name_of, perturbed
from tests.closed_loop.results import RESULTS, Results, worst_tenth
from tests.closed_loop.run import assembly, tasks
from tests.closed_loop.sets import SimulatedSet, causes_of, pairs_of, shown_by, simulated
from tests.closed_loop.ways import ADVISED, AT_RANDOM, BY_STAGE, WAYS, Turn
from tests.closed_loop.world import Draws, World, joined

RIG = "kestrel_30"
SEED = 3
CAP = 8
SAMPLE = (20, 100, 220)
SCALE = Scale((GOOD, DOWN, DOWN, UP, UP, OVER), (0, 1, 2, 1, 2, 1))


@lru_cache(maxsize=1)
def rig() -> Assembly:
    """The smallest rig."""
    return assembly(RIG)


def _subject(number: int, seed: int = SEED) -> SimulatedSet:
    found = simulated(rig(), (causes_of(rig())[number],), seed)
    assert found is not None
    return found


# the perturbed book


def _odds(chance: float) -> float:
    return math.log(chance / (1.0 - chance))


def test_log_odds_are_shifted_by_one_on_the_average() -> None:
    """Of all frequencies that found room and of all leaks: mean 0, standard deviation 1, and nothing left out."""
    other = perturbed(rig(), SEED)
    full = {
        place
        for places in groups(other.links).values()
        if sum(other.links[place].chance for place in places) > 1.0 - 1e-6
        for place in places
    }
    assert len(full) < 0.2 * len(other.links)
    shifts = {
        name_of(ours): _odds(theirs.chance) - _odds(ours.chance)
        for place, (ours, theirs) in enumerate(zip(rig().links, other.links, strict=True))
        if place not in full and 0 < ours.chance < 1
    }
    assert abs(np.mean(list(shifts.values()))) < 4.0 / math.sqrt(len(shifts))
    assert np.std(list(shifts.values())) == pytest.approx(1.0, abs=0.1)
    leaks = [
        _odds(theirs.leak) - _odds(ours.leak)
        for name, placed in rig().indications.items()
        for ours, theirs in zip(
            placed.indication.states, other.indications[name].indication.states, strict=True
        )
        if ours.leak > 0
    ]
    assert len(leaks) > 100
    assert np.std(leaks) == pytest.approx(1.0, abs=0.2)


def test_what_excludes_each_other_stays_within_certainty() -> None:
    """In every group, and what is always or never so stays as it is."""
    other = perturbed(rig(), SEED, deviation=3.0)
    for places in groups(other.links).values():
        assert sum(other.links[place].chance for place in places) <= 1.0
    always = [place for place, link in enumerate(rig().links) if link.chance == 1.0]
    alone = [place for places in groups(rig().links).values() if len(places) == 1 for place in places]
    for place in set(always) & set(alone):
        assert other.links[place].chance == 1.0
    assert skeleton.__wrapped__(other).network.nodes


def test_a_rule_is_shifted_alike_wherever_it_is_laid_over() -> None:
    """By the seed and its name: not by the rig, and not by other rules."""
    there = assembly("gannet_60")
    one, other = perturbed(rig(), SEED), perturbed(there, SEED)
    alone = [
        {name_of(a.links[p[0]]): a.links[p[0]].chance for p in groups(a.links).values() if len(p) == 1}
        for a in (one, other)
    ]
    shared = set(alone[0]) & set(alone[1])
    assert len(shared) > 50
    assert all(alone[0][name] == alone[1][name] for name in shared)
    again = perturbed(rig(), SEED)
    assert [link.chance for link in again.links] == [link.chance for link in one.links]
    assert [link.chance for link in perturbed(rig(), SEED + 1).links] != [link.chance for link in one.links]


# the sets


@given(st.lists(st.integers(0, SCALE.size - 1), max_size=6), st.floats(0, 0.999), st.randoms())
def test_the_order_of_draws_does_not_matter(drawn: list[int], split: float, random: object) -> None:
    """The strongest of each side wins, OVER masks, and opposite sides are settled by the split."""
    found = joined(SCALE, drawn, split)
    shuffled = list(drawn)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert joined(SCALE, shuffled, split) == found
    sides = {SCALE.sides[state] for state in drawn} - {GOOD}
    if OVER in sides:
        assert found == max(drawn)
    elif sides == {DOWN, UP}:
        assert (
            found == (0, max(s for s in drawn if s in (1, 2)), max(drawn))[(split >= 0.5) + (split >= 0.75)]
        )
    else:
        assert found == max(drawn, default=0)


def test_drawn_sets_are_as_frequent_as_the_network_says() -> None:
    """With all parts known, the share of sets in which an indication has a state is its exact probability."""
    bones = skeleton(rig())
    network, part = bones.network, "final.final_tube"
    draws, rng = 1500, np.random.default_rng(SEED)
    worlds = [World(bones, Draws.made(network, rng), {part: 1}).states for _ in range(draws)]
    counts = np.array(worlds)
    support = {
        node: (1 if node == bones.index[part] else 0,)
        for node, here in enumerate(network.nodes)
        if here.is_part
    }
    likelihood = {node: np.eye(network.nodes[node].scale.size)[states[0]] for node, states in support.items()}
    compared = 0
    for name in rig().shows_in[part]:
        node = bones.index[name]
        structure = lay_out(network, support, frozenset(), [node], marks=False)
        exact = solve(structure, likelihood).states[node][0]
        for state, chance in enumerate(exact.tolist()):
            share = float((counts[:, node] == state).mean())
            within = 4.5 * math.sqrt(chance * (1.0 - chance) / draws) + 1e-9
            assert abs(share - chance) <= within, (name, state, share, chance)
            compared += 0.01 < chance < 0.99
    assert compared > 15


def test_what_does_not_hang_on_a_part_stays_as_it_was_when_that_is_put_right() -> None:
    """And what does is as if the part had never been bad."""
    bones = skeleton(rig())
    draws = Draws.made(bones.network, np.random.default_rng(SEED))
    part = "hv.rectifier_tube"
    bad, good = World(bones, draws, {part: 1}), World(bones, draws, {})
    assert bad.repaired(part).states == good.states
    reached, waiting = set(), [part]
    while waiting:
        for child in rig().shows_in.get(waiting.pop(), ()):
            if child not in reached:
                reached.add(child)
                waiting.append(child)
    changed = {n for n in rig().indications if bad.state(n) != good.state(n)}
    assert changed
    assert changed <= reached


def test_the_facts_are_signs_of_the_fault() -> None:
    """Abnormal in the set, not so without its fault, and all parts but the given one good."""
    for number in range(0, len(causes_of(rig())), 40):
        found = _subject(number)
        part = rig().cause(found.causes[0])[0].id
        assert set(found.answering.world.bad) == {part}
        assert 1 <= len(found.facts) <= 2
        good = found.answering.repaired(part)
        for name in found.facts:
            assert found.answering.shown(name)
            assert found.answering.shown(name) != good.shown(name)


def test_of_two_faults_one_sign_each_is_told() -> None:
    """Each a sign that one of them makes by itself and that is seen beside the other; no sign twice."""
    for pair in pairs_of(rig(), 6, SEED):
        found = simulated(rig(), pair, SEED)
        if found is None:
            continue
        own = [{*noticed, *others} for noticed, others in (shown_by(rig(), found.answering, c) for c in pair)]
        assert 1 <= len(set(found.facts)) == len(found.facts) <= 2
        assert all(found.answering.shown(name) for names in own for name in names)
        if len(found.facts) == 2:
            one, other = found.facts
            assert (one in own[0] and other in own[1]) or (one in own[1] and other in own[0])
        else:
            assert any(not names - set(found.facts) for names in own)


# the answers


def test_a_second_look_slips_for_itself() -> None:
    """The same slip comes again only by chance; the same look always has the same answer."""
    answering = replace(_subject(5).answering, wrong=0.5, cannot=0.0)
    looked = [
        [answering.answer(check.id, name, 0, take) for take in (0, 0, 1)]
        for check in rig().checks.values()
        for name in check.reveals
    ]
    assert all(first == same for first, same, _ in looked)
    changed = sum(first != again for first, _, again in looked) / len(looked)
    assert 0.4 < changed < 0.75


def test_so_many_answers_are_wrong_and_so_many_things_cannot_be_measured() -> None:
    """Over all that can be asked of some sets, and never by more than chance explains."""
    wrong = cannot = asked = told = 0
    for number in (5, 50, 100):
        answering = _subject(number).answering
        for check in rig().checks.values():
            for name in check.reveals:
                asked += 1
                answer = answering.answer(check.id, name, 0)
                cannot += answer is None
                shown = answering.shown(name)
                if answer is None or shown is None:
                    continue
                told += 1
                states = rig().indications[name].indication.states
                wrong += answer.state != states[shown].id
    for found, of, chance in ((cannot, asked, CANNOT), (wrong, told, WRONG)):
        assert abs(found / of - chance) < 5 * math.sqrt(chance * (1 - chance) / of)


def test_an_answer_does_not_hang_on_what_was_asked_before() -> None:
    """The same set answers the same, in whatever order and as often as it is asked."""
    one, other = _subject(7).answering, _subject(7).answering
    asked = [(check.id, name) for check in rig().checks.values() for name in check.reveals]
    forth = {each: one.answer(*each, 0) for each in asked}
    back = {each: other.answer(*each, 0) for each in reversed(asked)}
    assert forth == back
    assert forth == {each: one.answer(*each, 0) for each in asked}


@pytest.mark.parametrize("word", [LOW, DEAD])
def test_a_meter_that_lies_shifts_all_that_is_read_with_it(word: str) -> None:
    """A dead one shows nothing anywhere, one that reads low never shows more than there is."""
    bones = skeleton(rig())
    good = World(bones, Draws.made(bones.network, np.random.default_rng(SEED)), {})
    shown = rig().instrument("voltmeter")
    assert shown is not None
    states = list(good.states)
    states[bones.index[shown]] = SHOWS.index(word)
    lying = World(bones, good.draws, {})
    lying.__dict__["states"] = tuple(states)
    true, false = (Answering(rig(), world, SEED) for world in (good, lying))
    moved = {n for n in rig().indications if n != shown and true.shown(n) != false.shown(n)}
    read = {
        name
        for name, placed in rig().indications.items()
        if placed.indication.unit and shown in _instruments(name)
    }
    assert moved <= read
    assert len(moved) >= (5 if word == DEAD else 2)
    for name in moved:
        graded, now = rig().indications[name].indication.states, false.shown(name)
        assert now is not None
        if graded[0].around is not None:
            assert graded[now].side in ({"over"} if word == DEAD else {"", "down", "over"})


def _instruments(name: str) -> tuple[str, ...]:
    indication = rig().indications[name].indication
    case = Case("set", RIG)
    return instruments_of(rig(), case, Observation(name), indication.read_with, indication.unit)


# the account


class _Told:
    """A way of asking that remembers what it asked and why it closed."""

    def __init__(self, way: ways.Way) -> None:
        self.way = way
        self.turns: list[Turn] = []

    def turn(self, course: Course) -> Turn:
        self.turns.append(self.way.turn(course))
        return self.turns[-1]


def _watched(
    monkeypatch: pytest.MonkeyPatch, subject: SimulatedSet, way: str, cap: int = CAP
) -> tuple[Account, list[Turn]]:
    told = _Told(ways.way_of(way, rig(), subject.seed))
    with monkeypatch.context() as patch:
        patch.setattr(loop, "way_of", lambda *_: told)
        (account,) = interviewed(rig(), subject, [way], cap)
    return account, told.turns


@pytest.mark.parametrize(("way", "number"), [(ADVISED, 120), (BY_STAGE, 30), (AT_RANDOM, 120)])
def test_minutes_add_up(monkeypatch: pytest.MonkeyPatch, way: str, number: int) -> None:
    """Checks that gave an answer, changes of set-up between them, and remedies: nothing else, each once."""
    subject = _subject(number)
    account, turns = _watched(monkeypatch, subject, way)
    steps = [step for _, step in turns if step is not None][: account.checks + len(turns)]
    answered = [
        step
        for step in steps
        if any(subject.answering.answer(step.id, name, 0) is not None for name in step.names)
    ][: account.checks]
    assert len(answered) == account.checks <= CAP
    assert account.check_minutes == sum(step.placed.check.minutes for step in answered)
    remedies = [rig().cause(cause) for cause in account.proposed]
    assert account.remedy_minutes == sum(
        remedy.minutes for placed, mode in remedies if (remedy := placed.remedy(mode)) is not None
    )
    assert account.minutes == account.check_minutes + account.setup_minutes + account.remedy_minutes
    dearest = max(s.minutes for group in rig().book.bench.setups.values() for s in group.states.values())
    assert account.setup_minutes <= dearest * account.setup_changes
    assert len(account.proposed) == account.wrong_remedies + len(account.found)
    assert account.wrong_remedies <= MOST_WRONG
    assert account.cured == (account.end == CURED)
    assert len(account.milliseconds) == len(turns)


def test_a_seed_gives_the_same_interview() -> None:
    """But for the time it took; another seed gives another set."""
    first, again = (interviewed(rig(), _subject(30), [ADVISED], 3)[0] for _ in range(2))
    assert replace(first, milliseconds=[]) == replace(again, milliseconds=[])
    assert _subject(30).answering.world.states != _subject(30, SEED + 1).answering.world.states


def test_checks_by_stage_are_asked_in_the_order_of_the_book(monkeypatch: pytest.MonkeyPatch) -> None:
    """None twice, until a remedy is proposed."""
    _, turns = _watched(monkeypatch, _subject(30), BY_STAGE)
    place = {check: number for number, check in enumerate(rig().checks)}
    asked = []
    for closing, step in turns:
        if closing is not None or step is None:
            break
        asked.append(place[step.id])
    assert len(asked) > 3
    assert asked == sorted(set(asked))


def test_the_needed_remedy_is_the_same_work_at_the_same_place() -> None:
    """Every cause needs its own remedy; another mode of the part only if that is put right by the same words."""
    causes = causes_of(rig())
    for cause in causes:
        placed, mode = rig().cause(cause)
        own = placed.remedy(mode)
        assert own is not None
        assert same_remedy(rig(), cause, placed.id, own)
        assert not same_remedy(rig(), cause, placed.id, replace(own, do=f"{own.do} twice"))
    tube, mode = rig().cause("final.final_tube.weak")
    new_tube = tube.remedy(mode)
    assert new_tube is not None
    elsewhere = [cause for cause in causes if rig().cause(cause)[0].stage != tube.stage]
    assert not any(same_remedy(rig(), cause, tube.id, new_tube) for cause in elsewhere)


def test_a_run_is_the_head_of_one_mixed_order() -> None:
    """Every cause once, pairs of two parts each, and the same for the same seed."""
    asked = tasks([RIG], SEED, pairs=6, orders=4)
    singles = [task.causes[0] for task in asked if len(task.causes) == 1]
    assert sorted(singles) == sorted(causes_of(rig()))
    assert [task.causes for task in asked] == [task.causes for task in tasks([RIG], SEED, pairs=6)]
    assert sum(task.ways == WAYS for task in asked) == math.ceil(len(asked) / 4)
    pairs = [task.causes for task in asked if len(task.causes) == 2]
    assert set(pairs) == set(pairs_of(rig(), 6, SEED))
    assert all(rig().cause(one)[0].id != rig().cause(other)[0].id for one, other in pairs)


def test_a_run_that_was_broken_off_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only what is missing is run, with the numbers of before; once nothing is, it is told as a whole run."""
    asked = [run.Task(RIG, (cause,), SEED, (ADVISED,)) for cause in causes_of(rig())[:3]]
    ran: list[run.Task] = []

    def first_of(left: Sequence[run.Task], jobs: int, minutes: float) -> Iterator[list[dict[str, object]]]:
        assert jobs == 1
        for task in left[: 1 if minutes else None]:
            ran.append(task)
            account = Account(
                task.rig, task.causes, ADVISED, ("a.b",), SEED, found=task.causes, milliseconds=[1]
            )
            yield [asdict(account)]

    kept = tmp_path / "results.jsonl"
    monkeypatch.setattr(run, "tasks", lambda *numbers: asked)
    monkeypatch.setattr(run, "run", first_of)
    monkeypatch.setattr(run, "RESULTS", kept)
    monkeypatch.setattr(run, "PAGE", tmp_path / "page.md")
    run.main(["--rig", RIG, "--minutes", "1", "--jobs", "1", "--write"])
    assert ran == asked[:1]
    assert Results.read(kept).head["minutes"] == 1
    run.main(["--jobs", "1", "--go-on"])
    assert ran == asked
    found = Results.read(kept)
    assert [row["causes"] for row in found.rows] == [list(task.causes) for task in asked]
    assert found.head["minutes"] == 0
    assert found.head["rigs"] == [RIG]
    assert (tmp_path / "page.md").read_text(encoding="utf-8") == page(found)


# what came out


def test_a_small_sample_is_found() -> None:
    """Most of a few faults end with the needed remedy on top."""
    accounts = [interviewed(rig(), _subject(number), [ADVISED], 15)[0] for number in SAMPLE]
    assert sum(account.end_right for account in accounts) >= len(accounts) - 1


def test_the_page_is_made_of_the_results_that_are_kept() -> None:
    """So that nobody writes figures into it: `python -m tests.closed_loop.run --page` makes it anew."""
    results = Results.read(RESULTS)
    assert set(results.rows[0]) == set(asdict(Account("", (), "", (), 0)))
    assert PAGE.read_text(encoding="utf-8") == page(results)


def test_the_worst_tenth() -> None:
    """The least of the largest tenth."""
    assert worst_tenth(list(range(1, 101))) == 91
    assert worst_tenth([5, 1, 3]) == 5
