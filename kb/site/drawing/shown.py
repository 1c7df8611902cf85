"""What a circuit shows in each position under each fault, as numbers for the drawing and as words.

Everything is solved when the site is written: the page only looks up what the checks' own solver found, so
there is no second solver to keep in step with the first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kb.circuit.claims import Held
from kb.circuit.net import GROUND
from kb.circuit.survey import Seen, Survey
from kb.circuit.verdicts import IDLE, Load
from kb.circuit.worlds import Answer, World
from kb.netlist import Circuit, Part
from kb.site.drawing.inside import pairs
from kb.site.drawing.plan import Plan
from kb.site.drawing.ranks import ends

Value = int | None

# How the first word of a state is drawn.
_LEVELS = {
    "moves": "on", "bright": "on", "hot": "on", "dimmed": "on", "pulled": "on", "high": "on",
    "slow": "half", "dim": "half", "warm": "half", "tinted": "half", "may": "half",
    "still": "off", "dark": "off", "cold": "off", "clear": "off", "blown": "blown",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Picture:
    """One position under one fault.

    `amps` in mA by wire, from its start to its end; `volts` in 10 mV against ground at its start and its end
    (None: no defined voltage); `contacts` in mA by contact, None where it stands open; `states` a word by
    part, empty where there is nothing to say; `load_amps` in mA by load.
    """

    amps: Mapping[str, int]
    volts: Mapping[str, tuple[Value, Value]]
    contacts: Mapping[tuple[str, ...], Value]
    states: Mapping[str, str]
    load_amps: Mapping[str, int]


class Shown:
    """A sound circuit's pictures: the healthy one first, then each `Fault of` row.

    The survey at the battery's stated volts is taken from `held`; without it, it is made here.
    """

    def __init__(self, circuit: Circuit, held: Held | None = None) -> None:
        self.circuit = circuit
        self.survey = held.surveys[0] if held else Survey(circuit)
        self.seen: Sequence[Seen] = held.seen[0] if held else self.survey.faults()
        self.positions = tuple(circuit.positions)
        self.keys = tuple(_keys(circuit))
        worlds = [World(p, s.changes, (), _blown(s)) for s in self.seen for p in circuit.positions.values()]
        answers = self.survey.bench.solve(worlds)
        size = len(self.positions)
        self.pictures = tuple(
            tuple(self._picture(seen, name, a) for name, a in zip(self.positions, found, strict=True))
            if not seen.state else ()
            for seen, found in ((s, answers[i * size : (i + 1) * size]) for i, s in enumerate(self.seen))
        )  # fmt: skip

    @property
    def first(self) -> int:
        """The first position in which the healthy circuit does something, else the first."""
        working = (i for i, p in enumerate(self.positions) if any(
            works(load.verdict) for load in self.seen[0].loads[p].values()))  # fmt: skip
        return next(working, 0)

    def _picture(self, seen: Seen, position: str, answer: Answer) -> Picture:
        loads = seen.loads[position]
        amps = {name: milli(answer.current(name)) for name in self.circuit.wires}
        volts = {name: self._volts(answer, name) for name in self.circuit.wires}
        return Picture(
            amps,
            volts,
            {key: self._contact(seen, position, answer, key) for key in self.keys},
            {name: self._state(part, seen, position, answer, loads) for name, part in self.circuit.parts.items()},
            {name: milli(load.amps) for name, load in loads.items()},
        )

    def _volts(self, answer: Answer, name: str) -> tuple[Value, Value]:
        nodes = [answer.net.node(t) for t in ends(self.circuit, self.circuit.wires[name])]
        found = [round(float(answer.volts[n]) * 100) if answer.same_island(n, GROUND) else None for n in nodes]
        return found[0], found[1]

    def _contact(self, seen: Seen, position: str, answer: Answer, key: tuple[str, ...]) -> Value:
        amps = answer.amps[answer.net.index[key]]
        return milli(float(amps)) if self._closed(seen, position, answer, key) else None

    def _closed(self, seen: Seen, position: str, answer: Answer, key: tuple[str, ...]) -> bool:
        part, pair = self.circuit.parts[key[0]], set(key[1:])
        # A contact of some ohms still opens and closes.
        changed = [c.how for c in seen.changes if c.what == part.name and c.contact and set(c.contact) == pair]
        stuck = [how for how in changed if how != "ohms"]
        if stuck:
            return stuck[-1] == "welded"
        if part.kind == "relay" and len(pair) == 2:
            return (part.pins[3] in pair) == (part.name in answer.pulled)
        joins = self.circuit.positions[position].joins.get(part.name, ())
        return part.kind not in ("switch", "limit switch") or any(set(join) == pair for join in joins)

    def _state(self, part: Part, seen: Seen, position: str, answer: Answer, loads: Mapping[str, Load]) -> str:
        if part.name in loads:
            return word(loads[part.name])
        if part.kind == "fuse":
            found = seen.fuses[position][part.name]
            return "" if found == "whole" else found
        if part.kind == "relay":
            return "pulled in" if part.name in answer.pulled else ""
        if part.kind == "output":
            return self.circuit.positions[position].drives.get(part.name) or "at rest"
        return ""


def _keys(circuit: Circuit) -> list[tuple[str, ...]]:
    return [key for item in Plan(circuit).items.values() for key, _, _, _ in pairs(circuit, item)]


def _blown(seen: Seen) -> frozenset[str]:
    """The fuses that are out on arrival, in every position."""
    return frozenset(name for fuses in seen.fuses.values() for name, found in fuses.items() if found == "blown")


def milli(amps: float) -> int:
    """Amperes in mA; less than one counts as none."""
    return round(amps * 1000)


def word(load: Load) -> str:
    """What a load does, with a motor's direction."""
    return f"{load.verdict} {load.direction}".strip()


