"""A voltmeter row with an absolute bound above 1 V, where a share of the supply would hold at any battery.

A battery at rest and one being charged differ by two volts; `> 90 % of supply` holds for both. Circuits
in which a module's output rests at a voltage of its own aren't judged.

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

    | Reading of | Position | Instrument | Red lead | Black lead |
    |---|---|---|---|---|
    | [Volts at the plug] | on | voltmeter | J2.feed | J2.ground |

    # Test: Volts at the plug
    - Takes: 2 min

    | Finding | Reading |
    |---|---|
  ! | The feed is there | > 11 V |

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

    | Reading of | Position | Instrument | Red lead | Black lead |
    |---|---|---|---|---|
    | [Volts at the plug] | on | voltmeter | J2.feed | J2.ground |

    # Test: Volts at the plug
    - Takes: 2 min

    | Finding | Reading |
    |---|---|
    | The feed is there | > 90 % of supply |
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.model import ReadingRange

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each findings row of a voltmeter test that is bound to one battery voltage."""
    for test_id in _voltmeter_tests(asked):
        for row in asked.base.nodes[test_id].findings:
            if any(_absolute(r) for r in row.ranges):
                yield Problem(
                    "absolute-reading",
                    row.span,
                    f"`{row.reading.text}` holds for one battery voltage only",
                    "state it relative to the battery: `> 90 % of supply`, `within 0.5 V of supply`",
                )


def _voltmeter_tests(asked: Asked) -> list[str]:
    found = set()
    for circuit in asked.base.circuits.values():
        parts = circuit.parts.values()
        own_source = any(p.kind == "output" and "rest" in p.values for p in parts)
        if any(p.kind == "battery" for p in parts) and not own_source:
            found |= {
                asked.base.targets.get(r.test) for r in circuit.readings if r.test and r.instrument == "voltmeter"
            }
    return sorted(i for i in found if i and i in asked.base.nodes)


def _absolute(r: ReadingRange) -> bool:
    bounds = [abs(b) for b in (r.low, r.high) if b is not None]
    return r.unit == "V" and not r.relative and any(bound > 1 for bound in bounds)
