"""The circuit gives a reading that no row of the test covers.

Judged are the healthy circuit and each cause of a symptom that the test speaks about, at 94, 100 and
115 % of the battery's stated volts. A row without `Reading` covers nothing; a test without any isn't
judged.

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

  ! # Test: Lamp at the plug
    - Takes: 3 min

    | Finding | Reading | Clears |
    |---|---|---|
    | The lamp is bright | bright | [Fuse blown]; [Ground lost] |
    | The lamp is dim | dim | |

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
    | The lamp is bright | bright | [Fuse blown]; [Ground lost] |
    | The lamp is dim or dark | dim, dark | |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.circuit.claims import uncovered
from kb.circuit.verdicts import in_words
from kb.diagnostic import Problem, Severity
from kb.reference import Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each test with an uncovered reading, once a circuit."""
    for test in asked.base.of_kind(Kind.TEST):
        if asked.unread_findings(test):
            continue
        for held in asked.all_held():
            wrong = next(uncovered(asked.base, held, test, asked.causes_spoken_of(test)), None)
            if wrong:
                where = f"with `{wrong.words}`" if wrong.words else "in the healthy circuit"
                circuit = asked.base.nodes[held.circuit.node].name
                yield Problem(
                    "uncovered-reading",
                    test.span,
                    f"{where} `{circuit}` reads {in_words(wrong.reading)}, which no row covers",
                    "add a row for it, or widen a row's `Reading`",
                )
