"""Small faults put into the solver's own source, one at a time: which of them the tests of circuits notice.

    python -m tests.circuit.mutants [how many] [seed]

Each mutant is a copy of the package with one operator, number, comparison or branch changed, drawn from all such
places in `kb/circuit`; a mutant that no test notices is printed with its line. Some change nothing that can be seen.
"""

from __future__ import annotations

import ast
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
SOLVER = ("batch", "curves", "faults", "net", "own", "survey", "verdicts", "worlds")
TESTS = ("readings", "kinds", "practice", "published", "exact", "laws", "ngspice")
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
    """All nodes but those of annotations and decorators, which nothing runs on."""
    for name, value in ast.iter_fields(tree):
        if name not in ("annotation", "returns", "decorator_list"):
            for node in value if isinstance(value, list) else [value]:
                if isinstance(node, ast.AST):
                    yield node
                    yield from _code(node)


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


def mutated(file: str, number: int) -> tuple[str, int, str]:
    """The source of a file with its `number`th place changed, the line and what was changed."""
    tree = ast.parse((ROOT / "kb" / "circuit" / f"{file}.py").read_text("utf-8"))
    line, change = list(places(tree))[number]
    words = change()
    return ast.unparse(ast.fix_missing_locations(tree)), line, words


def every() -> list[Mutant]:
    """All mutants of the solver."""
    return [
        Mutant(file, number)
        for file in SOLVER
        for number in range(len(list(places(ast.parse((ROOT / "kb" / "circuit" / f"{file}.py").read_text("utf-8"))))))
    ]


def noticed(mutant: Mutant) -> bool:
    """True where a test of circuits fails with this mutant."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for part in ("kb", "tests"):
            shutil.copytree(
                ROOT / part, copy / part, ignore=shutil.ignore_patterns("__pycache__", "site", "gates", "*.png")
            )
        shutil.copy(ROOT / "pyproject.toml", copy)
        (copy / "kb" / "circuit" / f"{mutant.file}.py").write_text(mutated(mutant.file, mutant.number)[0], "utf-8")
        return _failed(copy)


def _failed(copy: Path) -> bool:
    files = [f"tests/circuit/test_{name}.py" for name in TESTS]
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--no-header", *files]
    try:
        return subprocess.run(command, cwd=copy, capture_output=True, timeout=120).returncode != 0
    except subprocess.TimeoutExpired:
        return True


def survivors(count: int, seed: int = 1) -> tuple[int, list[Mutant]]:
    """How many mutants were tried, and those that nothing noticed."""
    drawn = every()
    drawn = random.Random(seed).sample(drawn, min(count, len(drawn)))
    with ThreadPoolExecutor(2) as pool:
        found = list(pool.map(noticed, drawn))
    return len(drawn), [mutant for mutant, seen in zip(drawn, found, strict=True) if not seen]


if __name__ == "__main__":
    wanted, drawn_by = (*(int(word) for word in sys.argv[1:]), *(100, 1)[len(sys.argv) - 1 :])
    tried, left = survivors(wanted, drawn_by)
    for mutant in left:
        print(mutant)
    print(f"{tried - len(left)} of {tried} noticed, out of {len(every())} places")
