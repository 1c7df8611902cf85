"""Which pages the site has, in order: address, template and what the template is given."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from kb.checks import CATALOGUE, Rule
from kb.checks._manual import printed
from kb.circuit.claims import Held
from kb.diagnostic import Diagnostic
from kb.graph import Graph
from kb.isolation.ways import Hunts
from kb.model import Base, Block, Node, Page
from kb.reference import Kind
from kb.site import overview
from kb.site.address import page_address, page_slug, symptom_address
from kb.site.context import Site, strongest_first
from kb.site.gather import gather
from kb.site.given import Data, Sheet, given
from kb.site.howto import data_of
from kb.site.marks import mark
from kb.site.offline import Names
from kb.site.papers import papers
from kb.site.place import kept
from kb.site.state import state

FRONT = "index.html"


def open_site(
    base: Base,
    graph: Graph,
    diagnostics: tuple[Diagnostic, ...] = (),
    held: Mapping[str, Held] | None = None,
    hunts: Hunts | None = None,
    keeping: Names | None = None,
) -> Site:
    """A base as its pages ask it; what isn't in `held` and `hunts` is surveyed and planned when asked for.

    `keeping` names what keeps a served site without network; without it no page speaks of that.
    """
    marks, rules = mark(base, diagnostics), bool(CATALOGUE)
    return Site(base, graph, marks, rules, held or {}, hunts or Hunts(base, graph), keeping)


def sheets(site: Site, diagnostics: tuple[Diagnostic, ...] = ()) -> Iterator[Sheet]:
    """Every page of the site: front, ways in, pages as written, symptoms, addresses of old names, sheets to print."""
    base, rules = site.base, [CATALOGUE[name] for name in sorted(CATALOGUE)]
    yield Sheet(FRONT, "front.html.j2", partial(_front, site))
    for path, template, data in _ways_in(site, diagnostics, rules):
        yield Sheet(path, template, partial(given, site, path, data))
    for page in base.pages.values():
        if page.path != "index.md":
            yield Sheet(page_address(page.path), "page.html.j2", partial(_page, site, page))
    for symptom in base.of_kind(Kind.SYMPTOM):
        yield Sheet(symptom_address(symptom), "symptom.html.j2", partial(_symptom, site, symptom))
    for symptom in base.of_kind(Kind.SYMPTOM):
        for old in symptom.old_anchors:
            address = symptom_address(symptom, old)
            yield Sheet(address, "moved.html.j2", partial(_moved, site, address, symptom))
    yield from papers(site)


def _limiting(site: Site) -> frozenset[str]:
    """Vehicles by id that anything in the base is only for."""
    base = site.base
    return frozenset(v.id for node in base.nodes.values() for v in base.all(node.refs("Only on")))


def _ways_in(
    site: Site, diagnostics: tuple[Diagnostic, ...], rules: list[Rule]
) -> Iterator[tuple[str, str, Callable[[], Data]]]:
    base, nav = site.base, site.nav
    yield (
        nav.search,
        "search.html.j2",
        lambda: {"scripts": ("site.js", "find.js", "search/boot.js", "search.js"), "limiting": _limiting(site)},
    )
    yield nav.vehicles, "vehicles.html.j2", lambda: {"vehicles": _vehicles(site)}
    yield nav.tools, "tools.html.j2", lambda: {"tools": overview.tools(base)}
    yield nav.parts, "parts.html.j2", lambda: {"parts": overview.parts(base), "terms": _terms(site)}
    yield nav.lessons, "lessons.html.j2", lambda: {"lessons": site.lessons}
    yield nav.hazards, "hazards.html.j2", lambda: {"hazards": strongest_first(base.of_kind(Kind.HAZARD))}
    yield (
        nav.state,
        "state.html.j2",
        lambda: {"state": state(base, site.graph, site.wiring, site.hunts, diagnostics, site.held)},
    )
    if nav.shop:
        yield nav.shop, "shop.html.j2", lambda: {"shop": site.shop()}
    if rules:
        yield nav.rules, "rules.html.j2", lambda: {"rules": rules, "printed": printed}


def _front(site: Site) -> Data:
    page = site.base.pages["index.md"]
    levels = heading_levels(page, above=1)

    def more() -> Data:
        return {
            "page_class": "front",
            "scripts": _scripts(site, page),
            "groups": overview.groups(site.base, site.graph, site.hunts),
            "nodes": _levelled(site.base, page, levels)[1:],
            "lesson_ends": _lesson_ends(site.base, page),
            "level": lambda block: levels.get(block.span.line, 6),
            "pages": [(page_address(p.path), p.title) for p in site.base.pages.values()],
        }

    return given(site, FRONT, more, page.path)


def _page(site: Site, page: Page) -> Data:
    levels = heading_levels(page)

    def more() -> Data:
        return {
            "title": page.title,
            "scripts": _scripts(site, page),
            "opens_with_heading": 1 in levels.values(),
            "howto": data_of(site, page_address(page.path), kept(site.base, page)),
            "nodes": _levelled(site.base, page, levels),
            "lesson_ends": _lesson_ends(site.base, page),
            "level": lambda block: levels.get(block.span.line, 6),
        }

    return given(site, page_address(page.path), more, page.path)


def _scripts(site: Site, page: Page) -> tuple[str, ...]:
    """The scripts of a page as written: one more where it draws a circuit."""
    drawn = any(site.drawn(node) for node in kept(site.base, page) if node.kind is Kind.CIRCUIT)
    return ("site.js", "wiring.js") if drawn else ("site.js",)


def _symptom(site: Site, symptom: Node) -> Data:
    gathering = gather(site.base, site.graph, site.wiring, site.hunts, symptom)

    def more() -> Data:
        return {
            "page_class": "symptom",
            "scripts": ("site.js", "isolate.js", "walk.js"),
            "g": gathering,
            "local": partial(_local, symptom.page),
            "level": lambda block: min(max(block.level, 4), 6),
            "first_uses": gathering.first_uses(site.graph),
            "here": frozenset(c.node.id for c in gathering.tests) | {r.id for r in gathering.repairs},
        }

    return given(site, symptom_address(symptom), more, symptom.page)


def _moved(site: Site, address: str, symptom: Node) -> Data:
    return given(site, address, lambda: {"node": symptom, "now": symptom_address(symptom)})


def _local(page: str, node: Node) -> str:
    """A node's anchor on a symptom's page: its own, after its page's name where that is another."""
    return node.anchor if node.page == page else f"{page_slug(node.page)}-{node.anchor}"


