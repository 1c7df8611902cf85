"""What a node, a name in brackets, a link or a picture of a base becomes on one page of the site."""

from __future__ import annotations

import posixpath
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from urllib.parse import quote, unquote

from kb.model import Base, Inline, Node, Page
from kb.reference import Kind, Ref
from kb.site.address import node_address, page_address, root_of, symptom_address
from kb.source import Span


def home(node: Node) -> str:
    """Where a node is best read: a symptom on its own page, others at their anchor."""
    return symptom_address(node) if node.kind is Kind.SYMPTOM else node_address(node)


def kept(base: Base, page: Page) -> tuple[Node, ...]:
    """The nodes of a page that the base holds: all, unless it is limited to a vehicle."""
    return tuple(node for node in page.nodes if node.id in base.nodes)


def vehicles(base: Base) -> tuple[Node, ...]:
    """The vehicles a reader may choose from: the one that the base is limited to, else all."""
    return (base.nodes[base.vehicle],) if base.vehicle else base.of_kind(Kind.VEHICLE)


def unique(nodes: Iterable[Node]) -> tuple[Node, ...]:
    """Each node once, where it comes first."""
    return tuple({node.id: node for node in nodes}.values())


@dataclass(frozen=True, slots=True)
class Place:
    """A page of the site, from which links are relative. `page` is its site path.

    `written_names` gives what a name stands for by where it is written: a wiring table's cell and the row
    read from it hold the same name, of which only the row's is looked up.
    """

    base: Base
    page: str
    written_names: Mapping[Span, str] = field(default_factory=dict)

    @property
    def root(self) -> str:
        """The way up to the site's root."""
        return root_of(self.page)

    def to(self, address: str) -> str:
        """A link to a site path, with or without an anchor."""
        path, anchor = parted(address)
        if path == self.page and anchor:
            return "#" + quote(anchor)
        way = posixpath.relpath(path, posixpath.dirname(self.page) or ".")
        return quote(way) + ("#" + quote(anchor) if anchor else "")

    def node(self, node: Node) -> str:
        """A link to where a node is best read."""
        return self.to(home(node))

    def written(self, node: Node) -> str:
        """A link to where the writer wrote a node, symptoms too."""
        return self.to(node_address(node))

    def drawn(self, circuit: Node, position: str) -> str:
        """A link to a circuit's drawing, which shows there this position."""
        way, mark, anchor = self.to(node_address(circuit)).partition("#")
        return f"{way}?position={quote(position)}{mark}{anchor}" if position else way + mark + anchor

    def ref(self, ref: Ref | None) -> str | None:
        """A link to what a name names; None where it names nothing."""
        if ref is None:
            return None
        found = self.base.targets.get(ref) or self.written_names.get(ref.span)
        return self.node(self.base.nodes[found]) if found else None

    def link(self, inline: Inline) -> str | None:
        """An ordinary link's or picture's address from here; None where it may not be followed."""
        if inline.href.casefold().startswith("https:"):
            return inline.href
        address = file_address(self.base, inline.span.path, inline.href)
        return self.to(address) if address else None


def parted(address: str) -> tuple[str, str]:
    """A site path and its anchor; names of folders and files may hold the sign that parts them."""
    path, mark, anchor = address.rpartition(".html#")
    return (path + ".html", anchor) if mark else (address, "")


def file_address(base: Base, page: str, href: str) -> str | None:
    """The site path of what an ordinary link on `page` leads to; None where the base has no such file."""
    path, mark, anchor = href.partition("#")
    if ":" in path.split("/")[0] or path.startswith("/"):
        return None
    wanted = posixpath.normpath(posixpath.join(posixpath.dirname(page), unquote(path))) if path else page
    anchor = unquote(anchor)
    if wanted in base.pages:
        dropped = {node.anchor for node in base.pages[wanted].nodes if node.id not in base.nodes}
        known = not anchor or anchor in base.pages[wanted].anchors - dropped
        return page_address(wanted) + (mark + anchor if anchor else "") if known else None
    return wanted if wanted in base.files else None
