"""A test, repair or access without a numbered step.

Bad:
  ! # Access: Door trim off
    - Takes: 20 min

    Take it off.

Good:
    # Access: Door trim off
    - Takes: 20 min

    1. Take out the screw behind the grip.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.reference import PROCEDURES

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each procedure that has no numbered step."""
    for node in asked.base.of_kind(*PROCEDURES):
        if not any(moment.numbered for moment in node.moments):
            yield Problem(
                "no-steps",
                node.span,
                f"this {node.kind.value.lower()} has no numbered step",
                "write what to do as a list: `1. ...`, one act a step",
            )
