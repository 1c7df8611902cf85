"""Our own search on a made-up base: its index and site files, what a first answer loads, and how fast it ranks."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from kb.graph import build_graph
from kb.isolation.ways import Hunts
from kb.model import Base
from kb.read.base import read_files
from kb.search.cards import cards
from kb.search.fresh import build_index
from kb.search.index import Index
from kb.search.shards import shard_files
from kb.site.sheets import open_site, sheets
from kb.site.write import page_bytes, static_files
from tests.bench.peers.corpus import Slip, made_pages
from tests.bench.peers.figures import share
from tests.bench.peers.node import run_node

Result = TypeVar("Result")
CLIENT = ("static/find.js",)
SHOWN = (*CLIENT, "static/search.js")


@dataclass(frozen=True, slots=True)
class Built:
    """A base in `folder/base`, its search with the search page in `folder/site`; seconds of each stage."""

    folder: Path
    index: Index
    seconds: dict[str, float]

    @property
    def site(self) -> Path:
        """The files of the site, as far as search needs them."""
        return self.folder / "site"


@dataclass(frozen=True, slots=True)
class Answered:
    """What Node told: files loaded for each question, `whole` where the search page asks; milliseconds of each
    answer to warm questions; the share of slips for which the clean question's best hit stays in ten.
    """

    ids: list[list[str]]
    ten: list[list[str]]
    rank: list[float]
    find: list[float]
    full: list[str]
    kept: float


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Seconds on the wall, and what the work gave."""
    started = time.perf_counter()
    result = work()
    return time.perf_counter() - started, result


def built(nodes: int, folder: Path) -> Built:
    """Make a base of so many nodes, index it and write its search."""
    files = made_pages(nodes)
    write(folder / "base", files.items())
    seconds: dict[str, float] = {}
    seconds["read"], base = timed(lambda: read_files(files))
    graph = build_graph(base)
    seconds["index"], index = timed(lambda: build_index(base, graph))
    hunts = Hunts(base, graph)
    seconds["cards"], shown = timed(lambda: cards(base, hunts, index.documents))
    seconds["shards"], search = timed(lambda: shard_files(index, shown))
    write(folder / "site", [*search.items(), *static_files(), search_page(base, hunts)])
    return Built(folder, index, seconds)


def search_page(base: Base, hunts: Hunts) -> tuple[str, bytes]:
    """The page on which people search."""
    site = open_site(base, hunts.graph(None), hunts=hunts)
    sheet = next(sheet for sheet in sheets(site) if sheet.path == site.nav.search)
    return sheet.path, page_bytes(sheet)


def write(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Write files below a folder."""
    for path, data in files:
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)


def answered(made: Built, questions: Sequence[str], slips: Sequence[Slip], rounds: int = 5) -> Answered | None:
    """Ask our scripts in Node; None where there is no Node."""
    pairs = [[slip.clean, slip.slipped] for slip in slips]
    told = run_node(
        "ours.mjs", {"root": str(made.site), "questions": list(questions), "slips": pairs, "rounds": rounds}
    )
    if told is None:
        return None
    ids = [[*CLIENT, *(name for name in names if "/cards-" not in name)] for names in told["found"]]
    ten = [[*SHOWN, *names] for names in told["searched"]]
    return Answered(ids, ten, told["rank"], told["find"], told["full"], share(told["kept"]))
