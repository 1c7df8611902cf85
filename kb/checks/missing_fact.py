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
from kb.read.facts import FACTS
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each required fact that a node doesn't state."""
    stray = _stray_keys(asked)
    for node in asked.base.nodes.values():
        missing = [key for key, spec in FACTS[node.kind].items() if spec.required and key not in node.facts]
        if node.kind is Kind.QUESTION and not {"Right", "Answer"} & set(node.facts):
            missing = ["Right` or `Answer"]
        for key in missing:
            if not any((node.page, line, key.casefold()) in stray for line in range(node.span.line, node.end_line + 1)):
                what = "the base" if node.kind is Kind.BASE else f"this {node.kind.value.lower()}"
                yield Problem("missing-fact", node.span, f"{what} has no `{key}`",
                              f"add `- {key.split('`')[0]}: ...` to the list directly below the heading")  # fmt: skip


def _stray_keys(asked: Asked) -> frozenset[tuple[str, int, str]]:
    """Keys that stand in the wrong place: told there, not as absent too."""
    found = set()
    for problem in asked.base.problems:
        if problem.rule == "stray-fact":
            span = problem.span
            line = asked.base.pages[span.path].source.lines[span.line - 1]
            found.add((span.path, span.line, line[span.column - 1 : span.end_column - 1].casefold()))
    return frozenset(found)
