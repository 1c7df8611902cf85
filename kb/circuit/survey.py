"""A circuit surveyed: every fault in every position, as one finds the vehicle, with every stated reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kb.circuit.verdicts import Healthy, Load, Reader, Reading, load, loads_of
from kb.circuit.worlds import Answer, Bench, Known, World
from kb.netlist import Change, Circuit, FaultRow, ReadingRow


@dataclass(frozen=True, slots=True)
class Seen:
    """One fault (no changes: the healthy circuit) in all positions.

    `loads` and `fuses` are by position, then name; `readings` follow the circuit's `Reading of` rows.
    `state` is `` or why there is nothing to see: `shorted` (no fuse before it), `unsettled`.
    """

    words: str
    changes: tuple[Change, ...]
    row: FaultRow | None
    loads: Mapping[str, Mapping[str, Load]]
    fuses: Mapping[str, Mapping[str, str]]
    readings: tuple[Reading | None, ...]
    state: str

    @property
    def pattern(self) -> tuple[object, ...]:
        """What a person without a meter sees: verdicts and directions of all loads, and blown fuses."""
        seen = tuple((p, n, v.verdict, v.direction) for p, loads in self.loads.items() for n, v in loads.items())
        blown = tuple((p, n) for p, fuses in self.fuses.items() for n, word in fuses.items() if word == "blown")
        return (seen, blown)


class Survey:
    """All that a circuit shows with its sources at `share` of their stated volts."""

    def __init__(self, circuit: Circuit, share: float = 1.0) -> None:
        self.circuit, self.share = circuit, share
        self.bench = Bench(circuit, share)
        self.healthy = Healthy(self.bench)
        self.reader = Reader(self.bench, self.healthy)
        self.loads = loads_of(circuit)

    def faults(self) -> list[Seen]:
        """The healthy circuit, then each `Fault of` row."""
        rows = self.circuit.faults
        return self.see([("", ())] + [(row.words, row.changes) for row in rows], [None, *rows])

    def see(
        self,
        faults: Sequence[tuple[str, tuple[Change, ...]]],
        rows: Sequence[FaultRow | None] = (),
        readings: bool = True,
    ) -> list[Seen]:
        """Each fault in all positions and readings; a fuse that it blows anywhere is out everywhere."""
        known: Known = {}
        blown, states = self._arrival(faults, known)
        positions = list(self.circuit.positions.values())
        worlds = [
            World(p, changes, (), out) for (_, changes), out in zip(faults, blown, strict=True) for p in positions
        ]
        answers = self.bench.solve(worlds, known)
        read = self._readings(faults, blown, known) if readings else [()] * len(faults)
        size = len(positions)
        return [
            self._seen(fault, row, answers[i * size : (i + 1) * size], state, read[i])
            for i, (fault, row, state) in enumerate(zip(faults, [*rows, *[None] * len(faults)], states, strict=False))
        ]

    def _arrival(
        self, faults: Sequence[tuple[str, tuple[Change, ...]]], known: Known
    ) -> tuple[list[frozenset[str]], list[str]]:
        """The fuses that each fault blew before anybody came, and what it left without an answer."""
        positions = list(self.circuit.positions.values())
        answers = self.bench.solve([World(p, changes) for _, changes in faults for p in positions], known)
        fuses = {p.name for p in self.bench.fuses}
        blown, states = [], []
        for i in range(len(faults)):
            mine = answers[i * len(positions) : (i + 1) * len(positions)]
            blown.append(frozenset(name for answer in mine for name in answer.blown if name in fuses))
            states.append(next((a.state for a in mine if a.state), ""))
        return blown, states

    def _readings(
        self, faults: Sequence[tuple[str, tuple[Change, ...]]], blown: Sequence[frozenset[str]], known: Known
    ) -> list[tuple[Reading | None, ...]]:
        rows = [row for row in self.circuit.readings if readable(row)]
        worlds = [
            World(self.circuit.positions[row.position], changes, (), out)
            for (_, changes), out in zip(faults, blown, strict=True)
            for row in rows
        ]
        read = self.reader.read(rows * len(faults), worlds, known)
        return [self._placed(rows, read[i * len(rows) : (i + 1) * len(rows)]) for i in range(len(faults))]

    def _placed(self, rows: Sequence[ReadingRow], read: Sequence[Reading | None]) -> tuple[Reading | None, ...]:
        by_row = dict(zip(map(id, rows), read, strict=True))
        return tuple(by_row.get(id(row)) for row in self.circuit.readings)

    def _seen(
        self,
        fault: tuple[str, tuple[Change, ...]],
        row: FaultRow | None,
        answers: Sequence[Answer],
        state: str,
        readings: tuple[Reading | None, ...],
    ) -> Seen:
        loads: dict[str, Mapping[str, Load]] = {}
        fuses: dict[str, Mapping[str, str]] = {}
        for position, answer in zip(self.circuit.positions, answers, strict=True):
            loads[position] = {} if state else {
                name: load(part, answer, self.healthy, position) for name, part in self.loads.items()
            }  # fmt: skip
            fuses[position] = {p.name: self._fuse(p.name, answer, fault[1]) for p in self.bench.fuses}
        return Seen(fault[0], fault[1], row, loads, fuses, () if state else readings, state)

    def _fuse(self, name: str, answer: Answer, changes: Iterable[Change]) -> str:
        if name in answer.blown or any(c.how == "blown" and c.what == name for c in changes):
            return "blown"
        return "may blow" if name in answer.strained else "whole"


def readable(row: ReadingRow) -> bool:
    """True for a row whose leads stand on something."""
    return row.red is not None and (row.instrument in ("clamp", "eye") or row.black is not None)


def shows(loads: Mapping[str, Load], wanted: Iterable[tuple[str, str]]) -> bool:
    """True where each load does what is wanted of it: a verdict, or a direction at any speed."""
    return all(name in loads and word in (loads[name].verdict, loads[name].direction) for name, word in wanted)
