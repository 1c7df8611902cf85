"""A base limited to one vehicle is judged as it is for that vehicle, and a page for several isn't blamed."""

from __future__ import annotations

import pytest

from kb.checks import run
from kb.graph import build_graph
from kb.read.base import read_files
from kb.site.safety import messages, panels

INDEX = "# Invented base\n\n- Statement: The maker's instructions come first.\n"
CIRCUIT = """## Circuit: Horn of {name}

| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12.6 V |
| F1 | fuse | in out | 10 A |
| J2 | connector | {pin} ground | sides body horn |
| H1 | resistor | a b | 6 ohm |

| Wire | From | To |
|---|---|---|
| W1 | B1.+ | F1.in |
| W2 | F1.out | J2.{pin} body |
| W3 | J2.{pin} horn | H1.a |
| W4 | H1.b | J2.ground horn |
| W5 | J2.ground body | B1.- |

| Position |
|---|
| on |

| Fault of | What is wrong |
|---|---|
| [Fuse blown] | F1 blown |
"""
PAGE = """# Symptom: Horn silent
- Said as: no hoot
- Causes: [Fuse blown]; [Relay stuck]

# Cause: Fuse blown
- Repair: [Mend]

# Cause: Relay stuck
- Only on: [Skua]
- Repair: [Mend]

# Test: Listen
- Takes: 1 min

1. Hold the lead on `J2.feed`, on the other vehicle on `J2.plus`.

| Finding | Clears | Proves |
|---|---|---|
| It clicks | | [Relay stuck] |
| It is silent | [Relay stuck] | |

# Repair: Mend
- Takes: 5 min
- Verify: [Listen]

1. Mend `J2.minus`.
"""


def line_of(words: str) -> int:
    return next(n for n, line in enumerate(PAGE.split("\n"), 1) if words in line)


def reported(vehicle: str | None) -> list[tuple[str, int]]:
    pages = {"index.md": INDEX, "page.md": PAGE}
    for name, pin in (("Marl", "feed"), ("Skua", "plus")):
        pages[f"{name}.md"] = f"# Vehicle: {name}\n- Circuits: [Horn of {name}]\n\n" + CIRCUIT.format(
            name=name, pin=pin
        )
    base = read_files({path: text.encode() for path, text in pages.items()}, vehicle)
    found = [d.problem for d in run(base, build_graph(base))]
    return [(p.rule, p.span.line) for p in found if p.span.path == "page.md"]


@pytest.mark.parametrize("vehicle", [None, "Marl", "Skua"])
def test_points_of_another_vehicles_circuit_are_points(vehicle: str | None) -> None:
    assert [line for rule, line in reported(vehicle) if rule == "unknown-point"] == [line_of("J2.minus")]


@pytest.mark.parametrize("vehicle", [None, "Marl", "Skua"])
def test_a_finding_about_a_cause_of_another_vehicle_strands_nobody(vehicle: str | None) -> None:
    assert [line for rule, line in reported(vehicle) if rule == "finding-without-next"] == []


def test_an_allowance_that_another_vehicle_needs_is_not_told_as_unused():
    """For one vehicle only an allowance that can let nothing pass at all is told; for the base each unused one."""
    page = "<!-- allow no-steps: the other vehicle needs it -->\n\nProse.\n\n<!-- allow no-step: wrong name -->\n\nProse.\n"
    files = {"index.md": INDEX.encode(), "page.md": page.encode(), "skua.md": b"# Vehicle: Skua\n\n# Vehicle: Delve\n"}
    told = {}
    for vehicle in (None, "Skua"):
        base = read_files(files, vehicle)
        found = (d.problem for d in run(base, build_graph(base)))
        told[vehicle] = [problem.message for problem in found if problem.rule == "unused-allowance"]
    assert told[None] == ["this lets nothing pass: `no-steps` isn't broken below it", "no rule is called `no-step`"]
    assert told["Skua"] == ["no rule is called `no-step`"]


def test_a_finding_for_other_vehicles_need_not_lead_on() -> None:
    """On one vehicle the row clears the only cause there is and has no `Next`, but it can't be found there."""
    page = PAGE.replace(
        "| Finding | Clears | Proves |\n|---|---|---|", "| Finding | Clears | Proves | Only on |\n|---|---|---|---|"
    )
    page = page.replace("| It clicks | | [Relay stuck] |", "| It clicks | | [Relay stuck] | |")
    page = page.replace(
        "| It is silent | [Relay stuck] | |", "| It is silent | [Relay stuck]; [Fuse blown] | | [Skua] |"
    )
    page = page.replace("1. Hold the lead on `J2.feed`, on the other vehicle on `J2.plus`.", "1. Listen.").replace(
        "`J2.minus`", "it"
    )
    for vehicle, wanted in (("Skua", True), ("Marl", False)):
        base = read_files(
            {"index.md": INDEX.encode(), "page.md": f"{page}\n# Vehicle: Marl\n\n# Vehicle: Skua\n".encode()}, vehicle
        )
        rules = [d.problem.rule for d in run(base, build_graph(base))]
        assert ("finding-without-next" in rules) == wanted


def test_a_message_of_a_hazard_that_the_vehicle_has_not_is_neither_blamed_nor_printed() -> None:
    """Nor is a hazard idle whose tool only another vehicle's tests need."""
    page = """# Hazard: Orange cables
- Signal word: DANGER
- Hazard: Orange cables carry hundreds of volts.
- Consequence: Touching them will kill you.
- Avoidance: Leave them alone.
- At words: orange
- Only on: [Marl]

# Hazard: Sharp blade
- Signal word: CAUTION
- Hazard: The blade is sharp.
- Consequence: It can cut you.
- Avoidance: Cut away from you.
- With tool: [Knife]

# Tool: Knife

# Test: Look
- Takes: 1 min

> **DANGER** [Orange cables]

1. Look at the orange cover.

# Test: Cut
- Takes: 1 min
- Needs: [Knife]
- Only on: [Marl]

> **CAUTION** [Sharp blade]

1. Cut the tie.

# Vehicle: Marl

# Vehicle: Skua
"""
    for vehicle, count in ((None, 1), ("Marl", 1), ("Skua", 0)):
        base = read_files({"index.md": INDEX.encode(), "page.md": page.encode()}, vehicle)
        rules = {d.problem.rule for d in run(base, build_graph(base))}
        assert not rules & {"unfinished-safety-message", "idle-hazard", "missing-safety-message"}, vehicle
        (message,) = messages(next(node for node in base.nodes.values() if node.name == "Look"))
        assert len(panels(base, message)) == count
