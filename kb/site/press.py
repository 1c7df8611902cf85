"""How a book is printed: WeasyPrint is given files of the templates and the base, and nothing else."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from importlib import import_module
from mimetypes import guess_type
from types import ModuleType
from typing import Any
from urllib.parse import unquote
from xml.etree.ElementTree import Element

from kb.assets import templates_dir
from kb.diagnostic import Diagnostic
from kb.site.book import PICTURES, book_data, marked
from kb.site.context import Site
from kb.site.render import render

SHELF = "https://book.invalid/"  # RFC 6761: no host is ever called so
TEMPLATE = "book.html.j2"
SHIPPED = ("static/", "book/")  # folders of the templates that a book may ask for
SVG = "{http://www.w3.org/2000/svg}"
DRAWN = frozenset({"wiring", "face"})  # classes of drawings with words in them
Read = Callable[[str], bytes]


class Absent(Exception):
    """A book can't be printed on this machine: what is missing and how to get it."""


def press() -> ModuleType:
    """WeasyPrint. Raises Absent where it, or what it draws letters with, isn't installed."""
    try:
        return import_module("weasyprint")
    except ImportError as error:
        raise Absent(
            "a book is printed by WeasyPrint, which isn't installed: pip install 'backprobe[print]'"
        ) from error
    except OSError as error:
        raise Absent(
            "WeasyPrint finds no Pango to set letters with; on Debian: "
            "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
        ) from error


def printed(site: Site, diagnostics: Iterable[Diagnostic], read: Read) -> bytes:
    """The book of a base as PDF. `read` gives the bytes of a file of the base by its path."""
    weasyprint = press()
    data = book_data(site, diagnostics)
    blank = render(TEMPLATE, {**data, "mark": ""})
    page = render(TEMPLATE, {**data, "mark": marked(blank)})
    with _no_clock():
        html = weasyprint.HTML(string=page.decode(), base_url=SHELF, url_fetcher=fetcher(weasyprint, site, read))
        _dress(html.etree_element)
        return bytes(html.write_pdf(pdf_identifier=sha256(page).hexdigest()[:32].encode(), pdf_variant="pdf/ua-1"))


def fetcher(weasyprint: ModuleType, site: Site, read: Read) -> Any:
    """What WeasyPrint asks for files: it gets those on the shelf and what a picture holds itself."""
    urls = import_module("weasyprint.urls")

    class Shelf(weasyprint.URLFetcher):  # type: ignore[misc, name-defined]
        """Refuses every address off the shelf: nothing is asked of a network or of this machine."""

        def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            name = unquote(url.removeprefix(SHELF)) if url.startswith(SHELF) else ""
            data = _on_shelf(site, read, name)
            if data is None:
                raise ValueError(f"{url} is neither a file of the base nor of the templates")
            return urls.URLFetcherResponse(
                url, data, {"Content-Type": guess_type(name)[0] or "application/octet-stream"}
            )

    return Shelf(allowed_protocols=("data",))


def _on_shelf(site: Site, read: Read, name: str) -> bytes | None:
    picture = name.removeprefix(PICTURES)
    if name.startswith(PICTURES):
        return read(picture) if picture in site.base.files else None
    if name.startswith(SHIPPED) and ".." not in name.split("/") and (templates_dir() / name).is_file():
        return (templates_dir() / name).read_bytes()
    return None


def _dress(root: Element) -> None:
    """Give each drawing its style: WeasyPrint applies to a drawing only what stands in it."""
    rules = (templates_dir() / "book" / "drawings.css").read_text(encoding="utf-8")
    for drawing in list(root.iter(f"{SVG}svg")):
        if DRAWN & set(drawing.get("class", "").split()):
            style = Element(f"{SVG}style")
            style.text = rules
            drawing.insert(0, style)


@contextmanager
def _no_clock() -> Iterator[None]:
    """While fonts are cut down their time of change is fixed: that of SOURCE_DATE_EPOCH, else the epoch itself."""
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = before or "0"
    try:
        yield
    finally:
        if before is None:
            del os.environ["SOURCE_DATE_EPOCH"]
        else:
            os.environ["SOURCE_DATE_EPOCH"] = before
