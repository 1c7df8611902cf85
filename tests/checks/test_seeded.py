"""Defects planted one at a time in the demonstration base are reported at their line."""

from __future__ import annotations

import os
import random
from collections import Counter
from dataclasses import dataclass

import pytest

from kb.checks import CATALOGUE
from tests.checks import defects, defects_more, defects_safety, harmless
from tests.checks.trial import SOLVED, Demo, Edit

EVERYTHING = bool(os.environ.get("BACKPROBE_ALL"))
EACH = 4  # places of one shape
SEED = 20260125


@dataclass(frozen=True)
class Seed:
    """A planted defect of a named shape."""

    shape: str
    edit: Edit


@pytest.fixture(scope="module")
def demo() -> Demo:
    return Demo()


def spread(edits: list[Edit], most: int, chance: random.Random) -> list[Edit]:
    """Some of the edits, from as many pages as there are, always the same ones."""
    mixed = sorted(edits, key=lambda e: (e.path, e.line))
    chance.shuffle(mixed)
    seen: Counter[str] = Counter()
    ranked = []
    for edit in mixed:
        ranked.append((seen[edit.path], len(ranked), edit))
        seen[edit.path] += 1
    return [edit for _, _, edit in sorted(ranked, key=lambda r: r[:2])[:most]]


def planted(demo: Demo) -> list[Seed]:
    chance = random.Random(SEED)
    assert defects_more and defects_safety
    found = []
    for _, name, make in defects.SHAPES:
        found.extend(Seed(name, edit) for edit in spread(list(make(demo)), EACH, chance))
    return found


def test_defects(demo: Demo) -> None:
    seeds = planted(demo)
    tried = seeds if EVERYTHING else random.Random(SEED).sample(seeds, 26)
    missed, extra = [], Counter()
    for seed in tried:
        edit = seed.edit
        new = demo.new_problems(edit)
        hit = [p for p in new if (p.rule, p.span.path, p.span.line) == (edit.rule, edit.path, edit.line)]
        if not hit:
            at = [f"{p.rule} {p.span.path}:{p.span.line}" for p in new]
            missed.append(f"{edit.rule} by {seed.shape} at {edit.path}:{edit.line}; reported: {at}")
        extra[len(new) - len(hit)] += 1
    size = sum(n * k for n, k in extra.items()) / len(tried)
    print(f"\nseeded {len(tried) - len(missed)}/{len(tried)} at the right line; other problems a seed: {size:.2f} {sorted(extra.items())}")
    assert not missed, "\n".join(missed)


def left_alone(demo: Demo) -> list[Seed]:
    """Harmless edits: some of each shape, of the many kinds of added prose more."""
    chance = random.Random(SEED)
    most = {"prose_below_a_node": 3 * len(harmless.ADDED)}
    found = [Seed(make.__name__, edit) for make in harmless.HARMLESS
             for edit in spread(list(make(demo)), most.get(make.__name__, 5), chance)]  # fmt: skip
    return [seed for seed in found if any(demo.data.get(p) != b for p, b in seed.edit.files().items())]


def test_harmless_edits(demo: Demo) -> None:
    edits = left_alone(demo)
    assert len(edits) >= 150
    tried = edits if EVERYTHING else random.Random(SEED).sample(edits, 15)
    alarms = [f"{e.shape} at {e.edit.path}:{e.edit.line}: {more[:4]}" for e in tried if (more := demo.more_problems(e.edit))]
    print(f"\nfalse alarms {len(alarms)}/{len(tried)}")
    assert not alarms, "\n".join(alarms)


def test_an_alarm_would_be_heard(demo: Demo) -> None:
    """A defect put in as if it were harmless isn't passed over, and an unchanged base tells nothing new."""
    one = next(seed.edit for seed in planted(demo) if seed.edit.rule == "unknown-name")
    assert demo.more_problems(one)
    assert demo.more_problems(Edit(dict)) == demo.new_problems(Edit(dict)) == []


def test_shapes_reach_far(demo: Demo) -> None:
    """Each rule that reading and graph can judge has at least four places, of several pages where there are."""
    count = Counter(seed.edit.rule for seed in planted(demo))
    assert {rule for rule, n in count.items() if n < 4} <= FEW
    assert set(count) >= set(CATALOGUE) - SOLVED


FEW = frozenset(("lesson-loop",))  # the base has three lessons
