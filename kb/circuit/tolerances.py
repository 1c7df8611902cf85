"""Which values of a circuit vary, how far, and what that does to what its elements draw.

The battery's volts lie between 94 and 115 % of what is stated, and so do the sources that follow it. What a part
or a wire has of its own lies 20 % about it: ohms (of contacts, pins, wires and fuses too, each on its own), a
motor's running current, a lamp's watts, the volts at which an LED or a diode begins to let current through.
Not varied: what a fault states in figures, volts that a module holds by itself, limits, ratings, and a
relay's pick-up and drop-out volts. Source: common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from kb.circuit.batch import Floats
from kb.circuit.net import Net
from kb.netlist import Part, Quantity

BATTERY = (0.94, 1.15)  # of its stated volts
PART = (0.8, 1.2)  # of a part's stated value
_ENDS = [f"{low * 100:.0f} to {high:.0%}" for low, high in (BATTERY, PART)]
TOLD = f"battery {_ENDS[0]} of its stated volts, parts {_ENDS[1]}"
_IDLE = 1e-6  # of the steepest slope: below it a value counts as without influence
Value = tuple[str, ...]
FEED: Value = ("feed",)
Lot = bytes  # one byte a value: 0 as stated, 1 at its high end, 2 at its low end

# Values by kind of part: the powers in which amperes and volts of its curve go with the value, and whether
# it then lets more current flow (1) or less (-1). The first is what a fault's figure takes the place of.
_OHMS = ("ohms", -1, 0, -1)
_VALUES: Mapping[str, tuple[tuple[str, int, int, int], ...]] = {
    "battery": (_OHMS, ("feed", 1, 1, 1)),
    "input": (_OHMS, ("feed", 1, 1, 1)),
    "motor": (("ohms", 0, 1, -1), ("runs", 1, 1, 1)),
    "lamp": (("watts", 1, 0, 1),),
    "led": (("series", -1, 0, -1), ("volts", 1, 1, -1)),
    "diode": (_OHMS, ("volts", 1, 1, -1)),
}


@dataclass(frozen=True, slots=True)
class Aside:
    """Elements that a world sets aside from their tolerances.

    Those whose figure a fault states, those that follow the battery's volts (a driven output), how many come on
    top of the net, and which of these are a piece of an element: `alike` gives its place by their number.
    """

    stated: frozenset[int] = frozenset()
    following: frozenset[int] = frozenset()
    extra: int = 0
    alike: Mapping[int, int] = field(default_factory=dict)


class Tolerances:
    """The varied values of a net, and the powers in which each element's amperes and volts go with them."""

    def __init__(self, net: Net) -> None:
        found = [tuple(_values(net.circuit.parts.get(e.key[0]), e.key)) for e in net.elements]
        names = dict.fromkeys(value for values in found for value, *_ in values)
        self.places = {value: place for place, value in enumerate(names)}
        self.amps, self.volts = (np.zeros((len(found), len(names))) for _ in range(2))
        self.more = np.ones(len(names))
        for row, values in enumerate(found):
            for value, amps, volts, more in values:
                place = self.places[value]
                self.amps[row, place], self.volts[row, place], self.more[place] = amps, volts, more
        self.stated = np.array([self.places[values[0][0]] for values in found], dtype=np.int64)
        ends = np.array([BATTERY if value == FEED else PART for value in names]).reshape(-1, 2)
        self.low, self.high = ends[:, 0], ends[:, 1]

    def __len__(self) -> int:
        return len(self.places)

    @property
    def feed(self) -> int:
        """The place of the battery's volts; -1 without a battery."""
        return self.places.get(FEED, -1)

    def factors(self, lot: Lot) -> Floats:
        """What each value is multiplied by."""
        chosen = np.frombuffer(lot, dtype=np.uint8) if lot else np.zeros(len(self), dtype=np.uint8)
        return np.where(chosen == 1, self.high, np.where(chosen == 2, self.low, 1.0))

    def towards(self, slopes: Floats, lot: Lot = b"") -> Lot:
        """The corner to which something rises that goes with the values as `slopes` say; idle ones stay as in `lot`."""
        least = np.abs(slopes).max(initial=0.0) * _IDLE
        stay = np.frombuffer(lot, dtype=np.uint8) if lot else 0
        return np.where(slopes > least, 1, np.where(slopes < -least, 2, stay)).astype(np.uint8).tobytes()

    def turned(self, lot: Lot, value: int) -> Lot:
        """The same corner with one value at its other end."""
        return lot[:value] + bytes([{1: 2, 2: 1}.get(lot[value], 0)]) + lot[value + 1 :]

    def extremes(self) -> tuple[Lot, Lot]:
        """All that lets more current flow, and all that lets less."""
        return self.towards(self.more), self.towards(-self.more)

    def part(self, part: Part, lot: Lot) -> Part:
        """A part with its values as they are in this lot."""
        factors = self.factors(lot)
        values = dict(part.values)
        for name, quantity in part.values.items():
            place = self.places.get((part.name, name), self.places.get((part.name,)) if name == "ohms" else None)
            if place is not None:
                values[name] = Quantity(quantity.value * float(factors[place]), quantity.unit)
        return replace(part, values=values)

    def stretch(self, lot: Lot, aside: Aside) -> tuple[Floats, Floats]:
        """Each element's factors for amperes and volts, those on top of the net last."""
        logs = np.log(self.factors(lot))
        amps, volts = self.amps @ logs, self.volts @ logs
        for place in aside.stated:
            value = self.stated[place]
            amps[place] -= self.amps[place, value] * logs[value]
            volts[place] -= self.volts[place, value] * logs[value]
        for place in aside.following if self.feed >= 0 else ():
            amps[place] += logs[self.feed]
            volts[place] += logs[self.feed]
        extra = np.zeros((2, aside.extra))
        for number, place in aside.alike.items():
            extra[:, number] = amps[place], volts[place]
        return np.exp(np.append(amps, extra[0])), np.exp(np.append(volts, extra[1]))

    def drawn(self, amps: Floats, linear: Floats, aside: Aside) -> Floats:
        """How the sum of what elements draw at their voltages goes with the logarithm of each value.

        `amps` is what each draws, `linear` the part of it that goes with the voltage; both may carry weights.
        """
        size = len(self.amps)
        on, lin = amps[:size].copy(), linear[:size].copy()
        for number, place in aside.alike.items():
            on[place] += amps[size + number]
            lin[place] += linear[size + number]
        total = on @ self.amps - lin @ self.volts
        for place in aside.stated:
            value = self.stated[place]
            total[value] -= on[place] * self.amps[place, value] - lin[place] * self.volts[place, value]
        for place in aside.following if self.feed >= 0 else ():
            total[self.feed] += on[place] - lin[place]
        return total


def _values(part: Part | None, key: Value) -> Iterator[tuple[Value, int, int, int]]:
    """The values of an element: name, powers of its amperes and volts, and its sign; what a fault may state first."""
    for name, *powers in _VALUES.get(part.kind, (_OHMS,)) if part else (_OHMS,):
        if name != "feed":
            own = (key[0], name) if name != "ohms" or part and part.kind in ("motor", "potentiometer") else key
            yield own, powers[0], powers[1], powers[2]
        elif part and (part.kind == "battery" or part.words.get("to") == "feed"):
            yield FEED, powers[0], powers[1], powers[2]
