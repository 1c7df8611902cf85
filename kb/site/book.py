"""The whole base as one book: its parts in order, where each name leads in it, and what its lists say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from hashlib import sha256
from typing import Any
from urllib.parse import quote

from kb.diagnostic import Diagnostic
from kb.model import Base, Block, Inline, Node, Page
from kb.reference import PROCEDURES, Kind
from kb.report import counts
from kb.site.address import node_address, page_address
from kb.site.context import Site, words
from kb.site.gather import gather
from kb.site.given import Data, given
from kb.site.paper import JobSheet, Line, Part, job_sheet, letters, plugs, public
from kb.site.place import Place, file_address, kept, parted
from kb.site.render import plural
from kb.site.sheets import heading_levels, headings

MARK = 8  # hexadecimal digits of a book's mark
PICTURES = "base/"  # where a picture of the base is asked for
FOOT, HEAD = 200, 70  # letters of the foot and of a running head

# A page stands in the first part of which it holds a kind; one with none of these in the last.
PARTS: tuple[tuple[str, frozenset[Kind]], ...] = (
    ("Functions", frozenset({Kind.FUNCTION, Kind.SYMPTOM})),
    ("Vehicles", frozenset({Kind.VEHICLE, Kind.CIRCUIT})),
    ("Lessons", frozenset({Kind.LESSON, Kind.QUESTION, Kind.EXERCISE})),
    ("Shared work", PROCEDURES | {Kind.CAUSE}),
    ("Hazards", frozenset({Kind.HAZARD})),
    ("Tools", frozenset({Kind.TOOL})),
    ("Terms", frozenset({Kind.TERM})),
)
REST = "Other pages"
LISTED = frozenset({Kind.FUNCTION, Kind.SYMPTOM, Kind.VEHICLE, Kind.CIRCUIT, Kind.LESSON})
UNNAMED = frozenset({Kind.BASE, Kind.PAGE, Kind.QUESTION, Kind.EXERCISE})


@dataclass(frozen=True, slots=True)
class Chapter:
    """A page of the base: its nodes, each with the level of its heading; `titled`: its title must be printed."""

    page: Page
    title: str
    id: str
    nodes: tuple[tuple[Node, int], ...]
    levels: Mapping[int, int]
    titled: bool

    @property
    def listed(self) -> tuple[Node, ...]:
        """The nodes that the contents name."""
        return tuple(node for node, level in self.nodes if node.kind in LISTED and level > 2)


@dataclass(frozen=True, slots=True)
class Division:
    """Chapters of one kind under their title."""

    title: str
    id: str
    chapters: tuple[Chapter, ...]


@dataclass(frozen=True, slots=True)
class BookPlace(Place):
    """The book as the place of all pages: whatever the base names is in it. `ids` are by site path."""

    ids: Mapping[str, str] = field(default_factory=dict)

    def to(self, address: str) -> str:
        """A link to a site path within the book; to the page where the book has no such anchor."""
        return "#" + (self.ids.get(address) or self.ids.get(parted(address)[0]) or "")

    def node(self, node: Node) -> str:
        """A link to a node: in a book a symptom stands where it is written."""
        return self.to(node_address(node))

    def drawn(self, circuit: Node, position: str) -> str:
        """A link to a circuit, whatever position is asked for."""
        return self.node(circuit)

    def link(self, inline: Inline) -> str | None:
        """An ordinary link's address, or where a picture is asked for; None where paper can't lead there."""
        if inline.href.casefold().startswith("https:"):
            return inline.href
        address = file_address(self.base, inline.span.path, inline.href)
        if address is None or self.ids.get(parted(address)[0]):
            return self.to(address) if address else None
        return PICTURES + quote(address) if inline.type == "image" else public(self.base, address) or None


@dataclass(frozen=True, slots=True)
class Said:
    """What customers say, and the symptom that it is."""

    words: str
    symptom: Node


@dataclass(frozen=True, slots=True)
class Plan:
    """What a symptom comes to on paper: its gathering, its job sheet, a letter for each cause, its tests' cards."""

    g: Any
    sheet: JobSheet
    letters: Mapping[str, str]
    cards: Mapping[str, Any]


