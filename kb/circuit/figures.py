"""What a survey tells about tests and causes: what they can't tell, and from which size on findings change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kb.circuit.survey import Seen, Survey
from kb.circuit.verdicts import finding_of
from kb.model import Base, Node
from kb.netlist import Circuit
from kb.reference import Ref

SIZES = tuple(float(f"{m}e{e}") for e in range(-2, 6) for m in (1, 2, 5))  # ohm, from 0.01 to 500,000


@dataclass(frozen=True, slots=True)
class Threshold:
    """From `ohms` on (in steps of 1, 2, 5) a fault of this kind gives a test another finding than a whole circuit."""

    words: str
    test: Node
    ohms: float | None


def thresholds(base: Base, survey: Survey) -> list[Threshold]:
    """For each fault that is a resistance, from which size on each test's finding changes."""
    tests = tests_of(base, survey.circuit)
    sized = [(row, change) for row in survey.circuit.faults for change in row.changes if change.how == "ohms"]
    faults = [("", ())] + [(f"{row.words}", (replace(c, ohms=size),)) for row, c in sized for size in SIZES]
    seen = survey.see(faults) if sized and tests else []
    healthy = seen[0] if seen else None
    found = []
    for number, (row, _) in enumerate(sized):
        steps = seen[1 + number * len(SIZES) : 1 + (number + 1) * len(SIZES)]
        for place, test in tests.items():
            usual = finding_of(test, healthy.readings[place]) if healthy and not healthy.state else None
            told = [(ohms, at) for ohms, at in zip(SIZES, steps, strict=True) if not at.state]
            size = next((ohms for ohms, at in told if finding_of(test, at.readings[place]) != usual), None)
            found.append(Threshold(row.words, test, size))
    return found


def tests_of(base: Base, circuit: Circuit) -> Mapping[int, Node]:
    """The tests of a circuit's readings, by the reading's place."""
    found = {i: base.target(row.test) for i, row in enumerate(circuit.readings) if row.test}
    return {i: node for i, node in found.items() if node}


def silent(base: Base, circuit: Circuit, seen: Sequence[Seen]) -> list[tuple[Node, tuple[Node, ...]]]:
    """For each test, the causes of this circuit under which it shows the finding of a whole circuit."""
    healthy, faults = seen[0], [s for s in seen[1:] if not s.state and s.row]
    found = []
    for place, test in tests_of(base, circuit).items():
        usual = finding_of(test, healthy.readings[place])
        same = [s.row.cause for s in faults if s.row and finding_of(test, s.readings[place]) == usual]
        found.append((test, _nodes(base, same)))
    return found


def together(base: Base, circuit: Circuit, seen: Sequence[Seen]) -> list[tuple[Node, ...]]:
    """Groups of causes that no reading of this circuit separates, larger than one."""
    groups: dict[tuple[object, ...], list[Ref | None]] = {}
    tests = tests_of(base, circuit)
    for s in seen[1:]:
        if s.row and not s.state:
            key = tuple(finding_of(test, s.readings[place]) for place, test in tests.items())
            groups.setdefault(key, []).append(s.row.cause)
    nodes = (_nodes(base, refs) for refs in groups.values())
    return [group for group in nodes if len(group) > 1]


def _nodes(base: Base, refs: Iterable[Ref | None]) -> tuple[Node, ...]:
    """The nodes of references, each once."""
    found = (base.target(ref) for ref in refs if ref)
    return tuple({node.id: node for node in found if node}.values())
