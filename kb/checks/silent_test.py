"""A test whose findings clear or prove nothing, and that proves no repair.

Bad:
  ! # Test: Look at the glass
    - Takes: 3 min

    1. Look.

    | Finding | Next |
    |---|---|
    | It is clean | done |

Good:
    # Test: Look at the glass
    - Takes: 3 min

    1. Look.

    | Finding | Clears |
    |---|---|
    | It is clean | [Glass broken] |
    | It is broken | |

    # Cause: Glass broken
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each test that changes nothing."""
    verifying = {n.id for r in asked.base.of_kind(Kind.REPAIR) for n in asked.base.all(r.refs("Verify"))}
    for test in asked.base.of_kind(Kind.TEST):
        silent = not any(row.clears or row.proves for row in test.findings)
        if silent and test.id not in verifying and not asked.unread_findings(test):
            yield Problem(
                "silent-test",
                test.span,
                "no finding of this test clears or proves a cause",
                "fill `Clears` or `Proves`, or name the test in a repair's `Verify`",
            )
