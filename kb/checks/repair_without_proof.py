"""A repair without `Verify`: nobody knows whether it helped.

Bad:
  ! # Repair: Replace the fuse
    - Takes: 5 min

    1. Fit a fuse of the same rating.

Good:
    # Repair: Replace the fuse
    - Takes: 5 min
    - Verify: [Listen]

    1. Fit a fuse of the same rating.

    # Test: Listen
    - Takes: 1 min
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each repair that names no test to prove it."""
    for repair in asked.base.of_kind(Kind.REPAIR):
        if "Verify" not in repair.facts and not asked.astray(repair, "Verify"):
            yield Problem("repair-without-proof", repair.span, "no test proves this repair", "add `- Verify: [...]`")
