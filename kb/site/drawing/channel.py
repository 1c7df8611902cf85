"""How wires run sideways between two rows: each gets a track of its own where it would meet another.

A wire leaves its upper end straight down, runs along a track, and goes straight down to its lower end; two
upper ends or two lower ends make a bow. Where one wire's upper end stands above another's lower end, the
first needs the higher track. A circle of such needs is broken by a step between two columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Tip:
    """An end in a channel: its column, whether it is at the top, and what hangs there (`node`)."""

    column: float
    top: bool
    node: object


@dataclass(frozen=True, slots=True)
class Run:
    """What joins two tips."""

    first: Tip
    second: Tip


@dataclass(slots=True)
class _Piece:
    """A stretch on one track, from one column to another."""

    run: int
    first: Tip
    second: Tip
    under: float | None = None  # the column of the step that leads down to it
    over: float | None = None  # the column of the step that leads down from it
    track: int = -1

    @property
    def span(self) -> tuple[float, float]:
        low, high = sorted((self.first.column, self.second.column))
        return low, high


@dataclass(slots=True)
class _Steps:
    """The columns between columns that are still free for a step."""

    taken: set[float] = field(default_factory=set)

    def near(self, wanted: float) -> float:
        """The nearest free half column; where all are taken the halves between."""
        step = 0.5
        while True:
            places = sorted((abs(k * step - wanted), k * step) for k in range(-80, 400) if (k * step) % 1)
            free = [place for _, place in places if place not in self.taken]
            if free:
                self.taken.add(free[0])
                return free[0]
            step /= 2


def route(runs: Sequence[Run]) -> tuple[list[tuple[tuple[float, int], ...]], int]:
    """For each run the (column, track) corners of its sideways stretches, and how many tracks there are.

    A straight run has none. Cost: about the square of the number of runs.
    """
    pieces = [_Piece(i, run.first, run.second) for i, run in enumerate(runs) if not _straight(run)]
    steps = _Steps()
    while (stuck := _circle(pieces)) is not None:
        pieces[stuck : stuck + 1] = _stepped(pieces[stuck], steps)
    _assign(pieces)
    corners = [_corners(i, pieces) for i in range(len(runs))]
    return corners, max((p.track for p in pieces), default=-1) + 1


def _straight(run: Run) -> bool:
    return run.first.column == run.second.column and run.first.top != run.second.top


def _above(pieces: Sequence[_Piece]) -> list[set[int]]:
    """For each piece those that need a higher track."""
    uppers = [(i, tip) for i, p in enumerate(pieces) for tip in (p.first, p.second) if tip.top]
    lowers = [(i, tip) for i, p in enumerate(pieces) for tip in (p.first, p.second) if not tip.top]
    found: list[set[int]] = [set() for _ in pieces]
    for i, upper in uppers:
        for j, lower in lowers:
            if i != j and upper.column == lower.column and upper.node != lower.node:
                found[j].add(i)
    for j, piece in enumerate(pieces):
        found[j] |= {i for i, p in enumerate(pieces) if piece.under is not None and p.over == piece.under}
    return found


def _circle(pieces: Sequence[_Piece]) -> int | None:
    """A piece that must be stepped since the needs go round in a circle; None where they don't."""
    above = _above(pieces)
    left = set(range(len(pieces)))
    while ready := {i for i in left if not above[i] & left}:
        left -= ready
    needed = {j for i in left for j in above[i] & left}
    both = sorted(i for i in left & needed if pieces[i].first.top != pieces[i].second.top)
    return both[0] if both else None


def _stepped(piece: _Piece, steps: _Steps) -> list[_Piece]:
    """The piece in two, joined by a step that no other piece uses."""
    middle = steps.near((piece.first.column + piece.second.column) / 2)
    upper, lower = Tip(middle, False, middle), Tip(middle, True, middle)
    if piece.first.top:
        return [
            _Piece(piece.run, piece.first, upper, over=middle),
            _Piece(piece.run, lower, piece.second, under=middle),
        ]
    return [
        _Piece(piece.run, piece.first, lower, under=middle),
        _Piece(piece.run, upper, piece.second, over=middle),
    ]


def _assign(pieces: list[_Piece]) -> None:
    """Tracks from the top, each piece as high as its needs and its neighbours let it."""
    above = _above(pieces)
    left = set(range(len(pieces)))
    while left:
        ready = [i for i in left if not above[i] & left]
        chosen = min(ready, key=lambda i: (pieces[i].span[1] - pieces[i].span[0], pieces[i].span, i))
        floor = max((pieces[i].track for i in above[chosen]), default=-1) + 1
        while any(p.track == floor and _meet(p.span, pieces[chosen].span) for p in pieces):
            floor += 1
        pieces[chosen].track = floor
        left.remove(chosen)


def _meet(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return a[0] <= b[1] and b[0] <= a[1]


def _corners(run: int, pieces: Iterable[_Piece]) -> tuple[tuple[float, int], ...]:
    mine = [p for p in pieces if p.run == run]
    return tuple((tip.column, p.track) for p in mine for tip in (p.first, p.second))
