"""How likely each cause of a symptom is, and who says so: the writer's word, and the history's finished jobs."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kb.model import Base, Job

# With a vehicle chosen, its own jobs of a symptom are counted where there are this many of them, and this
# many for each cause; else those of all vehicles are. A share seen in 10 jobs is known to within 0.16 at worst (its
# standard error, the root of p(1-p)/n, textbook); counts of two a class on average still bear to be
# compared with shares at the 5 % level (Roscoe and Byars 1971, from memory).
ENOUGH = 10
ENOUGH_EACH = 2


@dataclass(frozen=True, slots=True)
class Counted:
    """The finished jobs of a symptom that count: how many by cause (ids), how many in all, and where."""

    jobs: Mapping[str, int]
    whole: int = 0
    where: str = "here"


def counted(base: Base, symptom: str, causes: Sequence[str], found: Mapping[str, Sequence[Job]]) -> Counted:
    """The jobs of a symptom that its weights count. `found` are all jobs of the base by symptom."""
    every = [job for job in found.get(symptom, ()) if job.cause in causes]
    if base.vehicle is None:
        return _counted(every, "here")
    own = [job for job in every if job.vehicle == base.vehicle]
    if len(own) >= max(ENOUGH, ENOUGH_EACH * len(causes)):
        return _counted(own, f"on {base.nodes[base.vehicle].name}")
    return _counted(every, "on all vehicles")


def _counted(jobs: Sequence[Job], where: str) -> Counted:
    by_cause = Counter(job.cause for job in jobs if job.cause)
    return Counted(dict(by_cause), len(jobs), where)


def jobs_by_symptom(base: Base) -> Mapping[str, Sequence[Job]]:
    """All jobs that the base knows, also of other vehicles than the one that it is limited to."""
    found: dict[str, list[Job]] = defaultdict(list)
    for job in (*base.jobs, *base.jobs_elsewhere):
        if job.symptom:
            found[job.symptom].append(job)
    return found


def source(word: str, jobs: int, counted: Counted) -> str:
    """Where a cause's weight comes from, in words: `19 of 43 jobs here; writer's word: common`."""
    said = f"writer's {'count' if word.isdecimal() else 'word'}: {word}" if word else "no word of the writer's"
    if not counted.whole:
        return said
    return f"{jobs} of {counted.whole} job{'' if counted.whole == 1 else 's'} {counted.where}; {said}"
