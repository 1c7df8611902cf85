"""Two rows of one test that one reading meets: which of them holds?

Bad:
    # Test: Volts at the plug
    - Takes: 2 min

    | Finding | Reading |
    |---|---|
    | Good feed | > 10 V |
  ! | Weak feed | 2 to 11 V |

Good:
    # Test: Volts at the plug
    - Takes: 2 min

    | Finding | Reading |
    |---|---|
    | Good feed | > 11 V |
    | Weak feed | 2 to 11 V |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.model import Finding
from kb.read.findings import overlap
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each row whose reading an earlier row of the test has too."""
    for test in asked.base.of_kind(Kind.TEST):
        read = [row for row in test.findings if not asked.unread(row.span)]
        for number, row in enumerate(read):
            earlier = next((e for e in read[:number] if _meet(e, row)), None)
            if earlier:
                yield Problem(
                    "overlapping-readings",
                    row.span,
                    f"a reading can meet this row and `{earlier.words.text}` alike",
                    "let the ranges of a test's rows touch, not overlap",
                )


def _meet(a: Finding, b: Finding) -> bool:
    return any(overlap(x, y) for x in a.ranges for y in b.ranges)
