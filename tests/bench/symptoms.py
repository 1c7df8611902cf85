"""Made-up symptoms of any size from a fixed seed: causes, tests, repairs and accesses without pages."""

from __future__ import annotations

import random

from kb.isolation.matrix import Matrix, RepairRow, TestRow


def made_symptom(seed: int, causes: int, tests: int, access: int) -> Matrix:
    """Tests that part all causes in two or three, each cause with a repair of its own or with neighbours."""
    dice = random.Random(seed)
    seconds = tuple(dice.choice([5, 8, 10, 20, 35]) * 60 for _ in range(access))
    rows = tuple(_test(t, causes, access, dice) for t in range(tests))
    repairs = _repairs(causes, access, dice)
    weights = tuple(dice.choice([1, 3, 6, 12]) for _ in range(causes))
    return Matrix(tuple(map(str, range(causes))), weights, rows, repairs, seconds)


def _test(number: int, causes: int, access: int, dice: random.Random) -> TestRow:
    leaves = [0] * dice.choice([2, 2, 2, 3])
    for cause in range(causes):
        leaves[dice.randrange(len(leaves))] |= 1 << cause
    needs = _some(access, 0.3, dice)
    return TestRow(f"t{number}", dice.choice([1, 2, 3, 5, 8]) * 60, needs, tuple(leaves))


def _repairs(causes: int, access: int, dice: random.Random) -> tuple[RepairRow, ...]:
    found: list[RepairRow] = []
    cause = 0
    while cause < causes:
        size = min(causes - cause, dice.choice([1, 1, 1, 2, 3]))
        seconds = dice.choice([5, 10, 25, 30, 40]) * 60
        needs = _some(access, 0.4, dice)
        found.append(RepairRow(f"r{cause}", seconds, needs, ((1 << size) - 1) << cause, dice.random() < 0.1))
        cause += size
    return tuple(found)


def _some(count: int, chance: float, dice: random.Random) -> int:
    return sum(1 << i for i in range(count) if dice.random() < chance)


def crossed_symptom(seed: int, causes: int, tests: int, access: int) -> Matrix:
    """Tests that speak of a few causes with findings that overlap, some after others; each access needs the
    one before it in its chain; some repairs mend many causes, may be tried, or mend none of some.
    """
    dice = random.Random(seed)
    closed = [1 << i | (1 << i - 1 if i % 3 else 0) | (1 << i - 2 if i % 3 == 2 else 0) for i in range(access)]
    rows = tuple(_crossed(t, causes, closed, dice) for t in range(tests))
    repairs = [
        RepairRow(f"r{i}", dice.choice([0, 5, 10, 25]) * 60, _opened(closed, dice), 1 << i, dice.random() < 0.15)
        for i in range(causes)
        if dice.random() < 0.9
    ]
    for i in range(dice.randint(0, 2)):
        mends = _some(causes, 0.4, dice)
        repairs.append(
            RepairRow(f"many{i}", dice.choice([10, 40]) * 60, _opened(closed, dice), mends, dice.random() < 0.2)
        )
    weights = tuple(dice.choice([1, 3, 6, 12]) for _ in range(causes))
    seconds = tuple(dice.choice([0, 2, 5, 20]) * 60 for _ in range(access))
    return Matrix(tuple(map(str, range(causes))), weights, rows, tuple(repairs), seconds)


def _crossed(number: int, causes: int, closed: list[int], dice: random.Random) -> TestRow:
    leaves = [(1 << causes) - 1] * dice.choice([1, 2, 2, 2, 3, 4])
    for cause in dice.sample(range(causes), min(causes, dice.randint(1, 5))):
        keeping = dice.randint(1, max(len(leaves) - 1, 1))
        kept = dice.sample(range(len(leaves)), keeping)
        leaves = [m if f in kept else m & ~(1 << cause) for f, m in enumerate(leaves)]
    after = 1 << dice.randrange(number) if number and dice.random() < 0.15 else 0
    return TestRow(f"t{number}", dice.choice([0, 1, 2, 3, 5, 8]) * 60, _opened(closed, dice), tuple(leaves), after)


def _opened(closed: list[int], dice: random.Random) -> int:
    """No access as often as one, with those before it."""
    return dice.choice([0, *closed]) if dice.random() < 0.5 else 0
