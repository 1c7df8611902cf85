"""From pages to numbers to a plan: access inside access, putting back, money, proof before fitting. All invented."""

from __future__ import annotations

from fractions import Fraction

import pytest

from kb.graph import build_graph
from kb.isolation.matrix import Matrix, build_matrix
from kb.isolation.plan import Planner
from kb.model import Base
from tests.bases import INDEX, base, base_of, node
from tests.isolation.made import costed, least
from tests.isolation.unpruned import Unpruned


def read(page: str, symptom: str = "Lamp dead", index: str = "") -> Matrix:
    """The matrix of a page's symptom; every name on the page has to be met."""
    found = base_of({"index.md": INDEX + index, "page.md": page})
    assert not [p for p in found.problems if p.rule in ("unknown-name", "unknown-fact", "bad-value", "wrong-kind")]
    return matrix_of(found, symptom)


def matrix_of(found: Base, symptom: str = "Lamp dead") -> Matrix:
    return build_matrix(build_graph(found), node(found, symptom).id)


def first(m: Matrix) -> str:
    """The name of the plan's first step."""
    step = Planner(m).plan().first
    assert step is not None
    row = m.tests[step.number] if step.kind == "test" else m.repairs[step.number]
    return row.id.rpartition("#")[2]


# A unit on suspicion. 12 s a weight by minutes alone: the unit (5 min) mends 10 in 11 at once, the meter takes 20.

UNIT = """# Function: Light

## Symptom: Lamp dead

- Causes: [Motor worn] — 10; [Wire broken] — 1

## Cause: Motor worn

- Repair: [Replace the unit]

## Cause: Wire broken

- Repair: [Mend the wire]

## Test: Measure at the plug

- Takes: 20 min

1. Measure.

| Finding | Clears |
|---|---|
| 12 V | [Wire broken] |
| 0 V | [Motor worn] |

## Repair: Replace the unit

- Takes: 5 min{more}

1. Replace it.

## Repair: Mend the wire

- Takes: 30 min

1. Mend it.
"""


def test_minutes_alone_would_fit_the_unit_on_suspicion() -> None:
    """Fit and see: 5 + 30/11 min. Measure first: 20 + (10 x 5 + 30)/11 min. The plan measures all the same."""
    m = read(UNIT.format(more=""))
    assert first(m) == "test-measure-at-the-plug"
    assert Planner(m).plan().seconds == 60 * (20 + Fraction(10 * 5 + 30, 11))


def test_a_unit_that_may_be_tried_is_tried() -> None:
    m = read(UNIT.format(more="\n- Try: yes"))
    assert first(m) == "repair-replace-the-unit"
    assert Planner(m).plan().seconds == 60 * (5 + Fraction(30, 11))


def test_no_step_of_the_plan_fits_what_is_not_proved() -> None:
    """Wherever the plan repairs, that mends all that is left."""
    m = read(UNIT.format(more=""))
    step = Planner(m).plan().first
    assert step is not None
    for lead in step.leads:
        assert lead.then is not None and lead.then.kind == "repair"
        assert not lead.left & ~m.repairs[lead.then.number].mends


# A fuse changed unlooked: a minute to change it, two to look at it, ten for the wire.

FUSE = """# Function: Light

## Symptom: Lamp dead

- Causes: [Fuse blown] — common; [Wire broken] — common

## Cause: Fuse blown

- Repair: [Replace the fuse]

## Cause: Wire broken

- Repair: [Mend the wire]

## Test: Look at the fuse

- Takes: 2 min

1. Look.

| Finding | Clears | Proves |
|---|---|---|
| The strip is burnt through | | [Fuse blown] |
| The strip is whole | [Fuse blown] | |

## Repair: Replace the fuse

- Takes: 1 min{more}

1. Replace it.

## Repair: Mend the wire

- Takes: 10 min

1. Mend it.
"""


