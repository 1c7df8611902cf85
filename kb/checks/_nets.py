"""What hangs together in a circuit over copper alone: wires, plugs, splices, grounds and closed contacts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import networkx as nx

from kb.netlist import Circuit, Part, Position, Terminal

GROUND = "ground"


def copper(circuit: Circuit, positions: Iterable[Position]) -> nx.Graph:
    """Terminals joined without load or fuse in any of these positions."""
    graph = nx.Graph()
    graph.add_node(GROUND)
    for wire in circuit.wires.values():
        graph.add_edge(wire.start, wire.end)
    for part in circuit.parts.values():
        graph.add_edges_from(_within(part))
    for position in positions:
        for name, pairs in position.joins.items():
            graph.add_edges_from((Terminal(name, a), Terminal(name, b)) for a, b in pairs)
    return graph


def _within(part: Part) -> Iterator[tuple[object, object]]:
    if part.kind == "connector" and part.sides:
        yield from ((Terminal(part.name, pin, part.sides[0]), Terminal(part.name, pin, part.sides[1])) for pin in part.pins)
    elif part.kind == "splice":
        yield from ((Terminal(part.name, part.pins[0]), Terminal(part.name, pin)) for pin in part.pins[1:])
    elif part.kind == "ground":
        yield Terminal(part.name, part.pins[0]), GROUND
    elif part.kind == "battery":
        yield Terminal(part.name, part.pins[1]), GROUND


def feeds(circuit: Circuit) -> list[Terminal]:
    """The plus terminals of the circuit's batteries."""
    return [Terminal(part.name, part.pins[0]) for part in circuit.parts.values() if part.kind == "battery"]


def joined(circuit: Circuit, position: Position) -> bool:
    """True where a position joins a battery's plus to ground over copper alone."""
    graph = copper(circuit, (position,))
    return any(feed in graph and nx.has_path(graph, feed, GROUND) for feed in feeds(circuit))
