"""What a survey tells about tests and causes: findings met, ranges, sizes from which findings change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kb.circuit.survey import Seen, Survey
from kb.circuit.verdicts import finding_of
from kb.model import Base, Node
from kb.netlist import Change, Circuit, Part, Quantity, Wire
from kb.reference import Ref

TOLERANCE = 0.2  # of parts and wires
SUPPLY = (0.94, 1.15)  # of the battery's stated volts
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
            usual = finding_of(test, healthy.readings[place]) if healthy else None
            size = next(
                (s for s, at in zip(SIZES, steps, strict=True) if finding_of(test, at.readings[place]) != usual), None
            )
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


@dataclass(frozen=True, slots=True)
class Range:
    """The least and the most that a meter shows over tolerance: "range found", not proved."""

    low: float
    high: float


def ranges(circuit: Circuit, changes: tuple[Change, ...] = ()) -> list[Range | None]:
    """The range of each meter's reading over battery 94 to 115 % and parts and wires within 20 %.

    Extremes lie at corners. Start at the corner that the signs at the nominal point tell, take the signs
    there again, and stop when they stay; words have no range.
    """
    names = [*(n for n, p in circuit.parts.items() if _varies(p)), *circuit.wires]
    nominal = _values(circuit, changes, [np.zeros(len(names))], names, 1.0)[0]
    found: list[Range | None] = []
    for place, value in enumerate(nominal):
        if value is None:
            found.append(None)
            continue
        ends = [_corner(circuit, changes, names, place, up) for up in (False, True)]
        found.append(Range(min(ends), max(ends)))
    return found


def _varies(part: Part) -> bool:
    return any(q.unit == "ohm" for q in part.values.values())


def _corner(circuit: Circuit, changes: tuple[Change, ...], names: Sequence[str], place: int, up: bool) -> float:
    way, best = np.zeros(len(names)), None
    for share in SUPPLY:
        way = np.zeros(len(names))
        for _ in range(3):
            steps = [way + 0.05 * np.eye(len(names))[i] for i in range(len(names))]
            read = _values(circuit, changes, [way, *steps], names, share)
            here = read[0][place] or 0.0
            slope = np.array([(r[place] or 0.0) - here for r in read[1:]])
            corner = np.sign(slope) * (TOLERANCE if up else -TOLERANCE)
            if (corner == way).all():
                break
            way = corner
        end = _values(circuit, changes, [way], names, share)[0][place] or 0.0
        best = end if best is None or (end > best if up else end < best) else best
    return float(best or 0.0)


def _values(
    circuit: Circuit, changes: tuple[Change, ...], ways: Sequence[np.ndarray], names: Sequence[str], share: float
) -> list[tuple[float | None, ...]]:
    read = []
    for way in ways:
        bent = bend(circuit, dict(zip(names, 1 + way, strict=True)))
        seen = Survey(bent, share).see([("", changes)])[0]
        read.append(tuple(r.value if r else None for r in seen.readings) or (None,) * len(circuit.readings))
    return read


def bend(circuit: Circuit, factors: Mapping[str, float]) -> Circuit:
    """The circuit with the ohms of parts and wires times a factor."""
    parts = {n: _bent(p, factors.get(n, 1.0)) for n, p in circuit.parts.items()}
    wires = {n: _longer(w, factors.get(n, 1.0)) for n, w in circuit.wires.items()}
    return replace(circuit, parts=parts, wires=wires)


def _bent(part: Part, factor: float) -> Part:
    values = {k: Quantity(q.value * factor, q.unit) if q.unit == "ohm" else q for k, q in part.values.items()}
    return replace(part, values=values)


def _longer(wire: Wire, factor: float) -> Wire:
    return replace(wire, metres=wire.metres * factor) if wire.metres else wire
