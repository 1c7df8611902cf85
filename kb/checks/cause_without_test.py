"""A cause that no test tells from any other cause of its symptom.

A symptom's only cause is exempt, and so are causes that all share a repair: there is nothing to tell.

Bad:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]; [Motor open]

  ! # Cause: Fuse blown

  ! # Cause: Motor open

Good:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]; [Motor open]

    # Cause: Fuse blown

    # Cause: Motor open

    # Test: Look at the fuse
    - Takes: 3 min

    | Finding | Clears | Proves |
    |---|---|---|
    | The strip is whole | [Fuse blown] | |
    | The strip is burnt | | [Fuse blown] |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._repairs import share_repair
from kb.diagnostic import Problem, Severity
from kb.graph import ambiguity_groups
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each cause that every test leaves together with all other causes of one of its symptoms."""
    told: set[str] = set()
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        causes = [c.cause for c in asked.graph.causes(symptom.id)]
        groups = ambiguity_groups(asked.graph, symptom.id)
        if len(causes) < 2 or len(groups) > 1 or share_repair(asked.graph, causes) or _unread(asked, symptom):
            continue
        for cause in causes:
            if cause.id not in told:
                told.add(cause.id)
                yield Problem(
                    "cause-without-test",
                    cause.span,
                    f"no test tells this from the other causes of `{symptom.name}`",
                    "add a test with a finding that clears or proves it",
                )


def _unread(asked: Asked, symptom: Node) -> bool:
    tests = asked.graph.tests(symptom.id)
    unread = asked.swallowed or asked.unread_fact(symptom, "Causes")
    return unread or any(asked.unread_findings(t) for t in tests)
