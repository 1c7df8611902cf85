"""How fast circuits are solved: variants a second by size beside ngspice, a survey, and their share of a check.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.circuit

The variable keeps the linear algebra library on one core. Figures of one run on one machine. Values are invented.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from kb import checks
from kb.circuit.own import own_faults
from kb.circuit.survey import Survey
from kb.circuit.worlds import Bench, World
from kb.graph import build_graph
from kb.netlist import Circuit
from kb.read.base import read_base
from tests.circuit import spice
from tests.circuit.glass import glass
from tests.circuit.tables import drawn
from tests.conftest import ROOT

SIZES = (25, 120, 400)


def chain(nodes: int) -> Circuit:
    """Branches of switch, plug and motor side by side behind one fuse, with about so many nodes."""
    branches = max((nodes - 7) // 8, 1)
    parts = [
        "B1 | battery | + - | 12.6 V, 20 mohm",
        "F1 | fuse | in out | 30 A",
        "G1 | ground | p | 5 mohm",
        "G2 | ground | p | 5 mohm",
    ]
    wires = ["W1 | B1.+ | F1.in | 2.5 | 1 m", "W2 | B1.- | G1.p | 16 | 0.3 m"]
    for i in range(branches):
        parts += [
            f"S{i} | switch | p q | 30 mohm",
            f"J{i} | connector | x y | 5 mohm, sides near far",
            f"M{i} | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down",
        ]
        ends = ("F1.out", f"S{i}.p"), (f"S{i}.q", f"J{i}.x near"), (f"J{i}.x far", f"M{i}.a")
        ends += (f"M{i}.b", f"J{i}.y far"), (f"J{i}.y near", "G2.p")
        wires += [f"A{i}{k} | {a} | {b} | 0.5 | 1 m" for k, (a, b) in enumerate(ends)]
    joins = " | ".join(f"S{i} joins" for i in range(branches))
    return drawn("\n".join(parts), "\n".join(wires), f"Position | {joins}\non | " + " | ".join(["p-q"] * branches))


def worlds(circuit: Circuit, most: int) -> list[World]:
    """The circuit in its position with each fault that its parts have by themselves."""
    faults = [changes for _, changes in own_faults(Bench(circuit).net)]
    return [World(circuit.positions["on"], changes) for changes in faults[:most]]


def seconds(work: Callable[[], object]) -> float:
    """The least time of three runs."""
    spans = []
    for _ in range(3):
        started = time.perf_counter()
        work()
        spans.append(time.perf_counter() - started)
    return min(spans)


def sizes() -> Iterator[str]:
    """Variants a second for each size, and against ngspice with the same circuits."""
    yield f"{'nodes':>6} {'variants':>9} {'a second':>9} {'ngspice':>9} {'ratio':>7}"
    for size in SIZES:
        circuit = chain(size)
        bench, asked = Bench(circuit), worlds(circuit, 400 if size < 300 else 100)
        mine = len(asked) / seconds(lambda b=bench, a=asked: b.solve(a))
        theirs = by_ngspice(circuit, asked[:100]) if spice.NGSPICE else 0.0
        ratio = f"{mine / theirs:7.0f}" if theirs else "      -"
        yield f"{bench.net.count:6} {len(asked):9} {mine:9.0f} {theirs:9.0f} {ratio}"


def by_ngspice(circuit: Circuit, asked: list[World]) -> float:
    """Variants a second in one process of ngspice; writing and reading its files is not counted."""
    decks = [spice.deck(circuit, world.position, plain(world)) for world in asked]
    with tempfile.TemporaryDirectory() as folder:
        spice.run(decks, Path(folder))
        return len(asked) / seconds(lambda: spice.started("all.cir", Path(folder)))


def plain(world: World) -> tuple:
    """The changes that the writer for ngspice knows."""
    return tuple(
        c
        for c in world.changes
        if c.how in ("open", "ohms", "ground", "touches", "crossed", "unplugged", "seized") and not c.contact
    )


def survey() -> Iterator[str]:
    """All own faults of a circuit of two mirrors, in all positions, with readings."""
    rows = ("up | | voltmeter | J2.tilt body | J2.common body", "up | | test lamp | J2.tilt body | J2.common body",
            "rest | J2 | ohmmeter | J2.tilt mirror | J2.common mirror", "up | | clamp | W2")  # fmt: skip
    made = Survey(glass(*rows).circuit())
    faults = list(own_faults(made.bench.net))
    count = len(faults) * (len(made.circuit.positions) + len(rows))
    span = seconds(lambda: made.see(faults))
    yield f"survey: {len(faults)} faults, {len(made.circuit.positions)} positions, {len(rows)} readings in {span:.2f} s ({count / span:.0f} a second)"


def checked() -> Iterator[str]:
    """A check of the demonstration base, from its files to its problems, with and without circuits to solve."""
    whole = seconds(lambda: check(with_circuits=True))
    without = seconds(lambda: check(with_circuits=False))
    yield f"check: {whole:.2f} s with circuits, {without:.2f} s without: {whole / without:.1f} times as long"


def check(with_circuits: bool) -> None:
    """Read and check; without circuits their tables are read too, but no rule finds one to solve."""
    base = read_base(ROOT / "content")
    kept = base if with_circuits else replace(base, circuits={})
    checks.run(kept, build_graph(kept))


if __name__ == "__main__":
    for line in (*sizes(), *survey(), *checked()):
        print(line)
