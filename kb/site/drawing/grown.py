"""A plan's branches before they are drawn: which steps are boxes, what hangs on each, and the words of all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush

from kb.site.drawing.metrics import width
from kb.site.render import duration, plural
from kb.site.unfolded import Stop, Way

DEEPEST = 4  # boxes one after the other
SIZE = 15  # of words, px; the widest drawing on a screen of 1080 shows them at 13
LINE = 18
RING = 8
PAD = 5  # px of a tape beside its words
AT = 0.62  # how far along a gap the middle of a label stands


@dataclass(frozen=True, slots=True)
class Sizes:
    """Widths of boxes, of the gaps after them, of the words at ends."""

    box: int
    gap: int
    end: int

    @property
    def label(self) -> float:
        """The width of the words of a label: it ends 4 px before the next box."""
        return 2 * ((1 - AT) * self.gap - 4 - PAD)


FEW_COLUMNS, MANY_COLUMNS = Sizes(152, 172, 158), Sizes(124, 132, 108)


@dataclass(slots=True)
class Spot:
    """A box or an end before it stands: its words, its branches, and how far it reaches up and down."""

    kind: str
    level: int
    words: tuple[tuple[str, str], ...]  # line, class
    stop: Stop | None
    limbs: list[tuple[Way, Spot, Fraction, tuple[str, ...]]]
    up: float = 0
    down: float = 0
    y: float = 0

    @property
    def height(self) -> float:
        return LINE * len(self.words) + (16 if self.limbs else 0)


def grown(stops: Sequence[Stop], most: int) -> tuple[Spot, Sizes, int]:
    """The first step's box with all that hangs on it, at most so many boxes; widths; levels of boxes."""
    chosen = _chosen(stops, most)
    levels = 1 + max(chosen.values())
    sizes = FEW_COLUMNS if levels < DEEPEST else MANY_COLUMNS
    return _Growing(stops, chosen, sizes, levels).grow(), sizes, levels


def _ends_there(stop: Stop) -> bool:
    """True for a step that is drawn as an end: a repair after which there is nothing to do."""
    return all(way.then is None for way in stop.ways)


def flows(stops: Sequence[Stop]) -> dict[int, Fraction]:
    """The share of all faults that comes to each step."""
    by_number = {stop.number: stop for stop in stops}
    found = {stop.number: Fraction(0) for stop in stops}
    found[stops[0].number] = Fraction(1)
    for stop in sorted(stops, key=lambda s: -s.below):  # a step has fewer below it than any that leads to it
        for way in stop.ways:
            if way.then in by_number:
                found[way.then] += found[stop.number] * way.share
    return found


def _chosen(stops: Sequence[Stop], most: int) -> dict[int, int]:
    """The steps drawn as boxes, those with most weight first, each with its level."""
    by_number, flow = {stop.number: stop for stop in stops}, flows(stops)
    chosen: dict[int, int] = {}
    waiting = [(Fraction(-1), 0, stops[0].number)]
    while waiting and len(chosen) < most:
        _, level, at = heappop(waiting)
        if at in chosen:
            continue
        chosen[at] = level
        for way in by_number[at].ways:
            if way.then and way.share and level + 1 < DEEPEST and not _ends_there(by_number[way.then]):
                heappush(waiting, (-flow[at] * way.share, level + 1, way.then))
    return chosen


