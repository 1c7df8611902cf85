"""What a hit shows besides its name, so that the list of hits already answers."""

from __future__ import annotations

from dataclasses import dataclass

from kb.graph import Graph
from kb.model import Base, Node, SignalWord
from kb.reference import Kind


@dataclass(frozen=True, slots=True)
class Next:
    """A test to begin with, and its minutes."""

    name: str
    minutes: float | None


@dataclass(frozen=True, slots=True)
class Card:
    """`fits`: vehicles by name, none for all. `minutes` of the first test, else the node's own.
    `word`: the strongest signal word of the node or its first test.
    """

    said: tuple[str, ...]
    fits: tuple[str, ...]
    minutes: float | None
    next: Next | None
    word: str


def card(base: Base, graph: Graph, node: Node) -> Card:
    """The card of a node; only a symptom names a test to begin with."""
    first = _first_test(graph, node)
    near = Next(first.name, _minutes(first)) if first and node.kind == Kind.SYMPTOM else None
    fits = tuple(vehicle.name for vehicle in base.all(node.refs("Only on")))
    shown = _minutes(first) if first else _minutes(node)
    return Card(node.words("Said as"), fits, shown, near, _strongest(base, graph, node, first))


def _first_test(graph: Graph, node: Node) -> Node | None:
    if node.kind == Kind.SYMPTOM:
        return next(iter(graph.tests(node.id)), None)
    return next(iter(graph.tests_of(node.id)), None) if node.kind == Kind.CAUSE else None


def _minutes(node: Node) -> float | None:
    values = node.values("Takes")
    return values[0].number if values else None


def _strongest(base: Base, graph: Graph, *nodes: Node | None) -> str:
    words = {word for node in nodes if node for word in _signal_words(base, graph, node)}
    return min(words, key=lambda word: word.rank).value if words else ""


def _signal_words(base: Base, graph: Graph, node: Node) -> set[SignalWord]:
    """Of the messages on the node, the hazards they name, the hazards that call for one."""
    messages = [moment.message for moment in node.moments if moment.message]
    named = base.all(tuple(ref for message in messages for ref in message.refs))
    called = [call.hazard for call in graph.hazards(node.id)]
    texts = [hazard.text("Signal word") for hazard in (node, *named, *called)]
    return {m.signal_word for m in messages} | {SignalWord(t) for t in texts if t in set(SignalWord)}
