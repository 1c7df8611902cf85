"""Claims that a solved circuit denies, planted one at a time in the demonstration base, are told at their place.

The claims are known to be wrong apart from the rules: see `claims_trial.py` and each shape in `claims_wrong.py`.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass

import pytest

from kb.circuit.verdicts import Reading
from tests.checks import claims_wrong_circuits
from tests.checks.claims_harmless import HARMLESS
from tests.checks.claims_trial import SOLVED_RULES, Claim, Claims, Shape, covers, some
from tests.checks.claims_wrong import WRONG
from tests.checks.trial import Edit
from tests.conftest import RUN_ALL

EACH = 5  # wrong claims of a shape in the long run
SEED = 20260303


@dataclass(frozen=True)
class Seed:
    """A claim of a named shape."""

    shape: str
    claim: Claim


@pytest.fixture(scope="module")
def claims() -> Claims:
    return Claims()


def drawn(claims: Claims, shapes: list[Shape], each: int) -> list[Seed]:
    """So many claims of each shape, always the same ones; in the short run one of some shapes."""
    chance = random.Random(SEED)
    made = {make.__name__: some([c for c in make(claims) if not claims.allowed(c)], each, chance) for make in shapes}
    if RUN_ALL:
        return [Seed(name, claim) for name, found in made.items() for claim in found]
    return [Seed(name, made[name][0]) for name in chance.sample(sorted(made), len(made) * 7 // 10)]


def test_wrong_claims_are_told(claims: Claims) -> None:
    assert claims_wrong_circuits
    assert claims.problems_of(Edit(dict)) == []
    seeds = drawn(claims, WRONG, EACH)
    missed = []
    for seed in seeds:
        told = claims.problems_of(seed.claim.edit)
        if not any(seed.claim.met_by(problem) for problem in told):
            where = f"{seed.claim.edit.path}:{sorted(seed.claim.lines)}"
            missed.append(
                f"{seed.shape}: {sorted(seed.claim.rules)} at {where}; told: {[f'{p.rule} {p.span.path}:{p.span.line}' for p in told]}"
            )
    print(f"\nwrong claims told: {len(seeds) - len(missed)}/{len(seeds)}")
    assert not missed, "\n".join(missed)


def test_true_claims_raise_nothing(claims: Claims) -> None:
    """As many changes that leave each claim true: no rule tells anything new; the short run asks those of circuits."""
    wanted = len(drawn(claims, WRONG, EACH))
    seeds = drawn(claims, HARMLESS, -(-wanted // len(HARMLESS)))
    assert len(seeds) >= (wanted if RUN_ALL else wanted // 2)
    alarms = [(s.shape, told) for s in seeds if (told := claims.new_with(s.claim.edit, all_rules=RUN_ALL))]
    print(f"\ntrue claims left alone: {len(seeds) - len(alarms)}/{len(seeds)}")
    assert not alarms


def test_what_the_writer_lets_pass_is_not_told(claims: Claims) -> None:
    """The one kind of wrong claim that nothing tells: where the page allows the rule to pass, and says why. They are few."""
    made = [claim for make in WRONG for claim in make(claims)]
    allowed = [claim for claim in made if claims.allowed(claim)]
    assert 0 < len(allowed) < len(made) / 50
    assert not any(claim.met_by(problem) for claim in allowed[:2] for problem in claims.problems_of(claim.edit))


def test_shapes_reach_far(claims: Claims) -> None:
    """Each shape has places enough to draw from, each rule that solves has shapes, and most circuits are touched."""
    made = {make.__name__: list(make(claims)) for make in [*WRONG, *HARMLESS]}
    assert {name for name, found in made.items() if len(found) < EACH} == set()
    wrong = [claim for make in WRONG for claim in made[make.__name__]]
    assert {rule for claim in wrong for rule in claim.rules} == set(SOLVED_RULES)
    pages = Counter(claim.edit.path for claim in wrong)
    assert {claims.base.nodes[name].page for name in claims.base.circuits} <= set(pages)


VOLTS, OPEN, CLAMP = (
    Reading(6.0, "V", None, supply=12.0),
    Reading(None, "ohm", "OL"),
    Reading(-0.18, "A", None, supply=12.0),
)
FLOATING, TURNING = Reading(0.0, "V", None, defined=False, supply=12.0), Reading(None, "", "moves", "up")


@pytest.mark.parametrize(("cell", "reading", "covered"), [
    ("> 5.9 V", VOLTS, True), ("> 6.1 V, dim", VOLTS, False), ("dim, 49 to 51 % of supply", VOLTS, True), ("< 49 % of supply", VOLTS, False),
    ("> 5900 mV", VOLTS, True), ("> 5 ohm", VOLTS, False), ("> 30 ohm, OL", OPEN, True), ("> 30 ohm", OPEN, False),
    ("0.1 to 1.6 A", CLAMP, True), ("< 0.1 A", CLAMP, False), ("< 20 % of supply, undefined", FLOATING, True), ("< 1 V", FLOATING, False),
    ("moves", TURNING, True), ("up", TURNING, True), ("slow, still", TURNING, False),
])  # fmt: skip
def test_a_cell_read_apart_from_the_rules(cell: str, reading: Reading, covered: bool) -> None:
    """The trial's own reading of a `Reading` cell; all values invented."""
    assert covers(cell, reading) is covered
