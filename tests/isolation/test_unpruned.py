"""The planner held against a programme without any pruning, on invented symptoms."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import prod

import pytest

from kb.isolation.matrix import Matrix, TestRow
from kb.isolation.plan import Planner, Step
from tests.isolation.made import ENOUGH, MANY, SOME, costed, least, made, tried, union
from tests.isolation.unpruned import State, Unpruned

Choice = Callable[[State, list[int]], int | None]  # the next test, of a state and the tests that split what is left


@pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])
def test_the_plan_is_the_least_of_all_there_are(isolate: bool) -> None:
    for seed in range(MANY):
        m = made(seed)
        plan = Planner(m, isolate, ENOUGH).plan()
        assert plan.proved, seed
        assert plan.seconds == Unpruned(m, isolate).seconds(), seed
        assert costed(plan) == plan.seconds, seed


def middle(referee: Unpruned, seed: int) -> State:
    """Where a hunt stands that a few acts, chosen by lot, have led to."""
    dice, state = random.Random(seed), referee.start()
    for _ in range(dice.randint(1, 3)):
        acts = referee.acts(state)
        below = [s for s in dice.choice(acts)[2] if s[0]] if acts else []
        state = dice.choice(below) if below else state
    return state


@pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])
def test_from_the_middle_of_a_hunt_too(isolate: bool) -> None:
    """With causes cleared, accesses paid and tests done, as a hunt stands that left the plan."""
    for seed in range(SOME):
        m = made(seed)
        referee = Unpruned(m, isolate)
        state = middle(referee, seed)
        plan = Planner(m, isolate, ENOUGH).plan(*state)
        assert (plan.proved, plan.seconds) == (True, referee.seconds(state)), seed


def test_acts_are_in_their_order_and_none_is_left_out_but_doubles() -> None:
    """Least seconds, then tests, then by number. Whatever is left out parts what is left as another act does, for no less."""
    for seed in range(SOME):
        m = made(seed)
        planner, referee = Planner(m, budget=ENOUGH), Unpruned(m)
        for place in (referee.start(), middle(referee, seed)):
            state, _ = planner.states.start(*place)
            assert state is not None
            acts, every = planner.states.acts(state), [act[0] for act in referee.acts(place)]
            assert acts == sorted(acts), seed
            assert set(acts) <= set(every), seed
            for gone in every:
                alike = [a for a in acts if a[0] <= gone[0] and parts(m, place[0], a) == parts(m, place[0], gone)]
                assert alike, (seed, gone)


def parts(m: Matrix, left: int, act: tuple[int, int, int]) -> tuple[object, ...]:
    """How a test parts what is left; a repair is like no other."""
    return act[1:] if act[1] else tuple(sorted(x & left for x in m.tests[act[2]].leaves if x & left))


def test_a_test_that_gave_no_finding_is_planned_around() -> None:
    """As if it told nothing, and nothing waited for it."""
    for seed in range(SOME):
        m = made(seed)
        unread = random.Random(seed).randrange(1 << len(m.tests))
        tests = [
            TestRow(t.id, t.seconds, t.needs, (m.everything,))
            if unread >> i & 1
            else replace(t, after=t.after & ~unread)
            for i, t in enumerate(m.tests)
        ]
        plan = Planner(m, budget=ENOUGH).plan(unread=unread)
        assert (plan.proved, plan.seconds) == (True, Unpruned(replace(m, tests=tuple(tests))).seconds()), seed


def test_one_planner_asked_for_several_states_gives_what_fresh_ones_give() -> None:
    for seed in range(SOME):
        m = made(seed)
        used, referee = Planner(m, budget=ENOUGH), Unpruned(m)
        used.in_order(range(len(m.tests)))
        for state in {referee.start(), middle(referee, seed), middle(referee, seed + 1)}:
            assert used.plan(*state) == Planner(m, budget=ENOUGH).plan(*state), seed


@pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])
def test_of_equal_steps_the_plan_takes_the_shortest_then_the_first_on_the_page(isolate: bool) -> None:
    """Times up to 2 s only: many acts come to the same, and each step of the plan is the first of the least."""
    equal = 0
    for seed in range(SOME):
        m = coarse(made(seed))
        referee = Unpruned(m, isolate)
        for step, state in walked(m, Planner(m, isolate, ENOUGH).plan().first, referee.start()):
            best = referee.best(state)
            assert (step.seconds, step.kind == "repair", step.number) == best[0], (seed, state)
            equal += sum(referee.after(act) == referee.after(best) for act in referee.acts(state)) > 1
    assert equal > SOME // 10


def coarse(m: Matrix) -> Matrix:
    """The same with times of tests and weights of 1 or 2, other times up to 2."""
    return replace(
        m,
        weights=tuple(1 + w % 2 for w in m.weights),
        tests=tuple(replace(t, seconds=1 + t.seconds % 2) for t in m.tests),
        repairs=tuple(replace(r, seconds=r.seconds % 3) for r in m.repairs),
        access=tuple(a % 3 for a in m.access),
    )


def walked(m: Matrix, step: Step | None, state: State) -> Iterator[tuple[Step, State]]:
    """Each step of a tree with the state before it."""
    if step is None:
        return
    yield step, state
    row = m.tests[step.number] if step.kind == "test" else m.repairs[step.number]
    done = state[2] | (1 << step.number if step.kind == "test" else 0)
    for lead in step.leads:
        yield from walked(m, lead.then, (lead.left, state[1] | row.needs, done))


def written(m: Matrix, order: Sequence[int]) -> Choice:
    """A written order's next act: the first of its tests that splits, or what comes first of all before it."""
    return lambda state, splitting: _due(m, next((t for t in order if t in splitting), None), state[2])


