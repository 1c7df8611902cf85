"""Tests of which each has to come after the other.

Bad:
    # Test: Lamp
  ! - After: [Meter]

    # Test: Meter
    - After: [Lamp]

Good:
    # Test: Lamp
    - Takes: 2 min

    # Test: Meter
    - After: [Lamp]
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._loops import required_loops
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each circle, once, at its first reference."""
    yield from required_loops(asked, "test-loop", Kind.TEST, "After")
