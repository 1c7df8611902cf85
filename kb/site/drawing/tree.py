"""A plan drawn from left to right: boxes for steps, branches as thick as what is left, rings where it ends.

What carries most weight is drawn; where the drawing stops short, an end says how many steps follow. Branches
of one box stay in a band of their own, so that nothing in one band can meet anything in another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from kb.site.drawing.grown import AT, LINE, PAD, RING, SIZE, Sizes, Spot, grown
from kb.site.drawing.metrics import ASCENT, DESCENT, width
from kb.site.drawing.shapes import Label, number
from kb.site.render import duration
from kb.site.unfolded import Stop

MOST = 18  # boxes
TRUNK = 14
GAP = 14  # px between bands
TURN = 9  # the radius of a branch's turns
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class StepBox:
    """A step's box and its words."""

    stop: int
    kind: str
    box: Box
    labels: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class End:
    """A ring with its words; `kind` is `repair`, `none` (nothing left), `over` (left without a repair),
    `more` (steps that aren't drawn) or `again` (a step that is drawn elsewhere).
    """

    kind: str
    x: float
    y: float
    labels: tuple[Label, ...]
    stop: int | None = None


@dataclass(frozen=True, slots=True)
class Limb:
    """A branch: its path, thickness, and the tape on it with its words."""

    path: str
    thick: int
    tape: Box
    labels: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class Tree:
    """The drawing; `steps` are the numbers of the steps that it shows."""

    width: float
    height: float
    boxes: tuple[StepBox, ...]
    ends: tuple[End, ...]
    limbs: tuple[Limb, ...]
    steps: frozenset[int]

    @property
    def fits_paper(self) -> bool:
        """True where it fits a page of A4 at the page's width."""
        return self.height <= self.width * 1.3


def draw_tree(stops: Sequence[Stop]) -> Tree:
    """A drawing of these steps, the first of which comes first: of as many as fit on paper."""
    drawn = _draw(stops, MOST)
    for most in range(len(drawn.boxes) - 1, 0, -1):
        if drawn.fits_paper:
            break
        drawn = _draw(stops, most)
    return drawn


def _draw(stops: Sequence[Stop], most: int) -> Tree:
    root, sizes, levels = grown(stops, most)
    _measure(root, 0)
    _stand(root, root.up)
    return _Drawing(sizes).draw(root, levels)


# Where everything stands.


def _measure(spot: Spot, tape: float) -> None:
    """How far a spot reaches up and down from its middle, with its branches and the tape on its own branch."""
    least = max(spot.height / 2, tape / 2) + GAP / 2
    spot.up = spot.down = least
    if not spot.limbs:
        return
    at, places = 0.0, []
    for i, (_, below, _, words) in enumerate(spot.limbs):
        _measure(below, tape_height(words))
        at += below.up + spot.limbs[i - 1][1].down if i else 0
        places.append(at)
    middle = at / 2
    for place, (_, below, _, _) in zip(places, spot.limbs, strict=True):
        below.y = place - middle
    spot.up = max(least, spot.limbs[0][1].up - spot.limbs[0][1].y)
    spot.down = max(least, spot.limbs[-1][1].down + spot.limbs[-1][1].y)


def tape_height(words: Sequence[str]) -> float:
    """The height of a tape with so many lines."""
    return LINE * len(words) + 8


def _stand(spot: Spot, y: float) -> None:
    """Give a spot, and all that hangs on it, its place in the drawing."""
    spot.y = y
    for _, below, _, _ in spot.limbs:
        _stand(below, y + below.y)


