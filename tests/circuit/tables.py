"""Circuits for tests: written as the tables of a page, read as any page is, and looked at."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from kb.circuit.net import compile_net
from kb.circuit.own import own_faults
from kb.circuit.survey import Seen, Survey
from kb.circuit.verdicts import Load, Reading
from kb.circuit.worlds import Answer, Bench, World
from kb.netlist import Change, Circuit, Terminal
from tests.bases import base, told

HEADS = {
    "parts": "Part | Kind | Pins | Values",
    "wires": "Wire | From | To | mm2 | Length | Bundle",
    "faults": "Fault of | What is wrong",
    "readings": "Reading of | Position | Unplugged | Instrument | Red lead | Black lead",
}
STILL = "Position\non"


def table(head: str, rows: list[str]) -> str:
    """A Markdown table; rows that are too short are filled."""
    width = head.count("|") + 1
    full = [row + " |" * (width - 1 - row.count("|")) for row in rows]
    return "\n".join(f"| {line} |" for line in (head, "|".join(["---"] * width), *full)) + "\n"


def lines(text: str) -> list[str]:
    """The lines of a text that hold something."""
    return [line.strip() for line in text.splitlines() if line.strip()]


def drawn(
    parts: str, wires: str, positions: str = STILL, faults: tuple[str, ...] = (), readings: tuple[str, ...] = ()
) -> Circuit:
    """The circuit of these tables. `readings` are rows without the test's name, which is T0, T1 ..."""
    head, *states = lines(positions)
    named = [f"[T{i}] | {row}" for i, row in enumerate(readings)]
    page = "\n".join((
        "# Circuit: K\n", table(HEADS["parts"], lines(parts)), table(HEADS["wires"], lines(wires)),
        table(head, states), table(HEADS["faults"], [f"[C] | {words}" for words in faults]) if faults else "",
        table(HEADS["readings"], named) if named else "", "# Cause: C\n", *(f"# Test: T{i}\n" for i in range(len(named))),
    ))  # fmt: skip
    read = base(page)
    circuit = read.circuits["page.md#circuit-k"]
    assert circuit.sound, told(read)
    return circuit


def short(*pairs: str) -> str:
    """Wires of 10 micro-ohm, the least there is: `B1.+ R1.a` is one from `B1.+` to `R1.a`."""
    return "\n".join(f"W{i} | {' | '.join(pair.split())} | 25 | 1 mm" for i, pair in enumerate(pairs, 1))


@dataclass
class Case:
    """A circuit under faults in the words of a page; no words: healthy."""

    parts: str
    wires: str
    positions: str = STILL
    readings: tuple[str, ...] = ()
    share: float = 1.0
    seen: dict[str, Seen] = field(default_factory=dict)

    def circuit(self, *faults: str) -> Circuit:
        """The circuit with rows of faults."""
        return drawn(self.parts, self.wires, self.positions, faults, self.readings)

    @cached_property
    def survey(self) -> Survey:
        """The healthy circuit's survey."""
        return Survey(self.circuit(), self.share)

    def changes(self, words: str) -> tuple[Change, ...]:
        """What words of a page change; words of a fault that a part has by itself too."""
        own = dict(own_faults(compile_net(self.circuit())))
        return own[words] if words in own else self.circuit(words).faults[0].changes

    def see(self, words: str = "") -> Seen:
        """All that a fault shows."""
        if words not in self.seen:
            survey = Survey(self.circuit(words), self.share) if words and not self.own(words) else self.survey
            self.seen[words] = survey.see([(words, self.changes(words) if words else ())])[0]
        return self.seen[words]

    def own(self, words: str) -> bool:
        """True for a fault that a part has by itself."""
        return words in dict(own_faults(self.survey.bench.net))

    def load(self, name: str, position: str = "on", words: str = "") -> Load:
        """What a load does."""
        return self.see(words).loads[position][name]

    def does(self, name: str, position: str = "on", words: str = "") -> str:
        """A load's verdict; a motor that moves tells its direction instead."""
        load = self.load(name, position, words)
        return load.direction if load.verdict == "moves" else load.verdict

    def fuse(self, name: str, position: str = "on", words: str = "") -> str:
        """What a fuse looks like."""
        return self.see(words).fuses[position][name]

    def read(self, place: int = 0, words: str = "") -> Reading:
        """What the instrument of a reading row shows."""
        reading = self.see(words).readings[place]
        assert reading is not None
        return reading

    def answer(self, position: str = "on", words: str = "") -> Answer:
        """The solved circuit, before anybody looks at it."""
        circuit = self.circuit(words) if words else self.circuit()
        changes = circuit.faults[0].changes if words else ()
        return Bench(circuit, self.share).solve([World(circuit.positions[position], changes)])[0]


def volts(answer: Answer, terminal: str) -> float:
    """The voltage of `part.pin` or `part.pin side` to the chassis."""
    return float(answer.volts[answer.net.node(at(terminal))])


def at(text: str) -> Terminal:
    """A terminal from its words."""
    part, _, rest = text.partition(".")
    pin, _, side = rest.partition(" ")
    return Terminal(part, pin, side)
