"""A `Fault of` row that changes no load, fuse or stated reading in any position.

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
  ! | [Ground lost] | W5 0.002 ohm |

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
from kb.circuit.claims import idle_rows
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each fault that shows nowhere."""
    for held in asked.all_held():
        for seen in idle_rows(held):
            if seen.row:
                yield Problem(
                    "idle-fault",
                    seen.row.span,
                    f"`{seen.words}` changes no load, fuse or stated reading",
                    "make it worse, or add a position or a reading that shows it",
                )
