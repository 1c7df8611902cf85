"""What each symptom's plan comes to, as rows of a table: minutes, shares, the change that saves most."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from kb.isolation.figures import Hunt
from kb.isolation.ways import Hunts
from kb.model import Base, Node
from kb.reference import Kind


@dataclass(frozen=True, slots=True)
class Change:
    """Two tests of the writer's order to be changed round, and the minutes which that saves."""

    first: Node
    second: Node
    minutes: float


@dataclass(frozen=True, slots=True)
class Row:
    """A symptom's figures. Minutes are until fixed, on average; shares are of the symptom's weight, 0 to 1.

    `gap` is by how many minutes a plan nobody found may be cheaper at most; 0 where that is proved.
    `order` is None where the writer gives none.
    """

    symptom: Node
    first: float
    one: float
    two: float
    left: float
    plan: float
    gap: float
    order: float | None
    cheapest: float
    change: Change | None

    @property
    def over(self) -> float:
        """By which share the writer's order takes longer than the plan."""
        return self.order / self.plan - 1 if self.order and self.plan else 0.0


@dataclass(frozen=True, slots=True)
class Figures:
    """The rows of all symptoms with a plan, and the symptoms without one."""

    rows: tuple[Row, ...]
    unplanned: tuple[Node, ...]

    @property
    def proved(self) -> int:
        """How many plans are provably the cheapest."""
        return sum(1 for row in self.rows if not row.gap)

    @property
    def first(self) -> float:
        """What is settled before anything comes off, each symptom counted alike."""
        return sum(row.first for row in self.rows) / len(self.rows) if self.rows else 0.0

    @property
    def dear(self) -> int:
        """How many of the writer's orders take over a tenth longer than the plan."""
        return sum(1 for row in self.rows if row.over > 0.1)

    @property
    def ordered(self) -> int:
        """How many symptoms have an order of the writer's."""
        return sum(1 for row in self.rows if row.order is not None)


def figures(base: Base, hunts: Hunts) -> Figures:
    """The figures of all symptoms, in the order of the pages."""
    symptoms = base.of_kind(Kind.SYMPTOM)
    planned = [s for s in symptoms if hunts.hunt(s.id).fixed.first]
    without = tuple(s for s in symptoms if s not in planned)
    return Figures(tuple(_row(base, s, hunts.hunt(s.id)) for s in planned), without)


def _row(base: Base, symptom: Node, hunt: Hunt) -> Row:
    return Row(
        symptom,
        float(hunt.settled_first),
        float(hunt.down_to(1)),
        float(hunt.down_to(2)),
        float(hunt.group),
        minutes(hunt.fixed.seconds),
        0.0 if hunt.fixed.proved else minutes(hunt.fixed.gap),
        None if hunt.in_order is None else minutes(hunt.in_order),
        minutes(hunt.cheapest_first),
        _change(base, hunt),
    )


def _change(base: Base, hunt: Hunt) -> Change | None:
    if hunt.swap is None:
        return None
    first, second = (base.nodes[hunt.matrix.tests[number].id] for number in (hunt.swap.first, hunt.swap.second))
    return Change(first, second, minutes(hunt.swap.seconds))


def minutes(seconds: Fraction) -> float:
    """Seconds as minutes."""
    return float(seconds / 60)
