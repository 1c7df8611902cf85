"""Circles of nodes that require one another."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem
from kb.graph import loops
from kb.reference import Kind, Ref


def required_loops(asked: Asked, rule: str, kind: Kind, key: str) -> Iterator[Problem]:
    """Each circle that the fact `key` of nodes of a kind makes."""
    for ref, nodes in loops(_edges(asked, kind, key)):
        names = ", ".join(f"`{asked.base.nodes[i].name}`" for i in nodes)
        yield Problem(rule, ref.span, f"`{key}` leads round in a circle: {names}", "remove one of these references")


def circles(asked: Asked, kind: Kind, key: str) -> frozenset[str]:
    """The nodes (ids) that stand in such a circle."""
    return frozenset(node for _, nodes in loops(_edges(asked, kind, key)) for node in nodes)


def _edges(asked: Asked, kind: Kind, key: str) -> Iterator[tuple[str, str, Ref]]:
    for node in asked.base.of_kind(kind):
        for ref in node.refs(key):
            if target := asked.base.target(ref):
                yield node.id, target.id, ref