class Book:
    """A base as its book asks it."""

    def __init__(self, site: Site, diagnostics: Iterable[Diagnostic] = ()) -> None:
        self.site, self.base, self._told = site, site.base, tuple(diagnostics)
        self.divisions = tuple(_divisions(self.base))
        self.front = _chapter(self.base, self.base.pages["index.md"])
        chapters = (self.front, *(c for division in self.divisions for c in division.chapters))
        self._levels = {(c.page.path, line): level for c in chapters for line, level in c.levels.items()}
        self.ids = dict(_ids(self.base))
        self.place = BookPlace(self.base, "book.html", site.written_names, self.ids)

    def id(self, node: Node) -> str:
        """The name in the book of the place where a node stands."""
        return self.ids[node_address(node)]

    def rooted(self, node: Node) -> tuple[Block, ...]:
        """A node's blocks with the book's names on their headings."""
        return tuple(self._rooted(node, block) for block in node.blocks)

    def _rooted(self, node: Node, block: Block) -> Block:
        anchor = self.ids.get(f"{page_address(node.page)}#{block.anchor}", "") if block.type == "heading" else ""
        return replace(block, anchor=anchor, children=tuple(self._rooted(node, b) for b in block.children))

    def level(self, block: Block) -> int:
        """The level at which a heading of prose is printed."""
        return self._levels.get((block.span.path, block.span.line), 6)

    def part(self, node: Node) -> Part:
        """A test, repair or access by itself."""
        return Part(0, node, tuple(Line(finding) for finding in node.findings))

    def plan(self, symptom: Node) -> Plan:
        """A symptom's plan."""
        g = gather(self.base, self.site.graph, self.site.wiring, self.site.hunts, symptom)
        sheet = job_sheet(self.base, g)
        named = letters([card.likely.cause for card in g.causes])
        return Plan(g, sheet, named, {card.node.id: card for card in g.tests})

    @property
    def questions(self) -> tuple[tuple[str, tuple[Node, ...]], ...]:
        """The questions and exercises, by the title of their page, in the book's order."""
        chapters = [self.front, *(c for division in self.divisions for c in division.chapters)]
        asked = [(c.title, tuple(n for n, _ in c.nodes if n.kind in (Kind.QUESTION, Kind.EXERCISE))) for c in chapters]
        return tuple((title, nodes) for title, nodes in asked if nodes)

    @property
    def said(self) -> tuple[Said, ...]:
        """What customers say, in the order of its letters."""
        found = [Said(v.text, s) for s in self.base.of_kind(Kind.SYMPTOM) for v in s.values("Said as")]
        return tuple(sorted(found, key=lambda said: (said.words.casefold(), said.words, said.symptom.id)))

    @property
    def names(self) -> tuple[Node, ...]:
        """The nodes in the order of their names."""
        named = (node for node in self.base.nodes.values() if node.kind not in UNNAMED)
        return tuple(sorted(named, key=lambda node: (node.name.casefold(), node.name, node.id)))

    @property
    def statement(self) -> str:
        """The base's statement, in words alone."""
        return " ".join(value.text for value in self.base.root.values("Statement"))

    @property
    def foot(self) -> str:
        """The statement in short: as many whole sentences as a foot holds."""
        short = sentences(self.statement, FOOT)
        return short if short == self.statement else f"{short} Whole on page 1."

    @property
    def checked(self) -> tuple[str, ...]:
        """What was checked, in sentences; nothing more is claimed."""
        return tuple(_checked(self.site, self._told))


