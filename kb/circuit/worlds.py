"""Worlds: a circuit in a position, with a fault, perhaps an instrument; solved until relays and fuses rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from kb.circuit import curves
from kb.circuit.batch import Floats, Ints, Solved, Variant, solve
from kb.circuit.curves import OPEN, Curve
from kb.circuit.faults import Draft
from kb.circuit.net import Net, compile_net
from kb.circuit.tolerances import Lot, Tolerances
from kb.netlist import Change, Circuit, Position

_ROUNDS = 12
_NUMBERS = 1_000_000  # in the matrices that are solved at once
_ALIKE = 1 - 1e-9  # fuses so near to the most overloaded one blow together


@dataclass(frozen=True)
class World:
    """What is to be solved. `blown` are fuses and outputs that are out already; `probe` is an instrument:
    two nodes and a curve; `dead` takes all sources out, as for an ohmmeter. `lot` says at which end of its
    tolerance each value lies; `asked` is the part or wire (empty: the probe) whose leaning on them is wanted.
    """

    position: Position
    changes: tuple[Change, ...] = ()
    unplugged: tuple[str, ...] = ()
    blown: frozenset[str] = frozenset()
    probe: tuple[int, int, Curve] | None = None
    dead: bool = False
    lot: Lot = b""
    asked: str | None = None

    @property
    def key(self) -> tuple[object, ...]:
        """What tells this world from all others of its circuit."""
        return (
            self.position.name,
            self.changes,
            self.unplugged,
            self.blown,
            self.probe,
            self.dead,
            self.lot,
            self.asked,
        )


@dataclass(frozen=True)
class Answer:
    """A solved world. `amps` and `across` are by element; the probe's are `probe_amps`, `probe_volts`.

    `blown` are the fuses and outputs that went out, `strained` fuses above 1.35 times their rating.
    `state` is `` or what kept it from an answer: `unsettled`, `shorted`; `driving` the elements that are sources.
    `leaning` is how volts and amperes of what was asked about go with the logarithm of each varied value.
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
    driving: tuple[int, ...]
    leaning: tuple[Floats, Floats] | None = None

    def current(self, name: str) -> float:
        """The current through a wire or a part's first element, in A; a plug's or switch's is its largest."""
        return max((float(self.amps[i]) for i in self.net.places.get(name, ())), key=abs, default=0.0)

    def voltage(self, name: str) -> float:
        """The voltage from a part's first pin to its second, in V."""
        return float(self.across[self.net.index[(name,)]])

    def same_island(self, a: int, b: int) -> bool:
        """True where a voltage between two nodes is defined."""
        return bool(self.island[a] == self.island[b])


Known = dict[tuple[object, ...], Answer]


@dataclass
class _State:
    """What has come to rest so far in one world; `times` is each fuse's current over its rating."""

    world: World
    blown: frozenset[str]
    pulled: frozenset[str] = frozenset()
    done: bool = False
    unsettled: bool = False
    seen: set[frozenset[str]] = field(default_factory=set)
    times: list[float] = field(default_factory=list)


