"""An access that requires itself, by itself or over others.

Bad:
    # Access: Trim off
  ! - Access: [Barrier off]

    # Access: Barrier off
    - Access: [Trim off]

Good:
    # Access: Trim off
    - Takes: 20 min

    # Access: Barrier off
    - Access: [Trim off]
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
    yield from required_loops(asked, "access-loop", Kind.ACCESS, "Access")