class _Growing:
    """Makes boxes and ends of the chosen steps; each step hangs where it is met first, level by level."""

    def __init__(self, stops: Sequence[Stop], chosen: Mapping[int, int], sizes: Sizes, levels: int) -> None:
        self.levels, self.stops = levels, {stop.number: stop for stop in stops}
        self.first, self.chosen, self.sizes, self.flow = stops[0], chosen, sizes, flows(stops)

    def grow(self) -> Spot:
        root = self._box(self.first, 0)
        row, hung = [root], {self.first.number}
        while row:
            below: list[Spot] = []
            for spot in row:
                below += self._branch(spot, hung)
            row = below
        return root

    def _branch(self, spot: Spot, hung: set[int]) -> list[Spot]:
        """Hang a box's branches; those that are boxes too come back."""
        assert spot.stop is not None
        for way in spot.stop.ways:
            if way.share:
                words = lines(label_of(spot.stop, way), self.sizes.label, 4)
                share = self.flow[spot.stop.number] * way.share
                spot.limbs.append((way, self._next(spot, way, hung), share, words))
        return [below for _, below, _, _ in spot.limbs if below.kind in ("test", "try")]

    def _next(self, spot: Spot, way: Way, hung: set[int]) -> Spot:
        stop, level = self.stops.get(way.then or 0), spot.level + 1
        if stop is None:
            return self._end(spot, way, level)
        if _ends_there(stop):
            return self._spot("repair", level, self._repair(stop), stop)
        if stop.number not in self.chosen:
            words = [(plural(stop.below, "step"), "strong"), (f"from {stop.number}", "")]
            return self._spot("more", level, words, None)
        if stop.number in hung or self.chosen[stop.number] != level:
            return self._spot("again", level, [(f"as at step {stop.number}", "")], None)
        hung.add(stop.number)
        return self._box(stop, level)

    def _end(self, spot: Spot, way: Way, level: int) -> Spot:
        if spot.kind == "try" and spot.stop and way is spot.stop.ways[0]:
            return self._spot("repair", level, [("mended", "strong")], None)
        if way.left:
            words = "left over: " + ", ".join(node.name for node in way.left)
            return self._spot("over", level, [(words, "")], None)
        return self._spot("none", level, [("nothing left", "")], None)

    def _repair(self, stop: Stop) -> list[tuple[str, str]]:
        return [(stop.node.name, "strong"), (f"{stop.number}: {duration(stop.minutes)}", "")]

    def _spot(self, kind: str, level: int, words: Sequence[tuple[str, str]], stop: Stop | None) -> Spot:
        room = self.sizes.end if level == self.levels else self.sizes.box + self.sizes.gap / 2
        told = tuple((line, cls) for part, cls in words for line in lines(part, room - 2 * RING - 10, 3))
        return Spot(kind, level, told, stop, [])

    def _box(self, stop: Stop, level: int) -> Spot:
        room = self.sizes.box - 20
        words, time = [(f"{stop.number}", "number")], duration(stop.minutes)
        if width(f"{stop.number} {time}", SIZE) > room:  # else it stands at the right of the number
            words.append((time, "minutes"))
        words += [(line, "strong") for line in lines(stop.node.name, room, 4)]
        opens = ", ".join(node.name for node in stop.opens)
        words += [(line, "place") for line in lines(opens, room, 2) if line]
        return Spot("test" if stop.kind == "test" else "try", level, tuple(words), stop, [])


def label_of(stop: Stop, way: Way) -> str:
    """What stands on a branch: readings where each of the step's branches has its own, else words."""
    if stop.kind == "repair":
        return "mended" if way is stop.ways[0] else "not mended"
    every = [reading for other in stop.ways for reading in dict.fromkeys(other.readings)]
    short = all(every) and len(set(every)) == len(every)
    told = dict.fromkeys(way.readings) if short else way.words
    return "; ".join(told)


def lines(words: str, room: float, most: int) -> tuple[str, ...]:
    """Words broken into at most so many lines of a width; what is cut off ends in dots."""
    found = [""]
    for word in words.split():
        longer = f"{found[-1]} {word}".strip()
        if width(longer, SIZE) <= room:
            found[-1] = longer
        else:
            found += _pieces(word, room) if found[-1] else []
            found[-1:] = found[-1:] if found[-1] else _pieces(word, room)
    kept = found[:most]
    if len(found) > most:
        kept[-1] = _cut(kept[-1], room)
    return tuple(kept)


def _pieces(word: str, room: float) -> list[str]:
    """A word, broken where it is wider than the room."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width(pieces[-1] + letter, SIZE) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def _cut(line: str, room: float) -> str:
    """A line's whole words, as many as leave room for dots; its letters where not one does."""
    kept = line.split()
    while len(kept) > 1 and width(" ".join(kept) + "...", SIZE) > room:
        kept.pop()
    cut = " ".join(kept)
    while cut and width(cut + "...", SIZE) > room:
        cut = cut[:-1]
    return cut.rstrip(" ,;:") + "..."
