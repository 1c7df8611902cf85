"""Causes of a symptom that share no repair and that no test tells apart.

Bad:
    # Symptom: Nothing moves
  ! - Causes: [Fuse blown]; [Motor open]

    # Cause: Fuse blown
    - Repair: [Replace the fuse]

    # Cause: Motor open
    - Repair: [Replace the motor]

    # Repair: Replace the fuse
    - Takes: 5 min

    # Repair: Replace the motor
    - Takes: 25 min

Good:
    # Symptom: Nothing moves
    - Causes: [Winding open]; [Motor seized]

    # Cause: Winding open
    - Repair: [Replace the motor]

    # Cause: Motor seized
    - Repair: [Replace the motor]

    # Repair: Replace the motor
    - Takes: 25 min
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from kb.checks._asked import Asked
from kb.checks._repairs import share_repair
from kb.diagnostic import Problem, Severity
from kb.graph import ambiguity_groups
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each group of causes that stays together, at the second cause of the group."""
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        unread = asked.swallowed or asked.unread_fact(symptom, "Causes")
        if unread or any(map(asked.unread_findings, asked.graph.tests(symptom.id))):
            continue
        refs = {likely.cause.id: likely.ref for likely in asked.graph.causes(symptom.id)}
        for group in ambiguity_groups(asked.graph, symptom.id):
            second = next((b for a, b in combinations(group, 2) if _apart(asked, a, b)), None)
            if second:
                names = ", ".join(f"`{cause.name}`" for cause in group)
                yield Problem(
                    "inseparable-causes",
                    refs[second.id].span,
                    f"no test tells apart {names}",
                    "add a test that clears one of them, or give them a common repair",
                )


def _apart(asked: Asked, a: Node, b: Node) -> bool:
    """They have no repair in common, as far as their repairs could be read."""
    unread = asked.unread_fact(a, "Repair") or asked.unread_fact(b, "Repair")
    return not unread and not share_repair(asked.graph, (a, b))
