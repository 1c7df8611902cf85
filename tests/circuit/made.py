"""Random circuits with faults from a seed: batteries, resistors, contacts, plugs, motors, lamps, diodes; values invented."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

from kb.netlist import Change, Circuit, Part, Position, Quantity, Terminal, Wire

LINEAR = ("resistor", "heater", "switch", "connector", "splice", "ground", "potentiometer", "cell", "input", "output")
BENT = ("motor", "lamp", "led", "diode")


@dataclass(frozen=True)
class Made:
    """A circuit with one position, `on`, and what is wrong with it."""

    circuit: Circuit
    changes: tuple[Change, ...]

    @property
    def position(self) -> Position:
        """The only position."""
        return self.circuit.positions["on"]


def made(seed: int, bent: bool, parts: int = 9, faults: int = 3) -> Made:
    """A random circuit; `bent` adds motors, lamps, LEDs and diodes, whose curves have corners."""
    chance = random.Random(seed)
    listed = [*_batteries(chance), Part("G1", "ground", ("p",), {"ohms": _q(0.005)})]
    kinds = LINEAR + BENT if bent else LINEAR
    listed += [_part(chance, f"P{i}", chance.choice(kinds)) for i in range(parts)]
    found = {part.name: part for part in listed}
    wires = {wire.name: wire for wire in _wires(chance, listed)}
    joins = {p.name: tuple(_pairs(chance, p)) for p in listed if p.kind == "switch"}
    drives = {p.name: chance.choice(("high", "low", "")) for p in listed if p.kind == "output"}
    circuit = Circuit("k", found, wires, {"on": Position("on", joins, drives)})
    return Made(circuit, tuple(_changes(chance, circuit, chance.randrange(faults + 1))))


def _q(value: float, unit: str = "ohm") -> Quantity:
    return Quantity(value, unit)


def _ohms(chance: random.Random, low: float = 0.5, high: float = 200.0) -> Quantity:
    return _q(round(low * (high / low) ** chance.random(), 3))


def _batteries(chance: random.Random) -> Iterator[Part]:
    for number in range(1, 2 + (chance.random() < 0.3)):
        values = {"volts": _q(round(chance.uniform(9, 15), 2), "V"), "inside": _q(round(chance.uniform(0.02, 0.5), 3))}
        yield Part(f"B{number}", "battery", ("+", "-"), values)


def _part(chance: random.Random, name: str, kind: str) -> Part:
    if kind == "connector":
        pins = tuple("xyz"[: chance.randrange(1, 4)])
        return Part(name, kind, pins, {"ohms": _q(0.005)}, sides=("near", "far"))
    if kind == "switch":
        return Part(name, kind, tuple("abc"[: chance.randrange(2, 4)]), {"contact": _q(0.03)})
    if kind == "splice":
        return Part(name, kind, tuple("uvw"[: chance.randrange(2, 4)]), {"ohms": _q(0.005)})
    pins = {
        "ground": ("p",), "potentiometer": ("top", "wiper", "bottom"), "led": ("+", "-"), "diode": ("+", "-"),
        "cell": ("+", "-"), "input": ("in",), "output": ("out",),
    }.get(kind, ("a", "b"))  # fmt: skip
    return Part(
        name, kind, pins, _values(chance, kind), {"to": chance.choice(("ground", "feed"))} if kind == "input" else {}
    )


def _values(chance: random.Random, kind: str) -> dict[str, Quantity]:
    if kind == "motor":
        return {"ohms": _ohms(chance, 5, 40), "runs": _q(round(chance.uniform(0.05, 0.3), 3), "A")}
    if kind == "lamp":
        return {"volts": _q(12.0, "V"), "watts": _q(float(chance.choice((1, 3, 5, 21))), "W")}
    if kind == "led":
        return {"volts": _q(round(chance.uniform(1.8, 6.0), 2), "V"), "series": _ohms(chance, 20, 900)}
    if kind == "diode":
        return {"volts": _q(0.7, "V")}
    if kind == "ground":
        return {"ohms": _q(0.005)}
    if kind == "potentiometer":
        return {"ohms": _ohms(chance), "at": _q(round(chance.uniform(0.05, 0.95), 2), "%")}
    if kind == "cell":
        return {"volts": _q(1.4, "V"), "ohms": _ohms(chance)}
    if kind == "output":
        rest = {"rest": _q(3.0, "V"), "rest ohms": _q(1000.0)} if chance.random() < 0.5 else {}
        return {"ohms": _q(0.2), "limit": _q(1e6, "A"), **rest}
    return {"ohms": _ohms(chance)}


def terminals(part: Part) -> list[Terminal]:
    """All terminals of a part."""
    return [Terminal(part.name, pin, side) for pin in part.pins for side in part.sides or ("",)]


def _wires(chance: random.Random, parts: list[Part]) -> Iterator[Wire]:
    """Most terminals hang on one already wired, so that much is connected; some stay alone."""
    ends = [t for part in parts for t in terminals(part)]
    chance.shuffle(ends)
    pairs = [(chance.choice(ends[:i]), ends[i]) for i in range(1, len(ends)) if chance.random() < 0.85]
    pairs += [(a, b) for _ in range(len(parts) // 3) for a, b in [chance.sample(ends, 2)]]
    for number, (a, b) in enumerate(pairs):
        mm2, metres = chance.choice((0.35, 0.5, 0.75, 1.5, None)), round(chance.uniform(0.1, 4.0), 2)
        yield Wire(f"W{number}", a, b, mm2=mm2, metres=metres)


def _pairs(chance: random.Random, part: Part) -> Iterator[tuple[str, str]]:
    for a, b in zip(part.pins, part.pins[1:], strict=False):
        if chance.random() < 0.6:
            yield (a, b)


def _changes(chance: random.Random, circuit: Circuit, count: int) -> Iterator[Change]:
    wires, parts = list(circuit.wires), list(circuit.parts.values())
    for _ in range(count):
        how = chance.choice(
            ("open", "ohms", "ground", "touches", "part", "pin", "pin ohms", "plug", "seized", "crossed")
        )
        part, wire = chance.choice(parts), chance.choice(wires)
        ohms = _ohms(chance, 1, 500).value
        end = chance.choice(terminals(part))
        plugs = [p for p in parts if p.kind == "connector"]
        if how in ("open", "ground"):
            yield Change(how, wire)
        elif how == "ohms":
            yield Change("ohms", wire, ohms=ohms)
        elif how == "touches":
            yield Change("touches", wire, chance.choice([w for w in wires if w != wire]))
        elif how == "part" and part.kind != "connector":
            yield Change("open", part.name)
        elif how == "pin":
            yield Change("open", end)
        elif how == "pin ohms":
            yield Change("ohms", end, ohms=ohms)
        elif how == "plug" and plugs:
            yield Change("unplugged", chance.choice(plugs).name)
        elif how == "crossed" and (wide := [p for p in plugs if len(p.pins) > 1]):
            a, b = chance.sample(terminals(chance.choice(wide))[::2], 2)
            yield Change("crossed", a, b)
        elif how == "seized" and (motors := [p for p in parts if p.kind == "motor"]):
            yield Change("seized", chance.choice(motors).name)
