"""All files of the site, one after the other: pages, moved addresses, static files, search, pictures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

from kb.assets import templates_dir
from kb.circuit.claims import Held
from kb.diagnostic import Diagnostic
from kb.graph import Graph
from kb.isolation.ways import Hunts
from kb.model import Base
from kb.search.cards import cards
from kb.search.fresh import build_index
from kb.search.shards import shard_files
from kb.site.context import Site
from kb.site.drawing.data import data_file
from kb.site.howto import sitemap
from kb.site.offline import kept, names
from kb.site.paper import public
from kb.site.place import file_address
from kb.site.render import render
from kb.site.scripts import shipped_scripts
from kb.site.sheets import FRONT, Sheet, open_site, sheets
from kb.site.shop_table import table
from kb.site.styles import shipped_styles

SITEMAP = "sitemap.xml"


def site_files(
    base: Base,
    graph: Graph,
    diagnostics: Iterable[Diagnostic] = (),
    read: Callable[[str], bytes] | None = None,
    scripts: tuple[str, ...] = (),
    held: Mapping[str, Held] | None = None,
    hunts: Hunts | None = None,
    keep: bool = True,
) -> Iterator[tuple[str, bytes]]:
    """Every file of the site as path and bytes, each path once.

    `read` gives the bytes of a file of the base by its path: with it the files that pages link to are copied.
    `scripts` are further scripts in `static/` that each page loads.
    `held` are circuits of the base that are surveyed already, `hunts` what is planned already; the rest is
    done here. Unless `keep` is False, a served site keeps itself on the reader's device.
    """
    told = tuple(diagnostics)
    site = open_site(base, graph, told, held, hunts, names(base) if keep else None)
    files = _files(site, told, read, scripts)
    yield from kept(base, files) if keep else files


def _files(
    site: Site, told: tuple[Diagnostic, ...], read: Callable[[str], bytes] | None, scripts: tuple[str, ...]
) -> Iterator[tuple[str, bytes]]:
    base, written, mapped = site.base, set[str](), list[str]()
    for sheet in sheets(site, told):
        if sheet.path not in written:
            written.add(sheet.path)
            mapped += [sheet.path] if sheet.mapped else []
            yield sheet.path, page_bytes(sheet, scripts)
    if public(base, FRONT) and SITEMAP not in base.files:
        written.add(SITEMAP)
        yield SITEMAP, sitemap(base, mapped)
    if site.nav.shop_table:
        written.add(site.nav.shop_table)
        yield site.nav.shop_table, table(site.shop())
    yield from static_files()
    yield from (
        file for circuit in base.circuits if (drawn := site.drawn(base.nodes[circuit])) and (file := data_file(drawn))
    )
    index = build_index(base, site.graph)
    yield from sorted(shard_files(index, cards(base, site.hunts, index.documents)).items())
    if read:
        yield from ((path, read(path)) for path in linked_files(base) if path not in written)


def page_bytes(sheet: Sheet, scripts: tuple[str, ...] = ()) -> bytes:
    """One page, which loads `scripts` after its own."""
    data = sheet.data()
    return render(sheet.template, {**data, "scripts": (*data["scripts"], *scripts)})


def static_files() -> Iterator[tuple[str, bytes]]:
    """Style sheets, scripts, fonts with their licences, icons."""
    folder = templates_dir() / "static"
    paths = sorted(p for p in folder.rglob("*") if _shipped(p))
    for suffix, made in ((".js", shipped_scripts), (".css", shipped_styles)):
        yield from ((f"static/{name}", data) for name, data in made(p for p in paths if p.suffix == suffix))
    for path in paths:
        if path.suffix not in {".js", ".css"}:
            yield f"static/{path.relative_to(folder).as_posix()}", path.read_bytes()


def _shipped(path: Path) -> bool:
    return path.is_file() and not path.name.startswith(".")


def linked_files(base: Base) -> tuple[str, ...]:
    """The files of the base, other than pages, that a link or a picture leads to."""
    found = {
        address
        for page in base.pages.values()
        for target in page.links
        if (address := file_address(base, page.path, target.href)) in base.files
    }
    return tuple(sorted(path for path in found if path and path not in base.pages))
