"""How fast plans are found: by size in Python, for the demo in Node against Python, and how big the script is.

    python -m tests.bench.isolation [quick]     (quick: made-up symptoms and the script's size only)

Figures of one run on one machine; symptoms by size are made up.
"""

from __future__ import annotations

import gzip
import json
import random
import shutil
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator, Sequence

from kb.assets import demo_dir, templates_dir
from kb.graph import build_graph
from kb.isolation.data import data_of
from kb.isolation.matrix import Matrix
from kb.isolation.plan import Plan, Planner
from kb.isolation.states import bits
from kb.isolation.ways import Hunts
from kb.read.base import read_base
from kb.reference import Kind
from tests.bench.symptoms import made_symptom
from tests.conftest import ROOT

SIZE, INSTANCES = (25, 30, 4), 30
LARGE, LARGE_INSTANCES = (60, 80, 6), 3
Place = tuple[int, int, int]  # causes left, accesses paid, tests done


def planned(matrix: Matrix, isolate: bool = False, place: Place | None = None) -> tuple[float, Plan]:
    """Seconds and a plan by a new planner."""
    started = time.perf_counter()
    plan = Planner(matrix, isolate).plan(*(place or (matrix.everything, 0, 0)))
    return time.perf_counter() - started, plan


def part(spans: Iterable[float], share: float) -> float:
    """The span that this share of all isn't above."""
    ordered = sorted(spans)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def by_size() -> Iterator[str]:
    """The 95th percentile of made-up symptoms, and the worst proved gap of those that are too large to prove."""
    for isolate in (False, True):
        runs = [planned(made_symptom(seed, *SIZE), isolate) for seed in range(INSTANCES)]
        proved, slow = sum(plan.proved for _, plan in runs), part((s for s, _ in runs), 0.95)
        size = "{} causes x {} tests x {} accesses".format(*SIZE)
        yield f"{size}, {_aim(isolate)}: 95th percentile {slow:.2f} s, {proved} of {INSTANCES} proved"
    for isolate in (False, True):
        runs = [planned(made_symptom(seed, *LARGE), isolate) for seed in range(LARGE_INSTANCES)]
        gap = max(float(plan.gap / plan.seconds) if plan.seconds else 0.0 for _, plan in runs)
        size = "{} x {} x {}".format(*LARGE)
        yield f"{size}, {_aim(isolate)}: worst gap {100 * gap:.1f} %, slowest {max(s for s, _ in runs):.1f} s"


def _aim(isolate: bool) -> str:
    return "until isolated" if isolate else "until fixed"


def script() -> str:
    """How many bytes the script is when it is sent packed."""
    data = (templates_dir() / "static/isolate.js").read_bytes()
    return f"isolate.js: {len(data):,} bytes, {len(gzip.compress(data, 9, mtime=0)):,} by gzip"


def demo() -> list[tuple[Matrix, list[Place]]]:
    """The demo's symptoms, with no vehicle and on each: the start, and a place after a test out of turn."""
    base = read_base(demo_dir())
    hunts, dice = Hunts(base, build_graph(base)), random.Random(1)
    found = [hunt.matrix for symptom in base.of_kind(Kind.SYMPTOM) for _, hunt in hunts.ways(symptom.id)]
    return [(matrix, list(_places(matrix, dice))) for matrix in found if matrix.causes]


def _places(matrix: Matrix, dice: random.Random) -> Iterator[Place]:
    yield matrix.everything, 0, 0
    if matrix.tests:
        test = dice.randrange(len(matrix.tests))
        left = [mask for mask in matrix.tests[test].leaves if mask]
        yield dice.choice(left or [matrix.everything]), matrix.tests[test].needs, 1 << test


def in_node(asked: Sequence[tuple[Matrix, list[Place]]]) -> list[float]:
    """Seconds of each plan, the symptoms each in a new process of Node, as a page is opened."""
    run = [shutil.which("node") or "node", str(ROOT / "tests/static/isolate.run.js")]
    found = []
    for matrix, places in asked:
        question = json.dumps([[data_of(matrix), [[_listed(place), False] for place in places]]])
        told = subprocess.run(run, input=question, capture_output=True, text=True, check=True)
        found += [plan["took"] for plan in json.loads(told.stdout)[0]]
    return found


def _listed(place: Place) -> dict[str, list[int]]:
    return {name: list(bits(mask)) for name, mask in zip(("left", "paid", "done"), place, strict=True)}


def against_node() -> Iterator[str]:
    """What the next step takes in Node and in Python, for the same places of the demo."""
    asked = demo()
    theirs = in_node(asked)
    mine = [planned(matrix, False, place)[0] for matrix, places in asked for place in places]
    for name, spans in (("Node", theirs), ("Python", mine)):
        told = " ".join(
            f"{word} {1000 * part(spans, share):.1f}" for word, share in (("p50", 0.5), ("p95", 0.95), ("worst", 1))
        )
        yield f"next step for {len(spans)} places of the demo, {name}: ms {told}"
    yield f"all of them: Node {sum(theirs):.1f} s, Python {sum(mine):.1f} s, Python over Node {sum(mine) / sum(theirs):.1f}"


if __name__ == "__main__":
    print(script())
    for line in by_size():
        print(line, flush=True)
    for line in against_node() if sys.argv[1:] != ["quick"] else ():
        print(line, flush=True)
