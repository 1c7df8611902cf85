"""The house's own rules, held against its source: imports point down, files say what they know."""

from __future__ import annotations

import ast
import importlib
import re
import statistics
from pathlib import Path

import networkx as nx
import pytest

ROOT = Path(__file__).parent.parent
FLOORS = (
    ("source", "diagnostic", "quantity", "files", "assets", "phrases", "progress", "dump"),
    ("reference", "netlist", "model"),
    ("read",),
    ("graph", "weights", "circuit", "isolation"),
    ("checks",),
    ("search", "site", "report", "readings", "plans", "leads", "walk", "walking", "lessons"),
    ("build",),
    ("cli", "commands", "finding", "options", "ask", "terminal", "view", "editor", "__main__"),
)
FLOOR = {name: floor for floor, names in enumerate(FLOORS) for name in names}
FILES = sorted(path for path in (ROOT / "kb").rglob("*.py") if "demo" not in path.relative_to(ROOT).parts)


def part_of(path: Path) -> str:
    """The part of the package that a file belongs to: `read` for kb/read/page.py."""
    return path.relative_to(ROOT / "kb").with_suffix("").parts[0]


def imported(tree: ast.AST) -> set[str]:
    """The parts of the package that a file imports."""
    names = [n.module for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.module]
    names += [a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names]
    return {name.split(".")[1] for name in names if name.startswith("kb.")}


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_imports_point_down(path):
    part = part_of(path)
    if part == "__init__":
        assert not imported(ast.parse(path.read_text()))
        return
    for other in imported(ast.parse(path.read_text())):
        assert FLOOR[other] <= FLOOR[part], f"{part} (floor {FLOOR[part]}) imports {other} (floor {FLOOR[other]})"


def module(path: Path) -> str:
    """The dotted name of a file."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def test_no_file_imports_itself_by_way_of_others():
    names = {module(path) for path in FILES}
    graph: nx.DiGraph = nx.DiGraph()
    for path in FILES:
        tree = ast.parse(path.read_text())
        typed = only_for_types(tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module and node not in typed:
                inside = [f"{node.module}.{alias.name}" for alias in node.names]
                graph.add_edges_from((module(path), n) for n in [node.module, *inside] if n in names)
    assert nx.is_directed_acyclic_graph(graph)


def only_for_types(tree: ast.AST) -> set[ast.AST]:
    """What stands below `if TYPE_CHECKING:`, which isn't run."""
    guards = [n for n in ast.walk(tree) if isinstance(n, ast.If) and ast.unparse(n.test) == "TYPE_CHECKING"]
    return {node for guard in guards for node in ast.walk(guard)}


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_a_file_says_in_its_docstring_what_it_knows(path):
    assert ast.get_docstring(ast.parse(path.read_text()))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_everything_is_annotated(path):
    for function in ast.walk(ast.parse(path.read_text())):
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef):
            given = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
            bare = [a.arg for a in given if a.annotation is None and a.arg not in ("self", "cls")]
            assert not bare, f"{function.name}: {bare}"
            assert function.returns is not None, function.name


def test_functions_are_short():
    """Nine in ten under 25 lines."""
    lengths = [
        function.end_lineno - function.lineno + 1
        for path in FILES
        for function in ast.walk(ast.parse(path.read_text()))
        if isinstance(function, ast.FunctionDef)
    ]
    assert statistics.quantiles(lengths, n=10)[-1] < 25


def test_every_file_of_the_package_imports():
    for path in FILES:
        if not module(path).endswith("__main__"):
            importlib.import_module(module(path))


def test_no_clock_and_no_chance_in_what_is_written():
    """Same input, same bytes out: only the commands may look at a clock."""
    for path in FILES:
        if FLOOR.get(part_of(path), 0) < FLOOR["cli"]:
            text = path.read_text()
            assert not re.search(r"^\s*(import|from) (random|uuid|secrets|time)\b|\.(now|today|utcnow)\(", text, re.M), path.name


def test_the_package_knows_nothing_of_its_first_base():
    words = re.compile(r"\bmirrors?\b(?![`.])", re.I)
    for path in FILES:
        found = [line for line in path.read_text().splitlines() if words.search(re.sub(r"`[^`]*`", "", line))]
        assert not found, (path.name, found)
