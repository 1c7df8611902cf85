"""A symptom without the customer's words for it.

Bad:
  ! # Symptom: Tilt dead
    - Causes: [Fuse blown]

    # Cause: Fuse blown

Good:
    # Symptom: Tilt dead
    - Said as: it only goes left and right
    - Causes: [Fuse blown]

    # Cause: Fuse blown
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.NOTE


def check(asked: Asked) -> Iterator[Problem]:
    """Each symptom without `Said as`."""
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        if "Said as" not in symptom.facts and not asked.astray(symptom, "Said as"):
            yield Problem(
                "no-customer-words",
                symptom.span,
                "this symptom has no customer's words",
                "add `- Said as: ...`, as people say it at the counter",
            )