class Bench:
    """A circuit ready to be solved, its sources at `share` of their stated volts."""

    def __init__(self, circuit: Circuit, share: float = 1.0) -> None:
        self.circuit, self.share = circuit, share
        self.net = compile_net(circuit, share)
        self.fuses = [p for p in circuit.parts.values() if p.kind == "fuse"]
        self.outputs = [p for p in circuit.parts.values() if p.kind == "output"]
        self.relays = [p for p in circuit.parts.values() if p.kind == "relay"]
        self.batteries = [p for p in circuit.parts.values() if p.kind == "battery"]
        driving = (p.name for p in circuit.parts.values() if p.kind in ("battery", "output", "input"))
        self.sources = [self.net.index[(name,)] for name in driving]
        self.fuse_places = [self.net.index[(p.name,)] for p in self.fuses]
        self.fuse_amps = np.array([p.values["amps"].value for p in self.fuses])
        self.positions: dict[str, tuple[Mapping[int, Curve], frozenset[int]]] = {}
        self.tolerances = Tolerances(self.net)

    def solve(self, worlds: Sequence[World], known: Known | None = None) -> list[Answer]:
        """Solve worlds, some hundreds at a time, until relays rest and no further fuse blows.

        `known` are answers at hand; those that are new are put there.
        """
        known = {} if known is None else known
        new = {key: world for world in worlds if (key := world.key) not in known}
        keys, size = list(new), max(_NUMBERS // self.net.count**2, 1)
        for start in range(0, len(keys), size):
            some = keys[start : start + size]
            known.update(zip(some, self._chunk([new[key] for key in some]), strict=True))
        return [known[world.key] for world in worlds]

    def _chunk(self, worlds: Sequence[World]) -> list[Answer]:
        states = [_State(world, world.blown) for world in worlds]
        answers: dict[int, Answer] = {}
        for turn in range(_ROUNDS):
            open_ = [i for i, state in enumerate(states) if not state.done]
            if not open_:
                break
            drafts = [self._draft(states[i]) for i in open_]
            solved = self._solve(drafts, [states[i].world for i in open_])
            times = (np.abs(solved.amps[:, self.fuse_places]) / self.fuse_amps).tolist()
            for row, i in enumerate(open_):
                states[i].times = times[row]
                self._rest(states[i], solved, row, last=turn == _ROUNDS - 1)
                if states[i].done:
                    answers[i] = self._answer(states[i], drafts[row], solved, row)
        return [answers[i] for i in range(len(states))]

    def _solve(self, drafts: Sequence[Draft], worlds: Sequence[World]) -> Solved:
        spare = max((draft.spare for draft in drafts), default=0)
        variants = [self._variant(draft, world) for draft, world in zip(drafts, worlds, strict=True)]
        return solve(replace(self.net, count=self.net.count + spare), variants)

    def _variant(self, draft: Draft, world: World) -> Variant:
        variant = draft.variant()
        if world.lot:
            variant = replace(variant, stretch=self.tolerances.stretch(world.lot, draft.aside()))
        if world.asked is not None:
            variant = replace(variant, asked=self.net.places[world.asked] if world.asked else (len(self.net.elements),))
        return variant

    def _draft(self, state: _State) -> Draft:
        world = state.world
        placed, following = self._position(world.position)
        draft = Draft(self.net, self.share, dict(placed), following=set(following))
        if world.probe:
            draft.extra.append(world.probe)
        draft.put(world.changes)
        for relay in self.relays:
            draft.relay(relay, relay.name in state.pulled)
        for connector in world.unplugged:
            draft.unplug(connector)
        for name in state.blown:
            draft.set((name,), OPEN)
        if world.dead:
            self._dead(draft)
        return draft

    def _position(self, position: Position) -> tuple[Mapping[int, Curve], frozenset[int]]:
        """The curves of a position and the outputs that it drives high, put together once."""
        if position.name not in self.positions:
            draft = Draft(self.net, self.share)
            draft.position(position)
            self.positions[position.name] = draft.curves, frozenset(draft.following)
        return self.positions[position.name]

    def _dead(self, draft: Draft) -> None:
        """Take out what drives current by itself."""
        for place in self._driving(draft):
            draft.curves[place] = OPEN

    def _driving(self, draft: Draft) -> tuple[int, ...]:
        """The elements that drive current by themselves: batteries, outputs and inputs with volts behind them."""
        return tuple(place for place in self.sources if any(draft.curve(place).offsets))

    def _rest(self, state: _State, solved: Solved, row: int, last: bool) -> None:
        if not solved.settled[row]:
            state.done = state.unsettled = True
            return
        out = self._goes_out(state, solved, row)
        pulled = frozenset(p.name for p in self.relays if self._pulls(solved, row, p.name, state.pulled))
        if not out and pulled == state.pulled:
            state.done = True
        elif last or (not out and pulled in state.seen):
            state.done = state.unsettled = True
        state.seen = set() if out else state.seen | {state.pulled}  # a blown fuse makes a new circuit
        state.blown, state.pulled = state.blown | out, pulled

    def _goes_out(self, state: _State, solved: Solved, row: int) -> frozenset[str]:
        """Outputs above their limit, which act at once; else the fuse that blows first: the most overloaded."""
        out = frozenset(p.name for p in self.outputs if self._amps(solved, row, p.name) > p.values["limit"].value)
        if out - state.blown:
            return out - state.blown
        most = max(state.times, default=0.0)
        return self._fuses_above(max(curves.BLOWS, most * _ALIKE), state) if most > curves.BLOWS else frozenset()

    def _fuses_above(self, limit: float, state: _State) -> frozenset[str]:
        return frozenset(p.name for p, times in zip(self.fuses, state.times, strict=True) if times > limit)

    def _amps(self, solved: Solved, row: int, name: str) -> float:
        return abs(float(solved.amps[row, self.net.index[(name,)]]))

    def _pulls(self, solved: Solved, row: int, name: str, pulled: frozenset[str]) -> bool:
        values, place = self.circuit.parts[name].values, self.net.index[(name, "coil")]
        closed = solved.slopes[row, place] > 0  # an open coil pulls nothing
        volts = abs(float(solved.across[row, place])) if closed else 0.0
        return volts >= (values["drops"] if name in pulled else values["pulls"]).value

    def _answer(self, state: _State, draft: Draft, solved: Solved, row: int) -> Answer:
        size = len(self.net.elements)
        strained = self._fuses_above(curves.MAY_BLOW, state)
        probe = state.world.probe is not None
        shorted = self._shorted(state.world.lot, draft, solved, row)
        condition = "unsettled" if state.unsettled else "shorted" if shorted else ""
        return Answer(
            self.net,
            solved.volts[row],
            solved.island[row],
            solved.across[row, :size],
            solved.amps[row, :size],
            float(solved.across[row, size]) if probe else 0.0,
            float(solved.amps[row, size]) if probe else 0.0,
            state.blown,
            strained,
            state.pulled,
            condition,
            self._driving(draft),
            self._leaning(draft, solved, row),
        )

    def _leaning(self, draft: Draft, solved: Solved, row: int) -> tuple[Floats, Floats] | None:
        """By Tellegen: what any element draws more, times the voltage that an ampere through the asked one gives it."""
        place = int(solved.about[row])
        if place < 0:
            return None
        amps, aside, lean = solved.amps[row], draft.aside(), solved.lean[row]
        linear = solved.slopes[row] * solved.across[row]
        volts = -self.tolerances.drawn(lean * amps, lean * linear, aside)
        alone = np.arange(len(amps)) == place
        return volts, solved.slopes[row, place] * volts + self.tolerances.drawn(alone * amps, alone * linear, aside)

    def _shorted(self, lot: Lot, draft: Draft, solved: Solved, row: int) -> bool:
        """True where a battery is pulled down, or feeds its other pole over copper without a fuse."""
        feed = float(self.tolerances.factors(lot)[self.tolerances.feed]) if self.batteries else 1.0
        for battery in self.batteries:
            place = self.net.index[(battery.name,)]
            volts, amps, curve = solved.across[row, place], solved.amps[row, place], draft.curve(place)
            if amps < 0 and volts * curve.slopes[0] < -curves.SHORTED * curve.offsets[0] * feed:
                return True
            if amps < -curves.SHORT_AMPS and draft.copper(*draft.ends_of(place)):
                return True
        return False


def live(answer: Answer, node: int) -> bool:
    """True where a node hangs together with a source, so that an ohmmeter must not be put there."""
    ends = (answer.net.elements[place] for place in answer.driving)
    return any(answer.island[node] in (answer.island[e.a], answer.island[e.b]) for e in ends)


def speed(volts: float, winding: float, runs: float) -> float:
    """How far a motor's voltage lies above the one at which it begins to turn; below 0 it stands."""
    return abs(volts) - runs * winding
