"""A circuit as ngspice sees it, written from the tables alone: nothing here asks how the solver sees it."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from kb.circuit.curves import FUSE_DROP, OHM_PER_KM, filament
from kb.netlist import Change, Circuit, Part, Position, Terminal

NGSPICE = shutil.which("ngspice")
TIE, LOOSE = 1.0, 1e10  # ohm to ground of a part of the circuit that hangs on nothing; of one behind diodes
GROUND = "0"


@dataclass
class Branch:
    """Between two nodes: a source behind ohms, or points of a curve."""

    a: str
    b: str
    ohms: float = 0.0
    volts: float = 0.0
    points: tuple[tuple[float, float], ...] = ()
    one_way: bool = False


@dataclass
class Deck:
    """The branches of a circuit in a state; `held` names those of each part, wire, or part and pin."""

    circuit: Circuit
    branches: dict[str, Branch] = field(default_factory=dict)
    count: int = 0
    middles: dict[str, str] = field(default_factory=dict)  # of wires that touch something

    def new(self) -> str:
        """A node of its own."""
        self.count += 1
        return f"x{self.count}"

    def of(self, name: str) -> list[str]:
        """The branches of a part or wire."""
        return [key for key in self.branches if key.split("|")[0] == name]


def node(circuit: Circuit, terminal: Terminal) -> str:
    """The node of a terminal, in letters that ngspice takes."""
    sides = circuit.parts[terminal.part].sides
    side = terminal.side or (sides[0] if sides else "")
    return (
        "n"
        + re.sub(
            r"\W", "_", f"{terminal.part}.{terminal.pin}.{side}".replace("+", "plus").replace("-", "minus")
        ).lower()
    )


def deck(
    circuit: Circuit, position: Position, changes: tuple[Change, ...] = (), out: frozenset[str] = frozenset()
) -> Deck:
    """A circuit in a position, with faults, and fuses that are out."""
    made = Deck(circuit)
    for part in circuit.parts.values():
        pins = {pin: node(circuit, Terminal(part.name, pin)) for pin in part.pins}
        made.branches.update(_part(made, part, pins, position))
    for name, wire in circuit.wires.items():
        made.branches[name] = Branch(
            node(circuit, wire.start), node(circuit, wire.end), wire_ohms(wire.mm2, wire.metres)
        )
    sizes = [c for c in changes if c.how == "ohms"]
    touching = [c for c in changes if c.how in ("ground", "touches")]
    opened = [c for c in changes if c.how in ("open", "unplugged", "blown")]
    others = [c for c in changes if c not in (*sizes, *touching, *opened)]
    for change in (*sizes, *others, *touching, *opened):
        _change(made, change)
    for name in out:
        made.branches.pop(name, None)
    return made


def wire_ohms(mm2: float | None, metres: float | None) -> float:
    """Copper by the published table, by cross-section from the nearest size."""
    if mm2 is None or metres is None:
        return 1e-3
    near = min(OHM_PER_KM, key=lambda size: abs(size - mm2))
    return max(OHM_PER_KM[near] * near / mm2 * metres / 1000, 1e-5)


def _part(made: Deck, part: Part, pins: Mapping[str, str], position: Position) -> Iterator[tuple[str, Branch]]:
    name, value = part.name, {k: q.value for k, q in part.values.items()}
    at = list(pins.values())
    feed = next((p.values["volts"].value for p in made.circuit.parts.values() if p.kind == "battery"), 0.0)
    if part.kind == "connector":
        for pin in part.pins:
            ends = [node(made.circuit, Terminal(name, pin, side)) for side in part.sides or ()]
            yield f"{name}|{pin}", Branch(*ends, value["ohms"])
    elif part.kind == "splice":
        middle = made.new()
        yield from ((f"{name}|{pin}", Branch(pins[pin], middle, value["ohms"])) for pin in part.pins)
    elif part.kind in ("switch", "limit switch"):
        for a, b in position.joins.get(name, ()):
            yield f"{name}|{a}|{b}", Branch(pins[a], pins[b], value["contact"])
    elif part.kind == "potentiometer":
        yield f"{name}|top", Branch(at[0], at[1], value["ohms"] * (1 - value["at"]))
        yield f"{name}|bottom", Branch(at[1], at[2], value["ohms"] * value["at"])
    elif part.kind == "battery":
        yield name, Branch(at[0], at[1], value["inside"], value["volts"])
    elif part.kind == "fuse":
        yield name, Branch(at[0], at[1], FUSE_DROP / value["amps"])
    elif part.kind == "ground":
        yield name, Branch(at[0], GROUND, value["ohms"])
    elif part.kind == "input":
        yield name, Branch(at[0], GROUND, value["ohms"], feed if part.words["to"] == "feed" else 0.0)
    elif part.kind == "output":
        if branch := _output(at[0], value, position.drives.get(name, ""), feed):
            yield name, branch
    elif part.kind in ("motor", "lamp", "led", "diode"):
        yield name, Branch(at[0], at[1], points=_points(part.kind, value), one_way=part.kind in ("led", "diode"))
    else:
        yield name, Branch(at[0], at[1], value["ohms"])


def _output(at: str, value: Mapping[str, float], drive: str, feed: float) -> Branch | None:
    if drive:
        return Branch(at, GROUND, value["ohms"], feed if drive == "high" else 0.0)
    return Branch(at, GROUND, value["rest ohms"], value["rest"]) if "rest" in value else None


def _points(kind: str, value: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
    """Volts and amperes of a curve's corners; beyond the last ones it goes on straight."""
    if kind == "motor":
        stands, far = value["runs"] * value["ohms"], 1000.0
        end = value["runs"] + (far - stands) * 0.02 / value["ohms"]
        return ((-far, -end), (-stands, -value["runs"]), (0.0, 0.0), (stands, value["runs"]), (far, end))
    if kind == "lamp":
        curve = filament(value["volts"], value["watts"])
        corners = [-1000.0, *curve.ends[:-1], 1000.0]
        return tuple(
            (v, s * v + o)
            for v, s, o in zip(
                corners, (*curve.slopes, curve.slopes[-1]), (*curve.offsets, curve.offsets[-1]), strict=True
            )
        )
    behind = value["series"] if kind == "led" else 0.05
    return ((-1000.0, 0.0), (value["volts"], 0.0), (1000.0, (1000.0 - value["volts"]) / behind))


