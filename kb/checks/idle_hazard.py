"""A hazard that nothing calls for: its message is never required.

Bad:
  ! # Hazard: Glass splinters
    - Signal word: CAUTION
    - Hazard: The glass is cracked.
    - Consequence: Splinters cut fingers.
    - Avoidance: Wear gloves.

Good:
    # Hazard: Glass splinters
    - Signal word: CAUTION
    - Hazard: The glass is cracked.
    - Consequence: Splinters cut fingers.
    - Avoidance: Wear gloves.
    - At words: glass

    # Access: Glass off
    - Takes: 10 min

    > **CAUTION** [Glass splinters]

    1. Lift the glass.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._messages import calls
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.NOTE
TRIGGERS = ("With access", "With tool", "In function", "At words")


def check(asked: Asked) -> Iterator[Problem]:
    """Each hazard without a call; not for one vehicle, where what calls for it may be on others."""
    if asked.base.vehicle:
        return
    called = {call.hazard.id for _, call, _ in calls(asked)}
    for hazard in asked.base.of_kind(Kind.HAZARD):
        if hazard.id not in called and not any(asked.unread_fact(hazard, key) for key in TRIGGERS):
            yield Problem(
                "idle-hazard",
                hazard.span,
                "nothing calls for this hazard's message",
                "add `With access`, `With tool`, `In function` or `At words`",
            )
