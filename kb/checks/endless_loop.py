"""`Next` leads from test to test back to one that was already passed.

Whatever other findings they have: a technician who meets these findings goes in circles. A repair on
the way breaks the circle.

Bad:
    # Test: Lamp
    - Takes: 2 min

    | Finding | Next |
    |---|---|
  ! | dark | [Meter] |

    # Test: Meter
    - Takes: 2 min

    | Finding | Next |
    |---|---|
    | no volts | [Lamp] |

Good:
    # Test: Lamp
    - Takes: 2 min

    | Finding | Next |
    |---|---|
    | dark | [Meter] |

    # Test: Meter
    - Takes: 2 min

    | Finding | Next |
    |---|---|
    | no volts | done |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.graph import loops
from kb.reference import Kind, Ref

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each circle of tests, once."""
    for ref, nodes in loops(_edges(asked)):
        names = ", ".join(f"`{asked.base.nodes[i].name}`" for i in nodes)
        yield Problem(
            "endless-loop",
            ref.span,
            f"`Next` leads round in a circle: {names}",
            "let one of the findings lead to a repair, a cause, or `done`",
        )


def _edges(asked: Asked) -> Iterator[tuple[str, str, Ref]]:
    for test in asked.base.of_kind(Kind.TEST):
        for row in test.findings:
            target = asked.base.target(row.next) if row.next else None
            if row.next and target and target.kind is Kind.TEST:
                yield test.id, target.id, row.next
