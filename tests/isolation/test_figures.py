"""Figures of a hunt: small ones worked by hand, made-up ones against plain counting over all ways a hunt can go."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest

from kb.isolation.ahead import work_out
from kb.isolation.figures import ENDS, ORDERS, Hunt, seconds_by_cause
from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.plan import Planner, Step
from tests.conftest import ROOT
from tests.isolation.made import ENOUGH, SOME, made, matrix

# A, B and C, of weights 5, 3 and 2. Test 0 tells A from the others in 1 s; test 1 tells C from the others in
# 1 s, behind a cover (10 s). Repairs take nothing. Test 0 first: 1 + 0.5 x 11 = 6.5 s; test 1 first:
# 11 + 0.8 x 1 = 11.8 s. With A found, half the weight, nothing has come off. (worked here)
COVERED = replace(matrix([5, 3, 2], [(0b001, 0b110), (0b011, 0b100)], needs=(0, 1), access=(10,)), strips=1)


def test_minutes_and_shares_worked_by_hand() -> None:
    hunt = Hunt(COVERED, (1, 0))
    assert (hunt.fixed.seconds, hunt.fixed.proved) == (Fraction(13, 2), True)
    assert hunt.in_order == Fraction(59, 5)
    assert hunt.cheapest_first == Fraction(13, 2)
    assert hunt.swap and (hunt.swap.first, hunt.swap.second, hunt.swap.seconds) == (1, 0, Fraction(53, 10))
    assert hunt.settled_first == Fraction(1, 2)
    assert (hunt.detected, hunt.group) == (1, 1)
    assert hunt.ends == [(0b001, Fraction(1, 2)), (0b010, Fraction(3, 10)), (0b100, Fraction(1, 5))]
    assert (hunt.down_to(1), hunt.down_to(2)) == (1, 1)


def test_an_order_as_good_as_any_has_nothing_to_change_round() -> None:
    hunt = Hunt(COVERED, (0, 1))
    assert (hunt.in_order, hunt.swap) == (hunt.fixed.seconds, None)


def test_without_an_order_none_is_costed() -> None:
    hunt = Hunt(COVERED)
    assert (hunt.in_order, hunt.swap) == (None, None)


def test_what_stays_together_counts_by_its_repairs() -> None:
    """Of weights 5, 3 and 2 no test tells B from C, which have a repair each: half is down to one repair."""
    hunt = Hunt(matrix([5, 3, 2], [(0b001, 0b110)]))
    assert hunt.together == [(0,), (1, 2)]
    assert (hunt.down_to(1), hunt.down_to(2)) == (Fraction(1, 2), 1)
    assert hunt.group == Fraction(3, 2)


def test_a_repair_that_is_tried_settles_what_it_mends() -> None:
    """No test; A's repair may be tried, and then only B's is left, behind the cover: all is settled before."""
    tried = (RepairRow("a", 1, 0, 1, True), RepairRow("b", 1, 1, 2))
    m = replace(matrix([1, 1], [], repairs=tried, access=(10,)), strips=1)
    assert Hunt(m).settled_first == 1
    untried = (RepairRow("a", 1, 0, 1), tried[1])
    assert Hunt(replace(m, repairs=untried)).settled_first == 0


def test_nothing_to_do_comes_to_nothing() -> None:
    hunt = Hunt(Matrix((), (), (), (), ()))
    assert (hunt.fixed.seconds, hunt.detected, hunt.group, hunt.in_order) == (0, 0, 0, None)


def test_tests_that_wait_for_each_other_are_passed_over() -> None:
    rows = (TestRow("a", 1, 0, (1, 2), after=2), TestRow("b", 1, 0, (1, 2), after=1), TestRow("c", 5, 0, (1, 2)))
    m = replace(matrix([1, 1], []), tests=rows)
    assert Planner(m).in_order((0, 1, 2)) >= 5


def ways(m: Matrix, cause: int, *path: Step) -> Iterator[tuple[Fraction, list[Step]]]:
    """Every way a plan can go for a cause: its chance, its steps."""
    step = path[-1]
    if step.kind == "repair":
        mended = m.repairs[step.number].mends >> cause & 1
        met = [] if mended else [step.leads[1]]
    else:
        met = [lead for lead in step.leads if lead.left >> cause & 1]
    for lead in met:
        for chance, steps in ways(m, cause, *path, lead.then) if lead.then else [(Fraction(1), [*path])]:
            yield chance / len(met), steps
    if not met:
        yield Fraction(1), [*path]


def bare(m: Matrix, steps: list[Step]) -> bool:
    """One way: down to one repair, or mended by one that was tried, before anything came off."""
    for step in steps:
        row = m.repairs[step.number] if step.kind == "repair" else m.tests[step.number]
        if step.kind == "repair" and not step.leads[1].share:
            return True
        if row.needs & m.strips or step.kind == "repair" and not m.repairs[step.number].try_it:
            return False
    return bool(steps and steps[-1].kind == "repair" and m.repairs[steps[-1].number].try_it)


@pytest.mark.parametrize("seed", range(0, SOME, 3))
def test_a_plan_comes_to_what_all_its_ways_come_to(seed: int) -> None:
    m = replace(made(seed), strips=seed % 8)
    hunt = Hunt(m, budget=ENOUGH)
    first = hunt.fixed.first
    if first is None:
        assert hunt.settled_first == 0
        return
    told, settled = seconds_by_cause(m, first, lambda step: step.seconds), Fraction(0)
    for cause, seconds in enumerate(told):
        every = list(ways(m, cause, first))
        assert sum(chance for chance, _ in every) == 1
        assert seconds == sum(chance * sum(step.seconds for step in steps) for chance, steps in every)
        ended = [(chance, steps) for chance, steps in every if bare(m, steps) and mended(m, steps[-1], cause)]
        settled += m.weights[cause] * sum(chance for chance, _ in ended)
    assert hunt.fixed.seconds * sum(m.weights) == sum(w * s for w, s in zip(m.weights, told, strict=True))
    assert hunt.settled_first * sum(m.weights) == settled


def mended(m: Matrix, step: Step, cause: int) -> bool:
    return step.kind == "repair" and bool(m.repairs[step.number].mends >> cause & 1)


@pytest.mark.parametrize("seed", range(0, SOME, 5))
def test_the_best_change_is_the_best_of_all(seed: int) -> None:
    m = made(seed)
    order = tuple(range(len(m.tests)))[::-1]
    hunt = Hunt(m, order, ENOUGH)
    if hunt.in_order is None:
        assert hunt.swap is None
        return
    saved = []
    for a, b in combinations(range(len(order)), 2):
        changed = list(order)
        changed[a], changed[b] = changed[b], changed[a]
        saved.append(hunt.in_order - Planner(m, budget=ENOUGH).in_order(changed))
    assert (hunt.swap.seconds if hunt.swap else 0) == max([*saved, Fraction(0)])


@pytest.mark.parametrize("seed", range(0, SOME, 5))
def test_causes_that_stay_together_stay_so_in_every_end(seed: int) -> None:
    hunt = Hunt(made(seed), budget=ENOUGH)
    for group in hunt.together:
        mask = sum(1 << cause for cause in group)
        assert all(end & mask in (0, mask) for end, _ in hunt.ends)
    whole = all(sum(m >> c & 1 for m in t.leaves) <= 1 for t in hunt.matrix.tests for c in range(len(hunt.matrix.causes)))
    for end, _ in hunt.ends if whole else ():
        if not any(repair.mends & end == end for repair in hunt.matrix.repairs):
            assert [end] == [sum(1 << c for c in g) for g in hunt.together if end >> g[0] & 1]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("budget", [0, 3, 40])
def test_figures_are_the_same_whichever_is_asked_for_first(seed: int, budget: int) -> None:
    m = made(seed, 9, 8)
    order = tuple(range(len(m.tests)))
    one, two = Hunt(m, order, budget), Hunt(m, order, budget)
    assert [getattr(one, name) for name in ORDERS] == [getattr(two, name) for name in ORDERS[::-1]][::-1]


SCRIPT = """
from kb.isolation.ahead import work_out
from kb.isolation.figures import ENDS, ORDERS, Hunt
from tests.isolation.made import matrix

