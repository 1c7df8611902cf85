"""Plans to be told and drawn: the demo's, and made-up ones in which many steps are met more than once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

from kb.graph import Graph, build_graph
from kb.isolation.figures import Hunt
from kb.isolation.matrix import Matrix, build_matrix
from kb.isolation.plan import Lead, Step
from kb.isolation.states import bits
from kb.model import Base, Node
from kb.read.base import read_base, read_files
from kb.reference import Kind

ROOT = Path(__file__).parents[2]
WORDS = "lamp plug wire bright at the hinge of unconnectedness dark M 12 V in motor not a through moves".split()


@dataclass(frozen=True, slots=True)
class Case:
    """A plan with what it was made of."""

    name: str
    base: Base
    graph: Graph
    symptom: Node
    matrix: Matrix
    first: Step | None


def demo() -> Iterator[Case]:
    """A plan of each symptom of the demo; five states are looked at, so that some plans are far from least."""
    base = read_base(ROOT / "content")
    graph = build_graph(base)
    for symptom in base.of_kind(Kind.SYMPTOM):
        matrix = build_matrix(graph, symptom.id)
        yield Case(symptom.name, base, graph, symptom, matrix, Hunt(matrix, budget=5).fixed.first)


def made_up(seed: int) -> Case:
    """A plan of up to 40 tests on up to 12 causes: any test that splits what is left, then the repair."""
    dice = Random(seed)
    causes, tests = dice.randint(2, 12), dice.randint(1, 40)
    base = read_files({"index.md": b"# Made up\n", "all.md": _page(dice, causes, tests).encode()})
    graph = build_graph(base)
    (symptom,) = base.of_kind(Kind.SYMPTOM)
    matrix = build_matrix(graph, symptom.id)
    return Case(f"made up {seed}", base, graph, symptom, matrix, _Policy(matrix, dice).step(matrix.everything))


def _name(dice: Random, number: int) -> str:
    return " ".join([*dice.choices(WORDS, k=dice.randint(1, 9)), str(number)]).capitalize()


def _page(dice: Random, causes: int, tests: int) -> str:
    names = [_name(dice, i) for i in range(causes)]
    often = ("common", "occasional", "rare")
    lines = ["# Function: F", "", "## Symptom: S", ""]
    lines += ["- Causes: " + "; ".join(f"[{name}] — {dice.choice(often)}" for name in names), ""]
    for i, name in enumerate(names):
        lines += [f"## Cause: {name}", "", f"- Repair: [Repair {i}]", ""]
        lines += [f"## Repair: Repair {i}", "", f"- Takes: {dice.randint(1, 900)} min", "", "1. Mend it.", ""]
    for i in range(tests):
        lines += [f"## Test: {_name(dice, 1000 + i)}", "", f"- Takes: {dice.randint(1, 90)} min", "", "1. Look.", ""]
        lines += ["| Finding | Clears |", "|---|---|"]
        for row in range(dice.randint(2, 5)):
            cleared = [f"[{name}]" for name in names if dice.random() < 0.5]
            lines.append(f"| {_name(dice, row)} | {'; '.join(cleared)} |")
        lines.append("")
    return "\n".join(lines)


class _Policy:
    """Steps by what is left alone; equal states are one step."""

    def __init__(self, matrix: Matrix, dice: Random) -> None:
        self.matrix, self.dice = matrix, dice
        self.steps: dict[int, Step | None] = {0: None}

    def weight(self, left: int) -> int:
        return sum(self.matrix.weights[i] for i in bits(left))

    def step(self, left: int) -> Step | None:
        if left not in self.steps:
            split = [t for t, row in enumerate(self.matrix.tests) if self._splits(row.leaves, left)]
            self.steps[left] = self._test(self.dice.choice(split), left) if split else self._repair(left)
        return self.steps[left]

    def _splits(self, leaves: tuple[int, ...], left: int) -> bool:
        return all(mask & left != left for mask in leaves) and any(mask & left for mask in leaves)

    def _test(self, number: int, left: int) -> Step:
        row = self.matrix.tests[number]
        whole = sum(self.weight(mask & left) for mask in row.leaves)
        leads = [Lead(m & left, Fraction(self.weight(m & left), whole), self.step(m & left)) for m in row.leaves]
        return Step("test", number, row.seconds, tuple(leads))

    def _repair(self, left: int) -> Step:
        number = next(i for i, row in enumerate(self.matrix.repairs) if row.mends & left)
        row = self.matrix.repairs[number]
        rest = left & ~row.mends
        share = Fraction(self.weight(rest), self.weight(left))
        leads = (Lead(0, 1 - share, None), Lead(rest, share, self.step(rest)))
        return Step("repair", number, row.seconds, leads)
