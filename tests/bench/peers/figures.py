"""What is told of each engine, and how it is counted: bytes as a server would send them, shares, percentiles."""

from __future__ import annotations

import gzip
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Figures:
    """One engine at one size. `raw` and `packed` bytes of the index; `ids` and `ten` bytes until the first ranked
    numbers and the first ten cards, for each question; milliseconds of warm answers natively or in Node (`warm`),
    in Chromium (`page`), of a page just opened until ten cards stand (`cold`), and of the first question on one that
    lies open (`first`).
    """

    name: str
    seconds: float | None = None
    raw: int | None = None
    packed: int | None = None
    ids: list[int] = field(default_factory=list)
    ten: list[int] = field(default_factory=list)
    warm: list[float] = field(default_factory=list)
    page: list[float] = field(default_factory=list)
    cold: list[float] = field(default_factory=list)
    kept: float | None = None
    note: str = ""
    first: list[float] = field(default_factory=list)


HEAD = (
    f"{'engine':<18} {'build s':>8} {'index KB':>9} {'packed':>8} {'ids KB':>8} {'ten KB':>8} {'warm ms p50/p95':>16} "
    f"{'Chromium p50/p95':>17} {'cold ms p50/p95':>16} {'slips':>6}  note"
)


def table(rows: Iterable[Figures]) -> Iterator[str]:
    """A line for each engine; bytes are medians in thousands."""
    yield HEAD
    for row in rows:
        thousands = [_thousands(value) for value in (row.raw, row.packed)]
        loaded = [_thousands(at(values, 50) if values else None, 1) for values in (row.ids, row.ten)]
        kept = "-" if row.kept is None else f"{row.kept:.3f}"
        yield (
            f"{row.name:<18} {'-' if row.seconds is None else f'{row.seconds:.1f}':>8} {thousands[0]:>9} {thousands[1]:>8} "
            f"{loaded[0]:>8} {loaded[1]:>8} {_spread(row.warm, 3):>16} {_spread(row.page, 3):>17} {_spread(row.cold, 0):>16} "
            f"{kept:>6}  {row.note}"
        )


def _thousands(value: float | None, places: int = 0) -> str:
    return "-" if value is None else f"{value / 1000:,.{places}f}"


def _spread(values: Sequence[float], places: int) -> str:
    return f"{at(values, 50):.{places}f} / {at(values, 95):.{places}f}" if values else "-"


def packed(data: bytes) -> int:
    """Bytes as a server would send them; what is packed already isn't packed again."""
    return min(len(data), len(gzip.compress(data, 9, mtime=0)))


def sizes(folder: Path) -> tuple[int, int]:
    """Bytes of all files below a folder, as they are and packed one by one."""
    files = [path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()]
    return sum(map(len, files)), sum(map(packed, files))


def loads(folder: Path, named: Iterable[Sequence[str]]) -> list[int]:
    """Packed bytes of each list of files."""
    lists = [dict.fromkeys(names) for names in named]
    all_names = {name for names in lists for name in names}
    known = {name: packed((folder / name).read_bytes()) for name in all_names}
    return [sum(known[name] for name in names) for names in lists]


def share(kept: Sequence[bool]) -> float:
    """How many of them, from 0 to 1."""
    return sum(kept) / len(kept) if kept else 0.0


def at(values: Sequence[float], percent: float) -> float:
    """The value that so many in a hundred don't exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(len(ordered) * percent / 100))]
