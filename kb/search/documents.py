"""What search reads of a node: its name, other names, body, function and vehicles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from kb.graph import Graph
from kb.model import Base, Block, Node
from kb.read.inlines import plain
from kb.reference import Kind

TEXTS = ("name", "said", "body", "aside", "function", "vehicle")
_SAID = ("Said as", "Formerly")
_VEHICLES = ("Only on", "Tried on")
_FIGURES = ("Takes", "Undo", "Costs", "How often", "Comes and goes", "Try")
_HIDDEN = ("Hidden",)  # what an exercise asks for
# Tables of wires and pages for learners hold many words that a job asks for; a test shall come before them.
_ASIDE = frozenset({Kind.CIRCUIT, Kind.LESSON, Kind.QUESTION, Kind.EXERCISE})


@dataclass(frozen=True, slots=True)
class Document:
    """A node as it is searched: its title, its functions by name, and the pieces of text of each field."""

    node: Node
    title: str
    functions: tuple[str, ...]
    texts: Mapping[str, tuple[str, ...]]

    @property
    def pieces(self) -> tuple[str, ...]:
        """All its text."""
        return tuple(piece for pieces in self.texts.values() for piece in pieces)


def documents(base: Base, graph: Graph) -> tuple[Document, ...]:
    """All nodes that can be found, in the order that breaks ties: symptoms, then page order."""
    nodes = sorted(filter(_found, base.nodes.values()), key=lambda node: node.kind != Kind.SYMPTOM)
    order = {function.id: place for place, function in enumerate(base.of_kind(Kind.FUNCTION))}
    return tuple(_document(base, graph, order, node) for node in nodes)


def equals(base: Base) -> tuple[tuple[str, ...], ...]:
    """The groups of words that `Term` nodes declare equal, the term's name first."""
    return tuple((node.name, *_other_names(node)) for node in base.of_kind(Kind.TERM))


def _found(node: Node) -> bool:
    return node.kind != Kind.BASE and (node.kind != Kind.PAGE or bool(node.blocks))


def _document(base: Base, graph: Graph, order: Mapping[str, int], node: Node) -> Document:
    function = graph.function(node.id)
    around = (function.name, *_other_names(function)) if function and function is not node else ()
    title = _title(base, node)
    name, said, body = (title,), _other_names(node), tuple(_body(node))
    aside: tuple[str, ...] = ()
    if node.kind == Kind.TERM:  # its name already stands for its equals: a term shall not outdo a symptom
        said, body = (), said + body
    if node.kind in _ASIDE:
        body, aside = _parts(base, node), body
    if node.kind == Kind.QUESTION:  # its name is prose
        name, aside = (), (title, *aside)
    pieces = name, said, body, aside, around, _vehicles(base, node)
    return Document(node, title, _functions(graph, order, node), dict(zip(TEXTS, pieces, strict=True)))


def _parts(base: Base, node: Node) -> tuple[str, ...]:
    """The parts of a circuit by their designations: who asks for a fuse by its number wants its drawing."""
    circuit = base.circuits.get(node.id)
    return tuple(circuit.parts) if circuit else ()


def _functions(graph: Graph, order: Mapping[str, int], node: Node) -> tuple[str, ...]:
    """Names of the functions that a node belongs to, in their `order` in the base."""
    found = sorted(order.keys() & graph.functions(node.id), key=order.__getitem__)
    return tuple(graph.base.nodes[function].name for function in found)


def _title(base: Base, node: Node) -> str:
    """A page is called by its first heading, which is prose where it has no kind."""
    headings = (plain(block.inlines) for block in node.blocks if block.type == "heading")
    return node.name or next(headings, base.pages[node.page].title)


def _other_names(node: Node) -> tuple[str, ...]:
    return tuple(words for key in _SAID for words in node.words(key))


def _vehicles(base: Base, node: Node) -> tuple[str, ...]:
    """Names of the vehicles that a node is for, or stands under."""
    named = base.all(tuple(ref for key in _VEHICLES for ref in node.refs(key)))
    around = (n for n in base.ancestors(node) if n.kind == Kind.VEHICLE)
    return tuple(dict.fromkeys(n.name for n in (*named, *around)))


def _body(node: Node) -> Iterator[str]:
    elsewhere = {*_SAID, *_VEHICLES, *_FIGURES, *_HIDDEN}
    for fact in node.facts.values():
        if fact.key not in elsewhere:
            yield from (value.text for value in fact.values)
    for block in node.blocks:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    yield plain(block.inlines)
    yield block.text
    if block.message:
        yield block.message.title
        yield plain(block.message.body)
    if block.table:
        rows = (block.table.header, *block.table.rows)
        yield from (cell.text for row in rows for cell in row.cells)
    for child in block.children:
        yield from _block(child)
