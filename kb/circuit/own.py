"""The faults that each kind of part, and a wire, has by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from kb.circuit.net import Net, neighbours
from kb.netlist import Change, Circuit, Part, Terminal
from kb.read.wrong import LOOSE, SHORTED

Fault = tuple[str, Change]


def own_faults(net: Net) -> Iterator[tuple[str, tuple[Change, ...]]]:
    """The faults that parts and wires have by themselves, in words and as changes."""
    for part in net.circuit.parts.values():
        for words, change in _OWN.get(part.kind, _opens)(net, part):
            yield words, (change,)
    for name in net.circuit.wires:
        for words, change in _wire_faults(net.circuit, name):
            yield words, (change,)


def _sized(what: str | Terminal, *ohms: float) -> Iterator[Fault]:
    yield from ((f"{what} {value:g} ohm", Change("ohms", what, ohms=value)) for value in ohms)


def _opens(net: Net, part: Part) -> Iterator[Fault]:
    yield f"{part.name} open", Change("open", part.name)


def _battery_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield f"{part.name} low", Change("low", part.name)


def _fuse_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield f"{part.name} blown", Change("blown", part.name)
    yield f"{part.name} loose", Change("ohms", part.name, ohms=LOOSE)


def _motor_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield from _opens(net, part)
    yield f"{part.name} seized", Change("seized", part.name)
    yield f"{part.name} half the ohms", Change("ohms", part.name, ohms=part.values["ohms"].value / 2)


def _heater_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield from _opens(net, part)
    yield f"{part.name} double the ohms", Change("ohms", part.name, ohms=part.values["ohms"].value * 2)


def _led_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield from _opens(net, part)
    yield f"{part.name} reversed", Change("reversed", part.name)


def _shorting_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield from _opens(net, part)
    yield f"{part.name} shorted", Change("ohms", part.name, ohms=SHORTED)


def _output_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield f"{part.name} stuck off", Change("stuck-off", part.name)
    yield f"{part.name} stuck on", Change("stuck-on", part.name)


def _leg_faults(net: Net, part: Part) -> Iterator[Fault]:
    for pin in part.pins:
        at = Terminal(part.name, pin)
        yield f"{at} open", Change("open", at)
        if part.kind == "splice":
            yield from _sized(at, 2, 40)


def _ground_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield from _opens(net, part)
    yield from _sized(part.name, 2, 40)


def _plug_faults(net: Net, part: Part) -> Iterator[Fault]:
    yield f"{part.name} unplugged", Change("unplugged", part.name)
    at = {pin: Terminal(part.name, pin, part.sides[0] if part.sides else "") for pin in part.pins}
    for pin in part.pins:
        yield f"{part.name}.{pin} open", Change("open", at[pin])
        yield from ((f"{part.name}.{pin} {ohms} ohm", Change("ohms", at[pin], ohms=ohms)) for ohms in (20, 200))
    for a, b in neighbours(part.pins):
        for how, words in (("touches", "touches"), ("crossed", "crossed with")):
            yield f"{part.name}.{a} {words} {part.name}.{b}", Change(how, at[a], at[b])


def _contact_faults(net: Net, part: Part) -> Iterator[Fault]:
    for _, a, b in (net.elements[i].key for i in net.places.get(part.name, ()) if len(net.elements[i].key) == 3):
        worn = 1.0 if part.kind == "relay" else 5.0
        yield f"{part.name} {a}-{b} open", Change("contact-open", part.name, contact=(a, b))
        yield f"{part.name} {a}-{b} welded", Change("welded", part.name, contact=(a, b))
        yield f"{part.name} {a}-{b} {worn:g} ohm", Change("ohms", part.name, contact=(a, b), ohms=worn)
    if part.kind == "relay":
        yield f"{part.name} coil open", Change("open", Terminal(part.name, part.pins[0]))


def _wire_faults(circuit: Circuit, name: str) -> Iterator[Fault]:
    yield f"{name} open", Change("open", name)
    yield from _sized(name, 20, 200)
    yield f"{name} touches ground", Change("ground", name)
    for feed in _feeds(circuit):
        yield f"{name} touches {feed}", Change("touches", name, feed)
    bundle = circuit.wires[name].bundle
    for other in circuit.wires.values():
        if bundle and other.bundle == bundle and other.name > name:
            yield f"{name} touches {other.name}", Change("touches", name, other.name)


def _feeds(circuit: Circuit) -> list[Terminal]:
    """Where feed is met by chance: behind each fuse; in a circuit without any, at the battery."""
    parts = circuit.parts.values()
    fused = [Terminal(part.name, part.pins[1]) for part in parts if part.kind == "fuse"]
    return fused or [Terminal(part.name, part.pins[0]) for part in parts if part.kind == "battery"]


_OWN: Mapping[str, Callable[[Net, Part], Iterator[Fault]]] = {
    "battery": _battery_faults, "fuse": _fuse_faults, "ground": _ground_faults, "splice": _leg_faults,
    "connector": _plug_faults, "switch": _contact_faults, "limit switch": _contact_faults, "relay": _contact_faults,
    "motor": _motor_faults, "heater": _heater_faults, "resistor": _heater_faults, "led": _led_faults,
    "diode": _shorting_faults, "cell": _shorting_faults, "potentiometer": _leg_faults, "output": _output_faults,
}  # fmt: skip
