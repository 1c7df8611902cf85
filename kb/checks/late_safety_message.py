"""A safety message that stands after the step that calls for it.

Bad:
    # Hazard: Sharp trim
    - Signal word: CAUTION
    - Hazard: The edges are sharp.
    - Consequence: They cut fingers.
    - Avoidance: Wear gloves.
    - At words: trim

    # Access: Trim off
    - Takes: 20 min

    1. Pull the trim.

  ! > **CAUTION** [Sharp trim]

Good:
    # Hazard: Sharp trim
    - Signal word: CAUTION
    - Hazard: The edges are sharp.
    - Consequence: They cut fingers.
    - Avoidance: Wear gloves.
    - At words: trim

    # Access: Trim off
    - Takes: 20 min

    > **CAUTION** [Sharp trim]

    1. Pull the trim.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._messages import about, calls, weaker
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False


def check(asked: Asked) -> Iterator[Problem]:
    """Each call that is answered too late."""
    for node, call, place in calls(asked):
        strong = [(i, m) for i, m in about(asked, node, call.hazard) if not weaker(m, call.hazard)]
        if strong and call.moment and strong[0][0] > place:
            yield Problem(
                "late-safety-message",
                strong[0][1].span,
                f"the message `{call.hazard.name}` stands after the step that calls for it",
                f"move it above line {call.moment.span.line}: {call.trigger} calls for it",
            )