def test_a_fuse_is_not_changed_unlooked() -> None:
    """Change it and see: 1 + 10/2 min. Look first: 2 + (1 + 10)/2 min, and the plan looks first."""
    m = read(FUSE.format(more=""))
    assert first(m) == "test-look-at-the-fuse"
    assert Planner(m).plan().seconds == 60 * (2 + Fraction(1 + 10, 2))
    assert read(FUSE.format(more="\n- Try: no")) == m


def test_a_fuse_that_may_be_tried_is_tried() -> None:
    m = read(FUSE.format(more="\n- Try: yes"))
    assert first(m) == "repair-replace-the-fuse"
    assert Planner(m).plan().seconds == 60 * (1 + Fraction(10, 2))


def test_where_nothing_tells_causes_apart_the_likelier_for_its_time_is_fitted_first() -> None:
    """No test, no proof to wait for: fuse, then wire."""
    page = FUSE.format(more="")
    page = page[: page.index("## Test")] + page[page.index("## Repair: Replace") :]
    m = read(page)
    assert m.tests == ()
    assert first(m) == "repair-replace-the-fuse"
    assert Planner(m).plan().seconds == 60 * (1 + Fraction(10, 2))


# Access inside access, putting back, proof, money.

ACCESS = """# Function: Light

## Symptom: Lamp dead

- Causes: [Plug corroded] — 1; [Motor worn] — 1; [Wire broken] — 2

## Cause: Plug corroded

- Repair: [Clean the plug]

## Cause: Motor worn

- Repair: [Replace the motor]

## Cause: Wire broken

- Repair: [Mend the wire]

## Access: Battery lead off

- Takes: 3 min
- Undo: 2 min

## Access: Trim off

- Takes: 10 min
- Undo: 7 min
- Access: [Battery lead off]

## Test: Look at the plug

- Takes: 1 min
- Access: [Trim off]

1. Look.

| Finding | Clears | Proves |
|---|---|---|
| Green | | [Plug corroded] |
| Clean | [Plug corroded] | |

## Test: Listen

- Takes: 30 s

1. Listen.

| Finding | Clears |
|---|---|
| It hums | [Wire broken] |
| Nothing | |

## Repair: Clean the plug

- Takes: 4 min
- Access: [Trim off]
- Verify: [Listen]

1. Clean.

## Repair: Replace the motor

- Takes: 6 min
- Access: [Trim off]
- Costs: 50

1. Replace.

## Repair: Mend the wire

- Takes: 8 min

1. Mend.
"""


def test_access_is_closed_under_what_lies_behind_it_and_counts_its_putting_back() -> None:
    m = read(ACCESS)
    names = [a.rpartition("-")[0].rpartition("#")[2] for a in m.access_ids]
    at = {name: i for i, name in enumerate(names)}
    assert {name: m.access[i] for name, i in at.items()} == {"access-battery-lead": 5 * 60, "access-trim": 17 * 60}
    plug, listen = m.tests
    assert (plug.seconds, plug.needs.bit_count(), plug.leaves) == (60, 2, (0b001, 0b110))
    assert (listen.seconds, listen.needs, listen.leaves) == (30, 0, (0b011, 0b111))
    assert [r.needs.bit_count() for r in m.repairs] == [2, 2, 0]


def test_access_is_paid_once() -> None:
    """By hand, with the lid's 22 min paid before: what was opened for a test is open for the repair."""
    m = read(ACCESS)
    opened = (1 << len(m.access)) - 1
    paid, unpaid = Planner(m).plan(0b001, opened), Planner(m).plan(0b001)
    assert (paid.seconds, unpaid.seconds) == ((4 * 60 + 30), (4 * 60 + 30) + 22 * 60)
    assert Planner(m).plan().seconds == Unpruned(m).seconds()
    assert costed(Planner(m).plan()) == Unpruned(m).seconds()


def test_a_proof_is_part_of_the_repair_with_its_own_access() -> None:
    m = read(
        ACCESS.replace("- Verify: [Listen]", "- Verify: [Look at the plug]").replace(
            "- Access: [Trim off]\n- Verify", "- Verify"
        )
    )
    assert (m.repairs[0].seconds, m.repairs[0].needs.bit_count()) == (5 * 60, 2)


