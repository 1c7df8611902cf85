"""Which vehicles a step is limited to, as its front says. Names invented."""

from __future__ import annotations

import pytest

from kb.site.limited import step_only
from tests.bases import base, node

MORE = "\n# Vehicle: Weir\n\n# Vehicle: Fen\n\n# Tool: Lamp\n"


@pytest.mark.parametrize(
    ("step", "vehicles"),
    [
        ("Only on [Weir]: take it out.", ["Weir"]),
        ("only on [Weir]; [Fen]: take it out.", ["Weir", "Fen"]),
        ("Only on [the old one][Weir]: take it out.", ["Weir"]),
        ("On a [Weir] take it out.", []),
        ("Only on [Weir] take it out.", []),
        ("Only on [Weir], [Fen]: take it out.", []),
        ("Only on Weir: take it out.", []),
        ("Only on [Lamp]: take it out.", []),
        ("Only on [Weir]; [Gone]: take it out.", []),
        ("Take it out, only on [Weir]: there.", []),
        ("Take it out.", []),
    ],
)
def test_a_step_names_its_vehicles_in_front(step: str, vehicles: list[str]) -> None:
    read = base(f"# Test: T\n- Takes: 1 min\n\n1. {step}\n{MORE}")
    (steps,) = [block for block in node(read, "T").blocks if block.type == "steps"]
    assert [vehicle.name for vehicle in step_only(read, steps.children[0])] == vehicles


def test_a_step_with_more_below_it_and_an_empty_one() -> None:
    read = base(f"# Test: T\n- Takes: 1 min\n\n1. Only on [Fen]: wait.\n\n   And listen.\n2.\n{MORE}")
    (steps,) = [block for block in node(read, "T").blocks if block.type == "steps"]
    assert [[v.name for v in step_only(read, item)] for item in steps.children] == [["Fen"], []]
