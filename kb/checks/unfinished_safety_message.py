"""A page's own safety message without a title or without two sentences.

The bold title is the hazard; the consequence and the avoidance follow, a sentence each at least. A
message that names a hazard in brackets takes all three from there.

Bad:
    # Access: Trim off
    - Takes: 20 min

  ! > **CAUTION: sharp edges.** Wear gloves.

    1. Pull the trim.

Good:
    # Access: Trim off
    - Takes: 20 min

    > **CAUTION: sharp edges.** The edges cut fingers. Wear gloves.

    1. Pull the trim.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._messages import hazards_named, messages
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False


def check(asked: Asked) -> Iterator[Problem]:
    """Each message of a page's own that doesn't say all of it."""
    for node in asked.base.nodes.values():
        for _, message in messages(node):
            elsewhere = asked.base.dropped.intersection(message.refs)  # of a hazard that the chosen vehicle hasn't
            if hazards_named(asked, message) or elsewhere or asked.unread(message.span):
                continue
            if not message.title or message.sentences < 2:
                missing = "has no title" if not message.title else "has fewer than two sentences"
                yield Problem(
                    "unfinished-safety-message",
                    message.span,
                    f"this message {missing}",
                    "write `**WARNING: the hazard.** The consequence. What avoids it.`, or name a hazard",
                )
