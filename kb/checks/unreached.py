"""A cause, test, repair or access, or a page of plain prose, that nothing leads to.

Followed are the references and links of the front page, the symptoms and the lessons, and on from there,
and the tests that speak about a symptom. The site itself lists functions, symptoms, vehicles, tools,
hazards, terms and lessons.

Bad:
  ! # Cause: Fuse blown

Good:
    # Symptom: Nothing moves
    - Causes: [Fuse blown]

    # Cause: Fuse blown
"""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.read.names import folded
from kb.reference import PROCEDURES, Kind

SEVERITY = Severity.WARNING


LISTED = PROCEDURES | {Kind.CAUSE}


def check(asked: Asked) -> Iterator[Problem]:
    """Each node and page of prose to which no way leads."""
    if asked.swallowed:
        return
    reached = asked.graph.reached() | _perhaps_meant(asked)
    for node in asked.base.nodes.values():
        if node.id in reached:
            continue
        if node.kind in LISTED:
            yield Problem(
                "unreached",
                node.span,
                f"nothing leads to this {node.kind.value.lower()}",
                "name it in a symptom, a test, a lesson or on the front page, or remove it",
            )
        elif node.kind is Kind.PAGE and node.blocks and len(asked.base.pages[node.page].nodes) == 1:
            yield Problem(
                "unreached",
                node.blocks[0].span,
                "nothing leads to this page",
                "link it from the front page or from a page that is read",
            )


def _perhaps_meant(asked: Asked) -> frozenset[str]:
    """What a reference that couldn't be read may mean by its name, and what that leads to."""
    base = asked.base
    labels = {folded(ref.label) for page in base.pages.values() for ref in page.refs if ref not in base.targets}
    meant = {node.id for node in base.nodes.values() if node.name and folded(node.name) in labels}
    return frozenset(meant.union(*(nx.descendants(asked.graph.references, i) for i in meant)))