def big(seed):
    tests = [(mask, 0b1111111111 ^ mask) for mask in range(seed, 1023, 97)]
    return matrix([1, 2, 3, 4, 5, 6, 7, 8, 9, 10], tests, costs=[60 + 7 * t for t in range(len(tests))])

if __name__ == "__main__":
    pooled = [Hunt(big(s), (3, 1, 2), 30) for s in (5, 11, 17)]
    told = []
    work_out([(h, names) for h in pooled for names in (ORDERS, ENDS)], 2, lambda done, total: told.append((done, total)))
    assert told == [(n, 6) for n in range(1, 7)], told
    assert all(h.known(ORDERS) and h.known(ENDS) for h in pooled)
    for h in pooled:
        alone = Hunt(h.matrix, h.order, h.budget)
        assert [getattr(h, n) for n in (*ORDERS, *ENDS)] == [getattr(alone, n) for n in (*ORDERS, *ENDS)]
        assert (h.settled_first, h.ends) == (alone.settled_first, alone.ends)
"""


def test_several_processes_find_the_same(tmp_path) -> None:
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, str(script)], env=env, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_one_process_begins_nothing() -> None:
    hunts = [Hunt(made(seed, 12, 12)) for seed in range(20)]
    work_out([(hunt, ORDERS) for hunt in hunts], 1, lambda done, total: None)
    assert not any(hunt.known(ORDERS[:1]) or hunt.known(ENDS) for hunt in hunts)
