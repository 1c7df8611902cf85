"""What a load does and what an instrument shows, in the words that pages use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from kb.circuit import curves
from kb.circuit.tolerances import Lot
from kb.circuit.worlds import Answer, Bench, Known, World, live, speed
from kb.model import Node, ReadingRange
from kb.netlist import Circuit, Part, ReadingRow, Terminal
from kb.read.circuit_names import GLASS, OF_A_LAMP

IDLE = frozenset(("still", "dark", "cold", "clear"))  # what a load shows that does nothing
LOADS = frozenset(("motor", "heater", "resistor", "lamp", "led", "cell"))
METER_OHMS = 1e7
NO_WATTS = 1e-9  # of a heater that no position heats: what is left by rounding
FORCED = 1e-3  # A that an ohmmeter sends
BESIDE = 1e-8  # S beside it, taken off its reading again, so that its current always has a way
OVER = 1e7  # ohm from which it shows OL
LAMP_WATTS = 3.0
LED_LAMP = (3.4, 900.0)  # V and ohm
UNITS = {"voltmeter": "V", "ohmmeter": "ohm", "clamp": "A"}


@dataclass(frozen=True, slots=True)
class Load:
    """What a load does: verdict, direction of a motor, volts across it and amperes through it."""

    verdict: str
    direction: str
    volts: float
    amps: float


@dataclass(frozen=True, slots=True)
class Reading:
    """What an instrument shows: `value` in `unit`, or `verdict`; `defined` False: no defined voltage."""

    value: float | None
    unit: str
    verdict: str | None
    direction: str = ""
    defined: bool = True
    supply: float = 0.0


class Healthy:
    """The healthy circuit in all positions: what speed and heat of a load count as whole.

    With a `lot` the circuit is one with these values. Of `only` one load, how it leans on the values is told too.
    """

    def __init__(self, bench: Bench, lot: Lot = b"", only: str | None = None, known: Known | None = None) -> None:
        answers = bench.solve(self.worlds(bench, lot, only), known)
        self.answers = dict(zip(bench.circuit.positions, answers, strict=True))
        self.bench, self.lot = bench, lot
        parts = loads_of(bench.circuit)
        self.measures = {
            name: {position: measure(self.part(parts[name]), answer) for position, answer in self.answers.items()}
            for name in (parts if only is None else (only,))
        }

    @staticmethod
    def worlds(bench: Bench, lot: Lot = b"", only: str | None = None) -> list[World]:
        """The worlds that are solved for it."""
        return [World(position, lot=lot, asked=only) for position in bench.circuit.positions.values()]

    def part(self, part: Part) -> Part:
        """A motor with its values in this lot; other loads are judged by what they are rated at."""
        return self.bench.tolerances.part(part, self.lot) if self.lot and part.kind == "motor" else part

    def most(self, part: Part, position: str) -> float:
        """A load's speed or watts in this position; where it rests there, the most in any position."""
        return self.measures[part.name][self.best(part, position)]

    def best(self, part: Part, position: str) -> str:
        """The position in which a load does what counts as whole in a position."""
        measures = self.measures[part.name]
        best = max(measures, key=lambda name: measures[name])
        return position if measures[position] > curves.RESTS * measures[best] else best


def measure(part: Part, answer: Answer) -> float:
    """A motor's speed (the volts above those at which it starts), another load's watts."""
    volts = answer.voltage(part.name)
    if part.kind == "motor":
        return speed(volts, part.values["ohms"].value, part.values["runs"].value)
    return abs(volts * answer.current(part.name))


def load(part: Part, answer: Answer, healthy: Healthy, position: str) -> Load:
    """What a load does in a solved world."""
    part = healthy.part(part)
    volts, amps = answer.voltage(part.name), answer.current(part.name)
    verdict, direction = _verdict(part, volts, amps, healthy, position)
    return Load(verdict, direction, volts, amps)


def _verdict(part: Part, volts: float, amps: float, healthy: Healthy, position: str) -> tuple[str, str]:
    if part.kind == "motor":
        return _motor(part, volts, amps, healthy.most(part, position))
    if part.kind in ("heater", "resistor"):
        watts, most = abs(volts * amps), healthy.most(part, position)
        return _three(watts / most if most > NO_WATTS else 0.0, curves.HOT, curves.WARM, ("hot", "warm", "cold")), ""
    words = ("bright", "dim", "dark")
    if part.kind == "led":
        rated = (healthy.bench.net.volts - part.values["volts"].value) / part.values["series"].value
        return _three(amps / rated if rated > 0 else 0.0, curves.LED_BRIGHT, curves.LED_DIM, words), ""
    rated = part.values["volts"].value
    share = abs(volts) / rated if abs(amps) > curves.SLEEPING * rated_amps(part) else 0.0
    return _three(share, curves.BRIGHT, curves.DIM, GLASS if part.kind == "cell" else words), ""


