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
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each test that has no row of findings."""
    for test in asked.base.of_kind(Kind.TEST):
        if not test.findings and not asked.unread_findings(test):
            yield Problem("test-without-findings", test.span, "this test has no findings",
                          "add a table with the columns `Finding`, `Clears`, `Proves`, `Next`")  # fmt: skip
