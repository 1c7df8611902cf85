"""The browser's planner gives the very same plans as Python's, from any state, proved or not."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from kb.assets import demo_dir
from kb.graph import build_graph
from kb.isolation.data import data_of, plan_data
from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.plan import Plan, Planner, Step
from kb.isolation.search import BUDGET
from kb.isolation.states import bits
from kb.isolation.ways import Hunts
from kb.read.base import read_base
from kb.reference import Kind
from tests.bench.symptoms import crossed_symptom, made_symptom
from tests.conftest import RUN_ALL
from tests.isolation.made import made

RUN = Path(__file__).with_name("isolate.run.js")
Place = tuple[int, int, int]  # causes left, accesses paid, tests done
Asked = tuple[Matrix, int, list[tuple[Place, bool]]]  # a symptom, a budget, places with: to isolate?


def in_browser(asked: Iterable[Asked]) -> list[list[dict]]:
    """The plans of the script for each question, by one process of Node."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is absent")
    lists = [[data_of(m, budget), [[_place(p), isolate] for p, isolate in places]] for m, budget, places in asked]
    told = subprocess.run([node, str(RUN)], input=json.dumps(lists), capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    return json.loads(told.stdout)


def _place(place: Place) -> dict[str, list[int]]:
    return {name: list(bits(mask)) for name, mask in zip(("left", "paid", "done"), place, strict=True)}


def steps_of(plan: Plan) -> list[list]:
    """All steps of a plan, each once: kind, number, seconds, and of each finding causes left and next step; shares."""
    steps = [plan.first] if plan.first else []
    places = {id(step): place for place, step in enumerate(steps)}
    rows = []
    for step in steps:
        leads = []
        for lead in step.leads:
            if lead.then and id(lead.then) not in places:
                places[id(lead.then)] = len(steps)
                steps.append(lead.then)
            leads.append([list(bits(lead.left)), places[id(lead.then)] if lead.then else -1])
        rows.append([step.kind, step.number, step.seconds, leads, [float(lead.share) for lead in step.leads]])
    return rows


def compare(plan: Plan, told: dict, about: object) -> None:
    value, bound, whole = map(int, told["exact"])
    assert Fraction(value, whole) == plan.seconds, about
    assert (told["proved"], Fraction(value - bound, whole)) == (plan.proved, plan.gap), about
    numbers = [told["seconds"], told["gap"]]
    assert numbers == pytest.approx([float(plan.seconds), float(plan.gap)], rel=1e-12, abs=1e-8), about
    steps = steps_of(plan)
    assert [row[:4] for row in told["steps"]] == [row[:4] for row in steps], about
    for mine, theirs in zip(steps, told["steps"], strict=True):
        assert theirs[4] == pytest.approx(mine[4], rel=1e-12, abs=1e-15), about


def held(asked: list[Asked]) -> None:
    for (matrix, budget, places), answers in zip(asked, in_browser(asked), strict=True):
        for (place, isolate), told in zip(places, answers, strict=True):
            plan = Planner(matrix, isolate, budget).plan(*place)
            compare(plan, told, (place, isolate, budget, matrix))


def everywhere(matrix: Matrix) -> Place:
    return matrix.everything, 0, 0


def some(asked: Iterable[tuple[Matrix, int]]) -> list[Asked]:
    return [(m, budget, [(everywhere(m), False), (everywhere(m), True)]) for m, budget in asked]


def small() -> Iterator[tuple[Matrix, int]]:
    for seed in range(1_300 if RUN_ALL else 70):
        yield made(seed), (10**6, 3)[seed % 5 == 0]


def big() -> Iterator[tuple[Matrix, int]]:
    """Symptoms of 8 to 13 causes and 10 to 36 tests; with a budget that mostly proves, or one that seldom does."""
    for seed in range(600 if RUN_ALL else 24):
        dice = random.Random(seed)
        if seed % 3:
            yield (
                crossed_symptom(seed, dice.randint(6, 8), dice.randint(8, 9), dice.randint(0, 6)),
                dice.choice((0, 30, 300)),
            )
        else:
            yield (
                made_symptom(seed, dice.randint(8, 13), dice.randint(10, 36), dice.randint(0, 6)),
                dice.choice((0, 10, 100)),
            )


def wide() -> Iterator[tuple[Matrix, int]]:
    """More causes, tests or accesses than a number has bits for, and values that are beyond 2 ** 53."""
    for seed in range(200 if RUN_ALL else 16):
        make = (made_symptom, crossed_symptom)[seed % 2]
        causes, tests, access, copies = ((4, 8, 35, 1), (4, 34, 4, 1), (4, 33, 3, 9), (6, 6, 5, 7))[seed // 2 % 4]
        budget = random.Random(seed).choice((0, 12, 300))
        yield copied(make(seed, causes, tests if make is made_symptom else tests // 4, access), copies, tests), budget


def copied(matrix: Matrix, copies: int, tests: int) -> Matrix:
    """Each cause so many times in a row, and so many tests: further ones leave all, whatever they find."""
    spread = sum(1 << i * copies for i in range(len(matrix.causes)))
    block = (1 << copies) - 1

    def wider(mask: int) -> int:
        return sum(block << i * copies for i in bits(mask))

    rows = [replace(t, leaves=tuple(map(wider, t.leaves))) for t in matrix.tests]
    whole = block * spread
    rows += [
        replace(rows[0], id=f"more{i}", seconds=60 * i, leaves=(whole, whole), after=0) for i in range(len(rows), tests)
    ]
    repairs = tuple(replace(r, mends=wider(r.mends)) for r in matrix.repairs)
    weights = tuple(w for w in matrix.weights for _ in range(copies))
    return Matrix(tuple(map(str, range(len(weights)))), weights, tuple(rows), repairs, matrix.access)


@pytest.mark.parametrize("symptoms", [small, big, wide])
def test_the_script_gives_the_same_plan(symptoms) -> None:
    held(some(symptoms()))


def walked(step: Step | None, place: Place, matrix: Matrix, found: dict[Place, None]) -> None:
    """All places that a plan can come to."""
    if place in found or not place[0]:
        return
    found[place] = None
    if step is None:
        return
    left, paid, done = place
    if step.kind == "test":
        row = matrix.tests[step.number]
        for mask, lead in zip(row.leaves, step.leads, strict=True):
            walked(lead.then, (left & mask, paid | row.needs, done | 1 << step.number), matrix, found)
    else:
        repair = matrix.repairs[step.number]
        walked(step.leads[1].then, (left & ~repair.mends, paid | repair.needs, done), matrix, found)


def demo_matrices() -> list[Matrix]:
    base = read_base(demo_dir())
    hunts = Hunts(base, build_graph(base))
    return [hunt.matrix for symptom in base.of_kind(Kind.SYMPTOM) for _, hunt in hunts.ways(symptom.id)]


def demo_asked() -> Iterator[Asked]:
    """Places of the plans for all symptoms and vehicles, both plans from each; of the largest symptoms a sample,
    and in the short run a sample of the small ones only.
    """
    dice = random.Random(1)
    for matrix in demo_matrices():
        size = len(matrix.causes) * len(matrix.tests)
        if not RUN_ALL and size > 80:
            continue
        found: dict[Place, None] = {}
        for isolate in (False, True):
            walked(Planner(matrix, isolate).plan().first, everywhere(matrix), matrix, found)
        places = [(place, isolate) for place in found for isolate in (False, True)]
        most = 6 if not RUN_ALL else 40 if size > 180 else len(places)
        yield matrix, BUDGET, dice.sample(places, min(len(places), most))


def test_the_script_gives_the_same_plan_wherever_the_plans_of_the_demo_lead() -> None:
    held(list(demo_asked()))


def test_a_list_of_causes_is_the_shorter_of_those_in_it_and_those_not() -> None:
    """Causes 0 to 4 (invented): all, none, all but one, one; numbers of steps as they stand in the plan."""
    leaves = (0b11111, 0, 0b10111, 0b01000)
    repair = RepairRow("all", 5, 0, 0b11111)
    matrix = Matrix(tuple("abcde"), (1, 1, 1, 1, 1), (TestRow("t", 7, 1, leaves),), (repair,), (9,))
    assert data_of(matrix, 3) == {
        "weights": [1, 1, 1, 1, 1],
        "tests": [[7, [0], [[-1], [], [-1, 3], [3]], []]],
        "repairs": [[5, [], [-1], 0]],
        "access": [9],
        "budget": 3,
    }


def test_a_plan_is_listed_each_step_once() -> None:
    """Steps of the list are those of the plan, in the order in which they are met (invented symptoms)."""
    for seed in range(60):
        plan = Planner(made(seed)).plan()
        listed = plan_data(plan)["steps"]
        expected = [[int(k == "repair"), n, s, [then for _, then in leads]] for k, n, s, leads, _ in steps_of(plan)]
        assert [row[:4] for row in listed] == expected
