"""Circuits made by chance, the same in each run: every kind of part, up to 60 of them. All invented."""

from __future__ import annotations

import random
from collections.abc import Iterator

from kb.netlist import Circuit, Part, Position, Quantity, Terminal, Wire
from kb.site.wiring import COLOURS

SEED = 20

KINDS = (
    "fuse", "switch", "limit switch", "connector", "connector", "splice", "motor", "lamp", "heater", "resistor",
    "led", "diode", "cell", "relay", "potentiometer", "output", "input",
)  # fmt: skip
WORDS = ("feed", "ground", "V", "Hb", "foldin", "swingback", "farswingback", "49a", "common", "left", "out", "k")


def q(value: float, unit: str) -> Quantity:
    """A quantity."""
    return Quantity(value, unit)


VALUES = {
    "fuse": {"amps": q(7.5, "A")},
    "switch": {"contact": q(0.03, "ohm")},
    "limit switch": {"contact": q(0.03, "ohm")},
    "connector": {"ohms": q(0.005, "ohm")},
    "splice": {"ohms": q(0.005, "ohm")},
    "ground": {"ohms": q(0.005, "ohm")},
    "motor": {"ohms": q(12, "ohm"), "runs": q(0.18, "A")},
    "lamp": {"volts": q(12, "V"), "watts": q(5, "W")},
    "heater": {"ohms": q(7.5, "ohm")},
    "resistor": {"ohms": q(1234.5, "ohm")},
    "led": {"volts": q(2, "V"), "series": q(560, "ohm")},
    "diode": {"volts": q(0.7, "V")},
    "cell": {"volts": q(1.3, "V"), "ohms": q(12, "ohm")},
    "relay": {"coil": q(90, "ohm"), "pulls": q(8, "V"), "drops": q(3, "V"), "contact": q(0.03, "ohm")},
    "potentiometer": {"ohms": q(5000, "ohm"), "at": q(0.4, "%")},
    "output": {"ohms": q(0.1, "ohm"), "limit": q(5, "A")},
    "input": {"ohms": q(10000, "ohm")},
    "battery": {"volts": q(12.6, "V"), "inside": q(0.02, "ohm")},
}
PINS = {
    "fuse": ("in", "out"), "motor": ("a", "b"), "lamp": ("a", "b"), "heater": ("a", "b"), "resistor": ("a", "b"),
    "led": ("+", "-"), "diode": ("+", "-"), "cell": ("+", "-"), "potentiometer": ("top", "wiper", "bottom"),
    "output": ("out",), "input": ("in",), "ground": ("p",), "battery": ("+", "-"),
}  # fmt: skip


def circuits(count: int) -> Iterator[Circuit]:
    """That many circuits, from 3 parts to 60."""
    chance = random.Random(SEED)
    for i in range(count):
        yield made(chance, 3 + round(57 * i / max(count - 1, 1)), i)


def made(chance: random.Random, size: int, number: int) -> Circuit:
    """A circuit of `size` parts, each pin with a wire."""
    parts = {f"B{i}": _part(chance, f"B{i}", "battery") for i in range(1, 2 + (number % 7 == 0))}
    parts |= {f"G{i}": _part(chance, f"G{i}", "ground") for i in range(1, 1 + chance.randint(1, 3))}
    while len(parts) < size:
        name = f"{chance.choice('ABCDEFHJKLMPSX')}{len(parts)}"
        parts[name] = _part(chance, name, chance.choice(KINDS))
    wires = _wires(chance, parts)
    positions = {p.name: p for p in (_position(chance, f"position {i}", parts) for i in range(chance.randint(1, 5)))}
    cavities = {
        Terminal(part.name, pin): str(chance.randint(1, 99))
        for part in parts.values()
        if part.kind == "connector" and chance.random() < 0.7
        for pin in part.pins
    }
    return Circuit(f"made.md#circuit-{number}", parts, wires, positions, cavities=cavities)


def _part(chance: random.Random, name: str, kind: str) -> Part:
    pins = PINS.get(kind) or tuple(chance.sample(WORDS, chance.randint(2, 8)))
    if kind == "relay":
        pins = ("85", "86", "30", "87", "87a")[: chance.choice((4, 5))]
    sides = ("body", "mirror half") if kind == "connector" else None
    turns = ("outwards", "in") if kind == "motor" and chance.random() < 0.8 else None
    return Part(name, kind, pins, VALUES[kind], {}, sides, turns)


def _wires(chance: random.Random, parts: dict[str, Part]) -> dict[str, Wire]:
    """Each terminal joined with one of an earlier part, some with more."""
    done: list[Terminal] = []
    wires: dict[str, Wire] = {}
    for part in parts.values():
        own = [Terminal(part.name, pin, side) for pin in part.pins for side in part.sides or ("",)]
        for terminal in own:
            for _ in range(1 + (chance.random() < 0.15)):
                others = [t for t in done if t.part != part.name] or [t for t in own if t != terminal]
                if others:
                    name = f"W{len(wires) + 1}"
                    colour = tuple(chance.sample(sorted(COLOURS), chance.randint(0, 2)))
                    wires[name] = Wire(name, terminal, chance.choice(others[-40:]), colour, 0.5, chance.choice((0.3, 2.0)))
        done.extend(own)
    return wires


def _position(chance: random.Random, name: str, parts: dict[str, Part]) -> Position:
    switches = [part for part in parts.values() if part.kind in ("switch", "limit switch")]
    joins = {
        part.name: tuple(dict.fromkeys(_pair(chance, part) for _ in range(chance.randint(0, 3)))) for part in switches
    }
    drives = {part.name: chance.choice(("high", "low", "")) for part in parts.values() if part.kind == "output"}
    return Position(name, joins, drives)


def _pair(chance: random.Random, part: Part) -> tuple[str, str]:
    a, b = chance.sample(part.pins, 2)
    return a, b
