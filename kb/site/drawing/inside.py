"""What is drawn inside a box: contacts, coils and tracks between its pins, each on a level of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kb.netlist import Circuit
from kb.site.drawing.channel import Run, Tip, route
from kb.site.drawing.plan import Item, Pin

NAMES = 24  # px for a row of pin names
LEVEL = 18  # px between contacts


@dataclass(frozen=True, slots=True)
class Contact:
    """Between two pins: `contact`, `coil`, `track` (of a resistance) or `pass` (a pin on both edges).

    `corners` are (column within the drawing, px below the first name band).
    """

    key: tuple[str, ...]
    kind: str
    corners: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Inside:
    """A box's height and what is in it; `tops` and `feet` tell whether it has names on that edge."""

    height: float
    tops: bool
    feet: bool
    contacts: tuple[Contact, ...]


def pairs(circuit: Circuit, item: Item) -> Iterator[tuple[tuple[str, ...], str, str, str]]:
    """Key, kind and pins of all that a box can join."""
    part = item.part
    if part is None:
        return
    if part.kind in ("switch", "limit switch"):
        joined = {
            tuple(sorted(p)) for position in circuit.positions.values() for p in position.joins.get(part.name, ())
        }
        joined |= {
            tuple(sorted(c.contact)) for row in circuit.faults for c in row.changes if c.what == part.name and c.contact
        }
        yield from (((part.name, a, b), "contact", a, b) for a, b in sorted(joined))
    elif part.kind == "relay":
        yield (part.name, "coil"), "coil", part.pins[0], part.pins[1]
        for other in part.pins[3:]:
            yield (part.name, *sorted((part.pins[2], other))), "contact", part.pins[2], other
    elif part.kind == "potentiometer":
        yield (part.name, "top"), "track", part.pins[0], part.pins[1]
        yield (part.name, "bottom"), "track", part.pins[1], part.pins[2]


def inside(circuit: Circuit, item: Item) -> Inside:
    """Route what a box joins like wires in a channel, its upper pins on top."""
    by_name = {pin.name: pin for pin in item.pins}
    listed = [found for found in pairs(circuit, item) if found[2] in by_name and found[3] in by_name]
    through = [pin for pin in item.pins if pin.top and pin.foot and item.apart]
    runs = [Run(_tip(item, by_name[a]), _tip(item, by_name[b])) for _, _, a, b in listed]
    corners, levels = route(runs)
    tops = any(pin.top for pin in item.pins)
    feet = any(not pin.top or pin.foot for pin in item.pins)
    room = max(levels * LEVEL + 12, 24 if item.apart else 0)
    contacts = [
        Contact(key, kind, tuple(_points(run, found, room)))
        for (key, kind, _, _), run, found in zip(listed, runs, corners, strict=True)
    ]
    for pin in through:
        column = float(item.x + pin.column)
        contacts.append(Contact((item.name, pin.name), "pass", ((column, 0.0), (column, room))))
    return Inside(room + NAMES * (tops + feet), tops, feet, tuple(contacts))


def _tip(item: Item, pin: Pin) -> Tip:
    return Tip(item.x + pin.column, bool(pin.top), pin.name)


def _points(run: Run, corners: tuple[tuple[float, int], ...], room: float) -> Iterator[tuple[float, float]]:
    yield run.first.column, 0.0 if run.first.top else room
    yield from ((column, level * LEVEL + LEVEL / 2 + 6) for column, level in corners)
    yield run.second.column, 0.0 if run.second.top else room
