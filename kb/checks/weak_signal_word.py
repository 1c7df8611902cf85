"""A message about a hazard with a weaker signal word than the hazard's.

Bad:
    # Hazard: Side airbag
    - Signal word: WARNING
    - Hazard: The airbag can go off.
    - Consequence: It can kill.
    - Avoidance: Battery off, and wait as the maker says.

    # Access: Trim off
    - Takes: 20 min

  ! > **CAUTION** [Side airbag]

    1. Pull the trim.

Good:
    # Hazard: Side airbag
    - Signal word: WARNING
    - Hazard: The airbag can go off.
    - Consequence: It can kill.
    - Avoidance: Battery off, and wait as the maker says.

    # Access: Trim off
    - Takes: 20 min

    > **WARNING** [Side airbag]

    1. Pull the trim.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._messages import hazards_named, messages, weaker
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False


def check(asked: Asked) -> Iterator[Problem]:
    """Each message that plays a hazard down."""
    for node in asked.base.nodes.values():
        for _, message in messages(node):
            for hazard in hazards_named(asked, message):
                if weaker(message, hazard):
                    word = hazard.text("Signal word")
                    yield Problem(
                        "weak-signal-word",
                        message.span,
                        f"`{message.signal_word}` is weaker than the `{word}` of `{hazard.name}`",
                        f"write `> **{word}** [{hazard.name}]`",
                    )