def _change(made: Deck, change: Change) -> None:
    what = change.what
    if change.how in ("open", "unplugged", "blown"):
        for key in _at(made, what):
            middle = made.middles.get(key)  # such a wire is broken behind the place where it touches
            made.branches.pop(f"half{middle}" if middle else key, None)
    elif change.how == "ohms":
        _ohms(made, what, change.ohms or 0.0)
    elif change.how == "ground":
        made.branches[f"short{made.new()}"] = Branch(_touching(made, what), GROUND, 1e-3)
    elif change.how == "touches":
        a, b = _touching(made, what), _touching(made, change.other)
        made.branches[f"short{made.new()}"] = Branch(a, b, 1e-3)
    elif change.how == "crossed":
        keys = [f"{t.part}|{t.pin}" for t in (what, change.other) if isinstance(t, Terminal)]
        if all(key in made.branches for key in keys):
            one, other = (made.branches[key] for key in keys)
            one.b, other.b = other.b, one.b
    elif change.how == "seized":
        old = made.branches[str(what)]
        ohms = made.circuit.parts[str(what)].values["ohms"].value
        made.branches[str(what)] = replace(old, ohms=ohms, points=())


def _at(made: Deck, what: str | Terminal) -> list[str]:
    if isinstance(what, str):
        return made.of(what)
    part, pin = made.circuit.parts[what.part], what.pin
    if part.kind in ("connector", "splice"):
        return [key for key in made.of(part.name) if key.split("|")[1] == pin]
    here = node(made.circuit, what)
    return [key for key in made.of(part.name) if here in (made.branches[key].a, made.branches[key].b)]


def _ohms(made: Deck, what: str | Terminal, ohms: float) -> None:
    part = made.circuit.parts.get(what.part if isinstance(what, Terminal) else what)
    if isinstance(what, str) or part and part.kind in ("connector", "splice", "ground"):
        for key in _at(made, what):
            made.branches[key].ohms = ohms
        return
    here, new = node(made.circuit, what), made.new()
    for key in made.of(what.part):
        branch = made.branches[key]
        branch.a, branch.b = (new if end == here else end for end in (branch.a, branch.b))
    made.branches[f"bad{new}"] = Branch(here, new, ohms)


