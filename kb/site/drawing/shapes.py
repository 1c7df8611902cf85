"""The shapes of a drawing, and where columns stand in px."""

from __future__ import annotations

from dataclasses import dataclass

from kb.site.drawing.metrics import ASCENT, DESCENT, width
from kb.site.drawing.plan import PITCH
from kb.site.wiring import Paint

MARGIN = 44  # from the drawing's edge to its first column


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a baseline; `anchor` is `start`, `middle` or `end`; `cls` says what they are."""

    words: str
    x: float
    y: float
    size: int
    cls: str = ""
    anchor: str = "start"

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the words, from the font's metrics."""
        wide = width(self.words, self.size)
        left = self.x - {"start": 0.0, "middle": wide / 2, "end": wide}[self.anchor]
        return left, self.y - ASCENT * self.size, left + wide, self.y + DESCENT * self.size


@dataclass(frozen=True, slots=True)
class Arrow:
    """Where an arrowhead may stand; `down`: so it points when current runs from the wire's start.

    On a level stretch it is `down` that points to the right.
    """

    x: float
    y: float
    down: bool
    level: bool = False


@dataclass(frozen=True, slots=True)
class WireDrawing:
    """A wire's way, its labels, and the plates for the voltages of its start and its end.

    A broken wire's way is two stubs: its points in pairs, and in `broken` where each stub ends.
    """

    name: str
    path: str
    points: tuple[tuple[float, float], ...]
    paint: Paint | None
    labels: tuple[Label, ...]
    arrows: tuple[Arrow, ...]
    plates: tuple[tuple[float, float], tuple[float, float]]
    broken: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class PinDrawing:
    """A pin's own mark: a disc with its cavity, or nothing but a bar that joins several wires."""

    name: str
    x: float
    y: float
    cavity: str
    bars: tuple[tuple[float, float, float], ...]  # left, right, y


@dataclass(frozen=True, slots=True)
class ContactDrawing:
    """What lies between two pins in a box (kinds as `Contact`), and the middle of its longest stretch."""

    key: tuple[str, ...]
    kind: str
    path: str
    middle: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PartDrawing:
    """A part: its box, the centre of its symbol, leads inside it, its pins and words."""

    name: str
    kind: str
    box: tuple[float, float, float, float]
    centre: tuple[float, float]
    turned: int  # degrees from upright, first pin on top
    leads: tuple[str, ...]
    pins: tuple[PinDrawing, ...]
    labels: tuple[Label, ...]
    state: tuple[float, float]
    contacts: tuple[ContactDrawing, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """All of a circuit's drawing."""

    width: float
    height: float
    rails: tuple[tuple[float, float, float], ...]  # left, right and top of each bar, the last is rail 31
    labels: tuple[Label, ...]
    wires: tuple[WireDrawing, ...]
    parts: tuple[PartDrawing, ...]
    plate: float = 68  # the width of a voltage's plate
    arrow: tuple[float, float] = (8, 15)  # half the width and the height of an arrowhead
    live: float = 13  # px of a wire that carries current, with its outline


def x_of(column: float) -> float:
    """The middle of a column."""
    return MARGIN + column * PITCH


def number(value: float) -> str:
    """A coordinate without needless digits."""
    return f"{value:.1f}".rstrip("0").rstrip(".")
