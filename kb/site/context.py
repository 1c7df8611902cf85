"""What the templates may ask about a base: the answers of the graph and the circuits, by node."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

from kb.circuit.claims import Held
from kb.graph import Graph
from kb.isolation.ways import Hunts
from kb.model import Base, Block, Finding, Inline, Message, Node, SignalWord, Table, Value
from kb.reference import PROCEDURES, Kind
from kb.site import limited, safety, wiring
from kb.site.address import node_address, page_address, page_slug, unused, vehicle_key
from kb.site.drawing import expected
from kb.site.drawing.drawn import Drawn
from kb.site.gather import FindingCard, finding_cards
from kb.site.marks import Marks
from kb.site.offline import Names
from kb.site.overview import lessons
from kb.site.place import kept, unique, vehicles
from kb.site.scale import Scale, scales
from kb.site.shop import Shop, shop
from kb.source import Span


@dataclass(frozen=True, slots=True)
class Nav:
    """Site paths of the generated pages; `shop` and its table are empty without finished jobs."""

    search: str
    vehicles: str
    tools: str
    parts: str
    lessons: str
    hazards: str
    state: str
    rules: str
    shop: str
    shop_table: str


def navigation(base: Base) -> Nav:
    """Free site paths: a page of the base that already stands there keeps its place."""
    names = ("search", "vehicles", "by-tool", "by-part", "lessons", "hazards", "base-state", "rules")
    shop = _free("shop", base) if base.jobs else ""
    return Nav(*(_free(name, base) for name in names), shop, shop.removesuffix("html") + "csv" if shop else "")


def _free(name: str, base: Base) -> str:
    return unused(name, ("html", "csv"), {page_address(path) for path in base.pages} | base.files) + ".html"


class Site:
    """One base with its graph, circuits and errors, as the templates see it."""

    def __init__(
        self,
        base: Base,
        graph: Graph,
        marks: Marks,
        has_rules: bool,
        held: Mapping[str, Held],
        hunts: Hunts,
        keeping: Names | None = None,
    ) -> None:
        self.base, self.graph, self.marks, self.has_rules, self.hunts = base, graph, marks, has_rules, hunts
        self.keeping = keeping
        self.wiring = wiring.Wiring(base)
        self.nav = navigation(base)
        self.vehicles = vehicles(base)
        self.lessons = lessons(base)
        self.written_names = {ref.span: target for ref, target in base.targets.items()}
        self._users = _users(base)
        self.held = held
        self._drawn: dict[str, Drawn] = {}
        self._shop: Shop | None = None
        self._slugs = slugs(base)

    def drawn(self, node: Node) -> Drawn | None:
        """A circuit's drawing; None where a row of it could not be read, or it has nothing to draw."""
        circuit = self.base.circuits.get(node.id)
        if circuit is None or not circuit.sound or not circuit.wires:
            return None
        if node.id not in self._drawn:
            self._drawn[node.id] = Drawn(self.base, node, self._slugs[node.id], self.held.get(node.id))
        return self._drawn[node.id]

    def expected(self, drawn: Drawn) -> expected.Table | None:
        """What each fault of a circuit reads in each of its tests."""
        return expected.table(self.base, drawn)

    def shown_in(self, circuit: Node, symptom: Node) -> str:
        """The first position in which a circuit says how a symptom shows; empty where it isn't drawn."""
        rows = self.base.circuits[circuit.id].symptoms if self.drawn(circuit) else ()
        mine = (r for r in rows if r.symptom and self.base.targets.get(r.symptom) == symptom.id)
        return next((position for row in mine for position, _ in row.shows), "")

    def good(self, where: wiring.Where) -> tuple[tuple[str, tuple[Drawn, ...]], ...]:
        """What a test reads with nothing wrong, with the drawings of the circuits on which it reads so."""
        drawn = [found for circuit in where.circuits if (found := self.drawn(circuit))]
        alike: dict[str, list[Drawn]] = {}
        for one, words_ in expected.good(self.base, drawn, where.row):
            alike.setdefault(words_, []).append(one)
        return tuple((words_, tuple(found)) for words_, found in alike.items())

    def owners(self, pictures: Sequence[Drawn]) -> tuple[Node, ...]:
        """The vehicles of these drawings' circuits; none where a circuit belongs to no vehicle."""
        found = [self.wiring.vehicles(one.node.id) for one in pictures]
        return unique(vehicle for owners in found for vehicle in owners) if all(found) else ()

    def shop(self) -> Shop:
        """What the finished jobs say, held against the plans."""
        if self._shop is None:
            self._shop = shop(self.base, self.graph, self.wiring, self.hunts)
        return self._shop

    @property
    def one_vehicle(self) -> bool:
        """True where there is no choice to make."""
        return len(self.vehicles) == 1

    def key(self, vehicle: Node) -> str:
        """A vehicle's name for scripts and stored choices: no white space in it."""
        return vehicle_key(vehicle)

    def keys(self, nodes: Sequence[Node]) -> str:
        """The keys of vehicles, for an attribute."""
        return " ".join(self.key(vehicle) for vehicle in nodes)

    def only(self, node: Node) -> str:
        """The keys of the vehicles that a node is limited to."""
        return self.keys(self.base.all(node.refs("Only on")))

    def step_only(self, item: Block) -> str:
        """The keys of the vehicles that a step is limited to."""
        return self.keys(limited.step_only(self.base, item))

    def finding_only(self, finding: Finding) -> str:
        """The keys of the vehicles on which a finding can be found; empty: on all."""
        return self.keys(self.base.all(finding.only))

    def access(self, node: Node) -> tuple[Node, ...]:
        """What must be off or set up before a procedure, outermost first."""
        return self.graph.access(node.id)

    def wheres(self, node: Node) -> tuple[wiring.Where, ...]:
        """Where a test's instrument goes."""
        return self.wiring.wheres(node)

    def finding_cards(self, test: Node) -> tuple[FindingCard, ...]:
        """A test's findings, for no symptom in particular."""
        return finding_cards(self.base, test)

    def scales(self, cards: Sequence[FindingCard]) -> tuple[Scale | None, ...]:
        """A scale for each finding that reads a number."""
        return scales([card.finding for card in cards])

    def faces(self, node: Node) -> tuple[wiring.Face, ...]:
        """The connector faces of a circuit."""
        circuit = self.base.circuits.get(node.id)
        return wiring.faces(circuit) if circuit else ()

    def paint(self, text: str) -> wiring.Paint | None:
        """The paint of a colour cell, written `WHBK` or `WH/BK`."""
        return wiring.paint(codes(text))

    def panels(self, message: Message) -> tuple[safety.Panel, ...]:
        """The panels that a message prints."""
        return safety.panels(self.base, message)

    def own_panel(self, hazard: Node) -> tuple[safety.Panel, ...]:
        """A hazard's own panel."""
        return (safety.Panel(safety.word_of(hazard), hazard),)

    def ahead(self, node: Node) -> tuple[tuple[Node, tuple[safety.Panel, ...]], ...]:
        """The accesses in front of a procedure, each with the panels to print there."""
        return safety.ahead(self.base, node, self.access(node))

    def after_messages(self, blocks: Sequence[Block]) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
        """A body's leading messages, and the rest."""
        return safety.after_messages(blocks)

    def where_at(self, blocks: Sequence[Block]) -> int:
        """Before which block the place of the probe stands: with the first step that names a point.

        So every message in front of that step stands above it. Where no step names a point, it stands
        after the last message.
        """
        named = next((i for i, block in enumerate(blocks) if names_point(block)), None)
        last = max((i + 1 for i, block in enumerate(blocks) if block.type == "message"), default=0)
        return last if named is None else named

    def is_allowance(self, block: Block) -> bool:
        """True for a block that isn't printed."""
        return safety.is_allowance(block)

    def unanchored(self, blocks: Sequence[Block]) -> tuple[Block, ...]:
        """Blocks without anchors, for places where they are printed again."""
        return tuple(replace(b, anchor="", children=self.unanchored(b.children)) for b in blocks)

    def remark_inside(self, value: Value) -> bool:
        """True where a value's running text holds its remark already."""
        return bool(value.inlines) and words(value.inlines).endswith(value.remark)

    def causes_here(self, repair: Node, symptom: Node) -> tuple[Node, ...]:
        """The causes of a symptom that a repair removes."""
        removed = {cause.id for cause in self.graph.causes_of(repair.id)}
        return tuple(item.cause for item in self.graph.causes(symptom.id) if item.cause.id in removed)

    def speaks_about(self, test: Node) -> tuple[Node, ...]:
        """The symptoms that a test speaks about."""
        return self.graph.symptoms_of(test.id)

    def columns(self, table: Table) -> tuple[int, ...]:
        """The order in which a table's columns are printed: as written, but a wire's colour comes second."""
        found = list(range(len(table.header.cells)))
        names = [cell.text.casefold() for cell in table.header.cells]
        if table.role == "Wire" and "colour" in names[1:]:
            found.insert(1, found.pop(names.index("colour", 1)))
        return tuple(found)

    def choices(self, question: Node) -> tuple[Value, ...]:
        """A question's right and wrong answers, mixed alike in every build."""
        values = question.values("Right") + question.values("Wrong")
        return tuple(sorted(values, key=lambda value: sha256(value.text.encode()).digest()))

    def beside(self, lesson: Node) -> tuple[Node | None, Node | None]:
        """The lessons before and after one."""
        ids = [node.id for node in self.lessons]
        index = ids.index(lesson.id)
        before = self.lessons[index - 1] if index else None
        return before, self.lessons[index + 1] if index + 1 < len(ids) else None

    def nearest(self, span: Span) -> str:
        """The site path of what is printed at a line: its node, else its page, else the base."""
        page = self.base.pages.get(span.path)
        if page is None:
            return "index.html"
        nodes = [node for node in kept(self.base, page) if node.kind not in (Kind.BASE, Kind.PAGE)]
        index = bisect_right([node.span.line for node in nodes], span.line)
        return node_address(nodes[index - 1]) if index else page_address(span.path)

    def related(self, node: Node) -> tuple[tuple[str, tuple[Node, ...]], ...]:
        """What the rest of the base says of a node: titles and nodes."""
        return tuple((title, unique(nodes)) for title, nodes in self._related(node) if nodes)

    def _related(self, node: Node) -> tuple[tuple[str, Sequence[Node]], ...]:
        graph, wires = self.graph, self.wiring
        taught = ("Lessons on it", graph.lessons_of(node.id))
        match node.kind:
            case Kind.FUNCTION:
                return (("Symptoms", self._symptoms_in(node)), taught)
            case Kind.SYMPTOM:
                return (("Wiring that shows it", wires.showing(node)), taught)
            case Kind.CAUSE:
                return (
                    ("Can show as", graph.symptoms_of(node.id)),
                    ("Tests that speak of it", graph.tests_of(node.id)),
                    taught,
                )
            case Kind.TEST:
                return (taught,)
            case Kind.REPAIR:
                return (("Removes", graph.causes_of(node.id)), taught)
            case Kind.ACCESS | Kind.TOOL:
                return (("Used by", self._users.get(node.id, [])),)
            case Kind.TERM | Kind.HAZARD:
                return (("Named by", [n for n in graph.named_on(node.id) if n.anchor]),)
            case Kind.VEHICLE:
                return (
                    ("Its wiring", wires.circuits(node)),
                    ("Symptoms that its wiring shows", self._shown(node)),
                )
            case Kind.CIRCUIT:
                return (taught,)
            case _:
                return ()

    def _symptoms_in(self, function: Node) -> list[Node]:
        found = []
        for symptom in self.base.of_kind(Kind.SYMPTOM):
            around = self.graph.function(symptom.id)
            if around and around.id == function.id:
                found.append(symptom)
        return found

    def _shown(self, vehicle: Node) -> list[Node]:
        known = self.base.circuits  # without those of other vehicles, where the base is limited to one
        circuits = [known[node.id] for node in self.wiring.circuits(vehicle) if node.id in known]
        refs = [row.symptom for circuit in circuits for row in circuit.symptoms if row.symptom]
        return list(self.base.all(tuple(refs)))