def book_data(site: Site, diagnostics: Iterable[Diagnostic] = ()) -> Data:
    """What the template of the book is given, but for its mark."""
    book = Book(site, diagnostics)

    def more() -> Data:
        return {
            "book": book,
            "place": book.place,
            "plugs": partial(plugs, site.base),
            "first_uses": {access.id: access.id for access in site.base.of_kind(Kind.ACCESS)},
            "alone": JobSheet((), ()),
            "clip": clip,
            "level": book.level,
        }

    return given(site, "book.html", more)


def marked(said: bytes) -> str:
    """The mark of a book whose template was filled in without one: two books with one mark say the same."""
    return sha256(said).hexdigest()[:MARK]


def clip(text: str, most: int = HEAD) -> str:
    """The beginning of a text, on one line."""
    text = " ".join(text.split())
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def sentences(text: str, most: int) -> str:
    """The whole sentences at the head of a text that fit in `most` letters; of a longer first one its beginning."""
    if len(text) <= most:
        return text
    cut = max((i + 1 for i in range(most) if text[i] in ".!?" and text[i + 1 : i + 2].isspace()), default=0)
    return text[:cut] if cut else clip(text, most)


def _divisions(base: Base) -> Iterator[Division]:
    titles = [title for title, _ in PARTS] + [REST]
    held: dict[str, list[Chapter]] = {title: [] for title in titles}
    for page in base.pages.values():
        if page.path != "index.md":
            held[_title(base, page)].append(_chapter(base, page))
    for number, title in enumerate(titles):
        if held[title]:
            yield Division(title, f"d{number}", tuple(held[title]))


def _title(base: Base, page: Page) -> str:
    kinds = {node.kind for node in kept(base, page)}
    return next((title for title, wanted in PARTS if kinds & wanted), REST)


def _chapter(base: Base, page: Page) -> Chapter:
    levels = heading_levels(page, above=1)
    nodes = tuple((node, levels.get(node.span.line, 2)) for node in kept(base, page))
    heads = [(node.span.line, node.name) for node, _ in nodes if node.name]
    heads += [(b.span.line, words(b.inlines)) for node, _ in nodes for b in headings(node.blocks)]
    title = next((name for _, name in sorted(heads)), page.path)
    return Chapter(page, title, _number(base, page), nodes, levels, 2 not in levels.values())


def _number(base: Base, page: Page) -> str:
    return f"p{list(base.pages).index(page.path) + 1}"


def _ids(base: Base) -> Iterator[tuple[str, str]]:
    """A short name for each page, node, heading and former name, by its site path."""
    for page in base.pages.values():
        address, own = page_address(page.path), _number(base, page)
        yield address, own
        nodes = kept(base, page)
        mine = {node.anchor: f"{own}-{i}" for i, node in enumerate(nodes) if node.anchor}
        old = {anchor: mine[node.anchor] for node in nodes for anchor in node.old_anchors if node.anchor}
        heads = [b.anchor for n in nodes if n.kind not in PROCEDURES for b in headings(n.blocks)]
        others = {anchor: f"{own}-h{i}" for i, anchor in enumerate(heads) if anchor not in mine}
        yield from ((f"{address}#{anchor}", name) for anchor, name in {**old, **others, **mine}.items())


def _checked(site: Site, told: tuple[Diagnostic, ...]) -> Iterator[str]:
    number = counts(told)
    found = ", ".join(plural(number[word], word) for word in ("error", "warning", "note"))
    yield f"The pages were held against the rules of the tool that printed them: {found}."
    circuits, solved = len(site.base.circuits), sum(1 for name in site.base.circuits if name in site.held)
    if circuits:
        yield (
            f"{solved} of {plural(circuits, 'drawn circuit')} solved in each position, with each fault put in, "
            "and what the pages say of readings held against that."
        )
    tests = site.base.of_kind(Kind.TEST)
    tried = sum(1 for test in tests if test.values("Tried on"))
    if tests:
        yield f"{tried} of {plural(len(tests), 'test')} tried on a vehicle that its writer names."
    yield "No vehicle in front of you was examined."