def rated_amps(part: Part) -> float:
    """The current of a lamp or cell at its rated volts."""
    values = part.values
    return (
        values["watts"].value / values["volts"].value
        if "watts" in values
        else values["volts"].value / values["ohms"].value
    )


def _motor(part: Part, volts: float, amps: float, healthy: float) -> tuple[str, str]:
    winding, runs = part.values["ohms"].value, part.values["runs"].value
    turning = speed(volts, winding, runs)
    if turning <= 0 or not runs * 0.99 < abs(amps) < abs(volts) / winding * 0.999:
        return "still", ""  # without current, or with that of a winding that stands
    direction = (part.turns[0] if volts > 0 else part.turns[1]) if part.turns else ""
    return ("slow" if turning < curves.SLOW * healthy else "moves"), direction


def _three(share: float, high: float, low: float, words: tuple[str, str, str]) -> str:
    return words[0] if share > high else words[1] if share > low else words[2]


class Reader:
    """Puts instruments into a circuit and reads them."""

    def __init__(self, bench: Bench, healthy: Healthy) -> None:
        self.bench, self.healthy, self.circuit = bench, healthy, bench.circuit

    def world(self, row: ReadingRow, world: World) -> World:
        """The world with the row's position, unplugged connectors and instrument."""
        position = self.circuit.positions[row.position]
        placed = World(position, world.changes, row.unplugged, world.blown, lot=world.lot)
        if row.instrument in ("clamp", "eye") or not isinstance(row.red, Terminal) or row.black is None:
            return placed
        red, black = self.bench.net.node(row.red), self.bench.net.node(row.black)
        curve = {
            "ohmmeter": curves.line(BESIDE, -FORCED),
            "test lamp": curves.filament(self.bench.net.volts or 1.0, LAMP_WATTS),
            "LED lamp": curves.both_ways(*LED_LAMP),
            "voltmeter": curves.ohms(METER_OHMS),
        }[row.instrument]
        return replace(placed, probe=(red, black, curve), dead=row.instrument == "ohmmeter")

    def read(self, rows: list[ReadingRow], worlds: list[World], known: Known | None = None) -> list[Reading | None]:
        """One reading for each row in its world; None where the world has no answer. `known` as in `Bench.solve`."""
        asked = [self.world(row, world) for row, world in zip(rows, worlds, strict=True)]
        known = {} if known is None else known
        answers = self.bench.solve(asked, known)
        bare = self.bench.solve([World(w.position, w.changes, w.unplugged, w.blown, lot=w.lot) for w in asked], known)
        return [
            None if a.state or b.state else self.reading(row, world, a, b)
            for row, world, a, b in zip(rows, asked, answers, bare, strict=True)
        ]

    def reading(
        self, row: ReadingRow, world: World, answer: Answer, bare: Answer, healthy: Healthy | None = None
    ) -> Reading:
        """What the instrument shows; `bare` is the world without it, `healthy` the whole circuit to judge by."""
        supply = self._supply(bare)
        if row.instrument == "eye":
            return self._eye(str(row.red), answer, world, supply, healthy or self.healthy)
        if row.instrument == "clamp":
            return Reading(answer.current(str(row.red)), "A", None, supply=supply)
        if row.instrument == "ohmmeter":
            return self._ohms(row, answer, bare, supply)
        if row.instrument == "voltmeter":
            return self._volts(row, answer, bare, supply)
        return Reading(None, "", self._lamp(row.instrument, answer), supply=supply)

    def _supply(self, answer: Answer) -> float:
        """The battery's own reading in this state."""
        battery = next(iter(self.bench.batteries), None)
        return answer.voltage(battery.name) if battery else 0.0

    def _eye(self, name: str, answer: Answer, world: World, supply: float, healthy: Healthy) -> Reading:
        part = self.circuit.parts.get(name)
        if part and part.kind == "fuse":
            out = name in answer.blown or any(c.how == "blown" and c.what == name for c in world.changes)
            return Reading(None, "", "blown" if out else "whole", supply=supply)
        if part is None or part.kind not in LOADS:
            return Reading(None, "", "undefined", supply=supply)
        seen = load(part, answer, healthy, world.position.name)
        return Reading(None, "", seen.verdict, seen.direction, supply=supply)

    def _lamp(self, instrument: str, answer: Answer) -> str:
        if instrument == "LED lamp":
            return _three(abs(answer.probe_amps), curves.LED_LAMP_LIT, curves.LED_LAMP_FAINT, ("bright", "dim", "dark"))
        share = abs(answer.probe_volts) / (self.bench.net.volts or 1.0)
        return _three(share, curves.BRIGHT, curves.DIM, ("bright", "dim", "dark"))

    def _volts(self, row: ReadingRow, answer: Answer, bare: Answer, supply: float) -> Reading:
        red, black = (self.bench.net.node(t) for t in (row.red, row.black) if isinstance(t, Terminal))
        if not bare.same_island(red, black):
            return Reading(0.0, "V", None, defined=False, supply=supply)
        return Reading(answer.probe_volts, "V", None, supply=supply)

    def _ohms(self, row: ReadingRow, answer: Answer, bare: Answer, supply: float) -> Reading:
        """1 mA sent through with the sources out; refused where a source hangs on a lead."""
        if any(live(bare, self.bench.net.node(t)) for t in (row.red, row.black) if isinstance(t, Terminal)):
            return Reading(None, "ohm", "undefined", defined=False, supply=supply)
        siemens = FORCED / abs(answer.probe_volts) - BESIDE if answer.probe_volts else 0.0
        if answer.probe_volts and siemens < 1 / OVER:
            return Reading(None, "ohm", "OL", supply=supply)
        return Reading(1 / siemens if siemens else 0.0, "ohm", None, supply=supply)


