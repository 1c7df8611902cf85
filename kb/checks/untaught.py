"""A test or hazard that no lesson covers, in a base with lessons.

Bad:
    # Lesson: Lamp
    - Covers: [Lamp at the plug]

    # Test: Lamp at the plug
    - Takes: 2 min

  ! # Test: Listen
    - Takes: 1 min

Good:
    # Lesson: Lamp
    - Covers: [Lamp at the plug]; [Listen]

    # Test: Lamp at the plug
    - Takes: 2 min

    # Test: Listen
    - Takes: 1 min
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.NOTE


def check(asked: Asked) -> Iterator[Problem]:
    """Each test and hazard that no lesson names."""
    if not asked.base.of_kind(Kind.LESSON):
        return
    for node in asked.base.of_kind(Kind.TEST, Kind.HAZARD):
        if not asked.graph.lessons_of(node.id):
            yield Problem(
                "untaught",
                node.span,
                f"no lesson covers this {node.kind.value.lower()}",
                "name it in a lesson's `Covers` or text",
            )
