"""A symptom's plan as its page tells it: figures of the whole, the steps in words, the drawing."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from kb.graph import Graph
from kb.isolation.figures import Hunt
from kb.model import Node
from kb.site.drawing.tree import Tree, draw_tree
from kb.site.unfolded import Stop, each, unfold

FEW = 3  # causes that are named; more are counted


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan: its steps as nested lists, how many there are, its drawing where there is more than one step.

    Expected seconds: until fixed, to isolate, the gap to the proved least (0: none needs less), the writer's
    order (None: there is none), always the quickest test first.
    """

    stops: tuple[Stop, ...]
    count: int
    fixed: Fraction
    isolate: Fraction
    gap: Fraction
    in_order: Fraction | None
    cheapest_first: Fraction
    drawing: Tree | None

    @property
    def money(self) -> bool:
        """True where a step's minutes hold what a repair costs."""
        return any(stop.money for stop in each(self.stops))

    @property
    def again(self) -> bool:
        """True where a step is met more than once."""
        met = [way.then for stop in each(self.stops) for way in stop.ways if way.then]
        return len(met) > len(set(met))

    @property
    def few(self) -> int:
        """How many causes are named one by one."""
        return FEW

    def minutes(self, seconds: Fraction) -> int:
        """Expected seconds in whole minutes, at least 1 where there are any."""
        return max(round(seconds / 60), 1 if seconds else 0)

    @property
    def alternative(self) -> str:
        """The drawing in one sentence, for those who can't see it."""
        drawn = len(self.drawing.steps) if self.drawing else 0
        return (
            f"The plan drawn from left to right: {drawn} of its {self.count} steps, with findings on the branches. "
            "All of it stands in the plan in words."
        )


def planned(graph: Graph, symptom: Node, hunt: Hunt) -> Planned:
    """What a symptom's page shows of its plan."""
    stops = unfold(graph, symptom, hunt.matrix, hunt.fixed.first)
    every = tuple(each(stops))
    return Planned(
        stops,
        len(every),
        hunt.fixed.seconds,
        hunt.isolated.seconds,
        hunt.fixed.gap,
        hunt.in_order,
        hunt.cheapest_first,
        draw_tree(every) if len(every) > 1 else None,
    )