def _touching(made: Deck, what: str | Terminal | None) -> str:
    """A terminal's node, or one in the middle of a wire, which is cut in two halves there."""
    if isinstance(what, Terminal):
        return node(made.circuit, what)
    if what in made.middles:
        return made.middles[str(what)]
    middle = made.middles[str(what)] = made.new()
    if what in made.branches:
        first = made.branches[str(what)]
        made.branches[f"half{middle}"] = Branch(middle, first.b, first.ohms / 2)
        made.branches[str(what)] = Branch(first.a, middle, first.ohms / 2)
    return middle


def islands(branches: Mapping[str, Branch], volts: Mapping[str, float] | None = None) -> dict[str, str]:
    """For each node one node of the part of the circuit that it lies in.

    A diode joins its ends where it carries current, by `volts`; without them it joins nothing.
    """
    root = {n: n for branch in branches.values() for n in (branch.a, branch.b)} | {GROUND: GROUND}

    def find(n: str) -> str:
        while root[n] != n:
            n = root[n]
        return n

    for branch in branches.values():
        if not branch.one_way or volts and _conducts(branch, volts):
            root[find(branch.a)] = find(branch.b)
    return {n: find(n) for n in root}


def _conducts(branch: Branch, volts: Mapping[str, float]) -> bool:
    """True from 1 uA on: what ties a loose part to ground lets less than that through."""
    behind = (branch.points[2][0] - branch.points[1][0]) / branch.points[2][1]
    return volts.get(branch.a, 0.0) - volts.get(branch.b, 0.0) > branch.points[1][0] + 1e-6 * behind


def _text(made: Deck) -> Iterator[str]:
    for number, branch in enumerate(made.branches.values()):
        if branch.points:
            listed = ",".join(f"{v!r},{i!r}" for v, i in branch.points)
            yield f"b{number} {branch.a} {branch.b} i=pwl(v({branch.a},{branch.b}),{listed})"
        elif branch.volts:
            yield f"r{number} {branch.a} m{number} {branch.ohms!r}"
            yield f"v{number} m{number} {branch.b} dc {branch.volts!r}"
        else:
            yield f"r{number} {branch.a} {branch.b} {branch.ohms!r}"
    of = islands(made.branches)
    loose = LOOSE if any(branch.one_way for branch in made.branches.values()) else TIE
    yield from (f"rt{i} {n} 0 {loose!r}" for i, n in enumerate(sorted(set(of.values()) - {of[GROUND]})))


def run(decks: list[Deck], folder: Path) -> list[dict[str, float] | None]:
    """Node voltages of each deck; None where ngspice finds none. One process for all."""
    script = ["circuits", "* the first line is a title", ".control", "set numdgt=15", "set width=200"]
    for i, made in enumerate(decks):
        path = folder / f"c{i}.cir"
        path.write_text("\n".join((
            f"circuit {i}", *_text(made),
            ".options reltol=1e-9 vntol=1e-10 abstol=1e-13 gmin=1e-15 itl1=2000 itl6=500", ".op", ".end\n",
        )))  # fmt: skip
        script += [f"source {path.name}", "op", f"echo circuit {i}", "print all", "destroy all", "remcirc"]
    (folder / "all.cir").write_text("\n".join([*script, "quit", ".endc", ".end\n"]))
    return _read(started("all.cir", folder), len(decks))


def started(name: str, folder: Path) -> str:
    """What ngspice prints when it is given a file of this folder."""
    command = [NGSPICE or "ngspice", "-b", name]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=300).stdout


def _read(text: str, count: int) -> list[dict[str, float] | None]:
    found: list[dict[str, float] | None] = [None] * count
    at = -1
    for line in text.splitlines():
        if match := re.fullmatch(r"circuit (\d+)", line.strip()):
            at = int(match[1])
        elif (match := re.fullmatch(r"([nxm]\w*) = (\S+)", line.strip())) and at >= 0:
            found[at] = {**(found[at] or {}), match[1]: float(match[2])}
    return found
