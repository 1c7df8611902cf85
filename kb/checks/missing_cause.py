"""Faults of the circuit that show as the symptom and are no cause of it.

Each part and wire of the circuit gets the faults that it has by itself (open, corroded, touching ground or
a neighbour, unplugged, welded, seized ...). Those that show as the symptom, and that neither sight nor any
stated reading can tell from a named cause, count as named.

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
    | [Fuse blown] | F1 blown |
    | [Ground lost] | W5 open |

    | Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
    |---|---|---|---|---|---|
    | [Lamp at the plug] | on | J2 | test lamp | J2.feed body | J2.ground body |

    | Symptom of | Shows as |
    |---|---|
    | [Horn silent] | on: H1 cold |

  ! # Symptom: Horn silent
    - Causes: [Fuse blown]

    # Cause: Fuse blown

    # Cause: Ground lost

    # Test: Lamp at the plug
    - Takes: 3 min

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
    | [Fuse blown] | F1 blown |
    | [Ground lost] | W5 open |

    | Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
    |---|---|---|---|---|---|

    | Symptom of | Shows as |
    |---|---|
    | [Horn silent] | on: H1 cold |

    # Symptom: Horn silent
    - Causes: [Fuse blown]; [Ground lost]

    # Cause: Fuse blown

    # Cause: Ground lost

    # Test: Lamp at the plug
    - Takes: 3 min
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.circuit.claims import unnamed_faults
from kb.diagnostic import Problem, Severity
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.NOTE


MOST = 6


def check(asked: Asked) -> Iterator[Problem]:
    """Each symptom with unnamed faults, once."""
    causes = {s.id: frozenset(c.cause.id for c in asked.graph.causes(s.id)) for s in asked.base.of_kind(Kind.SYMPTOM)}
    missing: dict[str, dict[str, None]] = {}
    for held in asked.all_held():
        for symptom, words in unnamed_faults(asked.base, held, causes).items():
            missing.setdefault(symptom, {}).update(dict.fromkeys(words))
    for symptom, found in missing.items():
        if not asked.unread_fact(asked.base.nodes[symptom], "Causes"):
            yield _problem(asked.base.nodes[symptom], list(found))


def _problem(symptom: Node, words: list[str]) -> Problem:
    listed = ", ".join(f"`{w}`" for w in words[:MOST]) + (f" and {len(words) - MOST} more" if len(words) > MOST else "")
    return Problem(
        "missing-cause",
        symptom.span,
        f"these faults would show as this symptom too: {listed}",
        "add them as causes with a `Fault of` row, if they happen",
    )
