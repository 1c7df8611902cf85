"""What every template of a page is given."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from kb.site.context import Site
from kb.site.paper import public, sheet_of, sheet_of_symptom
from kb.site.place import Place

Data = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page of the site; `data` is asked for only when the page is written."""

    path: str
    template: str
    data: Callable[[], Data]

    @property
    def mapped(self) -> bool:
        """False for what is no page of its own: an old address, a sheet to print."""
        return not self.template.startswith(("moved", "paper"))


def given(site: Site, path: str, more: Callable[[], Data], source: str = "") -> Data:
    """What every template is given, and what this one is given besides."""
    return {
        "site": site,
        "base": site.base,
        "place": Place(site.base, path, site.written_names),
        "path": path,
        "public": partial(public, site.base),
        "sheet_of": sheet_of,
        "sheet_of_symptom": sheet_of_symptom,
        "page_class": "page",
        "scripts": ("site.js",),
        "faults_here": site.marks.counts.get(source, 0),
        "local": lambda node: node.anchor,
        "level": lambda block: min(max(block.level, 2), 6),
        "here": frozenset(),
        "first_uses": {},
        **more(),
    }
