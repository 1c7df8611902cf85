"""A test without findings says nothing.

Bad:
  ! # Test: Look at the fuse
    - Takes: 3 min

    1. Look at the strip.

Good:
    # Test: Look at the fuse
    - Takes: 3 min

    1. Look at the strip.

    | Finding | Next |
    |---|---|
    | The strip is whole | done |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.model import Node
from kb.read.findings import COLUMNS
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each test that has no row of findings."""
    for test in asked.base.of_kind(Kind.TEST):
        if not test.findings and not asked.unread_findings(test):
            yield Problem("test-without-findings", test.span, "this test has no findings", _help(test))


def _help(test: Node) -> str:
    """A table that is meant as one, but that begins with another word, is told."""
    for block in test.blocks:
        heads = [cell.text for cell in block.table.header.cells] if block.table else []
        if {h.casefold() for h in heads[1:]} & {c.casefold() for c in COLUMNS}:
            return f"its table begins with `{heads[0]}`: call this column `Finding`"
    return "add a table with the columns `Finding`, `Clears`, `Proves`, `Next`"
