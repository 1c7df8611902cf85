"""An `Order` that takes over 10 % longer, on average, than the cheapest plan.

Both are the minutes until the fault is fixed, over the causes by their weights: each test and each access
once, then the repair with its proof. A part's `Costs` count as time, where the base says what an hour
costs. Tests of the order that can't tell anything more are skipped, and what it leaves open is told apart
in the cheapest way. Where it takes too long to prove that no plan is cheaper, the best plan found is taken.
One fault at a time is assumed. What couldn't be read, or has no `Takes`, isn't judged.

Bad:
    # Symptom: Nothing moves
    - Causes: [Fuse blown] — 9; [Motor open] — 1
  ! - Order: [Look at the motor]; [Look at the fuse]

    # Cause: Fuse blown
    - Repair: [Fit a fuse]

    # Cause: Motor open
    - Repair: [Replace the motor]

    # Test: Look at the fuse
    - Takes: 2 min

    | Finding | Proves |
    |---|---|
    | Burnt | [Fuse blown] |
    | Whole | [Motor open] |

    # Test: Look at the motor
    - Takes: 30 min

    | Finding | Proves |
    |---|---|
    | Burnt | [Motor open] |
    | Whole | [Fuse blown] |

    # Repair: Fit a fuse
    - Takes: 3 min

    # Repair: Replace the motor
    - Takes: 40 min

Good:
    # Symptom: Nothing moves
    - Causes: [Fuse blown] — 9; [Motor open] — 1
    - Order: [Look at the fuse]; [Look at the motor]

    # Cause: Fuse blown
    - Repair: [Fit a fuse]

    # Cause: Motor open
    - Repair: [Replace the motor]

    # Test: Look at the fuse
    - Takes: 2 min

    | Finding | Proves |
    |---|---|
    | Burnt | [Fuse blown] |
    | Whole | [Motor open] |

    # Test: Look at the motor
    - Takes: 30 min

    | Finding | Proves |
    |---|---|
    | Burnt | [Motor open] |
    | Whole | [Fuse blown] |

    # Repair: Fit a fuse
    - Takes: 3 min

    # Repair: Replace the motor
    - Takes: 40 min
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from kb.checks._asked import Asked
from kb.checks._loops import circles
from kb.diagnostic import Problem, Severity
from kb.isolation.figures import Hunt
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.WARNING
MOST = Fraction(11, 10)


def check(asked: Asked) -> Iterator[Problem]:
    """Each symptom whose order is too dear, at its `Order`."""
    waits = ((Kind.TEST, "After"), (Kind.ACCESS, "Access"))
    round_ = frozenset(i for kind, key in waits for i in circles(asked, kind, key))
    judged = [s for s in asked.base.of_kind(Kind.SYMPTOM) if s.values("Order") and _readable(asked, s, round_)]
    asked.plan(symptom.id for symptom in judged)
    for symptom in judged:
        hunt = asked.hunt(symptom.id)
        if hunt.in_order is not None and hunt.in_order > MOST * hunt.fixed.seconds:
            yield _problem(asked, symptom, hunt, hunt.in_order)


def _readable(asked: Asked, symptom: Node, round_: frozenset[str]) -> bool:
    """All that the costs of a symptom's orders rest on could be read."""
    if asked.swallowed or asked.unread_fact(symptom, "Causes") or asked.unread_fact(symptom, "Order"):
        return False
    hunt = asked.hunt(symptom.id)
    rows = [row.id for row in (*hunt.matrix.tests, *hunt.matrix.repairs)]
    proofs = [p.id for r in hunt.matrix.repairs for p in asked.base.all(asked.base.nodes[r.id].refs("Verify"))]
    used = [asked.base.nodes[i] for i in (*hunt.matrix.causes, *rows, *proofs, *hunt.matrix.access_ids)]
    return bool(hunt.matrix.repairs and hunt.order) and all(_known(asked, n) and n.id not in round_ for n in used)


def _known(asked: Asked, node: Node) -> bool:
    if node.kind is Kind.CAUSE:
        return not asked.unread_fact(node, "Repair") and not asked.unread_fact(node, "How often")
    keys = ("Takes", "Undo", "Access", "After", "Verify", "Costs", "Try")
    read = not any(asked.unread_fact(node, key) for key in keys) and not asked.unread_findings(node)
    return read and bool(node.values("Takes"))


def _problem(asked: Asked, symptom: Node, hunt: Hunt, cost: Fraction) -> Problem:
    plan = "the cheapest plan" if hunt.fixed.proved else "the best plan found"
    return Problem(
        "costly-order",
        symptom.facts["Order"].span,
        f"in this order it takes {_minutes(cost)} on average until the fault is fixed, "
        f"by {plan} {_minutes(hunt.fixed.seconds)}",
        _help(asked, symptom, hunt),
    )


def _help(asked: Asked, symptom: Node, hunt: Hunt) -> str:
    if hunt.swap is None:
        return f'changing two tests round saves nothing; `backprobe isolate "{symptom.name}"` prints the plan'
    first, second = (asked.base.nodes[hunt.matrix.tests[t].id].name for t in (hunt.swap.first, hunt.swap.second))
    return f"change `{first}` and `{second}` round: of all such changes that saves most, {_minutes(hunt.swap.seconds)}"


def _minutes(seconds: Fraction) -> str:
    return f"{float(seconds / 60):.1f}".removesuffix(".0") + " min"
