"""The state of a base tells how far each circuit's faults come down, and names those that don't."""

from __future__ import annotations

from kb.circuit.claims import Held, hold
from kb.graph import build_graph
from kb.read.base import read_files
from kb.site.write import site_files
from tests.circuit.test_separated import PAGE, separated
from tests.site.pump import PUMP, Doc, built, text


def state_page(page: str) -> Doc:
    """The page of a base with one circuit, which is held."""
    files = {"index.md": b"# Horns\n\n- Statement: Maker first.\n", "horn.md": page.encode()}
    base = read_files(files)
    held = {name: found for name, one in base.circuits.items() if isinstance(found := hold(one), Held)}
    return Doc(dict(site_files(base, build_graph(base), (), files.__getitem__, held=held)), "base-state.html")


def test_a_circuits_faults_are_counted_and_those_left_together_are_named():
    doc, found = state_page(PAGE), separated(PAGE)
    part = doc.one("section", "parted")
    row = [text(cell) for cell in doc.all("td", within=part)]
    share = round(100 * found.one / found.shown)
    strange = sum(len(group.faults) for group in found.together if not group.left)
    assert row == [str(found.faults), str(found.shown), f"{found.one} {share} %", str(strange)]
    told = [text(item) for item in doc.all("li", within=doc.one("details", within=part))]
    assert any("W2 open" in words and words.endswith("Left: Feed wire open, Ground wire open.") for words in told)
    assert any("H1 open" in words and words.endswith("They look like no cause written for it.") for words in told)


def test_a_circuit_that_shows_no_symptom_is_not_counted():
    doc = state_page(PAGE.replace("| [Horn silent] | on: H1 cold |\n", ""))
    assert not doc.all("section", "parted")


def test_how_many_causes_each_test_can_clear_stands_by_symptom():
    """The pump's: volts clear the fuse; listening and the lamp clear each of the three in some finding."""
    doc = Doc(built(PUMP), "base-state.html")
    rows = [[text(cell) for cell in row] for row in doc.all("tr", within=doc.one("table", "tested"))]
    # The second symptom's only cause is named by no test.
    assert rows == [
        ["Test", "1", "2"],
        ["Volts at the box", "1 of 3", ""],
        ["Listen at the pump", "3 of 3", ""],
        ["Lamp at the float plug", "3 of 3", ""],
    ]
    assert [text(item) for item in doc.all("li", within=doc.one("ol", "named"))] == [
        "Pump does not start",
        "Pump runs dry",
    ]
