"""The tests of circuits have to notice small faults in the solver's source; see `mutants.py`."""

from __future__ import annotations

import ast
import os
import subprocess
import sys

from tests.circuit import mutants
from tests.conftest import RUN_ALL

LEAST = 0.93  # of 60 drawn mutants; most of the others change a tolerance of rounding by a factor


def test_every_mutant_is_a_change():
    found = mutants.every()
    assert len(found) > 300
    for mutant in found[:: len(found) // 25]:
        source, line, _ = mutants.mutated(mutant.file, mutant.number)
        whole = ast.unparse(ast.parse(mutants.source_of(mutant.file)))
        assert source != whole, (mutant.file, line)


def test_what_is_left_out_is_there():
    """Each change that is said to be none stands in the solver, as often as its words name it: no others hide behind it."""
    for file, part, how in mutants.SAME:
        tree = mutants.places(ast.parse(mutants.source_of(file)))
        lines = mutants.source_of(file).splitlines()
        found = [mutants.mutated(file, n)[2] for n, (line, _) in enumerate(tree) if part in lines[line - 1]]
        assert found.count(how) == max(part.count(how.split()[0]), 1), (file, part, found)


def test_a_whole_solver_is_not_noticed_and_a_broken_one_is():
    """The runner by itself: a file as it is passes all tests; one that can't be read, and one that never ends, don't."""
    broken = "from kb.circuit.batch import Nothing"
    program = (
        "import os\nfrom tests.circuit import nursery\nos.chdir(nursery.ROOT)\nnursery.prepare()\nnursery.SECONDS = 3\n"
        f"print(nursery.noticed('kb.circuit.curves', {broken!r}), nursery.noticed('kb.circuit.curves', 'while True: pass'))\n"
        "nursery.SECONDS = 60\nnursery.TESTS = ('readings',)\n"
        "print(nursery.noticed('kb.circuit.curves', (nursery.ROOT / 'kb/circuit/curves.py').read_text()))\n"
    )
    around = os.environ | {"PYTEST_ADDOPTS": "-n 2"}  # as where the tests are run on two cores
    run = subprocess.run([sys.executable, "-c", program], cwd=mutants.ROOT, env=around, capture_output=True, text=True)
    assert run.stdout.split() == ["True", "True", "False"], run.stderr


if RUN_ALL:  # some minutes

    def test_mutants_are_noticed():
        tried, left = mutants.survivors(60)
        assert len(left) <= tried * (1 - LEAST), [str(mutant) for mutant in left]
