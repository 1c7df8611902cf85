"""What search costs beside general search engines: bytes to a first answer, milliseconds, and slips that are forgiven.

    python -m tests.bench.search_peers [nodes ...]     (1000 10000 where nothing is named; 100000 takes long)

Makes bases of so many nodes from a fixed seed and prints a table for each, then which goals are reached. The peers
(pagefind, minisearch, lunr; SQLite's FTS5, tantivy) are fetched by npm and pip into the folder that
`BACKPROBE_PEERS` names, else into one that is thrown away; what can't be fetched is a line that says so. All bytes are
packed by gzip, file by file, scripts included. Figures of one run on one machine: what else runs there shows.

`ids KB` counts what is loaded until the hits are ranked; `ten KB` until ten cards can be drawn, with the script that
draws them. `warm` is an answer whose parts are loaded, from words to ten hits; ours has two lines: `rank` begins with
the postings in hand. `cold` is a page just opened from a disk until ten cards stand on it; the goals tell
also of the first question on a page that lies open, from a disk too. `slips` is the share of
questions with one letter wrong for which the right question's best hit is still among ten.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import Any

from kb.search.index import Index
from tests.bench.peers.chromium import below, chromium, cold, first, warm
from tests.bench.peers.corpus import Slip, made_questions, made_slips
from tests.bench.peers.figures import Figures, at, loads, sizes, table
from tests.bench.peers.native import Rows, fts5, tantivy
from tests.bench.peers.ours import Built, answered, built
from tests.bench.peers.scripted import library, pagefind

SIZES = (1_000, 10_000)
QUESTIONS, SLIPS, COLD = 200, 600, 30
FIND = "import sys; from kb.cli import main; main(sys.argv[1:])"


@dataclass(frozen=True, slots=True)
class Goal:
    """What is to be at most (or, of shares, at least) so much; None where it wasn't measured."""

    name: str
    limit: float
    unit: str
    value: float | None

    @property
    def reached(self) -> bool | None:
        """Whether it is."""
        if self.value is None:
            return None
        return self.value >= self.limit if self.unit == "share" else self.value <= self.limit

    def line(self) -> str:
        """The goal and how it stands."""
        how = {True: "reached", False: "NOT REACHED", None: "not measured"}[self.reached]
        value = "-" if self.value is None else f"{self.value:.3f}"
        return f"  {how:<12} {self.name:<46} {value:>9} of {self.limit:g} {self.unit}"


def main(counts: Sequence[int]) -> None:
    """Measure and tell, one size after the other."""
    with tempfile.TemporaryDirectory() as name, chromium() as browser:
        tools = Path(os.environ.get("BACKPROBE_PEERS") or Path(name) / "tools")
        tools.mkdir(parents=True, exist_ok=True)
        for count in counts or SIZES:
            one(count, Path(name) / str(count), tools.resolve(), browser)


def one(count: int, folder: Path, tools: Path, browser: Any) -> None:
    """All of one size."""
    made = built(count, folder)
    names = [[*d.texts["name"], *d.texts["said"]] for d in made.index.documents]
    questions, slips = made_questions(names, QUESTIONS), made_slips(made_questions(names, SLIPS))
    print(f"\n{count:,} nodes, {len(questions)} questions, {len(slips)} slips", flush=True)
    print("our build: " + ", ".join(f"{stage} {seconds:.1f} s" for stage, seconds in made.seconds.items()))
    mine = ours(made, questions, slips, browser)
    command = commands(made, questions[0])
    print("\n".join(goal.line() for goal in goals(count, mine, command)), flush=True)
    # a line at a time: the slowest of the others may take longer than anyone waits
    for line in table(chain(mine, peers(rows_of(made.index), questions, slips, folder, tools, browser))):
        print(line, flush=True)


def rows_of(index: Index) -> Rows:
    """What the peers are given: names, sayings, and all other text."""
    texts = [document.texts for document in index.documents]
    rest = ("body", "aside", "function", "vehicle")
    return [
        ("; ".join(t["name"]), "; ".join(t["said"]), " ".join(piece for field in rest for piece in t[field]))
        for t in texts
    ]


