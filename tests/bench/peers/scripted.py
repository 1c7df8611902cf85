"""minisearch, lunr and pagefind on the same nodes: engines of pages, built in Node and asked there or in Chromium."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.bench.peers.chromium import LIBRARY, PAGEFIND, cold, pagefind_kept, pagefind_loads, served, warm
from tests.bench.peers.corpus import Slip
from tests.bench.peers.figures import Figures, loads, packed, share, sizes
from tests.bench.peers.native import Rows
from tests.bench.peers.node import fetched, run_node

LIBRARIES = {"minisearch": "dist/umd/index.js", "lunr": "lunr.js"}
NOTES = {"minisearch": "fuzzy 0.2", "lunr": "long words also as word~1"}
MOST_COLD, MOST_FRESH = 10, 100  # pages that load a whole index take long, and so do many pages


def records(rows: Rows) -> list[dict[str, Any]]:
    """Rows as the scripts take them."""
    return [{"id": number, "name": name, "said": said, "body": body} for number, (name, said, body) in enumerate(rows)]


def library(
    name: str, rows: Rows, questions: Sequence[str], slips: Sequence[Slip], folder: Path, tools: Path, browser: Any
) -> Figures:
    """A library that loads its whole index before it answers."""
    place = fetched(name, tools)
    if place is None:
        return Figures(name, note="can't be fetched")
    pairs = [[slip.clean, slip.slipped] for slip in slips]
    out = folder / name
    asked = {"name": name, "library": str(place / LIBRARIES[name]), "rows": records(rows), "out": str(out)}
    told = run_node("library.mjs", asked | {"questions": list(questions), "slips": pairs, "rounds": 3})
    if told is None:
        return Figures(name, note="there is no Node")
    small = {part: packed((out / f"{part}.js").read_bytes()) for part in ("library", "index", "cards")}
    ids = small["library"] + small["index"]
    raw = (out / "index.js").stat().st_size
    figures = Figures(
        name, told["seconds"], raw, small["index"], [ids], [ids + small["cards"]], told["warm"], kept=share(told["kept"]), note=NOTES[name]
    )  # fmt: skip
    return figures if browser is None else _opened(figures, out, questions, browser)


def _opened(figures: Figures, out: Path, questions: Sequence[str], browser: Any) -> Figures:
    (out / "page.html").write_text(LIBRARY, encoding="utf-8")
    address = (out / "page.html").as_uri()
    spent, _ = cold(browser, address, questions[:MOST_COLD])
    return dataclasses.replace(figures, page=warm(browser, address, questions), cold=spent)


def pagefind(
    rows: Rows, questions: Sequence[str], slips: Sequence[Slip], folder: Path, tools: Path, browser: Any
) -> Figures:
    """pagefind, served on loopback: it can't run from a disk, nor in Node."""
    place = fetched("pagefind", tools)
    if place is None:
        return Figures("pagefind", note="can't be fetched")
    if browser is None:
        return Figures("pagefind", note="there is no Chromium")
    out = folder / "pagefind"
    told = run_node("pagefind.mjs", {"library": str(place), "rows": records(rows), "out": str(out)})
    if told is None:
        return Figures("pagefind", note="there is no Node")
    raw, small = sizes(out)
    (out / "page.html").write_text(PAGEFIND, encoding="utf-8")
    with served(out) as root:
        ids, ten = pagefind_loads(browser, root, out, questions[:MOST_FRESH])
        spent, _ = cold(browser, root + "page.html", questions[: 2 * MOST_COLD])
        page = warm(browser, root + "page.html", questions)
        kept = share(pagefind_kept(browser, root, [(slip.clean, slip.slipped) for slip in slips]))
    note = "served on loopback: can't run from a disk"
    return Figures(
        "pagefind", told["seconds"], raw, small, loads(out, ids), loads(out, ten), [], page, spent, kept, note
    )
