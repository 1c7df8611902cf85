"""Whether a circuit hangs together: idle pins, positions that short the feed, sizes that can be solved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import networkx as nx

from kb.netlist import Circuit, Part, Position, Terminal

GROUND = "ground"
MOST_NODES = 400  # beyond this a circuit isn't solved: a page holds one function, not a vehicle


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
        for pin in part.pins:
            yield Terminal(part.name, pin, part.sides[0]), Terminal(part.name, pin, part.sides[1])
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


def idle_pins(circuit: Circuit) -> Iterator[tuple[Part, tuple[str, ...]]]:
    """Each part with pins that no wire uses; a plug's pin is used where a wire meets either side."""
    used = {(end.part, end.pin) for wire in circuit.wires.values() for end in (wire.start, wire.end)}
    for part in circuit.parts.values():
        idle = tuple(pin for pin in part.pins if (part.name, pin) not in used)
        if idle:
            yield part, idle


def too_large(circuit: Circuit) -> bool:
    """True for a circuit with more nodes than are solved."""
    nodes = sum(len(p.pins) * (2 if p.sides else 1) + (p.kind == "splice") for p in circuit.parts.values())
    return nodes > MOST_NODES