def works(verdict: str) -> bool:
    """True for what moves, glows or heats at all."""
    return verdict.split()[0] not in IDLE


def level(state: str) -> str:
    """How a state is drawn: `on`, `half`, `off`, `blown`, or nothing."""
    first = state.split()[0] if state else ""
    return _LEVELS.get(first, "")


def told(circuit: Circuit, picture: Picture) -> str:
    """What all loads, fuses, relays and outputs do, what works first; nothing left out."""
    said = [
        f"{name} {state}, {amperes(picture.load_amps[name])}"
        for name, state in picture.states.items()
        if name in picture.load_amps and works(state)
    ]
    resting: dict[str, list[str]] = {}
    for name, state in picture.states.items():
        if name in picture.load_amps and not works(state):
            resting.setdefault(state, []).append(name)
    said += [f"{', '.join(names)} {state}" for state, names in resting.items()]
    fuses: dict[str, list[str]] = {}
    for name, state in picture.states.items():
        kind = circuit.parts[name].kind
        if kind == "output":
            said.append(f"{name} {state}: stated (not solved)")
        elif kind == "relay":
            said.append(f"{name} {state or 'at rest'}")
        elif kind == "fuse":
            fuses.setdefault(state or "whole", []).append(name)
    said += [f"{', '.join(names)} {state}" for state, names in fuses.items()]
    return "; ".join(said) + "."


def amperes(milliamperes: int) -> str:
    """A current in A, or in mA where it is small."""
    size = abs(milliamperes)
    if size < 100:
        return f"{size} mA" if size else "0 A"
    step, digits = (10, 2) if size < 10000 else (100, 1)
    whole, rest = divmod((size + step // 2) // step, 1000 // step)
    return f"{whole}.{rest:0{digits}} A"


def volts(hundredths: Value) -> str:
    """A voltage against ground as a plate shows it."""
    if hundredths is None:
        return "floating"
    size = abs(hundredths)
    tenths = (size + 5) // 10
    whole = f"{size // 100}.{size % 100:02}" if size < 100 else f"{tenths // 10}.{tenths % 10}"
    return f"{'-' if hundredths < 0 else ''}{whole} V"
