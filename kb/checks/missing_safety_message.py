"""A node calls for a hazard's message and doesn't have it.

A hazard is called for by any one of its triggers: an access, a tool, a function, words in a step. The
message stands in that very node, before the first step that calls for it; nothing is inherited.

Bad:
    # Hazard: Sharp trim
    - Signal word: CAUTION
    - Hazard: The edges are sharp.
    - Consequence: They cut fingers.
    - Avoidance: Wear gloves.
    - At words: trim

    # Access: Trim off
    - Takes: 20 min

    1. Take out the screw.
  ! 2. Pull the trim.

Good:
    # Hazard: Sharp trim
    - Signal word: CAUTION
    - Hazard: The edges are sharp.
    - Consequence: They cut fingers.
    - Avoidance: Wear gloves.
    - At words: trim

    # Access: Trim off
    - Takes: 20 min

    1. Take out the screw.

    > **CAUTION** [Sharp trim]

    2. Pull the trim.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._messages import about, calls, messages
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False


def check(asked: Asked) -> Iterator[Problem]:
    """Each call that no message of the node answers."""
    for node, call, _ in calls(asked):
        if about(asked, node, call.hazard) or any(asked.unread(m.span) for _, m in messages(node)):
            continue
        where = call.moment.span if call.moment else node.span
        word = call.hazard.text("Signal word") or "WARNING"
        yield Problem(
            "missing-safety-message",
            where,
            f"{call.trigger} calls for the message `{call.hazard.name}`",
            f"put `> **{word}** [{call.hazard.name}]` before this step",
        )
