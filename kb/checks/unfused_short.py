"""A `Fault of` row that shorts a wire with no fuse before it: its readings are withheld.

Such a fault is a fire hazard and says so on the page; nobody should go and measure it.

Bad:
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

    | Fault of | What is wrong |
    |---|---|
  ! | [Feed chafed] | W1 touches ground |

    # Cause: Feed chafed

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

    | Fault of | What is wrong |
    |---|---|
    | [Feed chafed] | W2 touches ground |

    # Cause: Feed chafed
"""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from kb.checks._asked import Asked
from kb.circuit.soundness import GROUND, copper, feeds
from kb.diagnostic import Problem, Severity
from kb.netlist import Change, Circuit, Terminal

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each fault that joins an unfused feed to ground."""
    for circuit in asked.base.circuits.values():
        if not circuit.sound:
            continue
        graph = copper(circuit, circuit.positions.values())
        unfused = {t for feed in feeds(circuit) if feed in graph for t in nx.node_connected_component(graph, feed)}
        grounded = nx.node_connected_component(graph, GROUND)
        for row in circuit.faults:
            if any(_shorts(circuit, change, unfused, grounded) for change in row.changes):
                yield Problem(
                    "unfused-short",
                    row.span,
                    f"`{row.words}` shorts a feed that no fuse protects",
                    "readings of this fault are withheld; warn of it on the page",
                )


def _shorts(circuit: Circuit, change: Change, unfused: set[object], grounded: set[object]) -> bool:
    what = _ends(circuit, change.what)
    if change.how == "ground":
        return bool(what & unfused)
    if change.how in ("touches", "crossed") and change.other is not None:
        other = _ends(circuit, change.other)
        return bool(what & unfused and other & grounded or what & grounded and other & unfused)
    return False


def _ends(circuit: Circuit, thing: str | Terminal) -> set[object]:
    """The terminals that a wire, a part or a terminal stands for."""
    if isinstance(thing, Terminal):
        return {thing}
    if wire := circuit.wires.get(thing):
        return {wire.start, wire.end}
    part = circuit.parts[thing]
    return {Terminal(part.name, pin, side) for pin in part.pins for side in part.sides or ("",)}