def cheapest(m: Matrix) -> Choice:
    """The test that splits and takes least with its access, or that has to come before one that splits."""

    def choose(state: State, splitting: list[int]) -> int | None:
        due = [t for s in splitting if (t := _due(m, s, state[2])) is not None]
        return min(due, key=lambda t: (m.tests[t].seconds + _opens(m, t, state[1]), t), default=None)

    return choose


def _due(m: Matrix, test: int | None, done: int) -> int | None:
    while test is not None and (missing := m.tests[test].after & ~done):
        test = (missing & -missing).bit_length() - 1
    return test


def _opens(m: Matrix, test: int, paid: int) -> int:
    return sum(s for i, s in enumerate(m.access) if (m.tests[test].needs & ~paid) >> i & 1)


def ordered(referee: Unpruned, state: State, choose: Choice) -> Fraction:
    """Weight x seconds of hunting as somebody chooses, until one repair mends all that is left; then the least."""
    m, (left, paid, done) = referee.matrix, state
    splitting = [
        t for t, row in enumerate(m.tests) if not done >> t & 1 and any(x & left not in (0, left) for x in row.leaves)
    ]
    test = None if any(not left & ~r.mends for r in m.repairs) else choose(state, splitting)
    if test is None:
        return referee.value(state)
    row = m.tests[test]
    below = [(x & left, paid | row.needs, done | 1 << test) for x in row.leaves]
    rest = sum(ordered(referee, s, choose) for s in below if s[0])
    return referee.weight(left, done) * (row.seconds + _opens(m, test, paid)) + rest


def test_a_written_order_is_followed_and_then_the_plan() -> None:
    for seed in range(SOME):
        m = made(seed)
        order = random.Random(seed).sample(range(len(m.tests)), random.Random(seed).randint(0, len(m.tests)))
        referee = Unpruned(m)
        value = ordered(referee, referee.start(), written(m, order)) / sum(m.weights)
        assert Planner(m, budget=ENOUGH).in_order(order) == value, seed


def test_the_cheapest_test_first_is_followed_and_then_the_plan() -> None:
    for seed in range(SOME):
        m = made(seed)
        referee = Unpruned(m)
        value = ordered(referee, referee.start(), cheapest(m)) / sum(m.weights)
        assert Planner(m, budget=ENOUGH).cheapest_first() == value, seed


def parted(m: Matrix) -> Matrix:
    """One cause for each combination of findings after which a cause survives: no finding overlaps any more."""
    old: list[int] = []
    ways: list[tuple[int, ...]] = []
    for cause in range(len(m.causes)):
        met = [[f for f, mask in enumerate(t.leaves) if mask >> cause & 1] for t in m.tests]
        for way in product(*met):
            old.append(cause)
            ways.append(way)
    scale = prod(old.count(c) for c in range(len(m.causes)))
    weights = tuple(m.weights[c] * scale // old.count(c) for c in old)
    tests = [_parted(t, [way[number] for way in ways]) for number, t in enumerate(m.tests)]
    repairs = [replace(r, mends=union(1 << i for i, c in enumerate(old) if r.mends >> c & 1)) for r in m.repairs]
    return Matrix(tuple(f"c{i}" for i in range(len(old))), weights, tuple(tests), tuple(repairs), m.access)


def _parted(test: TestRow, finding: list[int]) -> TestRow:
    rows = (union(1 << i for i, f in enumerate(finding) if f == row) for row in range(len(test.leaves)))
    return replace(test, leaves=tuple(rows))


def test_overlapping_findings_are_the_same_as_parted_causes() -> None:
    """A cause that survives k findings of a test is k causes with a kth of its weight each.

    With every repair to be tried: else a test that only parts one cause's parts would hold repairs up.
    """
    for seed in range(SOME):
        m = tried(made(seed, causes=4, tests=3))
        apart = parted(m)
        if len(apart.causes) <= 24:
            assert least(m) == least(apart), seed
