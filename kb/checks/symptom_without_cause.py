"""A symptom that names no cause: there is nothing to look for.

Bad:
  ! # Symptom: Nothing moves

Good:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]

    # Cause: Fuse blown
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each symptom without a cause."""
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        if not asked.graph.causes(symptom.id) and not asked.unread_fact(symptom, "Causes"):
            yield Problem(
                "symptom-without-cause",
                symptom.span,
                "this symptom has no cause",
                "add `- Causes: [...]`, the most likely first",
            )