class _Drawing:
    """The shapes of spots that have their places."""

    def __init__(self, sizes: Sizes) -> None:
        self.sizes = sizes
        self.boxes: list[StepBox] = []
        self.ends: list[End] = []
        self.limbs: list[Limb] = []

    def draw(self, root: Spot, levels: int) -> Tree:
        self._spot(root)
        wide = levels * (self.sizes.box + self.sizes.gap) + self.sizes.end
        steps = frozenset(box.stop for box in self.boxes) | {end.stop for end in self.ends if end.stop}
        return Tree(wide, root.up + root.down, tuple(self.boxes), tuple(self.ends), tuple(self.limbs), steps)

    def _spot(self, spot: Spot) -> None:
        left = spot.level * (self.sizes.box + self.sizes.gap)
        if not spot.limbs:
            self.ends.append(self._end(spot, left))
            return
        assert spot.stop is not None
        top = spot.y - spot.height / 2
        box = (left + 2, top, left + self.sizes.box, top + spot.height)
        words = _words(spot.words, left + 12, top + 8)
        if all(word.cls != "minutes" for word in words):
            words += (Label(duration(spot.stop.minutes), box[2] - 8, words[0].y, SIZE, "minutes", "end"),)
        self.boxes.append(StepBox(spot.stop.number, spot.kind, box, words))
        self._limbs(spot, box[2])

    def _end(self, spot: Spot, left: float) -> End:
        words = _words(spot.words, left + 2 * RING + 8, spot.y - spot.height / 2)
        return End(spot.kind, left + RING, spot.y, words, spot.stop.number if spot.stop else None)

    def _limbs(self, spot: Spot, x: float) -> None:
        """The branches of a box leave it side by side; what goes furthest turns first, so that none cross."""
        thick = [thickness(share) for _, _, share, _ in spot.limbs]
        ports = [spot.y + (sum(thick[:i]) - sum(thick[i:])) / 2 + wide / 2 for i, wide in enumerate(thick)]
        down = [below.y > port for (_, below, _, _), port in zip(spot.limbs, ports, strict=True)]
        for i, (_, below, _, words) in enumerate(spot.limbs):
            first = [thick[k] for k in (range(i + 1, len(thick)) if down[i] else range(i)) if down[k] == down[i]]
            turn = x + TURN + 4 + sum(first) + thick[i] / 2
            self.limbs.append(self._limb((x, ports[i]), turn, below, thick[i], words))
            self._spot(below)

    def _limb(self, start: tuple[float, float], turn: float, below: Spot, wide: int, words: tuple[str, ...]) -> Limb:
        (x, y), end = start, start[0] + self.sizes.gap
        path = f"M{number(x)} {number(y)}{_turns(y, turn, below.y)}H{number(end)}"
        centre, half = x + self.sizes.gap * AT, max(width(line, SIZE) for line in words) / 2 + PAD
        top, high = below.y - tape_height(words) / 2, tape_height(words)
        first = top + 4 + SIZE * 0.92
        labels = tuple(Label(line, centre, first + LINE * i, SIZE, "found", "middle") for i, line in enumerate(words))
        return Limb(path, wide, (centre - half, top, centre + half, top + high), labels)


def _turns(y: float, turn: float, to: float) -> str:
    """A way level, then down or up at `turn`, then level again."""
    if abs(to - y) < 2 * TURN:
        a, b = number(turn), number(turn + TURN)
        return f"H{number(turn - TURN)}C{a} {number(y)} {a} {number(to)} {b} {number(to)}"
    by = TURN if to > y else -TURN
    upright = f"Q{number(turn)} {number(y)} {number(turn)} {number(y + by)}V{number(to - by)}"
    return f"H{number(turn - TURN)}{upright}Q{number(turn)} {number(to)} {number(turn + TURN)} {number(to)}"


def thickness(share: Fraction) -> int:
    """The px of a branch with this share of all faults."""
    return max(2, round(TRUNK * share))


def _words(words: Sequence[tuple[str, str]], x: float, top: float) -> tuple[Label, ...]:
    first = top + LINE / 2 + (ASCENT - DESCENT) * SIZE / 2 + 1
    return tuple(Label(line, x, first + LINE * i, SIZE, cls) for i, (line, cls) in enumerate(words))
