"""What somebody calls a symptom, a test, a repair and a finding, as nodes and numbers of the base."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kb.isolation.found import Found
from kb.isolation.matrix import Matrix
from kb.model import Base, Node
from kb.quantity import nearest
from kb.read.names import folded
from kb.reference import Kind

FIXED, NOT_FIXED = "fixed", "not fixed"
HOW = "write --found 'TEST = FINDING', each by its words"


class Unknown(Exception):
    """What was named isn't in the base; the message is one line."""


@dataclass(frozen=True, slots=True)
class Given:
    """A test or repair of the base and what came of it; `row` is the finding's place, for a repair 0 is `fixed`."""

    node: Node
    row: int


def symptom_named(base: Base, words: str) -> Node:
    """The symptom of this name, now or formerly, or else the one that customers call so."""
    symptoms = base.of_kind(Kind.SYMPTOM)
    called = [n for n in symptoms if _called(n, words)]
    said = [n for n in symptoms if folded(words) in map(folded, n.words("Said as"))]
    return _one(base, called or said, symptoms, words, "symptom")


def given(base: Base, matrix: Matrix, words: str) -> Given:
    """What `TEST = FINDING` says. Of nodes that share a name, the symptom's own are meant."""
    name, finding = _parted(base, words)
    nodes = base.of_kind(Kind.TEST, Kind.REPAIR)
    own = {row.id for row in (*matrix.tests, *matrix.repairs)}
    called = [n for n in nodes if _called(n, name)]
    node = _one(base, [n for n in called if n.id in own] or called, nodes, name, "test or repair")
    return Given(node, _row(node, finding))


def found(matrix: Matrix, given: Given) -> Found | None:
    """What a finding leaves of a symptom's causes; None where the act says nothing about them."""
    tests = {row.id: number for number, row in enumerate(matrix.tests)}
    repairs = {row.id: number for number, row in enumerate(matrix.repairs)}
    if (number := tests.get(given.node.id)) is not None:
        return Found("test", number, given.row, matrix.tests[number].leaves[given.row])
    if (number := repairs.get(given.node.id)) is not None:
        leaves = matrix.everything & ~matrix.repairs[number].mends if given.row else 0
        return Found("repair", number, given.row, leaves)
    return None


def findings_of(node: Node) -> tuple[str, ...]:
    """The words of a test's findings; a repair's are `fixed` and `not fixed`, a test's without a table `done`."""
    if node.kind is Kind.REPAIR:
        return FIXED, NOT_FIXED
    return tuple(row.words.text for row in node.findings) or ("done",)


def _called(node: Node, words: str) -> bool:
    names = (node.name, *node.words("Formerly"))
    ways = (way for name in names for way in _ways(node, name))
    return folded(words) in map(folded, ways)


def _ways(node: Node, name: str) -> Iterator[str]:
    """A name, with its kind before it, and after each end of its page's path."""
    yield name
    yield f"{node.kind.value}: {name}"
    parts = node.page.removesuffix(".md").split("/")
    yield from (f"{'/'.join(parts[i:])}/{name}" for i in range(len(parts)))


def _one(base: Base, found: Sequence[Node], known: Iterable[Node], words: str, what: str) -> Node:
    if len(found) > 1:
        exact = " or ".join(f"'{n.page.removesuffix('.md')}/{n.name}'" for n in found[:4])
        raise Unknown(f"'{words}' can mean several: write {exact}")
    return found[0] if found else _none(base, known, words, what)


def _none(base: Base, known: Iterable[Node], words: str, what: str) -> Node:
    kinds = [kind for kind in (Kind.SYMPTOM, Kind.TEST, Kind.REPAIR) if kind.value.casefold() in what]
    every = (n for page in base.pages.values() for n in page.nodes if n.kind in kinds and n.id not in base.nodes)
    if base.vehicle and any(_called(n, words) for n in every):
        raise Unknown(f"the {what} '{words}' doesn't apply to {base.nodes[base.vehicle].name}")
    listed = list(known)
    near = nearest(words, [n.name for n in listed]) or _within(words, listed)
    raise Unknown(f"the base has no {what} '{words}'" + (f"; did you mean '{near}'?" if near else ""))


def _within(words: str, known: Iterable[Node]) -> str | None:
    """The only name that holds these words."""
    names = [n.name for n in known if folded(words) and folded(words) in folded(n.name)]
    return names[0] if len(names) == 1 else None


def _parted(base: Base, words: str) -> tuple[str, str]:
    """The two sides of the equals sign after which a name ends that the base has; else of the first."""
    places = [i for i, char in enumerate(words) if char == "="]
    if not places:
        raise Unknown(f"'{words}' has no equals sign: {HOW}")
    nodes = base.of_kind(Kind.TEST, Kind.REPAIR)
    known = (i for i in places if any(_called(n, words[:i]) for n in nodes))
    place = next(known, places[0])
    return words[:place].strip(), words[place + 1 :].strip()


def _row(node: Node, words: str) -> int:
    listed = findings_of(node)
    row = next((i for i, each in enumerate(listed) if folded(each) == folded(words)), None)
    if row is not None:
        return row
    near = nearest(words, listed)
    help = f"did you mean '{near}'?" if near else "it has " + ", ".join(f"'{each}'" for each in listed)
    raise Unknown(f"'{node.name}' has no finding '{words}'; {help}")