def meets(reading: Reading, ranges: tuple[ReadingRange, ...]) -> bool:
    """True where a reading meets one of a row's alternatives."""
    return any(_meets(reading, r) for r in ranges)


def _meets(reading: Reading, r: ReadingRange) -> bool:
    if r.word:
        word = _word(reading)
        return r.word in (word, reading.direction) or word in GLASS and OF_A_LAMP.get(r.word) == word
    if reading.value is None or not reading.defined:
        return False
    value = abs(reading.value) if reading.unit == "A" else reading.value
    if r.relative == "within":
        return reading.unit == "V" and abs(value - reading.supply) <= (r.high or 0.0)
    if r.relative == "percent":
        return reading.unit == "V" and reading.supply > 0 and _between(value / reading.supply, r)
    return r.unit == reading.unit and _between(value, r)


def _word(reading: Reading) -> str:
    return "undefined" if not reading.defined else reading.verdict or ""


def _between(value: float, r: ReadingRange) -> bool:
    above = r.low is None or value > r.low or (value == r.low and not r.low_open)
    return above and (r.high is None or value < r.high or (value == r.high and r.high_closed))


def loads_of(circuit: Circuit) -> Mapping[str, Part]:
    """The parts of a circuit that move, glow or heat."""
    return {name: part for name, part in circuit.parts.items() if part.kind in LOADS}


def finding_of(test: Node, reading: Reading | None) -> int | None:
    """The number of the first finding whose `Reading` is met; None where none is."""
    if reading is None:
        return None
    return next((i for i, row in enumerate(test.findings) if row.ranges and meets(reading, row.ranges)), None)


def in_words(reading: Reading | None) -> str:
    """A reading as it is told: `12.5 V (99 % of supply)`, `dim`, `moves up`, `no defined voltage`."""
    if reading is None:
        return "nothing"
    if not reading.defined:
        return "no defined voltage" if reading.unit == "V" else "nothing: the circuit is live"
    if reading.value is None:
        return f"`{reading.verdict}`" + (f" {reading.direction}" if reading.direction else "")
    share = f" ({percent(reading.value / reading.supply)} of supply)" if reading.unit == "V" and reading.supply else ""
    return f"{figures(reading.value)} {reading.unit}{share}"


def percent(share: float) -> str:
    """A share in whole percent, never less than none by rounding."""
    return f"{round(share, 2) + 0.0:.0%}"


def figures(value: float) -> str:
    """Three significant figures, without an exponent."""
    return f"{value:.3g}" if 1e-3 <= abs(value) < 1000 else f"{value:.0f}" if abs(value) >= 1000 else "0"
