"""Which safety panels a message prints: each hazard that it names whole, and what it says itself."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kb.model import Base, Block, Inline, Message, Node, SignalWord
from kb.read.blocks import ALLOWANCE
from kb.reference import Kind


@dataclass(frozen=True, slots=True)
class Panel:
    """A panel: a hazard of the base, or (without one) a title and words of the page's own."""

    word: SignalWord
    hazard: Node | None
    title: str = ""
    body: tuple[Inline, ...] = ()


def panels(base: Base, message: Message) -> tuple[Panel, ...]:
    """A panel for each hazard named, and one for other words; of two signal words the stronger stands."""
    named = [node for node in base.all(message.refs) if node.kind is Kind.HAZARD]
    found = [Panel(_stronger(message.signal_word, node), node) for node in _once(named)]
    if not found and base.dropped.intersection(message.refs) and not message.title and not _says_more(message.body):
        return ()  # a hazard that the chosen vehicle hasn't
    if not found or message.title or _says_more(message.body):
        found.append(Panel(message.signal_word, None, message.title, message.body))
    return tuple(found)


def messages(node: Node) -> tuple[Message, ...]:
    """The messages of a node, in the order written."""
    return tuple(moment.message for moment in node.moments if moment.message)


def ahead(base: Base, node: Node, accesses: Sequence[Node]) -> tuple[tuple[Node, tuple[Panel, ...]], ...]:
    """Each access in front of a procedure with its panels, but for those printed just above it.

    Above it stand the procedure's own leading messages and the accesses before it.
    """
    head, _ = after_messages(node.blocks)
    above = [panel for block in head if block.message for panel in panels(base, block.message)]
    found = []
    for access in accesses:
        own = [panel for message in messages(access) for panel in panels(base, message)]
        new = tuple(panel for i, panel in enumerate(own) if not _told(panel, [*above, *own[:i]]))
        above.extend(new)
        found.append((access, new))
    return tuple(found)


def _told(panel: Panel, above: Sequence[Panel]) -> bool:
    """True where a hazard stands above with a signal word that isn't weaker."""
    return panel.hazard is not None and any(
        other.hazard is not None and other.hazard.id == panel.hazard.id and other.word.rank <= panel.word.rank
        for other in above
    )


def after_messages(blocks: Sequence[Block]) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """The messages at the head of a node's body, and what follows them."""
    heads = (i for i, block in enumerate(blocks) if block.type != "message" and not is_allowance(block))
    count = next(heads, len(blocks))
    return tuple(blocks[:count]), tuple(blocks[count:])


def is_allowance(block: Block) -> bool:
    """True for a comment that lets a rule pass: it is for writers and isn't printed."""
    return block.type == "html" and ALLOWANCE.fullmatch(block.text.strip()) is not None


def word_of(hazard: Node) -> SignalWord:
    """A hazard's signal word; WARNING where it states none that is known."""
    text = hazard.text("Signal word").upper()
    return SignalWord(text) if text in SignalWord.__members__ else SignalWord.WARNING


def _stronger(word: SignalWord, hazard: Node) -> SignalWord:
    return min(word, word_of(hazard), key=lambda w: w.rank)


def _once(nodes: Iterable[Node]) -> tuple[Node, ...]:
    return tuple({node.id: node for node in nodes}.values())


def _says_more(body: tuple[Inline, ...]) -> bool:
    """True where a message says more than names in brackets and the marks between them."""
    return any(
        _says_more(inline.children) if inline.children else any(c.isalnum() for c in inline.text)
        for inline in body
        if inline.type != "ref"
    )
