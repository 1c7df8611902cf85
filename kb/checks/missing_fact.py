"""A required fact is absent.

`Takes` of a test, repair or access, the four of a hazard, the four of an exercise, the `Statement` of
the base, and a question's right answer (`Right` or `Answer`).

Bad:
  ! # Test: Lamp at the plug

    1. Hold the switch.

Good:
    # Test: Lamp at the plug
    - Takes: 5 min

    1. Hold the switch.
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.read.fact_specs import FACTS
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each required fact that a node doesn't state."""
    for node in asked.base.nodes.values():
        missing = [key for key, spec in FACTS[node.kind].items() if spec.required and key not in node.facts]
        if node.kind is Kind.QUESTION and not {"Right", "Answer"} & set(node.facts):
            missing = ["Right` or `Answer"]
        for key in missing:
            if not asked.astray(node, key):
                what = "the base" if node.kind is Kind.BASE else f"this {node.kind.value.lower()}"
                yield Problem(
                    "missing-fact",
                    node.span,
                    f"{what} has no `{key}`",
                    f"add `- {key.split('`')[0]}: ...` to the list directly below the heading",
                )
