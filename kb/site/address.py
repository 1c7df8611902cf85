"""Where each page, node and symptom stands on the site, relative to its root."""

from __future__ import annotations

import posixpath
from collections.abc import Container, Iterable
from urllib.parse import quote

from kb.model import Node


def page_address(path: str) -> str:
    """The site path of a page: `functions/folding.md` stands at `functions/folding.html`."""
    return path.removesuffix(".md") + ".html"


def node_address(node: Node) -> str:
    """The site path of a node with its anchor."""
    return f"{page_address(node.page)}#{node.anchor}" if node.anchor else page_address(node.page)


def symptom_address(node: Node, anchor: str = "") -> str:
    """The site path of a symptom's own page; `anchor` replaces its anchor (a former name's)."""
    return f"{node.page.removesuffix('.md')}.{anchor or node.anchor}.html"


def vehicle_key(vehicle: Node) -> str:
    """A vehicle's name for scripts and stored choices: no white space in it."""
    return quote(node_address(vehicle), safe="/#")


def relative(address: str, page: str) -> str:
    """`address` (from the root) as a link that stands on the site path `page`."""
    path, mark, anchor = address.partition("#")
    return posixpath.relpath(path, posixpath.dirname(page) or ".") + mark + anchor


def root_of(page: str) -> str:
    """The way from the site path `page` up to the root: `` at the top, `../` one folder down."""
    return "../" * page.count("/")


def unused(stem: str, ends: Iterable[str], taken: Container[str]) -> str:
    """The stem, with a number where one of its files (`stem.end`) is taken already."""
    listed, wanted, count = tuple(ends), stem, 1
    while any(f"{wanted}.{end}" in taken for end in listed):
        count += 1
        wanted = f"{stem}-{count}"
    return wanted


def page_slug(path: str) -> str:
    """A page's path as the beginning of an anchor."""
    return "-".join("".join(c if c.isalnum() else " " for c in path.removesuffix(".md").casefold()).split())
