"""A circuit that isn't sound: an idle pin, a short-circuited feed, a load that never works, no settled state.

A connector's pin counts as used where a wire meets either side of it. Feed and ground are joined where
a way leads from the battery's plus to its minus over wires, plugs, splices and closed contacts alone:
without a load and without a fuse. The rest is solved: each load has to work in some position, what
`Must happen` says has to happen, relays have to come to rest, no fuse may blow in the healthy circuit. A
circuit of more than 400 nodes isn't solved. Claims about a circuit that isn't sound aren't judged.

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
from kb.circuit.claims import Unsound
from kb.circuit.soundness import MOST_NODES, idle_pins, joined, too_large
from kb.diagnostic import Problem, Severity
from kb.netlist import Circuit

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each part with an idle pin, each position that shorts the feed, and what solving shows."""
    for circuit in asked.base.circuits.values():
        if circuit.sound:
            yield from _idle_pins(circuit)
            yield from _shorts(circuit)
            yield from _solved(asked, circuit)


def _idle_pins(circuit: Circuit) -> Iterator[Problem]:
    for part, idle in idle_pins(circuit):
        if part.span:
            pins = ", ".join(f"`{part.name}.{pin}`" for pin in idle)
            yield Problem(
                "circuit-fault", part.span, f"no wire uses {pins}", "wire it, or leave the pin out of the table"
            )


def _shorts(circuit: Circuit) -> Iterator[Problem]:
    for position in circuit.positions.values():
        if position.span and joined(circuit, position):
            yield Problem(
                "circuit-fault",
                position.span,
                f"`{position.name}` joins feed to ground without a fuse or a load",
                "correct what the switches join",
            )


def _solved(asked: Asked, circuit: Circuit) -> Iterator[Problem]:
    if too_large(circuit):
        yield Problem(
            "circuit-fault",
            asked.base.nodes[circuit.node].span,
            f"more than {MOST_NODES} nodes: it isn't solved",
            "draw one function in a circuit",
        )
    held = asked.held(circuit.node)
    for wrong in held if isinstance(held, tuple) else ():
        if isinstance(wrong, Unsound) and wrong.item.span:
            yield Problem(
                "circuit-fault",
                wrong.item.span,
                wrong.message,
                "correct the parts, the wires, or what the switches join",
            )
