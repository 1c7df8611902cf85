"""What the finished jobs say to the shop: time against plan, tests left undone, what came back, what is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from kb.diagnostic import Problem
from kb.graph import Graph
from kb.isolation.ways import Hunts
from kb.model import Base, Job, Node
from kb.phrases import phrase_pattern
from kb.reference import Kind
from kb.site.held_jobs import HeldJob, Holder
from kb.site.wiring import Wiring


@dataclass(frozen=True, slots=True)
class Times:
    """A symptom's jobs. `took` and `plan` are mean minutes of those that can be held against a plan.

    `plan` is what the plan takes for the same faults; None where no job can be held against one. `over` is
    by how much these jobs took longer, all together.
    """

    symptom: Node
    jobs: int
    took: float
    plan: float | None
    over: float


@dataclass(frozen=True, slots=True)
class Undone:
    """A test that a symptom's plan does and its jobs seldom did.

    Of `jobs` with their tests written down, the plan does it in `wanted` (on average) and `done` did it.
    `over` is by how much the others that want it took longer than the plan.
    """

    symptom: Node
    test: Node
    wanted: float
    done: int
    jobs: int
    over: float


@dataclass(frozen=True, slots=True)
class Back:
    """Of so many jobs with this cause and repair, how many came back."""

    symptom: Node
    cause: Node
    repair: Node | None
    back: int
    jobs: int


@dataclass(frozen=True, slots=True)
class Lack:
    """What the base lacks: names with what is said of each."""

    title: str
    items: tuple[tuple[Node, str], ...]


@dataclass(frozen=True, slots=True)
class Shop:
    """All that the page shows. Minutes are those of the jobs that can be held against a plan, together."""

    jobs: int
    held: int
    took: float
    plan: float
    came_back: int
    times: tuple[Times, ...]
    undone: tuple[Undone, ...]
    noted: int
    back: tuple[Back, ...]
    lacks: tuple[Lack, ...]
    unmet: tuple[Problem, ...]


def shop(base: Base, graph: Graph, wiring: Wiring, hunts: Hunts) -> Shop:
    """Hold the jobs of the history against the plans."""
    held = Holder(base, hunts).held()
    planned = [job for job in held if job.plan is not None]
    return Shop(
        len(base.jobs),
        len(planned),
        sum(job.took for job in planned),
        sum(job.plan or 0.0 for job in planned),
        sum(1 for job in base.jobs if job.returned),
        tuple(sorted(_times(base, held), key=lambda t: (t.plan is None, -t.over, -t.jobs))),
        tuple(sorted(_undone(base, held), key=lambda u: -u.over)),
        sum(1 for job in base.jobs if job.tests),
        tuple(_back(base)),
        tuple(lack for lack in _lacks(base, graph, wiring, hunts) if lack.items),
        tuple(sorted(_unmet(base), key=lambda p: p.span.start)),
    )


def _by_symptom(held: Iterable[HeldJob]) -> Iterator[tuple[str, list[HeldJob]]]:
    listed = sorted(held, key=lambda one: one.symptom)
    for symptom, jobs in groupby(listed, key=lambda one: one.symptom):
        yield symptom, list(jobs)


def _times(base: Base, held: Sequence[HeldJob]) -> Iterator[Times]:
    for symptom, jobs in _by_symptom(held):
        planned = [job for job in jobs if job.plan is not None]
        shown = planned or jobs
        took, plan = (sum(job.took for job in shown), sum(job.plan or 0.0 for job in planned))
        yield Times(
            base.nodes[symptom],
            len(jobs),
            took / len(shown),
            plan / len(planned) if planned else None,
            took - plan if planned else 0.0,
        )


def _undone(base: Base, held: Sequence[HeldJob]) -> Iterator[Undone]:
    """Tests that the plan does in a job at least, and that less than half as many jobs did."""
    for symptom, jobs in _by_symptom(job for job in held if job.tests and job.plan is not None):
        for test in sorted({test for job in jobs for test in job.chances}):
            wanted = sum(job.chances.get(test, 0.0) for job in jobs)
            done = sum(1 for job in jobs if test in job.tests)
            others = (job for job in jobs if test not in job.tests)
            over = sum(job.chances.get(test, 0.0) * (job.took - (job.plan or 0.0)) for job in others)
            if wanted >= 1 and done < wanted / 2 and over > 0:
                yield Undone(base.nodes[symptom], base.nodes[test], wanted, done, len(jobs), over)


def _back(base: Base) -> Iterator[Back]:
    def key(job: Job) -> tuple[str, str, str | None]:
        return job.symptom or "", job.cause or "", job.repair

    jobs, back = Counter(map(key, base.jobs)), Counter(key(job) for job in base.jobs if job.returned)
    for found, count in sorted(back.items(), key=lambda item: (-item[1] / jobs[item[0]], -item[1])):
        symptom, cause, repair = found
        mended = base.nodes.get(repair) if repair else None
        if symptom in base.nodes and cause in base.nodes:
            yield Back(base.nodes[symptom], base.nodes[cause], mended, count, jobs[found])


def _lacks(base: Base, graph: Graph, wiring: Wiring, hunts: Hunts) -> tuple[Lack, ...]:
    symptoms, vehicles = base.of_kind(Kind.SYMPTOM), base.of_kind(Kind.VEHICLE)
    jobs = Counter(job.symptom for job in base.jobs)
    driven = {job.vehicle for job in base.jobs}
    return (
        _plain("Symptoms without a plan", (s for s in symptoms if not hunts.hunt(s.id).fixed.first)),
        Lack("Found in jobs, and no test tells them apart", tuple(_together(base, graph, hunts))),
        _plain("Symptoms that no job had", (s for s in symptoms if not jobs[s.id])),
        Lack("Causes that no job found", tuple(_unfound(base, graph, jobs))),
        _plain("Vehicles that no job was on", () if base.vehicle else (v for v in vehicles if v.id not in driven)),
        _plain("Vehicles without wiring", (v for v in vehicles if not wiring.circuits(v))),
        _plain("Words of the trade that no page uses", _dead_words(base)),
    )


def _plain(title: str, nodes: Iterable[Node]) -> Lack:
    return Lack(title, tuple((node, "") for node in nodes))


def _together(base: Base, graph: Graph, hunts: Hunts) -> Iterator[tuple[Node, str]]:
    """Causes that jobs found and that stay together with others which need another repair."""
    found = Counter((job.symptom, job.cause) for job in base.jobs)
    for symptom in base.of_kind(Kind.SYMPTOM):
        matrix = hunts.hunt(symptom.id).matrix
        for group in hunts.hunt(symptom.id).together:
            mask = sum(1 << cause for cause in group)
            mended = any(repair.mends & mask == mask for repair in matrix.repairs)
            for cause in () if mended or len(group) < 2 else group:
                count = found[symptom.id, matrix.causes[cause]]
                others = ", ".join(base.nodes[matrix.causes[c]].name for c in group if c != cause)
                if count:
                    yield base.nodes[matrix.causes[cause]], f"{_jobs(count)}; could as well be: {others}"


def _unfound(base: Base, graph: Graph, jobs: Counter[str | None]) -> Iterator[tuple[Node, str]]:
    """Causes that none of their symptoms' jobs found, where there were jobs."""
    found = {job.cause for job in base.jobs}
    for cause in base.of_kind(Kind.CAUSE):
        count = sum(jobs[s.id] for s in graph.symptoms_of(cause.id))
        if count and cause.id not in found:
            yield cause, f"of {_jobs(count)} that could have"


def _dead_words(base: Base) -> Iterator[Node]:
    """Terms of which neither the name nor another word for it stands anywhere but in terms themselves."""
    terms = base.of_kind(Kind.TERM)
    own = {(term.page, line) for term in terms for line in range(term.span.line, term.end_line + 1)}
    rest = "\n".join(
        line
        for page in base.pages.values()
        for number, line in enumerate(page.source.lines, 1)
        if (page.path, number) not in own
    )
    for term in terms:
        if not any(phrase_pattern(word).search(rest) for word in (term.name, *term.words("Said as"))):
            yield term


def _jobs(count: int) -> str:
    return f"{count} job" if count == 1 else f"{count} jobs"


def _unmet(base: Base) -> Iterator[Problem]:
    """The rows of the history that don't count, or not in full."""
    yield from (problem for problem in base.problems if problem.span.path in base.sources)