@pytest.mark.parametrize(("hour", "seconds"), [("", 0), ("- Hour costs: 100\n", 1800), ("- Hour costs: 75\n", 2400)])
def test_parts_cost_time_where_the_base_says_what_an_hour_costs(hour: str, seconds: int) -> None:
    """50 at 100 an hour are half an hour, at 75 an hour 40 min; without `Hour costs` nothing."""
    m = read(ACCESS, index=hour)
    assert [r.seconds for r in m.repairs] == [4 * 60 + 30, 6 * 60 + seconds, 8 * 60]
    assert Planner(m, isolate=True).plan() == Planner(read(ACCESS), isolate=True).plan()


def test_money_can_turn_the_choice_between_two_repairs() -> None:
    """Two ways to mend: 20 min without parts, or 10 min with parts for 30."""
    page = UNIT.format(more="\n- Costs: 30").replace(
        "- Repair: [Replace the unit]", "- Repair: [Replace the unit]; [Mend the motor]"
    )
    page += "\n## Repair: Mend the motor\n\n- Takes: 20 min\n\n1. Mend it.\n"
    unit, motor = (least(read(page, index=f"- Hour costs: {hour}\n")) for hour in (120.5, 30))
    assert unit == 60 * (20 + Fraction(30, 11)) + Fraction(10, 11) * (300 + 896)  # 30 / 120.5 h are 896 s
    assert motor == 60 * (20 + Fraction(10 * 20 + 30, 11))


# Causes alike, findings that overlap or contradict, what comes first.


def test_causes_with_the_same_repair_end_together() -> None:
    page = FUSE.format(more="").replace("- Repair: [Mend the wire]", "- Repair: [Replace the fuse]")
    m = read(page)
    assert [r.mends for r in m.repairs] == [0b11]
    assert Planner(m, isolate=True).plan().first is None
    assert Planner(m).plan().seconds == 60


def test_a_test_that_does_not_name_a_cause_leaves_it_after_every_finding() -> None:
    m = read(ACCESS)
    assert m.tests[1].leaves == (0b011, 0b111)
    states = Planner(m).states
    assert states.spreads[1] == [2, 2, 1]


def test_a_test_that_clears_a_cause_whatever_it_finds_says_nothing_of_it() -> None:
    page = FUSE.format(more="").replace(
        "| The strip is whole | [Fuse blown] | |", "| The strip is whole | [Fuse blown]; [Wire broken] | |"
    )
    m = read(page)
    assert m.tests[0].leaves == (0b11, 0b10)


def test_a_test_is_done_after_those_that_come_first_and_each_is_paid_once() -> None:
    """Invented: a cable check of 2 min that tells nothing has to come before the look of 2 min."""
    page = FUSE.format(more="").replace("- Takes: 2 min", "- Takes: 2 min\n- After: [Check the cable]")
    page += "\n## Test: Check the cable\n\n- Takes: 2 min\n\n1. Check.\n"
    m = read(page)
    assert [t.after for t in m.tests] == [0b10, 0]
    assert first(m) == "test-check-the-cable"
    assert Planner(m).plan().seconds == 60 * (4 + Fraction(1 + 10, 2))
    assert Planner(m).plan(done=0b10).seconds == 60 * (2 + Fraction(1 + 10, 2))


def test_findings_that_contradict_leave_nothing_to_plan() -> None:
    m = read(ACCESS)
    plan = Planner(m).plan(m.tests[0].leaves[0] & 0b110, done=0b11)
    assert (plan.seconds, plan.first) == (0, None)


def test_a_symptom_without_tests_or_repairs_is_no_plan() -> None:
    m = matrix_of(
        base("# Function: Light\n\n## Symptom: Lamp dead\n\n- Causes: [Wire broken]\n\n## Cause: Wire broken\n")
    )
    assert Planner(m).plan().first is None
    m = matrix_of(base("# Function: Light\n\n## Symptom: Lamp dead\n"))
    assert (m.causes, Planner(m).plan().first, Planner(m).plan().seconds) == ((), None, 0)
