"""What a sheet of paper tells of a plan, a test or a lesson: its parts in order, and where each finding leads."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from urllib.parse import quote, urlsplit

from kb.graph import Graph
from kb.isolation.figures import Hunt
from kb.isolation.matrix import Matrix
from kb.isolation.plan import Step
from kb.isolation.states import bits
from kb.model import Base, Block, Finding, Node
from kb.read.inlines import plain
from kb.site.address import node_address, symptom_address
from kb.site.gather import Gathering
from kb.site.place import kept, parted, unique
from kb.site.unfolded import each
from kb.site.wiring import Face, Where, faces

HALF = 12  # steps, messages and twice the findings of a part that stays on one page


@dataclass(frozen=True, slots=True)
class Onward:
    """The next parts (their numbers; none: the plan ends) wherever just these causes are left."""

    left: tuple[Node, ...]
    then: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A row of a part's findings: a test's finding, or None for a repair that mended or didn't; where it leads."""

    finding: Finding | None
    ways: tuple[Onward, ...] = ()

    @property
    def then(self) -> tuple[int, ...]:
        """The next parts, whatever is left; each once."""
        return tuple(sorted({number for way in self.ways for number in way.then}))

    @property
    def ends(self) -> bool:
        """True where the plan may end here."""
        return any(not way.then for way in self.ways)

    @property
    def parts_ways(self) -> bool:
        """True where what is left decides where to go on."""
        return len({way.then for way in self.ways}) > 1


@dataclass(frozen=True, slots=True)
class Part:
    """A test or repair of a sheet. `planned`: the plan comes to it; else it only proves a repair."""

    number: int
    node: Node
    lines: tuple[Line, ...]
    planned: bool = True

    @property
    def long(self) -> bool:
        """True where it hardly fits half a page, so that it may begin on one and end on the next."""
        return len(self.node.moments) + 2 * len(self.lines) > HALF


@dataclass(frozen=True, slots=True)
class JobSheet:
    """A symptom's plan on paper: its parts in the plan's order, and the page's tests and repairs left out."""

    parts: tuple[Part, ...]
    others: tuple[Node, ...]

    def number(self, node: Node) -> int:
        """The number of a test's or repair's part; 0 where the sheet has none."""
        return next((part.number for part in self.parts if part.node.id == node.id), 0)

    def first_uses(self, graph: Graph) -> dict[str, str]:
        """For each access the part that needs it first: there its steps stand."""
        found: dict[str, str] = {}
        for part in self.parts:
            for access in graph.access(part.node.id):
                found.setdefault(access.id, part.node.id)
        return found


def letters(causes: Sequence[Node]) -> dict[str, str]:
    """A letter for each cause, by which a sheet names it: a to z, then aa, ab."""
    alphabet = "abcdefghijklmnopqrstuvwxyz"
    more = ["".join(pair) for pair in product(alphabet, repeat=2)]
    return {cause.id: letter for cause, letter in zip(causes, [*alphabet, *more], strict=False)}


def paper_address(address: str) -> str:
    """The site path of the sheet of what stands at `address`."""
    path, anchor = parted(address)
    path = path.removesuffix(".html")
    return f"{path}.{anchor}.sheet.html" if anchor else f"{path}.sheet.html"


def sheet_of(node: Node) -> str:
    """The site path of a test's or lesson's sheet."""
    return paper_address(node_address(node))


def sheet_of_symptom(symptom: Node) -> str:
    """The site path of a symptom's sheet."""
    return paper_address(symptom_address(symptom))


def public(base: Base, address: str) -> str:
    """A site path as a public address; empty where the base states none."""
    root = urlsplit(base.root.text("Address"))
    if root.scheme not in ("http", "https") or not root.netloc:
        return ""
    path, anchor = parted(address)
    path = "" if path == "index.html" else quote(path)
    return f"{root.scheme}://{root.netloc}{root.path.rstrip('/')}/{path}" + (f"#{quote(anchor)}" if anchor else "")


