"""What is said to a writer who slipped: the help names what to write."""

from __future__ import annotations

import pytest

from kb.checks import run
from kb.graph import build_graph
from kb.read.base import read_files
from kb.read.folder import UnknownVehicle
from tests.bases import INDEX, base, base_of


def help_of(rule: str, page: str) -> str:
    read = base(page)
    return next(d.problem.help for d in run(read, build_graph(read)) if d.problem.rule == rule)


@pytest.mark.parametrize(
    ("rule", "page", "words"),
    [
        ("test-without-findings", "# Test: T\n- Takes: 1 min\n\n1. Look.\n\n| Found | Clears |\n|---|---|\n| x | |\n", "`Found`: call this column `Finding`"),
        ("bad-value", "# Symptom: S\n- Causes: [A] — common, [B]\n\n# Cause: A\n\n# Cause: B\n", "`[A] — common; [B]`"),
        ("unknown-name", "# Cause: A\n- Repair: [Push the plug home]\n", "`## Repair: Push the plug home`"),
        ("unknown-fact", "# Test: T\n- Takes: 1 min\n- Next: [T]\n", "column of the test's findings table"),
    ],
)
def test_help_names_what_to_write(rule: str, page: str, words: str) -> None:
    assert words in help_of(rule, page)


def test_an_unknown_vehicle_is_told_with_those_that_are_there() -> None:
    files = {"index.md": INDEX.encode(), "v.md": b"# Vehicle: Marl\n\n# Vehicle: Skua\n"}
    with pytest.raises(UnknownVehicle, match="it has Marl, Skua"):
        read_files(files, "Somebody else")
    with pytest.raises(UnknownVehicle, match="did you mean 'Skua'"):
        read_files(files, "Skuaa")


def test_a_circuit_belongs_to_the_vehicle_that_it_names() -> None:
    pages = "# Vehicle: Marl\n\n# Circuit: Horn\n- Only on: [Marl]\n\n# Circuit: Fan\n"
    read = read_files({"index.md": INDEX.encode(), "page.md": pages.encode()}, "Marl")
    assert list(read.circuits) == ["page.md#circuit-horn"]


def test_a_day_that_is_none_is_told_and_the_row_counts() -> None:
    files: dict[str, str | bytes] = {
        "index.md": INDEX + "- History: jobs.csv\n",
        "page.md": "# Symptom: S\n- Causes: [A]\n\n# Cause: A\n\n# Vehicle: V\n",
        "jobs.csv": "date,vehicle,symptom,cause,minutes\n2024-13-01,V,S,A,10\n2024-12-01,V,S,A,10\n",
    }
    read = base_of(files)
    assert [(p.rule, p.span.path, p.span.line, p.span.column) for p in read.problems] == [("bad-value", "jobs.csv", 2, 1)]
    assert len(read.jobs) == 2
