"""Runs the tests of circuits with one changed file of the solver at a time, each run in a fork of one process.

    python -m tests.circuit.nursery FILE NUMBER [FILE NUMBER ...]

The process has loaded all but the solver and its tests, so that a run costs little more than its tests. It prints
a line for each mutant: its file, its number, and `noticed` or `unseen`. A run that takes too much of the processor
or of memory counts as noticed: nothing in these tests takes half as long.
"""

from __future__ import annotations

import importlib
import os
import resource
import sys
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parent.parent.parent
# Those that notice most in the least time come first.
TESTS = ("readings", "published", "kinds", "corners", "limits", "practice", "exact", "ngspice", "laws", "tolerances")
LOADED = ("pytest", "hypothesis", "numpy", "networkx", "kb.read.base", "kb.graph", "tests.bases")
LEFT_OUT = "test_kinds.py::test_a_circuit_of_2000_parts_is_too_large"  # asks nothing of the files that are changed
SECONDS, BYTES = 45, 4 << 30  # of the processor; of memory


class Changed(MetaPathFinder, Loader):
    """Gives one module another source."""

    def __init__(self, name: str, source: str) -> None:
        self.name, self.source = name, source

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        return spec_from_loader(name, self) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.source, f"<mutant of {self.name}>", "exec"), module.__dict__)


def noticed(module: str, source: str) -> bool:
    """True where a test fails with this source of a module."""
    child = os.fork()
    if not child:
        _run(module, source)
    _, status = os.waitpid(child, 0)
    return status != 0


def _run(module: str, source: str) -> None:
    """In the child: run the tests and end with their result."""
    result = 1
    try:
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        sys.meta_path.insert(0, Changed(module, source))
        import pytest

        loaded = "ignore:Module already imported:pytest.PytestAssertRewriteWarning"
        options = ("-W", loaded, "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--hypothesis-profile=mutant")
        left_out = ("--deselect", f"tests/circuit/{LEFT_OUT}")
        result = int(pytest.main([*options, *left_out, *(f"tests/circuit/test_{name}.py" for name in TESTS)]))
    finally:
        os._exit(min(result, 1))


def prepare() -> None:
    """Load what no mutant changes; a failed example of a law isn't made smaller, it is enough that it failed.

    Options that the tests around were given by the environment aren't for the runs in here: they name a plug-in that
    these runs leave out.
    """
    os.environ.pop("PYTEST_ADDOPTS", None)
    for name in LOADED:
        importlib.import_module(name)
    from hypothesis import HealthCheck, Phase, settings

    settings.register_profile(
        "mutant", derandomize=True, deadline=None, phases=(Phase.explicit, Phase.generate), database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )  # fmt: skip
    early = [name for name in sys.modules if name.startswith("kb.circuit")]
    assert not early, f"loaded before it could be changed: {early}"


def main(words: list[str]) -> None:
    """Run the mutants named in `words`, after the solver as it is: were its tests to fail, they would notice anything."""
    from tests.circuit import mutants

    os.chdir(ROOT)
    prepare()
    assert not noticed("kb.circuit.curves", mutants.source_of("curves")), "the tests fail without any mutant"
    for file, number in zip(words[::2], words[1::2], strict=True):
        source, _, _ = mutants.mutated(file, int(number))
        print(file, number, "noticed" if noticed(f"kb.circuit.{file}", source) else "unseen", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
