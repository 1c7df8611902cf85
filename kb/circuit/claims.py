"""Pages held against their circuits: what a finding clears and proves, what a cause shows as."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from kb.circuit.own import own_faults
from kb.circuit.survey import Seen, Survey, shows
from kb.circuit.verdicts import IDLE, Reading, finding_of, meets
from kb.model import Base, Node
from kb.netlist import Circuit, Part, Position, SymptomRow

SHARES = (1.0, 0.94, 1.15)  # of the battery's stated volts; the nominal one first


@dataclass(frozen=True)
class Held:
    """A sound circuit surveyed at all three battery voltages, the healthy circuit first in each."""

    circuit: Circuit
    surveys: tuple[Survey, ...]
    seen: tuple[tuple[Seen, ...], ...]

    def of_cause(self, base: Base, cause: str) -> list[list[Seen]]:
        """The variants of a cause in this circuit, each at all three voltages."""
        return [
            [seen[i] for seen in self.seen]
            for i, row in enumerate(self.circuit.faults, 1)
            if row.cause and base.targets.get(row.cause) == cause and not any(seen[i].state for seen in self.seen)
        ]

    @cached_property
    def own(self) -> tuple[Seen, ...]:
        """The faults that the circuit's parts and wires have by themselves, at the battery's stated volts."""
        nominal = self.surveys[0]
        return tuple(nominal.see(list(own_faults(nominal.bench.net))))

    def readings_of(self, base: Base, test: str) -> Iterator[int]:
        """The places of a test's rows among the circuit's readings."""
        for place, row in enumerate(self.circuit.readings):
            if row.test and base.targets.get(row.test) == test:
                yield place

    def symptom_rows(self, base: Base, symptom: str) -> tuple[SymptomRow, ...]:
        """The rows that say how a symptom shows."""
        return tuple(r for r in self.circuit.symptoms if r.symptom and base.targets.get(r.symptom) == symptom)


@dataclass(frozen=True, slots=True)
class Unsound:
    """Why a circuit's claims aren't judged: a part or position, and what is wrong with it."""

    item: Part | Position
    message: str


def hold(circuit: Circuit) -> Held | tuple[Unsound, ...]:
    """Survey a circuit at three voltages, or say why it isn't sound."""
    nominal = Survey(circuit)
    wrong = tuple(unsound(nominal))
    if wrong:
        return wrong
    surveys = (nominal, *(Survey(circuit, share) for share in SHARES[1:]))
    return Held(circuit, surveys, tuple(tuple(survey.faults()) for survey in surveys))


def unsound(survey: Survey) -> Iterator[Unsound]:
    """Positions without an answer, what must happen and doesn't, loads that never work."""
    healthy = survey.see([("", ())], readings=False)[0]
    for name, position in survey.circuit.positions.items():
        answer = survey.healthy.answers[name]
        if answer.state == "unsettled":
            yield Unsound(position, f"`{name}` has no settled state")
        elif answer.state == "shorted":
            yield Unsound(position, f"`{name}` short-circuits the battery")
        elif answer.blown:
            yield Unsound(
                position, f"`{name}` blows {', '.join(f'`{n}`' for n in sorted(answer.blown))} in the healthy circuit"
            )
        else:
            for load, word in position.must:
                if not shows(healthy.loads.get(name, {}), ((load, word),)):
                    does = healthy.loads[name][load] if load in healthy.loads.get(name, {}) else None
                    told = f": it is {does.direction or does.verdict}" if does else ""
                    yield Unsound(position, f"`{load} {word}` doesn't happen in `{name}`{told}")
    if not healthy.state and not any(answer.blown for answer in survey.healthy.answers.values()):
        yield from _idle(survey, healthy)


