"""How far a base's tests bring the faults that a circuit has by itself down to one repair."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from kb.circuit.claims import Held, met_findings, shows_as
from kb.circuit.survey import Seen
from kb.graph import Graph, survivors
from kb.netlist import Change, Circuit

WIRING = frozenset({"connector", "ground", "splice"})


@dataclass(frozen=True, slots=True)
class Together:
    """Faults, in words, that show as a symptom and don't come down to one repair.

    `left` are the causes (ids) that the tests leave of them; none where they look like no cause of it.
    """

    symptom: str
    left: tuple[str, ...]
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Separation:
    """Of a circuit's own faults: how many there are, show as a symptom, come down to one repair."""

    faults: int
    shown: int
    one: int
    together: tuple[Together, ...]


def separation(graph: Graph, held: Held) -> Separation:
    """Follow each fault that a circuit has by itself to where the tests of a base end.

    `graph` is best that of the circuit's vehicle, else tests and causes of others count too. A fault shows as a
    symptom where a `Symptom of` row says so. It goes as the cause goes that has it as a `Fault of`; without one,
    as those of the same kind of part that look the same in every position and meet the same findings. Tests with
    a reading in the circuit leave what its finding leaves; another test parts two causes where no finding leaves
    both. One repair has to mend all that is left, on the page of every symptom that the fault shows as.
    """
    symptoms = [_Symptom(graph, held, s) for s in dict.fromkeys(_shown(graph, held)) if s in graph.base.nodes]
    shown = one = 0
    found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for seen in held.own:
        ends = [(s, s.ends(seen)) for s in symptoms if not seen.state and s.shows(seen)]
        dead = [(s.id, left) for s, left in ends if not s.one_repair(left)]
        shown += bool(ends)
        one += bool(ends) and not dead
        for key in dead:
            found.setdefault(key, []).append(seen.words)
    together = tuple(Together(s, left, tuple(words)) for (s, left), words in found.items())
    return Separation(len(held.own), shown, one, together)


def _shown(graph: Graph, held: Held) -> Iterator[str]:
    for row in held.circuit.symptoms:
        if row.symptom and (found := graph.base.targets.get(row.symptom)):
            yield found


class _Symptom:
    """What the tests leave of one symptom's causes, on one circuit."""

    def __init__(self, graph: Graph, held: Held, symptom: str) -> None:
        self.graph, self.held, self.id = graph, held, symptom
        self.rows = held.symptom_rows(graph.base, symptom)
        self.causes = [c.cause.id for c in graph.causes(symptom)]
        self.kept = {
            test: [survivors(graph.base, row, self.causes) for row in graph.base.nodes[test].findings]
            for test in graph.speaking.get(symptom, ())
        }
        self.read = {test: tuple(held.readings_of(graph.base, test)) for test in self.kept}

    def shows(self, seen: Seen) -> bool:
        """True where a fault shows as this symptom."""
        return any(shows_as(seen, row) for row in self.rows)

    def ends(self, seen: Seen) -> tuple[str, ...]:
        """The causes left of a fault when all tests are done, in the symptom's order; none if it looks like none."""
        findings = met_findings(self.graph.base, self.held, seen)
        met = [
            self.kept[test][row]
            for test, places in self.read.items()
            for p in places
            if (row := findings[p]) is not None
        ]
        possible = [c for c in self.causes if all(c in kept for kept in met)]
        own = self._alike(seen)
        return tuple(c for c in self.causes if c in own or c in possible and any(not self._parted(c, o) for o in own))

    def one_repair(self, left: Sequence[str]) -> bool:
        """True where one repair mends all that is left."""
        repairs = [frozenset(repair.id for repair in self.graph.repairs(cause)) for cause in left]
        return bool(left) and bool(frozenset.intersection(*repairs))

    def _parted(self, cause: str, other: str) -> bool:
        """True where a test without a reading here has no finding that leaves both, and leaves each in some."""
        return any(self._parts(kept, cause, other) for test, kept in self.kept.items() if not self.read[test])

    def _parts(self, kept: Sequence[frozenset[str]], cause: str, other: str) -> bool:
        ours, theirs = [k for k in kept if cause in k], [k for k in kept if other in k]
        return bool(ours) and bool(theirs) and not any(other in k for k in ours)

    def _alike(self, seen: Seen) -> frozenset[str]:
        """The causes that have this fault, or else faults of the same kind of part that look the same."""
        exact = frozenset(c for c, variants in self._named.items() if any(v.changes == seen.changes for v in variants))
        if exact:
            return exact
        look = self._look(seen)
        same = {c: [v for v in variants if self._look(v) == look] for c, variants in self._named.items()}
        kind = _kinds(self.held.circuit, seen.changes)
        near = frozenset(c for c, vs in same.items() if any(_kinds(self.held.circuit, v.changes) == kind for v in vs))
        return near or frozenset(c for c, variants in same.items() if variants)

    @cached_property
    def _named(self) -> Mapping[str, list[Seen]]:
        return {c: [variant[0] for variant in self.held.of_cause(self.graph.base, c)] for c in self.causes}

    def _look(self, seen: Seen) -> tuple[object, ...]:
        return seen.pattern, met_findings(self.graph.base, self.held, seen)


def _kinds(circuit: Circuit, changes: Sequence[Change]) -> frozenset[str]:
    """The kinds of the parts that something is wrong with; wires, plugs, splices and grounds are one."""
    names = (change.what if isinstance(change.what, str) else change.what.part for change in changes)
    kinds = (circuit.parts[name].kind if name in circuit.parts else "wire" for name in names)
    return frozenset("wire" if kind in WIRING else kind for kind in kinds)
