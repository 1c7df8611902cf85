"""How far each reading goes while the values of its circuit lie anywhere in their tolerance, as found by a search.

Extremes lie at corners. From the stated values the search goes to the two corners to which each value's slope
points, takes the slopes anew there, and goes on until no new corner comes up: all readings of all faults at once.
Where a fuse, a relay or a module's output acts at one end only, it starts from both ends too, and from corners beside
those at which something acted before the end was reached.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from kb.circuit.batch import Floats
from kb.circuit.survey import Seen, Survey, readable
from kb.circuit.tolerances import Lot
from kb.circuit.verdicts import Healthy, Reading, finding_of, measure
from kb.circuit.worlds import Answer, Known, World
from kb.model import Node, ReadingRange
from kb.netlist import Part, ReadingRow

ROUNDS = 8  # of new corners at most
BESIDE = 4  # values, of those that count most, that are turned to their other end where something acted too early
_NEAR = (0.4, 2.5)  # of a motor's starting volts: within it may turn at one end of the tolerances only
_DARK = 1e-9  # A through what lets nothing through: left by rounding
_NO_MORE = 1e-9  # of what is reached: so little further is no step on
COMPARED = ("motor", "heater", "resistor")  # judged by what they do in the whole circuit
LADDERS = (
    ("dark", "dim", "bright"),
    ("cold", "warm", "hot"),
    ("still", "slow", "moves"),
    ("clear", "tinted", "dimmed"),
)
_AS_STATED: Lot = b""
Aim = tuple[float, Floats]  # a figure, and how it goes with the logarithm of each value
Place = tuple[int, int]  # a fault's and a reading row's number


@dataclass(frozen=True, slots=True)
class Range:
    """What an instrument may show: the readings met, and the ends of value, of share and of lag of the supply.

    `steps` is True where something acts at one end only, so that what lies between the ends needn't be met.
    """

    met: tuple[Reading, ...]
    value: tuple[float, float] | None = None
    share: tuple[float, float] | None = None
    lag: tuple[float, float] | None = None
    steps: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """What is read in words, most first, with what lies between."""
        found = dict.fromkeys(_word(reading) for reading in self.met if _word(reading))
        for ladder in LADDERS:
            rungs = [place for place, word in enumerate(ladder) if word in found]
            if rungs and not self.steps:
                found |= dict.fromkeys(ladder[min(rungs) : max(rungs) + 1])
        order = [word for ladder in LADDERS for word in reversed(ladder)]
        return tuple(sorted(found, key=lambda word: order.index(word) if word in order else -1))

    @property
    def directions(self) -> tuple[str, ...]:
        """The ways in which a motor goes."""
        return tuple(sorted({reading.direction for reading in self.met if reading.direction}))

    def between(self, wanted: ReadingRange) -> bool:
        """True where what lies between the ends meets an alternative of a `Reading` cell."""
        if self.steps or wanted.word:
            return wanted.word in self.words
        if wanted.relative == "within":
            return self.lag is not None and self.lag[0] <= (wanted.high or 0.0) and self.lag[1] >= -(wanted.high or 0.0)
        ends, unit = (self.share, "V") if wanted.relative else (self.value, wanted.unit)
        if ends is None or any(reading.unit not in ("", unit) for reading in self.met):
            return False
        low, high = _size(*ends) if unit == "A" else ends
        return (wanted.low is None or high > wanted.low) and (wanted.high is None or low < wanted.high)


def _size(low: float, high: float) -> tuple[float, float]:
    return (0.0 if low <= 0 <= high else min(abs(low), abs(high))), max(abs(low), abs(high))


def _word(reading: Reading) -> str:
    return "undefined" if not reading.defined else reading.verdict or ""


@dataclass(frozen=True, slots=True)
class Ranged:
    """A fault's readings with their ranges, by the circuit's rows; fuses that some corner blows, or saves."""

    readings: tuple[Range | None, ...]
    blows: tuple[str, ...] = ()
    saved: tuple[str, ...] = ()


@dataclass(slots=True)
class _Met:
    """What one reading of one fault showed so far, by lot."""

    readings: dict[Lot, Reading | None] = field(default_factory=dict)
    aims: dict[Lot, Mapping[str, Aim]] = field(default_factory=dict)

    def ends(self, name: str) -> tuple[float, float] | None:
        """The least and the most of a figure."""
        found = [aims[name][0] for aims in self.aims.values() if name in aims]
        return (min(found), max(found)) if found else None


@dataclass(slots=True)
class _Path:
    """A way to one end (`way` 1: the high one) of one figure of a reading: where it stands, and what it has there.

    `slopes` are those of the last place that was better than all before; `beside`: it began beside a corner.
    """

    place: Place
    name: str
    way: int
    lot: Lot
    best: float = -np.inf
    slopes: Floats | None = None
    beside: bool = False


def ranges(survey: Survey, seen: Sequence[Seen], within: Collection[int] = ()) -> list[Ranged]:
    """The range of each reading of what was seen, in its order; of rows `within` its lag behind the supply too."""
    return _Search(survey, seen, within).run()


def ends(found: Range) -> tuple[float | None, float | None]:
    """The ends of the figures met; none where that end is no figure, as `OL` above them."""
    if found.value is None:
        return None, None
    return found.value[0], None if "OL" in found.words else found.value[1]


def findings_over(test: Node, found: Range) -> tuple[int | None, ...]:
    """The numbers of all findings that a range meets, in their order; last none, where some reading meets none."""
    met = {finding_of(test, reading) for reading in found.met}
    met |= {i for i, row in enumerate(test.findings) if any(found.between(r) for r in row.ranges)}
    return (*sorted(i for i in met if i is not None), *((None,) if None in met else ()))


class _Search:
    def __init__(self, survey: Survey, seen: Sequence[Seen], within: Collection[int] = ()) -> None:
        self.survey, self.seen, self.within = survey, seen, within
        self.bench, self.reader, self.circuit = survey.bench, survey.reader, survey.circuit
        self.extremes = self.bench.tolerances.extremes()
        self.known: Known = {}
        self.out: dict[tuple[int, Lot], frozenset[str]] = {}
        self.met: dict[Place, _Met] = {}
        self.steps: set[int] = set()  # faults under which a fuse, a relay or an output acts at one end only
        self.bends: set[tuple[int, str]] = set()  # and positions in which something may work at one end only
        parts = self.circuit.parts.values()
        self.motors = [part for part in parts if part.kind == "motor"]
        self.diodes = [part for part in parts if part.kind in ("diode", "led")]

    def run(self) -> list[Ranged]:
        """Go on until no new corner comes up."""
        fit = [number for number, seen in enumerate(self.seen) if not seen.state]
        self._arrivals(fit)
        rows = [number for number, row in enumerate(self.circuit.readings) if readable(row)]
        self.met = {(fault, row): _Met() for fault in fit for row in rows}
        starts = (_AS_STATED, *self.extremes)
        places = {row: self.circuit.readings[row].position for row in rows}
        self._visit(
            [(at, lot) for at in self.met for lot in starts[: 3 if (at[0], places[at[1]]) in self.bends else 1]]
        )
        paths = [
            _Path(place, name, way, lot)
            for place, met in self.met.items()
            for lot, aims in met.aims.items()
            for name in aims
            for way in (1, -1)
        ]
        for _ in range(ROUNDS):
            paths = [further for path in paths for further in self._further(path)]
            new = dict.fromkeys((p.place, p.lot) for p in paths if p.lot not in self.met[p.place].readings)
            self._visit(list(new))
        return [self._ranged(fault) for fault in range(len(self.seen))]

    def _further(self, path: _Path) -> list[_Path]:
        """The path while it goes on; where it ends at a corner at which something acted, those beside it."""
        if self._goes_on(path):
            return [path]
        if path.beside or path.slopes is None or path.place[0] not in self.steps or not path.lot:
            return []
        most = np.argsort(-np.abs(path.slopes), kind="stable")[:BESIDE]
        lots = (self.bench.tolerances.turned(path.lot, int(value)) for value in most if path.slopes[value])
        return [_Path(path.place, path.name, path.way, lot, beside=True) for lot in lots]

    def _goes_on(self, path: _Path) -> bool:
        """Set out for the corner to which the slopes point where the path stands; False at an end."""
        aim = self.met[path.place].aims.get(path.lot, {}).get(path.name)
        if aim is None or path.way * aim[0] <= path.best + _NO_MORE * abs(path.best):
            return False
        corner = self.bench.tolerances.towards(path.way * aim[1], path.lot)
        moved, path.best, path.lot, path.slopes = corner != path.lot, path.way * aim[0], corner, aim[1]
        return moved

    def _arrivals(self, fit: Sequence[int]) -> None:
        """Find where something acts, or a motor, diode or LED works, at one end only."""
        positions, lots = self.circuit.positions, (_AS_STATED, *self.extremes)
        worlds = [World(p, self.seen[f].changes, lot=lot) for f in fit for lot in lots for p in positions.values()]
        answers = iter(self.bench.solve(worlds))
        for fault in fit:
            ends = [[next(answers) for _ in positions] for _ in lots]
            acted = [[(answer.blown, answer.pulled, answer.state) for answer in end] for end in ends]
            steps = not acted[0] == acted[1] == acted[2]
            self.steps |= {fault} if steps else set()
            for position, *here in zip(positions, *ends, strict=True):
                if steps or self._turns_late(here[0]) or len({self._lets_through(answer) for answer in here}) > 1:
                    self.bends.add((fault, position))
            for lot, end in zip(lots, ends, strict=True):
                self.out[fault, lot] = self._fuses(answer.blown for answer in end)

    def _turns_late(self, answer: Answer) -> bool:
        """True where some motor has about the volts at which it starts."""
        starts = (part.values["ohms"].value * part.values["runs"].value for part in self.motors)
        shares = (abs(answer.voltage(part.name)) / start for part, start in zip(self.motors, starts, strict=True))
        return any(_NEAR[0] < share < _NEAR[1] for share in shares)

    def _lets_through(self, answer: Answer) -> tuple[bool, ...]:
        """Which diodes and LEDs let current through."""
        return tuple(answer.current(part.name) > _DARK for part in self.diodes)

    def _fuses(self, blown: Iterable[frozenset[str]]) -> frozenset[str]:
        """The fuses among what went out in any position; outputs come back."""
        return frozenset().union(*blown) & {fuse.name for fuse in self.bench.fuses}

    def _blown(self, wanted: Iterable[tuple[int, Lot]]) -> None:
        """The fuses that each fault blew before anybody came, where this depends on the lot."""
        new = sorted(key for key in wanted if key not in self.out)
        positions = list(self.circuit.positions.values())
        answers = self.bench.solve([World(p, self.seen[f].changes, lot=lot) for f, lot in new for p in positions])
        for number, key in enumerate(new):
            mine = answers[number * len(positions) : (number + 1) * len(positions)]
            self.out[key] = self._fuses(answer.blown for answer in mine)

    def _visit(self, new: Sequence[tuple[Place, Lot]]) -> None:
        """Read at each lot."""
        self._blown({(fault, lot) for (fault, _), lot in new if fault in self.steps})
        asked = [self._worlds(place, lot) for place, lot in new]
        known: Known = {}
        self.bench.solve([world for worlds in asked for world in worlds], known)
        for (place, lot), worlds in zip(new, asked, strict=True):
            met, row = self.met[place], self.circuit.readings[place[1]]
            main, bare = (known[world.key] for world in worlds[:2])
            met.readings.setdefault(lot, None)
            if main.state or bare.state:
                continue
            healthy = Healthy(self.bench, lot, str(row.red), known) if len(worlds) > 2 else None
            reading = self.reader.reading(row, worlds[0], main, bare, healthy)
            met.readings[lot] = reading
            met.aims[lot] = self._aims(row, reading, main, bare, healthy)

    def _worlds(self, place: Place, lot: Lot) -> tuple[World, ...]:
        """The world with the instrument, the one without it, and the whole ones that an eye compares with."""
        fault, row = self.seen[place[0]], self.circuit.readings[place[1]]
        out = self.out[place[0], lot if place[0] in self.steps else _AS_STATED]
        plain = World(self.circuit.positions[row.position], fault.changes, row.unplugged, out, lot=lot)
        if row.instrument == "clamp":
            return (replace(plain, asked=str(row.red)),) * 2
        if row.instrument == "eye":
            part = self.survey.loads.get(str(row.red))
            seen = replace(plain, asked=part.name if part else None)
            compared = part is not None and part.kind in COMPARED
            return seen, seen, *(Healthy.worlds(self.bench, lot, part.name) if part and compared else ())
        battery = self.bench.batteries[0].name if self.bench.batteries and row.instrument == "voltmeter" else None
        return replace(self.reader.world(row, plain), asked=""), replace(plain, asked=battery)

    def _aims(
        self, row: ReadingRow, reading: Reading, main: Answer, bare: Answer, healthy: Healthy | None
    ) -> Mapping[str, Aim]:
        """The figures whose ends are looked for."""
        if main.leaning is None or not reading.defined:
            return {}
        volts, amps = main.leaning
        if row.instrument == "eye":
            return self._eye(self.circuit.parts[str(row.red)], row.position, main, healthy)
        if row.instrument == "clamp":
            return {"value": (reading.value or 0.0, amps)}
        if row.instrument == "voltmeter":
            place = self.circuit.readings.index(row)
            return {"value": (main.probe_volts, volts), **_of_supply(reading, volts, bare, place in self.within)}
        figure = reading.value if reading.value is not None else abs(main.probe_volts)
        return {"value" if reading.value is not None else "volts": (figure, volts * np.sign(main.probe_volts))}

    def _eye(self, part: Part, position: str, main: Answer, healthy: Healthy | None) -> Mapping[str, Aim]:
        """What a load's verdict goes by."""
        volts, (by_volts, by_amps) = main.voltage(part.name), main.leaning or (np.zeros(0),) * 2
        if part.kind == "led":
            return {"amps": (main.current(part.name), by_amps)}
        if healthy is None:
            return {"volts": (abs(volts), by_volts * np.sign(volts))}
        whole = self._measure(part, healthy.answers[healthy.best(part, position)], healthy)
        own = self._measure(part, main, healthy)
        return {"volts": (volts, by_volts), **({"share": _ratio(own, whole)} if whole[0] > 0 else {})}

    def _measure(self, part: Part, answer: Answer, healthy: Healthy) -> Aim:
        """A motor's speed or a heater's watts."""
        by_volts, by_amps = answer.leaning or (np.zeros(len(self.bench.tolerances)),) * 2
        volts, amps = answer.voltage(part.name), answer.current(part.name)
        if part.kind != "motor":
            return abs(volts * amps), np.sign(volts * amps) * (by_volts * amps + volts * by_amps)
        made, slope = healthy.part(part), by_volts * np.sign(volts)
        for name in ("ohms", "runs"):
            slope[self.bench.tolerances.places[part.name, name]] -= (
                made.values["ohms"].value * made.values["runs"].value
            )
        return measure(made, answer), slope

    def _ranged(self, fault: int) -> Ranged:
        readings = tuple(
            self._range(self.met.get((fault, row)), fault in self.steps) for row in range(len(self.circuit.readings))
        )
        outs = [blown for (of, _), blown in self.out.items() if of == fault]
        stated = self.out.get((fault, _AS_STATED), frozenset())
        blows, saved = frozenset().union(*outs) - stated, stated - stated.intersection(*outs)
        return Ranged(readings, tuple(sorted(blows)), tuple(sorted(saved)))

    def _range(self, met: _Met | None, steps: bool) -> Range | None:
        read = tuple(reading for reading in met.readings.values() if reading) if met else ()
        if met is None or not read:
            return None
        value, share, lag = (met.ends(name) for name in ("value", "share", "lag"))
        return Range(read, value, share if read[0].unit == "V" else None, lag, steps)


def _of_supply(reading: Reading, volts: Floats, bare: Answer, within: bool) -> Mapping[str, Aim]:
    """A voltage as a share of the battery's own, and where wanted how far it lies above that."""
    if reading.supply <= 0 or bare.leaning is None or reading.value is None:
        return {}
    found = {"share": _ratio((reading.value, volts), (reading.supply, bare.leaning[0]))}
    return found | ({"lag": (reading.value - reading.supply, volts - bare.leaning[0])} if within else {})


def _ratio(of: Aim, to: Aim) -> Aim:
    return of[0] / to[0], (of[1] * to[0] - of[0] * to[1]) / to[0] ** 2