def _idle(survey: Survey, healthy: Seen) -> Iterator[Unsound]:
    for name, part in survey.loads.items():
        if healthy.loads and all(loads[name].verdict in IDLE for loads in healthy.loads.values()):
            yield Unsound(part, f"`{name}` works in no position")


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A reading that a page's claim doesn't allow: which finding row of which test, which fault, what is read."""

    test: Node
    row: int
    cause: str
    words: str
    reading: Reading | None


def false_clearings(base: Base, held: Held, test: Node, causes: frozenset[str]) -> Iterator[Contradiction]:
    """Rows that clear, or sweep away, a cause whose fault gives a reading that they are met by."""
    for place in held.readings_of(base, test.id):
        for number, finding in enumerate(test.findings):
            proved = {base.targets.get(ref) for ref in finding.proves}
            cleared = {base.targets.get(ref) for ref in finding.clears}
            for cause in sorted(causes):
                if finding.ranges and (cause in cleared or finding.proves and cause not in proved):
                    yield from _met(base, held, test, number, cause, place)


def _met(base: Base, held: Held, test: Node, number: int, cause: str, place: int) -> Iterator[Contradiction]:
    ranges = test.findings[number].ranges
    for variant in held.of_cause(base, cause):
        for seen in variant:
            reading = seen.readings[place]
            if reading and meets(reading, ranges):
                yield Contradiction(test, number, cause, seen.words, reading)
                return


def unmet_proofs(base: Base, all_held: list[Held], test: Node) -> Iterator[Contradiction]:
    """Rows with a reading that prove a cause none of whose faults, anywhere, meets them."""
    for number, finding in enumerate(test.findings):
        for ref in finding.proves if finding.ranges else ():
            cause = base.targets.get(ref)
            tried = [
                [seen.readings[place] for seen in variant]
                for held in all_held
                for place in held.readings_of(base, test.id)
                for variant in (held.of_cause(base, cause) if cause else ())
            ]
            if tried and not any(all(r and meets(r, finding.ranges) for r in variant) for variant in tried):
                yield Contradiction(test, number, cause or "", "", tried[0][0])


def uncovered(base: Base, held: Held, test: Node, causes: frozenset[str]) -> Iterator[Contradiction]:
    """Readings of the healthy circuit or of a cause that no row of the test covers."""
    ranges = [r for finding in test.findings for r in finding.ranges]
    if not ranges:
        return
    for place in held.readings_of(base, test.id):
        for at, seen_list in enumerate(held.seen[0]):
            row = seen_list.row
            cause = base.targets.get(row.cause) if row and row.cause else None
            if row is not None and cause not in causes or any(seen[at].state for seen in held.seen):
                continue
            for seen in held.seen:
                reading = seen[at].readings[place]
                if reading and not meets(reading, tuple(ranges)):
                    yield Contradiction(test, -1, cause or "", seen[at].words, reading)
                    break


def cannot_explain(base: Base, held: Held, symptom: str, cause: str) -> Seen | None:
    """A variant of a cause that, at some voltage, shows as none of a symptom's rows."""
    rows = held.symptom_rows(base, symptom)
    for variant in held.of_cause(base, cause) if rows else ():
        for seen in variant:
            if not any(shows_as(seen, row) for row in rows):
                return seen
    return None


def shows_as(seen: Seen, row: SymptomRow) -> bool:
    """True where a fault shows all that a row of a symptom says."""
    return all(shows(seen.loads.get(position, {}), wanted) for position, wanted in row.shows)


def idle_rows(held: Held) -> Iterator[Seen]:
    """Fault rows that change no load, no fuse and no stated reading."""
    healthy, *faults = held.seen[0]
    usual = (healthy.pattern, _fuses(healthy), told(healthy))
    for seen in faults:
        if not seen.state and (seen.pattern, _fuses(seen), told(seen)) == usual:
            yield seen


def _fuses(seen: Seen) -> tuple[object, ...]:
    return tuple((p, *sorted(fuses.items())) for p, fuses in seen.fuses.items())


def told(seen: Seen) -> tuple[object, ...]:
    """What the instruments of a circuit's readings show under a fault: three decimals, seven digits at most.

    A megohm is solved to some milliohms only, as numbers of 16 digits allow.
    """
    return tuple((r.verdict, r.direction, r.defined, _digits(r.value)) if r else None for r in seen.readings)


def _digits(value: float | None) -> float | None:
    return None if value is None else float(f"{round(value, 3):.7g}")


def unnamed_faults(base: Base, held: Held, symptoms: Mapping[str, frozenset[str]]) -> Mapping[str, list[str]]:
    """For each symptom the circuit's own faults that show as it and that look like none of its causes.

    `symptoms` gives the causes of each. A fault that can't be told from a named cause's by sight or by the
    findings that its readings meet counts as named.
    """
    known = {symptom: held.symptom_rows(base, symptom) for symptom in symptoms}
    if not any(known.values()):
        return {}
    found: dict[str, list[str]] = defaultdict(list)
    named = {symptom: _looks(base, held, causes) for symptom, causes in symptoms.items() if known[symptom]}
    for seen in held.own:
        showing = [s for s in named if not seen.state and any(shows_as(seen, row) for row in known[s])]
        looks = {seen.changes, (seen.pattern, met_findings(base, held, seen))} if showing else set()
        for symptom in showing:
            if looks.isdisjoint(named[symptom]):
                found[symptom].append(seen.words)
    return found


def _looks(base: Base, held: Held, causes: frozenset[str]) -> set[tuple[object, ...]]:
    """What the faults of causes change, and what they look like to eyes and instruments."""
    named = [variant[0] for cause in causes for variant in held.of_cause(base, cause)]
    return {s.changes for s in named} | {(s.pattern, met_findings(base, held, s)) for s in named}


def met_findings(base: Base, held: Held, seen: Seen) -> tuple[int | None, ...]:
    """Which finding each stated reading meets."""
    tests = [base.target(row.test) if row.test else None for row in held.circuit.readings]
    return tuple(
        finding_of(test, reading) if test else None for test, reading in zip(tests, seen.readings, strict=True)
    )
