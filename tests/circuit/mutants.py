"""Small faults put into the solver's own source, one at a time: which of them the tests of circuits notice.

    python -m tests.circuit.mutants [how many] [seed]

Each mutant is the solver with one operator, number, comparison or branch changed, drawn from all such places in
`kb/circuit`; a mutant that no test notices is printed with its line. Left out is what can't be seen by anybody: see
`SAME` and `SEARCH`.
"""

from __future__ import annotations

import ast
import os
import random
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
SOLVER = ("batch", "curves", "faults", "net", "own", "survey", "verdicts", "worlds")
# How long and by which way the pieces of curves are searched, and how much is solved at once: rising curves have one
# answer, so any that is found is the right one.
SEARCH = frozenset(("_ROUNDS", "_JUMPS", "_ONE_BY_ONE", "_NUMBERS"))
# Lines, by file, where a change of this kind changes nothing, and why.
SAME: dict[tuple[str, str, str], str] = {
    ("batch", "matrix[:, :, GROUND] = 0.0", "0.0 becomes 1.0"): "it is multiplied by the chassis's voltage, which is zero",
    ("batch", "volts, island = np.zeros((len(self.rows), self.nodes)), np.zeros(", "zeros becomes ones"):
        "the first round writes all of both before anything reads them",
    ("net", "at = [nodes[Terminal(part.name, pin, part.sides[0]", "0 becomes 1"): "what has sides is a plug, which doesn't use these",
    ("own", 'Change("open", Terminal(part.name, part.pins[0]))', "0 becomes 1"): "a coil is open at either end",
    ("worlds", "state.seen = set() if out else state.seen |", "BitOr becomes BitAnd"): "a buzzing relay is told in the last round then",
    ("verdicts", 'if row.instrument in ("clamp", "eye") or not', "Or becomes And"): "a page's clamp or eye has no leads, all others have two",
    ("worlds", "max(_NUMBERS // self.net.count**2, 1)", "max becomes min"): "how much is solved at once",
    ("worlds", "max(_NUMBERS // self.net.count**2, 1)", "2 becomes 4"): "how much is solved at once",
    ("worlds", "max(_NUMBERS // self.net.count**2, 1)", "1 becomes 2"): "how much is solved at once",
    ("worlds", "if world.dead:", "the branch is never taken"): "an ohmmeter with a source on its island is refused",
}  # fmt: skip
SWAPPED: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.GtE, ast.Gt: ast.LtE,
    ast.LtE: ast.Gt, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.And: ast.Or, ast.Or: ast.And, ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "zeros": "ones"}


@dataclass(frozen=True)
class Mutant:
    """One changed place: the `number`th of its file."""

    file: str
    number: int

    def __str__(self) -> str:
        _, line, words = mutated(self.file, self.number)
        return f"kb/circuit/{self.file}.py:{line}: {words}"


Change = Callable[[], str]


def places(tree: ast.AST) -> Iterator[tuple[int, Change]]:
    """Each place that can be changed, with its line and what changes it and says how."""
    for node in _code(tree):
        line = getattr(node, "lineno", 0)
        if isinstance(node, ast.BinOp | ast.BoolOp | ast.AugAssign) and type(node.op) in SWAPPED:
            yield line, lambda n=node: _operator(n)
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPPED:
            yield line, lambda n=node: _comparison(n)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
            yield line, lambda n=node: _sign(n)
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            yield line, lambda n=node: _number(n)
        elif isinstance(node, ast.Call) and _called(node.func) in CALLS:
            yield line, lambda n=node: _call(n)
        elif isinstance(node, ast.If):
            yield line, lambda n=node: _branch(n)


def _code(tree: ast.AST) -> Iterator[ast.AST]:
    """All nodes but those of annotations and decorators, which nothing runs on, and of what can't be seen.

    `strict` of `zip` is such a thing: it guards against lengths that differ, and here they never do.
    """
    if isinstance(tree, ast.keyword) and tree.arg == "strict" or isinstance(tree, ast.Assign) and _names(tree) & SEARCH:
        return
    for name, value in ast.iter_fields(tree):
        if name not in ("annotation", "returns", "decorator_list"):
            for node in value if isinstance(value, list) else [value]:
                if isinstance(node, ast.AST):
                    yield node
                    yield from _code(node)


