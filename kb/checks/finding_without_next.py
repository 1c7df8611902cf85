"""A finding after which the reader is stranded.

A row without `Next` that leaves, of a symptom the test speaks about, no cause that has a repair, and
that proves none that has one.

Bad:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]

    # Cause: Fuse blown
    - Repair: [Replace the fuse]

    # Repair: Replace the fuse
    - Takes: 5 min

    # Test: Look at the fuse
    - Takes: 3 min

    | Finding | Clears | Proves |
    |---|---|---|
  ! | The strip is whole | [Fuse blown] | |
    | The strip is burnt | | [Fuse blown] |

Good:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]

    # Cause: Fuse blown
    - Repair: [Replace the fuse]

    # Repair: Replace the fuse
    - Takes: 5 min

    # Test: Look at the fuse
    - Takes: 3 min

    | Finding | Clears | Proves | Next |
    |---|---|---|---|
    | The strip is whole | [Fuse blown] | | done |
    | The strip is burnt | | [Fuse blown] | |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.graph import elsewhere
from kb.model import Node
from kb.reference import Kind
from kb.source import Span

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each row that leaves nothing to repair and leads nowhere."""
    told: set[Span] = set()
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        if not asked.unread_fact(symptom, "Causes"):
            found = [p for p in _stranded(asked, symptom) if p.span not in told]
            told.update(p.span for p in found)  # once a row, however many symptoms it strands
            yield from found


def _stranded(asked: Asked, symptom: Node) -> Iterator[Problem]:
    for test_id in asked.graph.speaking.get(symptom.id, ()):
        test = asked.base.nodes[test_id]
        for number, row in enumerate(test.findings):
            if row.next or row.done or asked.unread(row.span) or asked.base.dropped.intersection(row.proves):
                continue
            if elsewhere(asked.base, row):
                continue
            kept = [*asked.graph.left(test_id, number, symptom.id), *asked.base.all(row.proves)]
            if not any(_mendable(asked, cause) for cause in kept):
                what = f"no cause of `{symptom.name}`" + (" with a repair" if kept else "")
                yield Problem(
                    "finding-without-next",
                    row.span,
                    f"this finding leaves {what} and has no `Next`",
                    "say in `Next` where to go: a test, a repair, a cause, a symptom, or `done`",
                )


def _mendable(asked: Asked, cause: Node) -> bool:
    return bool(asked.graph.repairs(cause.id)) or asked.unread_fact(cause, "Repair")
