"""Finished jobs, each held against what the plan takes for the same fault on the same vehicle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from kb.isolation.figures import Hunt, seconds_by_cause
from kb.isolation.matrix import Matrix, money_seconds
from kb.isolation.plan import Step
from kb.isolation.ways import Hunts
from kb.model import Base, Job


@dataclass(frozen=True, slots=True)
class HeldJob:
    """A job: minutes it took, tests it names, minutes of the plan (None: there is none for its cause).

    `chances` are those with which the plan comes to each test (id), its fault being the job's.
    """

    symptom: str
    took: float
    tests: frozenset[str]
    plan: float | None
    chances: Mapping[str, float]


class Told:
    """A plan told cause by cause: minutes at work (no money in them), and the tests that it comes to."""

    def __init__(self, base: Base, hunt: Hunt) -> None:
        self.matrix, self.first = hunt.matrix, hunt.fixed.first
        self.money = [money_seconds(base, base.nodes[repair.id]) for repair in hunt.matrix.repairs]

    @cached_property
    def minutes(self) -> list[float]:
        """By cause."""
        return [float(s / 60) for s in seconds_by_cause(self.matrix, self.first, self._at_work)]

    def _at_work(self, step: Step) -> int:
        return step.seconds - (self.money[step.number] if step.kind == "repair" else 0)

    @cached_property
    def chances(self) -> list[dict[str, float]]:
        """By cause, for each test."""
        found: list[dict[str, float]] = [{} for _ in self.matrix.causes]
        for number, test in enumerate(self.matrix.tests):
            for cause, chance in enumerate(self._met(number)):
                if chance:
                    found[cause][test.id] = float(chance)
        return found

    def _met(self, test: int) -> list[Fraction]:
        """The chance of coming to a test, by cause: each test is done once at most."""
        return seconds_by_cause(self.matrix, self.first, lambda s: int(s.kind == "test" and s.number == test))


class Holder:
    """Holds the jobs of a base against its plans; each plan is told once."""

    def __init__(self, base: Base, hunts: Hunts) -> None:
        self.base, self.hunts = base, hunts
        self._told: dict[int, Told] = {}

    def held(self) -> list[HeldJob]:
        """Every job of the history that counts, in its order."""
        return [self._held(job, job.symptom, job.cause) for job in self.base.jobs if job.symptom and job.cause]

    def _held(self, job: Job, symptom: str, cause: str) -> HeldJob:
        hunt = self._hunt(symptom, job.vehicle, cause)
        took, tests = job.minutes or 0.0, frozenset(job.tests)
        if hunt is None or hunt.fixed.first is None or not _mended(hunt.matrix, cause):
            return HeldJob(symptom, took, tests, None, {})
        told = self._told.setdefault(id(hunt), Told(self.base, hunt))
        number = hunt.matrix.causes.index(cause)
        return HeldJob(symptom, took, tests, told.minutes[number], told.chances[number])

    def _hunt(self, symptom: str, vehicle: str | None, cause: str) -> Hunt | None:
        """The hunt on the job's vehicle; where it doesn't know the cause there, that on none in particular."""
        if symptom not in self.base.nodes:
            return None
        own = vehicle if vehicle and not self.base.vehicle and symptom in self.hunts.graph(vehicle).base.nodes else None
        found = self.hunts.hunt(symptom, own)
        if cause not in found.matrix.causes:
            found = self.hunts.hunt(symptom)
        return found if cause in found.matrix.causes else None


def _mended(matrix: Matrix, cause: str) -> bool:
    mask = 1 << matrix.causes.index(cause)
    return any(repair.mends & mask for repair in matrix.repairs)
