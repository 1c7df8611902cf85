"""Text of a point's or a position's form that no circuit of the page has.

In a test, repair, access or circuit, code of the form `part.pin` is a point. It is looked for in the
circuits on the page and in those whose tables name a node of the page; without one nothing is checked.

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

    # Test: Feed at the plug
    - Takes: 2 min

  ! 1. Put the lead on `J2.fed`.

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

    # Test: Feed at the plug
    - Takes: 2 min

    1. Put the lead on `J2.feed`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.netlist import Circuit
from kb.quantity import nearest

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each point in a page's text that its circuits don't have."""
    circuits = _by_page(asked)
    for node in asked.base.nodes.values():
        known = circuits.get(node.page)
        for point in node.points if known else ():
            if not any(_has(circuit, point.text) or _doubtful(asked, circuit, point.text) for circuit in known or ()):
                yield Problem(
                    "unknown-point",
                    point.span,
                    f"no circuit of this page has the point `{point.text}`",
                    _offer(known or (), point.text),
                )


def _by_page(asked: Asked) -> Mapping[str, list[Circuit]]:
    """The circuits of each page: those on it, and those whose tables name a node of it."""
    found: dict[str, list[Circuit]] = {}
    for circuit in (*asked.base.circuits.values(), *asked.base.elsewhere.values()):
        refs = (
            *(r.cause for r in circuit.faults),
            *(r.symptom for r in circuit.symptoms),
            *(r.test for r in circuit.readings),
        )
        named = {node.page for node in asked.base.all(tuple(r for r in refs if r))}
        for page in named | {circuit.node.partition("#")[0]}:
            found.setdefault(page, []).append(circuit)
    return found


def _has(circuit: Circuit, text: str) -> bool:
    point, _, side = text.partition(" ")
    name, _, pin = point.partition(".")
    part = circuit.parts.get(name)
    return part is not None and pin in part.pins and (not side or side in (part.sides or ()))


def _doubtful(asked: Asked, circuit: Circuit, text: str) -> bool:
    """True for a point of a part whose own row couldn't be read."""
    part = circuit.parts.get(text.partition(".")[0])
    return part is not None and part.span is not None and asked.unread(part.span)


def _offer(circuits: Iterable[Circuit], text: str) -> str:
    points = (f"{part.name}.{pin}" for circuit in circuits for part in circuit.parts.values() for pin in part.pins)
    near = nearest(text.partition(" ")[0], points)
    return f"did you mean `{near}`?" if near else "name a part and a pin that the circuit's tables state"
