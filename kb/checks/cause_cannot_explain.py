"""A cause of a symptom whose fault, solved, doesn't show as that symptom.

Judged in every circuit that has a `Fault of` row for the cause and a `Symptom of` row for the symptom, at
94, 100 and 115 % of the battery's stated volts. Each variant of a cause has to show as one of the rows.

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
    | [Ground lost] | W5 0.1 ohm |

    | Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
    |---|---|---|---|---|---|
    | [Lamp at the plug] | on | J2 | test lamp | J2.feed body | J2.ground body |

    | Symptom of | Shows as |
    |---|---|
    | [Horn silent] | on: H1 cold |

    # Symptom: Horn silent
  ! - Causes: [Fuse blown]; [Ground lost]

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
    | [Lamp at the plug] | on | J2 | test lamp | J2.feed body | J2.ground body |

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
from kb.circuit.claims import Held, cannot_explain
from kb.circuit.survey import Seen
from kb.diagnostic import Problem, Severity
from kb.graph import Likely
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each cause that can't explain its symptom, at its place in `Causes`."""
    for symptom in asked.base.of_kind(Kind.SYMPTOM):
        for likely in asked.graph.causes(symptom.id):
            problem = next(_unexplained(asked, symptom.id, likely), None)
            if problem:
                yield problem


def _unexplained(asked: Asked, symptom: str, likely: Likely) -> Iterator[Problem]:
    for held in asked.all_held():
        seen = cannot_explain(asked.base, held, symptom, likely.cause.id)
        if seen:
            circuit = asked.base.nodes[held.circuit.node].name
            does = _shown(held, symptom, asked, seen)
            message = f"with `{seen.words}` the circuit `{circuit}` doesn't show as this symptom: {does}"
            help = "correct the fault, how the symptom shows, or the causes"
            yield Problem("cause-cannot-explain", likely.ref.span, message, help)


def _shown(held: Held, symptom: str, asked: Asked, seen: Seen) -> str:
    """What the loads do that the symptom speaks of, position by position."""
    wanted = held.symptom_rows(asked.base, symptom)[0].shows
    parts = []
    for position, loads in wanted:
        found = seen.loads.get(position, {})
        does = ", ".join(f"{name} {found[name].direction or found[name].verdict}" for name, _ in loads if name in found)
        parts.append(f"{position}: {does}")
    return "; ".join(parts)
