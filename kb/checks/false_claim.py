"""A finding clears or proves a cause, and the circuit says otherwise.

The fault of the cause is put into the circuit and the instrument read, at 94, 100 and 115 % of the
battery's stated volts. A row that clears the cause, or sweeps it away by proving others, must not be met
by that reading; a row that proves a cause must be met by one of its faults. One circuit that contradicts
is enough. Rows without `Reading` aren't judged.

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

    # Symptom: Horn silent
    - Causes: [Fuse blown]; [Ground lost]

    # Cause: Fuse blown

    # Cause: Ground lost

    # Test: Lamp at the plug
    - Takes: 3 min

    | Finding | Reading | Clears |
    |---|---|---|
  ! | The lamp is dark | dark | [Ground lost] |
    | The lamp is bright | bright, dim | [Fuse blown] |

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

    | Finding | Reading | Clears |
    |---|---|---|
    | The lamp is dark | dark | |
    | The lamp is bright | bright, dim | [Fuse blown]; [Ground lost] |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.circuit.claims import Contradiction, false_clearings, unmet_proofs
from kb.circuit.verdicts import in_words
from kb.diagnostic import Problem, Severity
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each findings row that a circuit contradicts, once."""
    for test in asked.base.of_kind(Kind.TEST):
        if asked.unread_findings(test):
            continue
        told: set[int] = set()
        for wrong in _wrong(asked, test):
            if wrong.row not in told:
                told.add(wrong.row)
                yield _problem(asked, wrong)


def _wrong(asked: Asked, test: Node) -> Iterator[Contradiction]:
    causes = asked.causes_spoken_of(test)
    for held in asked.all_held():
        yield from false_clearings(asked.base, held, test, causes)
    yield from unmet_proofs(asked.base, asked.all_held(), test)


def _problem(asked: Asked, wrong: Contradiction) -> Problem:
    row, cause = wrong.test.findings[wrong.row], asked.base.nodes[wrong.cause].name
    shown = in_words(wrong.reading)
    if not wrong.words:
        return Problem(
            "false-claim",
            row.span,
            f"this finding proves `{cause}`, whose fault reads {shown}",
            "correct the reading, or what it proves",
        )
    return Problem(
        "false-claim",
        row.span,
        f"this finding rules out `{cause}`, and with `{wrong.words}` the circuit reads {shown}",
        "correct the reading, what it clears, or the circuit",
    )