def _names(node: ast.Assign) -> set[str]:
    return {name.id for target in node.targets for name in ast.walk(target) if isinstance(name, ast.Name)}


def _operator(node: ast.BinOp | ast.BoolOp | ast.AugAssign) -> str:
    old, node.op = type(node.op), SWAPPED[type(node.op)]()
    return f"{old.__name__} becomes {type(node.op).__name__}"


def _comparison(node: ast.Compare) -> str:
    old, node.ops[0] = type(node.ops[0]), SWAPPED[type(node.ops[0])]()
    return f"{old.__name__} becomes {type(node.ops[0]).__name__}"


def _sign(node: ast.UnaryOp) -> str:
    old = type(node.op).__name__
    if isinstance(node.op, ast.USub):
        node.op = ast.UAdd()
    else:
        node.operand = ast.UnaryOp(ast.Not(), node.operand)
    return f"{old} dropped"


def _number(node: ast.Constant) -> str:
    old = node.value
    node.value = not old if isinstance(old, bool) else old * 2 + (old == 0)
    return f"{old} becomes {node.value}"


def _called(func: ast.expr) -> str:
    return func.id if isinstance(func, ast.Name) else func.attr if isinstance(func, ast.Attribute) else ""


def _call(node: ast.Call) -> str:
    old = _called(node.func)
    if isinstance(node.func, ast.Name):
        node.func.id = CALLS[old]
    elif isinstance(node.func, ast.Attribute):
        node.func.attr = CALLS[old]
    return f"{old} becomes {CALLS[old]}"


def _branch(node: ast.If) -> str:
    node.test = ast.Constant(False)
    return "the branch is never taken"


@cache
def source_of(file: str) -> str:
    """The source of a file of the solver."""
    return (ROOT / "kb" / "circuit" / f"{file}.py").read_text("utf-8")


def mutated(file: str, number: int) -> tuple[str, int, str]:
    """The source of a file with its `number`th place changed, the line and what was changed."""
    tree = ast.parse(source_of(file))
    line, change = list(places(tree))[number]
    words = change()
    return ast.unparse(ast.fix_missing_locations(tree)), line, words


def same(mutant: Mutant) -> str:
    """Why a mutant does what the solver does, if it is known to."""
    _, line, words = mutated(mutant.file, mutant.number)
    text = source_of(mutant.file).splitlines()[line - 1]
    return next(
        (why for (file, part, how), why in SAME.items() if (file, how) == (mutant.file, words) and part in text), ""
    )


@cache
def every() -> tuple[Mutant, ...]:
    """All mutants of the solver that could be noticed."""
    made = (Mutant(file, number) for file in SOLVER for number in range(len(list(places(ast.parse(source_of(file)))))))
    return tuple(mutant for mutant in made if not same(mutant))


def survivors(count: int, seed: int = 1) -> tuple[int, list[Mutant]]:
    """How many mutants were tried, and those that nothing noticed.

    They are tried by one process, on one core. It is this thread alone that parses: in Python 3.11 two threads that
    parse at once can meet in the middle of it where a collector's callback lets the other go on, as that of a test
    library does, and get `AST constructor recursion depth mismatch`.
    """
    drawn = random.Random(seed).sample(every(), min(count, len(every())))
    words = [word for mutant in drawn for word in (mutant.file, str(mutant.number))]
    command = [sys.executable, "-m", "tests.circuit.nursery", *words]
    alone = os.environ | {"OPENBLAS_NUM_THREADS": "1", "BACKPROBE_ALL": ""}
    run = subprocess.run(command, cwd=ROOT, env=alone, stdout=subprocess.PIPE, text=True, check=True)
    found = [line.split() for line in run.stdout.splitlines()]
    assert [(file, int(number)) for file, number, _ in found] == [(m.file, m.number) for m in drawn]
    return len(drawn), [mutant for mutant, (_, _, seen) in zip(drawn, found, strict=True) if seen != "noticed"]


if __name__ == "__main__":
    wanted, drawn_by = (*(int(word) for word in sys.argv[1:]), *(100, 1)[len(sys.argv) - 1 :])
    tried, left = survivors(wanted, drawn_by)
    for mutant in left:
        print(mutant)
    print(f"{tried - len(left)} of {tried} noticed, out of {len(every())} places")
