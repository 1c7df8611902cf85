"""Which causes the same repair removes."""

from __future__ import annotations

from collections.abc import Sequence

from kb.graph import Graph
from kb.model import Node


def share_repair(graph: Graph, causes: Sequence[Node]) -> bool:
    """True where one repair removes all of these causes."""
    sets = [{repair.id for repair in graph.repairs(cause.id)} for cause in causes]
    return bool(sets) and bool(set.intersection(*sets))