def ours(made: Built, questions: Sequence[str], slips: Sequence[Slip], browser: Any) -> list[Figures]:
    """Our two lines: from words to cards, and ranking by itself."""
    raw, small = sizes(made.site / "search")
    figures = Figures("ours", made.seconds["index"] + made.seconds["shards"], raw, small, note="from words to cards")
    told = answered(made, questions, slips)
    if told is None:
        return [replace(figures, note="there is no Node")]
    ids, ten = loads(made.site, told.ids), loads(made.site, told.ten)
    figures = replace(figures, ids=ids, ten=ten, warm=told.find, kept=told.kept)
    if browser is not None:
        figures = opened(figures, made, told.full[:COLD], questions, browser)
    return [figures, Figures("ours, rank", warm=told.rank, note="postings in hand")]


def opened(figures: Figures, made: Built, full: Sequence[str], questions: Sequence[str], browser: Any) -> Figures:
    """With what Chromium says from a disk."""
    address = (made.site / "search.html").as_uri()
    spent, asked = cold(browser, address, full, settle=True)
    root = made.site.as_uri() + "/"
    files = [below(made.site, root, addresses) for addresses in asked]
    kinds = ("lines-", "cards-", "terms-", "search/", "static/")
    counts = ", ".join(f"{name} {at([sum(name in file for file in one) for one in files], 50)}" for name in kinds)
    print(
        f"our page in Chromium: {at(list(map(len, files)), 50)} files ({counts}), {at(loads(made.site, files), 50):,} bytes"
    )
    return replace(
        figures,
        page=warm(browser, address, questions, "() => { window.ask = (words) => Backprobe.find(words); }"),
        cold=spent,
        first=first(browser, address, full),
    )


def peers(
    rows: Rows, questions: Sequence[str], slips: Sequence[Slip], folder: Path, tools: Path, browser: Any
) -> Iterator[Figures]:
    """A line for each of the others; one that fails says why."""
    alike = (rows, questions, slips, folder)
    yield told("pagefind", lambda: pagefind(*alike, tools, browser))
    for name in ("minisearch", "lunr"):
        yield told(name, lambda name=name: library(name, *alike, tools, browser))
    yield told("FTS5 porter", lambda: fts5(*alike))
    yield told("tantivy", lambda: tantivy(*alike, tools))


def told(name: str, measure: Callable[[], Figures]) -> Figures:
    """The figures, or what went wrong: the other engines are to be measured all the same."""
    try:
        return measure()
    except Exception as error:
        return Figures(name, note=f"fails: {' '.join(str(error).split())[:90]}")


def commands(made: Built, question: str) -> float:
    """Seconds of `backprobe find` once its index is kept, in a process of its own; the middle of five."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(made.folder / "cache"), "PYTHONPATH": os.pathsep.join(sys.path)}
    find = [sys.executable, "-c", FIND, "find", "--base", str(made.folder / "base"), *question.split()]
    first = spent(find, environment)
    again, bare, imports = (
        at([spent(command, environment) for _ in range(5)], 50)
        for command in (find, [sys.executable, "-c", "pass"], [sys.executable, "-c", "import kb.cli, kb.finding"])
    )
    print(
        f"backprobe find: first {first:.2f} s, again {again:.3f} s, of which Python starts in {bare:.3f} s"
        f" and imports take {imports - bare:.3f} s"
    )
    return again


def spent(command: Sequence[str], environment: dict[str, str]) -> float:
    """Seconds of a command on the wall."""
    started = time.perf_counter()
    subprocess.run(command, env=environment, capture_output=True, check=True)
    return time.perf_counter() - started


def goals(count: int, mine: Sequence[Figures], command: float) -> Iterator[Goal]:
    """The goals of a size."""
    whole, rank = mine[0], mine[1] if len(mine) > 1 else Figures("")

    def of(values: Sequence[float], percent: float, by: float = 1) -> float | None:
        return at(values, percent) / by if values else None

    for size, ids, ten, kept in ((1_000, 15, 25, 0.99), (10_000, 40, 50, 0.97), (100_000, None, 150, None)):
        if size == count:
            if ids:
                yield Goal("bytes to ranked numbers, p50", ids, "KB", of(whole.ids, 50, 1000))
            yield Goal("bytes to ten cards, p50", ten, "KB", of(whole.ten, 50, 1000))
            if kept:
                yield Goal("slips forgiven", kept, "share", whole.kept)
    if count == 10_000:
        yield Goal("rank in Node, p50", 0.05, "ms", of(rank.warm, 50))
        yield Goal("rank in Node, p95", 0.2, "ms", of(rank.warm, 95))
        yield Goal("cold from a disk to ten cards, p50", 60, "ms", of(whole.cold, 50))
        yield Goal("first question on an open page, p50", 60, "ms", of(whole.first, 50))
        yield Goal("backprobe find, index kept", 0.3, "s", command)


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]])