def slugs(base: Base) -> dict[str, str]:
    """A file name for each circuit's data, none twice."""
    found: dict[str, str] = {}
    for name in base.circuits:
        wanted = slug = f"{page_slug(base.nodes[name].page)}-{base.nodes[name].anchor}"
        count = 1
        while slug in found.values():
            count += 1
            slug = f"{wanted}-{count}"
        found[name] = slug
    return found


def names_point(block: Block) -> bool:
    """True where a step or paragraph names a point of a circuit."""
    return _any_point(block.inlines) or any(names_point(child) for child in block.children)


def _any_point(inlines: Sequence[Inline]) -> bool:
    return any(inline.type == "point" or _any_point(inline.children) for inline in inlines)


def codes(text: str) -> tuple[str, ...]:
    """IEC 60757 codes written together or with a stroke between: base, then tracer."""
    text = text.strip().upper().replace("/", "")
    return tuple(text[i : i + 2] for i in range(0, len(text), 2))


def words(inlines: Sequence[Inline]) -> str:
    """The words of running text, without marks."""
    return "".join(inline.text or words(inline.children) for inline in inlines).strip()


def _users(base: Base) -> dict[str, list[Node]]:
    """For each access and tool the procedures whose own facts name it."""
    users: dict[str, list[Node]] = {}
    for node in base.of_kind(*PROCEDURES):
        for named in base.all(node.refs("Access") + node.refs("Needs")):
            users.setdefault(named.id, []).append(node)
    return users


def strongest_first(hazards: Sequence[Node]) -> tuple[Node, ...]:
    """Hazards by signal word, then as written."""
    order = list(SignalWord)
    return tuple(sorted(hazards, key=lambda hazard: order.index(safety.word_of(hazard))))
