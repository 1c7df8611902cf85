"""Worlds: a circuit in a position, with a fault, perhaps an instrument; solved until relays and fuses rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace


from kb.circuit import curves
from kb.circuit.batch import Floats, Ints, Solved, solve
from kb.circuit.curves import OPEN, Curve
from kb.circuit.faults import SPARE, Draft
from kb.circuit.net import Net, compile_net
from kb.netlist import Change, Circuit, Position

_ROUNDS = 12
_CHUNK = 2000


@dataclass(frozen=True)
class World:
    """What is to be solved. `blown` are fuses and outputs that are out already; `probe` is an instrument:
    two nodes and a curve; `dead` takes all sources out, as for an ohmmeter.
    """

    position: Position
    changes: tuple[Change, ...] = ()
    unplugged: tuple[str, ...] = ()
    blown: frozenset[str] = frozenset()
    probe: tuple[int, int, Curve] | None = None
    dead: bool = False


@dataclass(frozen=True)
class Answer:
    """A solved world. `amps` and `across` are by element; the probe's are `probe_amps`, `probe_volts`.

    `blown` are the fuses and outputs that went out, `strained` fuses above 1.35 times their rating.
    `state` is `` or what kept it from an answer: `unsettled`, `shorted`.
    """

    net: Net
    volts: Floats
    island: Ints
    across: Floats
    amps: Floats
    probe_volts: float
    probe_amps: float
    blown: frozenset[str]
    strained: frozenset[str]
    pulled: frozenset[str]
    state: str

    def current(self, name: str) -> float:
        """The current through a wire or a part's first element, in A; a plug's or switch's is its largest."""
        places = [i for i, e in enumerate(self.net.elements) if e.key[0] == name]
        found = [float(self.amps[i]) for i in places]
        return max(found, key=abs, default=0.0)

    def voltage(self, name: str) -> float:
        """The voltage from a part's first pin to its second, in V."""
        return float(self.across[self.net.index[(name,)]])

    def same_island(self, a: int, b: int) -> bool:
        """True where a voltage between two nodes is defined."""
        return bool(self.island[a] == self.island[b])


@dataclass
class _State:
    """What has come to rest so far in one world."""

    world: World
    blown: frozenset[str]
    pulled: frozenset[str] = frozenset()
    done: bool = False
    unsettled: bool = False
    seen: set[frozenset[str]] = field(default_factory=set)


class Bench:
    """A circuit ready to be solved, its sources at `share` of their stated volts."""

    def __init__(self, circuit: Circuit, share: float = 1.0) -> None:
        self.circuit, self.share = circuit, share
        self.net = compile_net(circuit, share)
        self.wide = replace(self.net, count=self.net.count + SPARE)
        self.fuses = [p for p in circuit.parts.values() if p.kind == "fuse"]
        self.outputs = [p for p in circuit.parts.values() if p.kind == "output"]
        self.relays = [p for p in circuit.parts.values() if p.kind == "relay"]
        self.batteries = [p for p in circuit.parts.values() if p.kind == "battery"]

    def solve(self, worlds: Sequence[World]) -> list[Answer]:
        """Solve worlds, some thousands at a time, until relays rest and no further fuse blows."""
        answers: list[Answer] = []
        for start in range(0, len(worlds), _CHUNK):
            answers.extend(self._chunk(worlds[start : start + _CHUNK]))
        return answers

    def _chunk(self, worlds: Sequence[World]) -> list[Answer]:
        states = [_State(world, world.blown) for world in worlds]
        answers: list[Answer | None] = [None] * len(states)
        for turn in range(_ROUNDS):
            open_ = [i for i, state in enumerate(states) if not state.done]
            if not open_:
                break
            solved = solve(self.wide, [self._draft(states[i]).variant() for i in open_])
            for row, i in enumerate(open_):
                self._rest(states[i], solved, row, last=turn == _ROUNDS - 1)
                answers[i] = self._answer(states[i], solved, row)
        return [a for a in answers if a is not None]

    def _draft(self, state: _State) -> Draft:
        draft, world = Draft(self.net, self.share), state.world
        draft.position(world.position)
        for change in world.changes:
            draft.change(change)
        for relay in self.relays:
            draft.relay(relay, relay.name in state.pulled)
        for connector in world.unplugged:
            draft.unplug(connector)
        for name in state.blown:
            draft.set((name,), OPEN)
        if world.dead:
            self._dead(draft)
        if world.probe:
            draft.extra.insert(0, world.probe)
        return draft

    def _dead(self, draft: Draft) -> None:
        """Take out what drives current by itself."""
        for place in range(len(self.net.elements)):
            if any(draft.curve(place).offsets) and len(draft.curve(place).ends) == 1:
                draft.curves[place] = OPEN

    def _rest(self, state: _State, solved: Solved, row: int, last: bool) -> None:
        if not solved.settled[row]:
            state.done = state.unsettled = True
            return
        blown = state.blown | {p.name for p in self.fuses if self._amps(solved, row, p.name) > curves.BLOWS * p.values["amps"].value}
        blown |= {p.name for p in self.outputs if self._amps(solved, row, p.name) > p.values["limit"].value}
        pulled = frozenset(p.name for p in self.relays if self._pulls(solved, row, p.name, state.pulled))
        if blown == state.blown and pulled == state.pulled:
            state.done = True
        elif last or (blown == state.blown and pulled in state.seen):
            state.done = state.unsettled = True
        state.seen.add(state.pulled)
        state.blown, state.pulled = blown, pulled

    def _amps(self, solved: Solved, row: int, name: str) -> float:
        return abs(float(solved.amps[row, self.net.index[(name,)]]))

    def _pulls(self, solved: Solved, row: int, name: str, pulled: frozenset[str]) -> bool:
        volts = abs(float(solved.across[row, self.net.index[(name, "coil")]]))
        values = self.circuit.parts[name].values
        return volts >= (values["drops"] if name in pulled else values["pulls"]).value

    def _answer(self, state: _State, solved: Solved, row: int) -> Answer:
        size = len(self.net.elements)
        amps = solved.amps[row, :size]
        strained = frozenset(
            p.name for p in self.fuses
            if p.name not in state.blown and self._amps(solved, row, p.name) > curves.MAY_BLOW * p.values["amps"].value
        )  # fmt: skip
        probe = state.world.probe is not None
        condition = "unsettled" if state.unsettled else "shorted" if self._shorted(state, solved, row) else ""
        return Answer(
            self.net, solved.volts[row], solved.island[row], solved.across[row, :size], amps,
            float(solved.across[row, size]) if probe else 0.0, float(solved.amps[row, size]) if probe else 0.0,
            state.blown, strained, state.pulled, condition)  # fmt: skip

    def _shorted(self, state: _State, solved: Solved, row: int) -> bool:
        if state.world.dead:
            return False
        return any(
            abs(float(solved.across[row, self.net.index[(p.name,)]])) < curves.SHORTED * p.values["volts"].value * self.share
            for p in self.batteries
        )


def live(bench: Bench, answer: Answer, node: int) -> bool:
    """True where a node hangs together with a source, so that an ohmmeter must not be put there."""
    for element in bench.net.elements:
        drives = len(element.curve.ends) == 1 and element.curve.offsets[0] != 0
        if drives and answer.island[element.a] == answer.island[node] and answer.island[node] == answer.island[element.b]:
            return True
    return False


def speed(volts: float, winding: float, runs: float) -> float:
    """How far a motor's voltage lies above the one at which it begins to turn; below 0 it stands."""
    return abs(volts) - runs * winding
