"""A symptom's plan from where a hunt stands, for people and programs: numbered steps, JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from kb.dump import dump
from kb.graph import Graph
from kb.isolation.found import Found, Road, Stand, cleared, stand, weights
from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.named import Given, findings_of, found
from kb.isolation.plan import Lead, Plan, Step
from kb.isolation.states import bits
from kb.model import Node
from kb.report import Paint, plain


@dataclass(frozen=True)
class Report:
    """A symptom, the way to its fault, and where the hunt stands."""

    graph: Graph
    symptom: Node
    road: Road
    at: Stand

    @cached_property
    def plan(self) -> Plan:
        """The plan until fixed."""
        return self.road.plan(self.at)

    @property
    def matrix(self) -> Matrix:
        """The symptom as numbers."""
        return self.road.matrix

    def node(self, kind: str, number: int) -> Node:
        """A test, repair, cause or access by its number."""
        rows: dict[str, Sequence[TestRow | RepairRow]] = {"test": self.matrix.tests, "repair": self.matrix.repairs}
        named = {"cause": self.matrix.causes, "access": self.matrix.access_ids}
        return self.graph.base.nodes[rows[kind][number].id if kind in rows else named[kind][number]]

    def causes(self, left: int) -> list[str]:
        """The names of causes, in the writer's order."""
        return [self.node("cause", i).name for i in bits(left)]


def report(graph: Graph, symptom: Node, road: Road, acts: Sequence[Given]) -> Report:
    """Where a symptom stands after acts. One that says nothing of it still pays the access it needs."""
    known = [each for act in acts if (each := found(road.matrix, act))]
    return Report(graph, symptom, road, stand(road.matrix, known, opened(graph, road.matrix, acts)))


def opened(graph: Graph, matrix: Matrix, acts: Sequence[Given]) -> int:
    """The accesses (mask) that acts needed themselves, and so are open."""
    names = {access.id for act in acts for access in graph.access(act.node.id)}
    return sum(1 << i for i, access in enumerate(matrix.access_ids) if access in names)


def remarks(report: Report, acts: Sequence[Given]) -> Iterator[str]:
    """What whoever gave the findings has to know of them."""
    for act in acts:
        if found(report.matrix, act) is None:
            yield f"'{act.node.name}' says nothing about '{report.symptom.name}'"
    if report.at.aside:
        first = report.at.aside[0]
        yield contradiction(report.matrix, report.at, report.node(first.kind, first.number).name)


def minutes(seconds: Fraction | int) -> int | float:
    """Seconds in minutes; a whole number where it is one."""
    told = Fraction(seconds) / 60
    return int(told) if told.denominator == 1 else float(told)


def as_json(report: Report) -> str:
    """One object, as a program reads it."""
    plan, road, at = report.plan, report.road, report.at
    order = road.in_order(at)
    times = {
        "until_fixed": minutes(plan.seconds),
        "to_isolate": minutes(road.isolated(at)),
        "writers_order": None if order is None else minutes(order),
    }
    return dump(
        {
            "symptom": report.symptom.name,
            "causes": list(_causes(report)),
            "minutes": times,
            "proved": plan.proved,
            "gap": minutes(plan.gap),
            "plan": _step(report, plan.first, {}),
        }
    )


def _causes(report: Report) -> Iterator[dict[str, Any]]:
    left = weights(report.matrix, report.at)
    whole = sum(left.values())
    for number, weight in left.items():
        shown = int(weight) if weight.denominator == 1 else float(weight)
        share = float(weight / whole) if whole else 0.0
        yield {"name": report.node("cause", number).name, "weight": shown, "share": share}


def _step(report: Report, step: Step | None, made: dict[int, dict[str, Any]]) -> dict[str, Any] | None:
    """A step with all below it. Steps that are one object are made once, and written wherever they are met."""
    if step is None:
        return None
    if id(step) not in made:
        node = report.node(step.kind, step.number)
        rows = [
            {
                "finding": words,
                "share": float(lead.share),
                "left": report.causes(lead.left),
                "then": _step(report, lead.then, made),
            }
            for words, lead in zip(findings_of(node), step.leads, strict=True)
        ]
        made[id(step)] = {"do": step.kind, "name": node.name, "minutes": minutes(step.seconds), "findings": rows}
    return made[id(step)]


def contradiction(matrix: Matrix, at: Stand, name: str) -> str:
    """One sentence on findings that can't all hold; `name` is what the first of them is of."""
    first = at.aside[0]
    share = share_cleared(matrix, first)
    if first.kind == "repair":
        return (
            f"nothing is left of the causes listed: '{name}' should have mended it. It is something else,"
            " or the repair didn't take, or more than one fault; its causes are counted again"
        )
    return f"the findings contradict each other: nothing is left. Do '{name}' again, which clears most ({share})"


def share_cleared(matrix: Matrix, each: Found) -> str:
    """How much of the weight a finding clears, in words."""
    return percent(Fraction(cleared(matrix, each), sum(matrix.weights) or 1))


def percent(share: Fraction) -> str:
    """A share in per cent; what isn't nothing is never shown as 0, what isn't all never as 100."""
    if share in (0, 1):
        return f"{int(share * 100)} %"
    return f"{min(99, max(1, round(share * 100)))} %"


