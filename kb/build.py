"""What is done from a folder to a checked base and a site, and what need not be done again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from kb import checks
from kb.checks._asked import Asked
from kb.circuit.claims import Held
from kb.diagnostic import Diagnostic, Severity
from kb.graph import Graph, build_graph
from kb.isolation.ahead import processors, work_out
from kb.isolation.figures import ENDS, ORDERS
from kb.isolation.ways import Hunts, Kept
from kb.model import Base, Page
from kb.progress import Progress, quiet
from kb.read.base import join_pages, page_of, tables_of
from kb.read.folder import bytes_of, find_files, is_page
from kb.reference import Kind
from kb.site.press import printed
from kb.site.sheets import open_site
from kb.site.write import site_files


@dataclass(frozen=True, slots=True)
class Checked:
    """A base with its graph, all that the rules found, and what they surveyed and planned for it."""

    folder: Path
    base: Base
    graph: Graph
    diagnostics: tuple[Diagnostic, ...]
    held: Mapping[str, Held]
    hunts: Hunts

    @property
    def errors(self) -> int:
        """How many problems keep the base from being published."""
        return sum(1 for d in self.diagnostics if d.severity is Severity.ERROR)


class Reader:
    """Reads a folder again and again; a page whose bytes are the same isn't read twice.

    `hunts` are plans to be kept for the next time, by what they are worked out from.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.kept: dict[tuple[str, str], Page] = {}
        self.hunts: Kept = {}

    def read(self, vehicle: str | None = None, progress: Progress = quiet) -> Base:
        """The base as it stands in the folder now. Raises as `kb.read.base.read_base`."""
        files = find_files(self.folder)
        pages = dict(self._pages(files, progress))
        self.kept = {key: page for key, page in self.kept.items() if pages.get(key[0]) is page}
        return join_pages(pages, frozenset(files), tables_of(files), vehicle)

    def _pages(self, files: Mapping[str, Path], progress: Progress) -> Iterator[tuple[str, Page]]:
        paths = [path for path in files if is_page(path)]
        for number, path in enumerate(sorted(paths), 1):
            yield path, self._page(path, files[path])
            progress(number, len(paths), "reading pages")

    def _page(self, path: str, file: Path) -> Page:
        data = bytes_of(file)
        key = (path, hashlib.sha256(data or b"").hexdigest() + ("" if data is not None else "unread"))
        if key not in self.kept:
            self.kept[key] = page_of(path, data)
        return self.kept[key]


def check_base(folder: Path, vehicle: str | None = None, progress: Progress = quiet) -> Checked:
    """Read a folder and apply all rules."""
    reader = Reader(folder)
    return checked(folder, reader.read(vehicle, progress), reader.hunts, progress)


def checked(folder: Path, base: Base, kept: Kept | None = None, progress: Progress = quiet) -> Checked:
    """A base with its graph and diagnostics. `kept` are hunts of an earlier base, and get those of this one.

    Where much is to be planned this takes several processes, each of which imports the script that calls it.
    """
    asked = Asked(base, build_graph(base), kept, processors(), progress)
    diagnostics = checks.judge(asked)
    return Checked(folder, base, asked.graph, diagnostics, asked.already_held(), asked.hunts)


def site_of(
    found: Checked, progress: Progress = quiet, scripts: tuple[str, ...] = (), keep: bool = True
) -> Iterator[tuple[str, bytes]]:
    """All files of the site of a checked base; `scripts` are further scripts that each page loads.

    With `keep` a served site keeps itself on the reader's device.
    """
    total = len(found.base.pages)
    _plan(found.base, found.hunts, progress)

    def read(path: str) -> bytes:
        return (found.folder / path).read_bytes()

    files = site_files(found.base, found.graph, found.diagnostics, read, scripts, found.held, found.hunts, keep)
    for number, file in enumerate(files, 1):
        progress(number, max(total, number), "writing pages")
        yield file


def book_of(found: Checked, progress: Progress = quiet) -> bytes:
    """The whole checked base as one PDF. Raises `kb.site.press.Absent` where this machine can't print it."""
    _plan(found.base, found.hunts, progress)
    site = open_site(found.base, found.graph, found.diagnostics, found.held, found.hunts)
    return printed(site, found.diagnostics, lambda path: (found.folder / path).read_bytes())


def _plan(base: Base, hunts: Hunts, progress: Progress) -> None:
    """Work out what the site tells of each symptom and vehicle, as far as it takes long."""
    symptoms = base.of_kind(Kind.SYMPTOM)
    jobs = [(hunt, ORDERS) for symptom in symptoms for _, hunt in hunts.ways(symptom.id)]
    jobs.extend((hunts.hunt(symptom.id), ENDS) for symptom in symptoms)
    work_out(jobs, processors(), lambda done, number: progress(done, number, "planning for the site"))