def _levelled(base: Base, page: Page, levels: Mapping[int, int]) -> list[tuple[Node, int]]:
    return [(node, levels.get(node.span.line, 1)) for node in kept(base, page)]


def _lesson_ends(base: Base, page: Page) -> dict[str, Node]:
    """The lessons of a page, by the last node in each."""
    ends: dict[str, Node] = {}
    for lesson in kept(base, page):
        if lesson.kind is Kind.LESSON:
            inside = [n for n in kept(base, page) if any(a.id == lesson.id for a in (n, *base.ancestors(n)))]
            ends[inside[-1].id] = lesson
    return ends


def heading_levels(page: Page, above: int = 0) -> dict[int, int]:
    """The level at which each heading is printed, by its line: as written, without gaps."""
    written = {node.span.line: node.level for node in page.nodes if node.level}
    for node in page.nodes:
        written |= {b.span.line: b.level for b in headings(node.blocks)}
    levels: dict[int, int] = {}
    open_levels: list[int] = []
    for line in sorted(written):
        open_levels = [level for level in open_levels if level < written[line]] + [written[line]]
        levels[line] = min(len(open_levels) + above, 6)
    return levels


def headings(blocks: tuple[Block, ...]) -> Iterator[Block]:
    """The headings of prose among blocks, however deep they stand."""
    for block in blocks:
        if block.type == "heading":
            yield block
        yield from headings(block.children)


def _vehicles(site: Site) -> list[tuple[Node, tuple[Node, ...]]]:
    return [(vehicle, site.wiring.circuits(vehicle)) for vehicle in site.vehicles]


def _terms(site: Site) -> list[tuple[Node, list[Node]]]:
    terms = overview.by_name(site.base.of_kind(Kind.TERM))
    return [(term, [node for node in site.graph.named_on(term.id) if node.anchor]) for term in terms]
