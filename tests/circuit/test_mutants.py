"""The tests of circuits have to notice small faults in the solver's source; see `mutants.py`."""

from __future__ import annotations

import ast

from tests.circuit import mutants
from tests.conftest import RUN_ALL

LEAST = 0.8  # of 60 drawn mutants; some change a message, a limit of rounds or speed alone


def test_every_mutant_is_a_change():
    found = mutants.every()
    assert len(found) > 300
    for mutant in found[:: len(found) // 25]:
        source, line, _ = mutants.mutated(mutant.file, mutant.number)
        whole = ast.unparse(ast.parse((mutants.ROOT / "kb" / "circuit" / f"{mutant.file}.py").read_text("utf-8")))
        assert source != whole, (mutant.file, line)


if RUN_ALL:  # some minutes

    def test_mutants_are_noticed():
        tried, left = mutants.survivors(60)
        assert len(left) <= tried * (1 - LEAST), [str(mutant) for mutant in left]
