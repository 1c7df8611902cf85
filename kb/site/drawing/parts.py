"""Where a part's box, symbol, leads, pins and words stand."""

from __future__ import annotations

from collections.abc import Iterator

from kb.netlist import Part
from kb.site.drawing.inside import NAMES, Inside
from kb.site.drawing.metrics import width
from kb.site.drawing.plan import NAME, PITCH, SMALL, TWO_ENDED, Item, Pin, told
from kb.site.drawing.shapes import ContactDrawing, Label, PartDrawing, PinDrawing, number, x_of

STUB = 22  # px from an upright part's edge to its symbol
LEVEL = 50  # px from the top of a lying part to its symbol's middle
LINE = 16
BOX = 38  # px from the outer columns to a box's edges


def part_drawing(item: Item, part: Part, y: float, height: float, inner: Inside) -> PartDrawing:
    """A part's drawing with its top at `y`."""
    last = item.x + item.body - 1
    box = (x_of(item.x) - BOX, y, x_of(last) + BOX, y + height)
    centre = _centre(item, y, height)
    titles = tuple(_titles(item, part, y, height))
    state = (titles[-1].x, titles[-1].y + LINE) if titles else (box[2], y)
    labels = (*titles, *_names(item, part, y, height))
    pins = tuple(_pin(item, part, pin, y, height) for pin in item.pins)
    leads = tuple(_leads(item, part, y, height, centre))
    contacts = tuple(_contacts(inner, y)) if item.boxed else ()
    return PartDrawing(item.name, part.kind, box, centre, _turned(item, part), leads, pins, labels, state, contacts)


def _turned(item: Item, part: Part) -> int:
    """How far a symbol with a plus side is turned: upright with its first pin on top is 0."""
    forward = item.pins[0].name == part.pins[0]
    return (0 if forward else 180) if item.inline else (270 if forward else 90)


def _anchor(item: Item, pin: Pin) -> float:
    """The column in which a pin meets its part's inner side."""
    leads_left = item.pins.index(pin) == 0 and not item.inline and item.part and item.part.kind in TWO_ENDED
    return x_of(item.x + pin.column + (pin.ports - 1 if leads_left else 0))


def _beside(item: Item, pin: Pin) -> float:
    """The column that a pin's name stands beside: of a splice's, each wire goes on inside."""
    ports = len(pin.top) or len(pin.foot) or 1
    last = item.part is not None and item.part.kind == "splice"
    return x_of(item.x + pin.column + ports - 1) if last else _anchor(item, pin)


def _centre(item: Item, y: float, height: float) -> tuple[float, float]:
    kind = item.part.kind if item.part else ""
    if kind in TWO_ENDED and not item.inline:
        return (_anchor(item, item.pins[0]) + _anchor(item, item.pins[-1])) / 2, y + LEVEL
    if item.inline:
        return x_of(item.x), y + height / 2
    return x_of(item.x + (item.body - 1) / 2), y + height / 2


def _titles(item: Item, part: Part, y: float, height: float) -> Iterator[Label]:
    """The part's name and its value or kind; the state's line stays free below."""
    last = item.x if item.inline else item.x + item.body - 1
    x = x_of(last) + item.indent
    if part.sides:
        yield Label(item.title[1], x, y + 14, SMALL, "side")
        yield Label(item.title[2], x, y + height - 5, SMALL, "side")
        yield Label(part.name, x, y + height / 2 + 5, NAME, "name")
        return
    lines = [part.name, *(told(part) if len(item.title) > 1 else ())]
    if part.kind == "battery":
        lines = list(item.title)
    middle = y + (LEVEL + 4 if part.kind in TWO_ENDED and not item.inline else height / 2)
    start = middle + 5 - LINE * (len(item.title) - 1) / 2
    for place, line in enumerate(lines):
        yield Label(line, x, start + place * LINE, NAME if place == 0 else SMALL, "name" if place == 0 else "value")


