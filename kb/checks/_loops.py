"""Circles of nodes that require one another."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem
from kb.graph import loops
from kb.reference import Kind


def required_loops(asked: Asked, rule: str, kind: Kind, key: str) -> Iterator[Problem]:
    """Each circle that the fact `key` of nodes of a kind makes."""
    edges = (
        (node.id, target.id, ref)
        for node in asked.base.of_kind(kind)
        for ref in node.refs(key)
        if (target := asked.base.target(ref))
    )
    for ref, nodes in loops(edges):
        names = ", ".join(f"`{asked.base.nodes[i].name}`" for i in nodes)
        yield Problem(rule, ref.span, f"`{key}` leads round in a circle: {names}", "remove one of these references")
