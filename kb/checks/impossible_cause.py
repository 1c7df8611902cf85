"""A cause that every finding of a test clears: with that fault the test could find nothing.

Bad:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]; [Motor open]

    # Cause: Fuse blown

    # Cause: Motor open

  ! # Test: Look at the fuse
    - Takes: 3 min

    | Finding | Clears |
    |---|---|
    | The strip is whole | [Fuse blown] |
    | The strip is burnt | [Fuse blown]; [Motor open] |

Good:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]; [Motor open]

    # Cause: Fuse blown

    # Cause: Motor open

    # Test: Look at the fuse
    - Takes: 3 min

    | Finding | Clears |
    |---|---|
    | The strip is whole | [Fuse blown] |
    | The strip is burnt | [Motor open] |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.graph import survivors
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each test after which a cause is always gone."""
    for test in asked.base.of_kind(Kind.TEST):
        if test.findings and not asked.unread_findings(test):
            names = dict.fromkeys(cause.name for cause in _impossible(asked, test))
            if names:
                listed = ", ".join(f"`{name}`" for name in names)
                yield Problem(
                    "impossible-cause",
                    test.span,
                    f"every finding clears {listed}",
                    "leave it possible after at least one finding",
                )


def _impossible(asked: Asked, test: Node) -> Iterator[Node]:
    cleared = [{n.id for n in asked.base.all(row.clears)} for row in test.findings if not row.proves]
    if len(cleared) == len(test.findings):
        yield from (asked.base.nodes[c] for c in sorted(set.intersection(*cleared)))
    for symptom in asked.graph.symptoms_of(test.id):
        causes = {c.cause.id for c in asked.graph.causes(symptom.id)}
        for row in test.findings:
            causes -= survivors(asked.base, row, causes)
        yield from (asked.base.nodes[c] for c in sorted(causes))
