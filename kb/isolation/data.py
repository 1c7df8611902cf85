"""What a page carries of a symptom for the browser: the matrix and its plan as lists of numbers, small as JSON."""

from __future__ import annotations

from fractions import Fraction

from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.plan import Plan, Step
from kb.isolation.search import BUDGET
from kb.isolation.states import bits

Json = dict[str, object]


def data_of(matrix: Matrix, budget: int = BUDGET) -> Json:
    """A matrix as the browser's planner reads it; causes, tests, repairs and accesses by number, times in seconds.

    `tests` are [seconds, accesses, causes left by each finding, tests that come first], `repairs` [seconds,
    accesses, causes mended, 1 where it may be tried]. A list of causes that begins with -1 is all but these.
    `budget` is how many states the planner may open.
    """
    causes = len(matrix.causes)
    return {
        "weights": list(matrix.weights),
        "tests": [_test(test, causes) for test in matrix.tests],
        "repairs": [_repair(repair, causes) for repair in matrix.repairs],
        "access": list(matrix.access),
        "budget": budget,
    }


def _test(test: TestRow, causes: int) -> list[object]:
    return [test.seconds, list(bits(test.needs)), [_causes(m, causes) for m in test.leaves], list(bits(test.after))]


def _repair(repair: RepairRow, causes: int) -> list[object]:
    return [repair.seconds, list(bits(repair.needs)), _causes(repair.mends, causes), int(repair.try_it)]


def _causes(mask: int, count: int) -> list[int]:
    """The numbers in a mask, or -1 and those that aren't where that is shorter."""
    named, others = list(bits(mask)), [-1, *bits((1 << count) - 1 & ~mask)]
    return others if len(others) < len(named) else named


def plan_data(plan: Plan) -> Json:
    """A plan as a list of steps, each once, the first at its head:
    [0 test or 1 repair, number, seconds, next, expected seconds from here on].

    `next` holds for each finding (of a repair: fixed, not fixed) the place of the next step, -1 for none.
    """
    steps = _steps(plan.first)
    places = {id(step): place for place, step in enumerate(steps)}
    to_go: dict[int, Fraction] = {}
    return {
        "seconds": _number(plan.seconds),
        "proved": plan.proved,
        "gap": _number(plan.gap),
        "steps": [_step(step, places, to_go) for step in steps],
    }


def _steps(first: Step | None) -> list[Step]:
    """The steps of a plan, those after fewer steps first."""
    found: dict[int, Step] = {id(first): first} if first else {}
    steps = list(found.values())
    for step in steps:
        for lead in step.leads:
            if lead.then and id(lead.then) not in found:
                found[id(lead.then)] = lead.then
                steps.append(lead.then)
    return steps


def _step(step: Step, places: dict[int, int], to_go: dict[int, Fraction]) -> list[object]:
    following = [-1 if lead.then is None else places[id(lead.then)] for lead in step.leads]
    return [int(step.kind == "repair"), step.number, step.seconds, following, round(_to_go(step, to_go))]


def _to_go(step: Step, known: dict[int, Fraction]) -> Fraction:
    """Expected seconds from a step on."""
    if id(step) not in known:
        rest = sum((lead.share * _to_go(lead.then, known) for lead in step.leads if lead.then), Fraction(0))
        known[id(step)] = step.seconds + rest
    return known[id(step)]


def _number(seconds: Fraction) -> int | float:
    """To the thousandth, whole where it is whole."""
    return int(seconds) if seconds.denominator == 1 else round(float(seconds), 3)
