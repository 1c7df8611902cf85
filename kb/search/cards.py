"""What a hit shows besides its name, so that the list of hits already answers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kb.graph import Graph
from kb.isolation.figures import Hunt
from kb.isolation.ways import Hunts
from kb.model import Base, Node, SignalWord
from kb.reference import Kind
from kb.search.documents import Document


@dataclass(frozen=True, slots=True)
class Next:
    """What to begin with, and its minutes."""

    name: str
    minutes: float | None


@dataclass(frozen=True, slots=True)
class Card:
    """`fits`: vehicles by name, none for all. `minutes`: a symptom's until fixed, those of a cause's first test,
    else the node's own. `next`: the first act of a symptom's plan. `word`: the strongest signal word of the node
    or of what is done first. `own`: minutes and first act on vehicles, by name, where the plan is another.
    """

    said: tuple[str, ...]
    fits: tuple[str, ...]
    minutes: float | None
    next: Next | None
    word: str
    own: tuple[tuple[str, float, Next], ...] = ()


def cards(base: Base, hunts: Hunts, documents: Iterable[Document]) -> tuple[Card, ...]:
    """The cards of documents, in their order; what isn't planned yet is planned now."""
    return tuple(_card(base, hunts, document.node) for document in documents)


def _card(base: Base, hunts: Hunts, node: Node) -> Card:
    fits = tuple(vehicle.name for vehicle in base.all(node.refs("Only on")))
    graph = hunts.graph(None)
    if node.kind == Kind.SYMPTOM:
        return _symptom(base, hunts, node, fits)
    first = next(iter(graph.tests_of(node.id)), None) if node.kind == Kind.CAUSE else None
    return Card(node.words("Said as"), fits, _minutes(first or node), None, _strongest(base, graph, node, first))


def _symptom(base: Base, hunts: Hunts, node: Node, fits: tuple[str, ...]) -> Card:
    """The plan with no vehicle chosen, and those of vehicles that differ from it."""
    (_, plain), *others = hunts.ways(node.id)
    act, said = _first_act(base, plain), node.words("Said as")
    word = _strongest(base, hunts.graph(None), node, act)
    if act is None:
        return Card(said, fits, None, None, word)
    own = [(base.nodes[v].name, *told) for v, hunt in others if v and (told := _told(base, hunt)) is not None]
    minutes, first = _told(base, plain) or (None, None)
    return Card(said, fits, minutes, first, word, tuple(own))


def _first_act(base: Base, hunt: Hunt) -> Node | None:
    step = hunt.fixed.first
    if step is None:
        return None
    rows = hunt.matrix.tests if step.kind == "test" else hunt.matrix.repairs
    return base.nodes[rows[step.number].id]


def _told(base: Base, hunt: Hunt) -> tuple[float, Next] | None:
    """Minutes until fixed, whole ones as on the front page, and the first act."""
    act, step = _first_act(base, hunt), hunt.fixed.first
    if act is None or step is None:
        return None
    return max(round(hunt.fixed.seconds / 60), 1), Next(act.name, _rounded(step.seconds))


def _rounded(seconds: int) -> float:
    """Minutes as a plan tells them: half ones below 10, whole ones above."""
    if seconds < 60:
        return seconds / 60
    return round(seconds / 30) / 2 if seconds < 600 else round(seconds / 60)


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
