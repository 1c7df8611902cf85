"""Lessons that stand before one another in a circle.

Bad:
    # Lesson: Lamp
  ! - After: [Meter]

    # Lesson: Meter
    - After: [Lamp]

Good:
    # Lesson: Lamp

    # Lesson: Meter
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
    yield from required_loops(asked, "lesson-loop", Kind.LESSON, "After")
