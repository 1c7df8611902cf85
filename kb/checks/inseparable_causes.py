"""Causes of a symptom that share no repair and that no test tells apart.

However the tests turn out, a hunt for the fault ends with all of them left, and more than one repair to
choose from. Causes that some finding may tell apart are not meant, even where it takes luck: the plan of
the symptom counts how often that fails. A finding that would clear a cause in every row tells nothing
about it.

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

from collections.abc import Iterator, Sequence

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each group of causes that stays together, at the first of them that shares no repair with those before."""
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        unread = asked.swallowed or asked.unread_fact(symptom, "Causes")
        if unread or any(map(asked.unread_findings, asked.graph.tests(symptom.id))):
            continue
        refs = {likely.cause.id: likely.ref for likely in asked.graph.causes(symptom.id)}
        for numbers in asked.hunt(symptom.id).together:
            group = [asked.base.nodes[asked.hunt(symptom.id).matrix.causes[i]] for i in numbers]
            second = _apart(asked, [cause for cause in group if not asked.unread_fact(cause, "Repair")])
            if second:
                names = ", ".join(f"`{cause.name}`" for cause in group)
                yield Problem(
                    "inseparable-causes",
                    refs[second.id].span,
                    f"no test tells apart {names}",
                    "add a test that clears one of them, or give them a common repair",
                )


def _apart(asked: Asked, group: Sequence[Node]) -> Node | None:
    """The first cause with which no repair mends all that went before; None where one mends all."""
    common: set[str] | None = None
    for cause in group:
        repairs = {repair.id for repair in asked.graph.repairs(cause.id)}
        common = repairs if common is None else common & repairs
        if not common and cause is not group[0]:
            return cause
    return None
