"""Which safety messages a node carries, and for which hazards they answer."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.graph import Call
from kb.model import Message, Node, SignalWord
from kb.reference import Kind


def messages(node: Node) -> Iterator[tuple[int, Message]]:
    """Each message of a node with its place among the node's moments."""
    for place, moment in enumerate(node.moments):
        if moment.message:
            yield place, moment.message


def about(asked: Asked, node: Node, hazard: Node) -> tuple[tuple[int, Message], ...]:
    """The messages of a node that name a hazard."""
    return tuple((i, m) for i, m in messages(node) if any(n.id == hazard.id for n in asked.base.all(m.refs)))


def weaker(message: Message, hazard: Node) -> bool:
    """True where a message's signal word is weaker than its hazard's."""
    word = hazard.text("Signal word")
    return word in list(SignalWord) and message.signal_word.rank > SignalWord(word).rank


def calls(asked: Asked) -> Iterator[tuple[Node, Call, int]]:
    """Each call of a node for a hazard, with the place of the first step that calls for it."""
    for node in asked.base.nodes.values():
        for call in asked.graph.hazards(node.id):
            place = next((i for i, m in enumerate(node.moments) if m is call.moment), len(node.moments))
            yield node, call, place


def hazards_named(asked: Asked, message: Message) -> tuple[Node, ...]:
    """The hazards that a message names."""
    return tuple(node for node in asked.base.all(message.refs) if node.kind is Kind.HAZARD)
