"""Many variants of one net solved at once: node voltages by nodal analysis, islands handled exactly.

A variant is a choice of curve and endpoints for each element. Curves are straight pieces: solve with the
pieces at hand, move each element that left its piece one piece on, solve again. Rising curves have one
answer (Katzenelson 1965; Chua and Desoer on monotone resistive networks, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.circuit.curves import Curve
from kb.circuit.net import GROUND, Net

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_ROUNDS = 400
_JUMPS = 12  # for so many rounds elements go to the piece that holds their voltage at once
_ONE_BY_ONE = 60  # after so many rounds only the first element that left its piece moves
_SLACK = 1e-9


class Curves:
    """A table of curves, so that variants hold numbers instead of curves."""

    def __init__(self) -> None:
        self.curves: list[Curve] = []
        self.numbers: dict[int, int] = {}  # by identity: the list keeps them

    def number(self, curve: Curve) -> int:
        """The row of a curve in the table."""
        number = self.numbers.setdefault(id(curve), len(self.curves))
        if number == len(self.curves):
            self.curves.append(curve)
        return number

    def table(self) -> tuple[Floats, Floats, Floats, Ints]:
        """Slopes, offsets and ends by curve and piece (padded), and the piece that holds 0 V."""
        width = max(len(c.ends) for c in self.curves)
        slopes, offsets = (np.zeros((len(self.curves), width)) for _ in range(2))
        ends = np.full((len(self.curves), width), np.inf)
        for row, curve in enumerate(self.curves):
            size = len(curve.ends)
            slopes[row, :size], offsets[row, :size], ends[row, :size] = curve.slopes, curve.offsets, curve.ends
        return slopes, offsets, ends, np.array([c.start for c in self.curves])


@dataclass(frozen=True)
class Variant:
    """Curves of elements that differ from the net's, moved endpoints, and elements that come on top.

    `stretch` are two factors for each element, those on top last: what a curve draws is multiplied by the
    first, at a voltage multiplied by the second. The influence of all on the element of `asked` is wanted;
    of several it is the one with the largest current.
    """

    curves: dict[int, Curve]
    ends: dict[int, tuple[int, int]]
    extra: tuple[tuple[int, int, Curve], ...] = ()
    stretch: tuple[Floats, Floats] | None = None
    asked: tuple[int, ...] = ()


@dataclass(frozen=True)
class Solved:
    """Node voltages (variant x node), element voltages and currents (variant x element, extras last).

    `island` numbers the connected part that each node lies in; voltages of different islands can't be
    compared. `settled` is False where no answer was found. `slopes` are those of the pieces at hand.
    `about` is the element asked about (-1: none), `lean` how its voltage falls, by element, with the amperes
    that the element draws on top (the adjoint net's voltages; Director and Rohrer 1969, from memory).
    """

    volts: Floats
    across: Floats
    amps: Floats
    island: Ints
    settled: NDArray[np.bool_]
    slopes: Floats
    about: Ints
    lean: Floats


def solve(net: Net, variants: Sequence[Variant]) -> Solved:
    """Solve all variants. Cost: one dense solve of `net.count` nodes a variant and round."""
    table = Curves()
    extra = max((len(v.extra) for v in variants), default=0)
    which, a, b = _arrays(net, variants, table, extra)
    return _Batch(net.count, which, a, b, table, _stretch(variants, which.shape)).run([v.asked for v in variants])


def _stretch(variants: Sequence[Variant], shape: tuple[int, ...]) -> tuple[Floats, Floats] | None:
    """The factors of all variants' curves for amperes and volts; none where no variant has any."""
    if not any(variant.stretch for variant in variants):
        return None
    amps, volts = np.ones(shape), np.ones(shape)
    for row, variant in enumerate(variants):
        if variant.stretch:
            size = len(variant.stretch[0])
            amps[row, :size], volts[row, :size] = variant.stretch
    return amps, volts


def _arrays(net: Net, variants: Sequence[Variant], table: Curves, extra: int) -> tuple[Ints, Ints, Ints]:
    plain = [table.number(e.curve) for e in net.elements] + [table.number(Curve((np.inf,), (0.0,), (0.0,)))] * extra
    which = np.tile(np.array(plain, dtype=np.int64), (len(variants), 1))
    a = np.tile(np.array([e.a for e in net.elements] + [0] * extra, dtype=np.int64), (len(variants), 1))
    b = np.tile(np.array([e.b for e in net.elements] + [0] * extra, dtype=np.int64), (len(variants), 1))
    for row, variant in enumerate(variants):
        for element, curve in variant.curves.items():
            which[row, element] = table.number(curve)
        for element, (start, end) in variant.ends.items():
            a[row, element], b[row, element] = start, end
        for place, (start, end, curve) in enumerate(variant.extra, len(net.elements)):
            a[row, place], b[row, place], which[row, place] = start, end, table.number(curve)
    return which, a, b


class _Batch:
    def __init__(
        self,
        nodes: int,
        which: Ints,
        a: Ints,
        b: Ints,
        table: Curves,
        stretch: tuple[Floats, Floats] | None = None,
    ) -> None:
        self.nodes, self.which, self.a, self.b, self.stretch = nodes, which, a, b, stretch
        self.slopes, self.offsets, self.ends, start = table.table()
        self.piece = start[which]
        self.bent = np.flatnonzero(np.array([len(c.ends) > 1 for c in table.curves])[which].any(axis=0))
        self.rows = np.arange(len(which))
        self.known: dict[bytes, Ints] = {}

    @np.errstate(over="ignore", invalid="ignore")  # ohms far out of scale: not settled
    def run(self, asked: Sequence[tuple[int, ...]] = ()) -> Solved:
        volts, island = np.zeros((len(self.rows), self.nodes)), np.zeros((len(self.rows), self.nodes), dtype=np.int64)
        settled = np.zeros(len(self.rows), dtype=bool)
        open_rows = self.rows
        for turn in range(_ROUNDS):
            volts[open_rows], island[open_rows] = self._linear(open_rows)
            move = self._move(open_rows, volts, turn)
            moving = move.any(axis=1)
            settled[open_rows[~moving]] = np.isfinite(volts[open_rows[~moving]]).all(axis=1)
            self.piece[open_rows[:, None], self.bent] += move
            open_rows = open_rows[moving]
            if not len(open_rows):
                break
        across, slopes = self._across(self.rows[:, None], volts), self._slopes(self.rows)
        amps = slopes * across + self._offsets(self.rows)
        about, lean = self._lean(asked, settled, slopes, amps, island)
        return Solved(volts, across, amps, island, settled, slopes, about, lean)

    def _lean(
        self, asked: Sequence[tuple[int, ...]], settled: NDArray[np.bool_], slopes: Floats, amps: Floats, island: Ints
    ) -> tuple[Ints, Floats]:
        """The element asked about in each variant, and the voltages that an ampere sent through it makes."""
        about = np.full(len(self.rows), -1)
        for row, places in enumerate(asked):
            if places and settled[row]:
                about[row] = max(places, key=lambda place: abs(amps[row, place]))
        lean, rows = np.zeros((0, 0)), np.flatnonzero(about >= 0)
        if len(rows):
            right, first = np.zeros((len(rows), self.nodes)), np.arange(len(rows))
            np.add.at(right, (first, self.a[rows, about[rows]]), 1.0)
            np.add.at(right, (first, self.b[rows, about[rows]]), -1.0)
            volts, lean = np.zeros((len(self.rows), self.nodes)), np.zeros(slopes.shape)
            volts[rows] = _solved(*self._grounded(self._matrix(rows, slopes[rows], island[rows]), right))
            lean[rows] = self._across(rows[:, None], volts)
        return about, lean

    def _slopes(self, rows: Ints) -> Floats:
        slopes = self.slopes[self.which[rows], self.piece[rows]]
        return slopes if self.stretch is None else slopes * self.stretch[0][rows] / self.stretch[1][rows]

    def _offsets(self, rows: Ints) -> Floats:
        offsets = self.offsets[self.which[rows], self.piece[rows]]
        return offsets if self.stretch is None else offsets * self.stretch[0][rows]

    def _across(self, at: Ints, volts: Floats, columns: slice | Ints = slice(None)) -> Floats:
        rows = at[:, 0]
        return volts[at, self.a[rows][:, columns]] - volts[at, self.b[rows][:, columns]]

    def _move(self, rows: Ints, volts: Floats, turn: int) -> Ints:
        """How many pieces each element of several pieces goes on: all the way at first, later step by step."""
        at = rows[:, None]
        across, piece = self._across(at, volts, self.bent), self.piece[at, self.bent]
        ends, place = self.ends[self.which[at, self.bent]], np.arange(self.ends.shape[1])
        if self.stretch is not None:
            ends = ends * self.stretch[1][at, self.bent][..., None]
        slack = (_SLACK * (1 + np.abs(across)))[..., None]
        up = ((across[..., None] > ends + slack) & (place >= piece[..., None])).sum(axis=2)
        down = ((across[..., None] < ends - slack) & (place < piece[..., None])).sum(axis=2)
        move = up - down
        if turn >= _JUMPS:
            move = np.sign(move)
        if turn >= _ONE_BY_ONE:
            move *= np.cumsum(move != 0, axis=1) == 1
        return move

    def _linear(self, rows: Ints) -> tuple[Floats, Ints]:
        g, c = self._slopes(rows), self._offsets(rows)
        a, b = self.a[rows], self.b[rows]
        island = self._islands(a, b, g)
        first = np.arange(len(rows))[:, None] * self.nodes
        right = _summed([first + a, first + b], [-c, c], len(rows) * self.nodes).reshape(len(rows), self.nodes)
        return _solved(*self._grounded(self._matrix(rows, g, island), right)), island

    def _matrix(self, rows: Ints, g: Floats, island: Ints) -> Floats:
        """Each variant's conductances, with one tie in each island: at its first node."""
        a, b, n = self.a[rows], self.b[rows], self.nodes
        first = np.arange(len(rows))[:, None] * n
        places = [(first + i) * n + j for i, j in ((a, a), (b, b), (a, b), (b, a))]
        matrix = _summed(places, [g, g, -g, -g], len(rows) * n * n).reshape(len(rows), n, n)
        matrix[:, np.arange(n), np.arange(n)] += island == np.arange(n)
        return matrix

    @staticmethod
    def _grounded(matrix: Floats, right: Floats) -> tuple[Floats, Floats]:
        """The chassis at 0 V."""
        matrix[:, GROUND, :], right[:, GROUND] = 0.0, 0.0
        matrix[:, :, GROUND] = 0.0
        matrix[:, GROUND, GROUND] = 1.0
        return matrix, right

    def _islands(self, a: Ints, b: Ints, g: Floats) -> Ints:
        """Islands of each variant; the same ends and the same open elements are worked out once."""
        joined = g > 0
        keys = [row.tobytes() for row in np.concatenate((np.packbits(joined, axis=1).astype(np.int64), a, b), axis=1)]
        new = {key: i for i, key in enumerate(keys) if key not in self.known}
        if new:
            rows = np.fromiter(new.values(), dtype=np.int64)
            self.known.update(zip(new, islands(self.nodes, a[rows], b[rows], joined[rows]), strict=True))
        return np.array([self.known[key] for key in keys])


def _summed(places: list[Ints], values: list[Floats], size: int) -> Floats:
    flat = np.concatenate([p.ravel() for p in places])
    return np.bincount(flat, np.concatenate([v.ravel() for v in values]), size)


def _solved(matrix: Floats, right: Floats) -> Floats:
    """The stack's answers; not a number where a matrix is singular, as ohms far out of scale make it."""
    try:
        return np.linalg.solve(matrix, right[..., None])[..., 0]
    except np.linalg.LinAlgError:
        if len(matrix) == 1:
            return np.full_like(right, np.nan)
        return np.concatenate([_solved(matrix[i : i + 1], right[i : i + 1]) for i in range(len(matrix))])


def islands(nodes: int, a: Ints, b: Ints, joined: NDArray[np.bool_]) -> Ints:
    """For each variant and node the lowest node that it is connected with."""
    first = np.arange(len(a))[:, None] * nodes
    a, b = (first + a)[joined], (first + b)[joined]
    label = (first * 0 + np.arange(nodes)).ravel()
    own = np.repeat(first.ravel(), nodes)
    while True:
        low, new = np.minimum(label[a], label[b]), label.copy()
        np.minimum.at(new, a, low)
        np.minimum.at(new, b, low)
        new = new[own + new]
        if (new == label).all():
            return label.reshape(-1, nodes)
        label = new