def _names(item: Item, part: Part, y: float, height: float) -> Iterator[Label]:
    """The names of pins, where their part can be mistaken for having others."""
    if part.kind in ("ground", "battery"):
        return
    for pin in item.pins:
        middle = x_of(item.x + pin.column) + (pin.columns - 1) * PITCH / 2
        beside = _beside(item, pin) + 7
        if part.kind == "connector":
            yield Label(pin.name, middle, y + height - 11, SMALL, "pin-name", "middle")
        elif item.boxed:
            if pin.top:
                yield Label(pin.name, middle, y + 17, SMALL, "pin-name", "middle")
            if pin.foot or not pin.top:
                yield Label(pin.name, middle, y + height - 11, SMALL, "pin-name", "middle")
        elif pin.top:
            yield Label(pin.name, beside, y + 18, SMALL, "pin-name")
        elif pin.foot or not item.inline:
            yield Label(pin.name, beside, y + height - 11, SMALL, "pin-name")


def _pin(item: Item, part: Part, pin: Pin, y: float, height: float) -> PinDrawing:
    bars = []
    for ends, edge in ((pin.top, y), (pin.foot, y + height)):
        columns = [x_of(item.x + pin.place(end)) for end in ends]
        columns += [_anchor(item, pin)] if ends and part.kind != "splice" else []
        if columns and max(columns) > min(columns) and part.kind != "splice":
            bars.append((min(columns), max(columns), edge + (3 if edge == y else -3)))
    x = x_of(item.x + pin.column) + (pin.columns - 1) * PITCH / 2
    return PinDrawing(pin.name, x, y + 22, pin.cavity, tuple(bars))


def _leads(item: Item, part: Part, y: float, height: float, centre: tuple[float, float]) -> Iterator[str]:
    """Lines from a part's edges to its symbol."""
    if part.kind in TWO_ENDED:
        yield from _to_symbol(item, y, height, centre)
    elif part.kind == "splice":
        columns = [x_of(item.x + pin.place(end)) for pin in item.pins for end in (*pin.top, *pin.foot)]
        if columns:
            yield f"M{number(min(columns))} {number(centre[1])}H{number(max(columns))}"
        for pin in item.pins:
            yield from (f"M{number(x_of(item.x + pin.place(e)))} {number(y)}V{number(centre[1])}" for e in pin.top)
            yield from (
                f"M{number(x_of(item.x + pin.place(e)))} {number(y + height)}V{number(centre[1])}" for e in pin.foot
            )
    elif item.boxed and part.kind != "connector":
        yield from _to_bars(item, y, height)
    elif part.kind in ("ground", "battery"):
        end = y + height - (0 if part.kind == "ground" else 18)
        yield f"M{number(x_of(item.x))} {number(y)}V{number(end)}"
        if part.kind == "battery":
            yield f"M{number(x_of(item.x) - 14)} {number(y + height - 18)}h28"


def _to_bars(item: Item, y: float, height: float) -> Iterator[str]:
    """Where the name of a pin of several wires leaves its way free, that goes on to the bar that joins the wires."""
    for pin in item.pins:
        aside = (pin.columns - 1) * PITCH / 2
        if aside < width(pin.name, SMALL) / 2 + 6:
            continue
        x = number(x_of(item.x + pin.column))
        if len(pin.top) > 1:
            yield f"M{x} {number(y)}V{number(y + NAMES)}"
        if len(pin.foot) > 1:
            yield f"M{x} {number(y + height - NAMES)}V{number(y + height)}"


def _to_symbol(item: Item, y: float, height: float, centre: tuple[float, float]) -> Iterator[str]:
    for pin in item.pins:
        x = _anchor(item, pin)
        if pin.top:
            yield f"M{number(x)} {number(y)}V{number(centre[1])}"
        if pin.foot:
            yield f"M{number(x)} {number(y + height)}V{number(centre[1])}"
        if not item.inline:
            yield f"M{number(x)} {number(centre[1])}H{number(centre[0])}"


def _contacts(inner: Inside, y: float) -> Iterator[ContactDrawing]:
    """What a box with its top at `y` can join."""
    top = y + (NAMES if inner.tops else 0)
    for contact in inner.contacts:
        points = [(x_of(column), top + down) for column, down in contact.corners]
        steps = "".join(f"{'M' if i == 0 else 'L'}{number(x)} {number(py)}" for i, (x, py) in enumerate(points))
        stretches = list(zip(points, points[1:], strict=False))
        a, b = max(stretches, key=lambda s: abs(s[0][0] - s[1][0]) + abs(s[0][1] - s[1][1]))
        yield ContactDrawing(contact.key, contact.kind, steps, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