def time_words(seconds: Fraction | int) -> str:
    """Seconds as a person says them: whole minutes, or seconds below one."""
    whole = round(Fraction(seconds))
    if whole < 60 and whole % 60:
        return f"{whole} s"
    return f"{round(Fraction(seconds) / 60)} min"


def as_text(report: Report, paint: Paint = plain) -> str:
    """The causes left, the minutes, and the plan: each step once, referred to by its number after that."""
    return "\n".join([*_head(report, paint), *_Steps(report, paint).lines()])


def _head(report: Report, paint: Paint) -> Iterator[str]:
    yield paint(report.symptom.name, "place")
    if report.symptom.yes("Comes and goes"):
        yield "It comes and goes: a finding counts only if the fault was there at that moment."
    if report.at.fixed:
        yield "Fixed. Nothing is left to do but to put back what is off and to note the job."
        return
    yield ""
    yield from cause_lines(report.graph, report.symptom, report.matrix, report.at)
    yield ""
    yield from _times(report)


def cause_lines(graph: Graph, symptom: Node, matrix: Matrix, at: Stand) -> Iterator[str]:
    """The causes left, likeliest first, with their shares and where these come from."""
    left, told = weights(matrix, at), {c.cause.id: c.source for c in graph.causes(symptom.id)}
    if not left:
        yield "  It has no causes."
        return
    whole = sum(left.values())
    names = {i: graph.base.nodes[matrix.causes[i]] for i in left}
    width = max(len(n.name) for n in names.values())
    for i in sorted(left, key=lambda i: -left[i]):
        yield f"  {percent(left[i] / whole):>5}  {names[i].name:<{width}}  {told[names[i].id]}".rstrip()


def _times(report: Report) -> Iterator[str]:
    plan, order = report.plan, report.road.in_order(report.at)
    told = [f"{time_words(plan.seconds)} until fixed", f"{time_words(report.road.isolated(report.at))} until isolated"]
    if order is not None:
        told.append(f"{time_words(order)} until fixed in the writer's order")
    yield f"Expected: {', '.join(told)}."
    known = "provably least" if plan.proved else f"at most {time_words(plan.gap)} above the least"
    yield f"The plan is {known}, if one fault at a time is assumed. Minutes hold access, putting back and proof."
    yield ""


class _Steps:
    """The lines of a plan. A step that was printed is referred to by its number."""

    def __init__(self, report: Report, paint: Paint) -> None:
        self.report, self.paint = report, paint
        self.numbers: dict[int, int] = {}

    def lines(self) -> Iterator[str]:
        """All of the plan."""
        at = self.report.at
        if self.report.plan.first:
            yield from self._step(self.report.plan.first, at.paid, "")
        elif not at.fixed:
            yield "Nothing more can be done: no test splits these causes and none has a repair."

    def _step(self, step: Step, paid: int, margin: str) -> Iterator[str]:
        number = self.numbers[id(step)] = len(self.numbers) + 1
        node = self.report.node(step.kind, step.number)
        yield f"{margin}{self.paint(f'{number}. {node.kind.value}: {node.name}', 'place')} ({time_words(step.seconds)})"
        row = (self.report.matrix.tests if step.kind == "test" else self.report.matrix.repairs)[step.number]
        margin += "   "
        if new := row.needs & ~paid:
            yield f"{margin}first: {'; '.join(self.report.node('access', i).name for i in bits(new))}"
        if step.kind == "repair" and (proof := self.report.graph.proof(node.id, self.report.symptom.id)):
            yield f"{margin}its proof: {proof.name}"
        for leads, words in _alike(step, findings_of(node)).values():
            yield from self._leads(leads, words, paid | row.needs, margin)

    def _leads(self, leads: Sequence[Lead], words: Sequence[str], paid: int, margin: str) -> Iterator[str]:
        """Findings that lead to one and the same."""
        yield from (f"{margin}- {each}" for each in words[:-1])
        share, first = sum(lead.share for lead in leads), leads[0]
        if not share:
            yield f"{margin}- {words[-1]}: it is something else, or a finding is wrong"
            return
        told = self._told(first.left, first.then)
        yield f"{margin}- {words[-1]} ({percent(share)}): {told}"
        if first.then is not None and id(first.then) not in self.numbers:
            yield from self._step(first.then, paid, margin + "  ")

    def _told(self, left: int, then: Step | None) -> str:
        if not left:
            return "done"
        names = self.report.causes(left)
        told = f"left: {names[0]}" if len(names) == 1 else f"{len(names)} left: {'; '.join(names)}"
        if then is None:
            return f"{told}; nothing more can be done"
        return f"{told}; go on as in step {self.numbers[id(then)]}" if id(then) in self.numbers else told


def _alike(step: Step, words: Sequence[str]) -> dict[tuple[int, int], tuple[list[Lead], list[str]]]:
    """The leads of a step by what they lead to, each with its findings' words."""
    made: dict[tuple[int, int], tuple[list[Lead], list[str]]] = {}
    for lead, each in zip(step.leads, words, strict=True):
        leads, named = made.setdefault((lead.left, id(lead.then) if lead.share else -1), ([], []))
        leads.append(lead)
        named.append(each)
    return made
