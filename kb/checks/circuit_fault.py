"""A circuit that isn't sound: a pin that no wire uses, or a position that joins feed to ground.

A connector's pin counts as used where a wire meets either side of it. Feed and ground are joined where
a way leads from the battery's plus to its minus over wires, plugs, splices and closed contacts alone:
without a load and without a fuse.

Bad:
    # Circuit: Horn

    | Part | Kind | Pins | Values |
    |---|---|---|---|
    | B1 | battery | + - | 12.6 V |
    | F1 | fuse | in out | 10 A |
  ! | J2 | connector | feed ground spare | sides body horn |
    | H1 | heater | a b | 6 ohm |

    | Wire | From | To |
    |---|---|---|
    | W1 | B1.+ | F1.in |
    | W2 | F1.out | J2.feed body |
    | W3 | J2.feed horn | H1.a |
    | W4 | H1.b | J2.ground horn |
    | W5 | J2.ground body | B1.- |

    | Position |
    |---|
    | on |

Good:
    # Circuit: Horn

    | Part | Kind | Pins | Values |
    |---|---|---|---|
    | B1 | battery | + - | 12.6 V |
    | F1 | fuse | in out | 10 A |
    | J2 | connector | feed ground | sides body horn |
    | H1 | heater | a b | 6 ohm |

    | Wire | From | To |
    |---|---|---|
    | W1 | B1.+ | F1.in |
    | W2 | F1.out | J2.feed body |
    | W3 | J2.feed horn | H1.a |
    | W4 | H1.b | J2.ground horn |
    | W5 | J2.ground body | B1.- |

    | Position |
    |---|
    | on |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.checks._nets import joined
from kb.diagnostic import Problem, Severity
from kb.netlist import Circuit

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each part with an idle pin, each position that shorts the feed."""
    for circuit in asked.base.circuits.values():
        if circuit.sound:
            yield from _idle_pins(circuit)
            yield from _shorts(circuit)


def _idle_pins(circuit: Circuit) -> Iterator[Problem]:
    used = {(end.part, end.pin) for wire in circuit.wires.values() for end in (wire.start, wire.end)}
    for part in circuit.parts.values():
        idle = [pin for pin in part.pins if (part.name, pin) not in used]
        if idle and part.span:
            pins = ", ".join(f"`{part.name}.{pin}`" for pin in idle)
            yield Problem("circuit-fault", part.span, f"no wire uses {pins}",
                          "wire it, or leave the pin out of the table")  # fmt: skip


def _shorts(circuit: Circuit) -> Iterator[Problem]:
    for position in circuit.positions.values():
        if position.span and joined(circuit, position):
            yield Problem("circuit-fault", position.span, f"`{position.name}` joins feed to ground without a fuse or a load",
                          "correct what the switches join")  # fmt: skip
