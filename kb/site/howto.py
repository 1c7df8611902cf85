"""Tests and repairs of a page as data that other programs read: schema.org's HowTo, as JSON-LD; and the sitemap.

Whoever reads the steps there reads the safety messages too: each stands as a step of its own before the step it is for.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from xml.etree import ElementTree

from markupsafe import Markup

from kb.model import Base, Moment, Node
from kb.read.inlines import plain
from kb.reference import Kind
from kb.site.context import Site
from kb.site.paper import public
from kb.site.safety import Panel, panels

VOCABULARY = "https://schema.org"
MAPS = "http://www.sitemaps.org/schemas/sitemap/0.9"
Data = Mapping[str, object]


def data_of(site: Site, path: str, nodes: Iterable[Node]) -> Markup:
    """The tests and repairs among nodes as a JSON-LD document for a page; empty where there are none.

    Addresses are relative to the page, or public ones where the base states its address.
    """
    graph = [howto(site, path, node) for node in nodes if node.kind in (Kind.TEST, Kind.REPAIR)]
    return in_script({"@context": VOCABULARY, "@graph": graph}) if graph else Markup("")


def in_script(data: Data) -> Markup:
    """JSON that no HTML can end: `<`, `>` and `&` are escaped as JSON does it (RFC 8259, section 7)."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)


def howto(site: Site, path: str, node: Node) -> Data:
    """A test or repair as a HowTo."""
    access = site.access(node)
    needs = site.base.all(node.refs("Needs"))
    found: dict[str, object] = {
        "@type": "HowTo",
        "@id": public(site.base, f"{path}#{node.anchor}") or f"#{node.anchor}",
        "name": node.name,
        "description": why(node),
        "prepTime": iso_duration(sum(minutes(a) for a in access)),
        "performTime": iso_duration(minutes(node)),
        "tool": [{"@type": "HowToTool", "name": tool.name} for tool in needs],
        "supply": [{"@type": "HowToSupply", "name": words} for words in node.words("Parts")],
        "step": list(steps(site, node)),
    }
    return {key: value for key, value in found.items() if value}


def steps(site: Site, node: Node) -> Iterator[Data]:
    """What must be done, in order: set-up, own steps, each with the safety messages before it."""
    for number, (name, text) in enumerate(_told(site, node), 1):
        yield {"@type": "HowToStep", "position": number, **({"name": name} if name else {}), "text": text}


def _told(site: Site, node: Node) -> Iterator[tuple[str, str]]:
    first = next((i for i, moment in enumerate(node.moments) if moment.numbered), len(node.moments))
    yield from _met(site.base, node.moments[:first])
    for one, own in site.ahead(node):
        yield from _warned(own)
        yield "Before", one.name
    yield from _met(site.base, node.moments[first:])


def _met(base: Base, moments: Iterable[Moment]) -> Iterator[tuple[str, str]]:
    for moment in moments:
        if moment.message:
            yield from _warned(panels(base, moment.message))
        elif moment.numbered:
            yield "", moment.text


def _warned(shown: Iterable[Panel]) -> Iterator[tuple[str, str]]:
    for panel in shown:
        if panel.hazard:
            words = [panel.hazard.text(key) for key in ("Hazard", "Consequence", "Avoidance")]
        else:
            words = [panel.title, plain(panel.body)]
        yield panel.word.value, " ".join(filter(None, words))


def why(node: Node) -> str:
    """The first words of a node's own text that aren't a step, on one line."""
    words = (m.text for m in node.moments if not m.numbered and not m.message)
    return " ".join(next(words, "").split())


def minutes(node: Node) -> float:
    """What a node states to take, in minutes."""
    values = node.values("Takes")
    return values[0].number or 0 if values else 0


def iso_duration(time: float) -> str:
    """Minutes as ISO 8601 writes a duration: `PT4M`, `PT1H30M`, `PT45S`; empty for none."""
    seconds = round(time * 60)
    hours, rest = divmod(seconds, 3600)
    whole, left = divmod(rest, 60)
    parts = [f"{n}{unit}" for n, unit in ((hours, "H"), (whole, "M"), (left, "S")) if n]
    return "PT" + "".join(parts) if parts else ""


def sitemap(base: Base, paths: Iterable[str]) -> bytes:
    """A sitemap (sitemaps.org, protocol 0.9) of pages by their public addresses."""
    top = ElementTree.Element("urlset", xmlns=MAPS)
    for path in paths:
        ElementTree.SubElement(ElementTree.SubElement(top, "url"), "loc").text = public(base, path)
    ElementTree.indent(top, "")
    return ElementTree.tostring(top, encoding="utf-8", xml_declaration=True) + b"\n"
