"""A cause that no repair removes: it is found, and now what?

Bad:
  ! # Cause: Fuse blown

Good:
    # Cause: Fuse blown
    - Repair: [Replace the fuse]

    # Repair: Replace the fuse
    - Takes: 5 min
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each cause without a repair."""
    for cause in asked.base.of_kind(Kind.CAUSE):
        if not asked.graph.repairs(cause.id) and not asked.unread_fact(cause, "Repair"):
            yield Problem("cause-without-repair", cause.span, "no repair removes this cause", "add `- Repair: [...]`")
