"""How fast bases are read, checked and written, and whether time grows in step with size.

    python -m tests.bench.reading [pages ...]     (100 1000 10000 where nothing is named)
    python -m tests.bench.reading shapes

Prints figures and ratios of one run on one machine; a ratio near 1 means time grows as the text does.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from typing import TypeVar

from kb import checks
from kb.graph import build_graph
from kb.model import Base
from kb.read.base import read_files
from kb.read.page import read_page
from kb.search.fresh import build_index
from kb.source import read_source
from tests.bench.bases import made_base, shapes

Result = TypeVar("Result")
SIZES = (100, 1_000, 10_000)
SHORT, FACTOR = 16_000, 8


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Seconds of this process (others may run beside it), and what the work gave."""
    gc.collect()
    started = time.process_time()
    result = work()
    return time.process_time() - started, result


def refs_of(base: Base) -> int:
    """How many references the pages hold."""
    return sum(len(page.refs) for page in base.pages.values())


def sizes(counts: list[int]) -> None:
    """Time of each stage for bases of these sizes, and its growth against the base before."""
    print(f"{'pages':>7} {'nodes':>8} {'refs':>8} {'stage':<7} {'seconds':>8} {'pages/s':>9} {'nodes/s':>9} {'refs/s':>9} {'growth':>7}")
    before: dict[str, float] = {}
    for count in counts:
        files = made_base(count)
        took, base = timed(lambda files=files: read_files(files))
        stages = {"read": took}
        stages["graph"], graph = timed(lambda base=base: build_graph(base))
        stages["check"], problems = timed(lambda base=base, graph=graph: checks.run(base, graph))
        stages["index"], _ = timed(lambda base=base, graph=graph: build_index(base, graph))
        for stage, seconds in stages.items():
            page = seconds / count
            growth = f"{page / before[stage]:7.2f}" if stage in before else "      -"
            before[stage] = page
            speeds = [n / max(seconds, 1e-9) for n in (count, len(base.nodes), refs_of(base))]
            print(f"{count:>7} {len(base.nodes):>8} {refs_of(base):>8} {stage:<7} {seconds:>8.2f} {speeds[0]:>9.0f} {speeds[1]:>9.0f} {speeds[2]:>9.0f} {growth}")
        print(f"        problems: {len(problems)}, bytes of text: {sum(map(len, files.values())):,}", flush=True)


def growth(unit: str) -> tuple[float, float]:
    """Seconds for the long text, and time per character of the long text over that of the short one."""
    short, long = (read_source("p.md", (unit * (length // len(unit))).encode()) for length in (SHORT, SHORT * FACTOR))
    quick = min(timed(lambda: read_page(short))[0] for _ in range(3))
    slow = min(timed(lambda: read_page(long))[0] for _ in range(1))
    return slow, slow / max(quick, 1e-6) / FACTOR


def lengths() -> None:
    """Time for texts of each shape, short and long."""
    print(f"{'shape':<26} {SHORT * FACTOR:>7,} chars in s   time per character, long over short")
    for name, unit in shapes():
        seconds, ratio = growth(unit)
        print(f"{name:<26} {seconds:>14.3f}   {ratio:6.2f}", flush=True)


if __name__ == "__main__":
    if sys.argv[1:] == ["shapes"]:
        lengths()
    else:
        sizes([int(word) for word in sys.argv[1:]] or list(SIZES))