def job_sheet(base: Base, gathering: Gathering) -> JobSheet:
    """A symptom's sheet. A test that proves a repair stands on it too, since it is done there."""
    hunt = gathering.hunt
    stops = tuple(each(gathering.planned.stops))
    planned = unique(stop.node for stop in stops)
    every = unique([*planned, *(stop.proof for stop in stops if stop.proof)])
    numbers = {node.id: number for number, node in enumerate(every, 1)}
    leads = _Leads(base, hunt, numbers)
    ids = {node.id for node in planned}
    parts = tuple(Part(numbers[node.id], node, leads.lines(node), node.id in ids) for node in every)
    page = [*(card.node for card in gathering.tests), *gathering.repairs]
    return JobSheet(parts, tuple(node for node in page if node.id not in numbers))


@dataclass(slots=True)
class _Leads:
    """Every step of a plan by its test or repair, whichever way leads to it."""

    base: Base
    hunt: Hunt
    numbers: dict[str, int]
    steps: dict[str, list[Step]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for step in _steps(self.hunt.fixed.first):
            self.steps.setdefault(_id(self.hunt.matrix, step), []).append(step)

    def lines(self, node: Node) -> tuple[Line, ...]:
        """A test's findings, or a repair's two, each with its ways."""
        steps = self.steps.get(node.id, [])
        findings: Sequence[Finding | None] = node.findings if node.findings else (None, None)
        return tuple(Line(finding, self._ways(steps, row)) for row, finding in enumerate(findings))

    def _ways(self, steps: Sequence[Step], row: int) -> tuple[Onward, ...]:
        found: dict[int, set[int]] = {}
        for lead in (step.leads[row] for step in steps if row < len(step.leads)):
            then = {self.numbers[_id(self.hunt.matrix, lead.then)]} if lead.then else set()
            found.setdefault(lead.left, set()).update(then)
        return tuple(Onward(self._nodes(left), tuple(sorted(then))) for left, then in sorted(found.items()))

    def _nodes(self, mask: int) -> tuple[Node, ...]:
        return tuple(self.base.nodes[self.hunt.matrix.causes[i]] for i in bits(mask))


def _steps(first: Step | None) -> Iterator[Step]:
    """All steps of a plan, each once."""
    seen: set[int] = set()
    stack = [first] if first else []
    while stack:
        step = stack.pop()
        if id(step) not in seen:
            seen.add(id(step))
            yield step
            stack.extend(lead.then for lead in step.leads if lead.then)


def _id(matrix: Matrix, step: Step) -> str:
    return (matrix.tests if step.kind == "test" else matrix.repairs)[step.number].id


@dataclass(frozen=True, slots=True)
class Plug:
    """A plug's face with the pins that a lead goes to."""

    face: Face
    pins: frozenset[str]


def plugs(base: Base, where: Where) -> tuple[Plug, ...]:
    """The plugs that a test's leads go to, as the first of its circuits has them."""
    ends = [spot.terminal for spot in (where.red, where.black) if spot]
    found = []
    for face in faces(base.circuits[where.circuits[0].id]):
        pins = frozenset(end.pin for end in ends if (end.part, end.side) == (face.part.name, face.side))
        found += [Plug(face, pins)] if pins else []
    return tuple(found)


def put_back(access: Node, blocks: Sequence[Block]) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """An access's body up to where it is put back, and from there: from its second list of steps on, which counts
    from 1 again, with the words that lead to it. `Put back:` alone, or a heading of a few words, is left out: paper
    has its own.
    """
    lists = [i for i, block in enumerate(blocks) if block.type == "steps" and block.start == 1]
    if not access.values("Undo") or len(lists) < 2:
        return tuple(blocks), ()
    start = lists[1]
    led = start - 1 if blocks[start - 1].type in {"paragraph", "heading"} else start
    bare = led < start and len(plain(blocks[led].inlines).split()) <= 3
    return tuple(blocks[:led]), tuple(blocks[start if bare else led :])


def lesson_nodes(base: Base, lesson: Node) -> tuple[Node, ...]:
    """A lesson and all that stands in it, in page order."""
    page = kept(base, base.pages[lesson.page])
    return tuple(n for n in page if n.id == lesson.id or any(a.id == lesson.id for a in base.ancestors(n)))
