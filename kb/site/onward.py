"""Where each finding leads: what it leaves of a symptom's causes, and the next act, by the vehicle chosen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

from kb.graph import Graph, Likely, survivors
from kb.model import Base, Finding, Node
from kb.site.place import vehicles

T = TypeVar("T")
# What holds with no vehicle chosen stands first, without vehicles; then what is otherwise on some.
ByVehicle = tuple[tuple[tuple[Node, ...], T], ...]
# Who says what comes next: the writer; or worked out from the causes left: a later or earlier test that
# tells them apart, the repair that they share, the repair of the likeliest where no test tells them apart.
How = Literal["written", "done", "later", "earlier", "repair", "likeliest", "none"]


@dataclass(frozen=True, slots=True)
class View:
    """What a finding alone clears and leaves, what it proves, and what comes next.

    `skipped` is what the writer names next where that is not for the vehicle.
    """

    cleared: tuple[Node, ...]
    left: tuple[Node, ...]
    proved: tuple[Node, ...]
    next: Node | None
    how: How
    skipped: Node | None = None


@dataclass(frozen=True, slots=True)
class Scope:
    """A symptom's causes, likeliest first, and its tests in page order, as far as a vehicle has them.

    `vehicle` is None where none is chosen: then all are here. `order` holds the ids of all tests.
    """

    base: Base
    graph: Graph
    vehicle: Node | None
    causes: tuple[Likely, ...]
    tests: tuple[Node, ...]
    order: tuple[str, ...]

    @property
    def weight(self) -> int:
        """The weight of all causes together."""
        return sum(likely.weight for likely in self.causes)

    def has(self, node: Node) -> bool:
        """True where a node applies to the vehicle."""
        return self.vehicle is None or applies(self.base, node, self.vehicle)

    def later(self, test: Node) -> tuple[Node, ...]:
        """The tests after one."""
        at = self.order.index(test.id)
        return tuple(other for other in self.tests if self.order.index(other.id) > at)

    def earlier(self, test: Node) -> tuple[Node, ...]:
        """The tests before one."""
        at = self.order.index(test.id)
        return tuple(other for other in self.tests if self.order.index(other.id) < at)

    def repairs(self, cause: Node) -> tuple[Node, ...]:
        """The repairs of a cause that apply to the vehicle."""
        return tuple(repair for repair in self.graph.repairs(cause.id) if self.has(repair))


def applies(base: Base, node: Node, vehicle: Node) -> bool:
    """True for a node that is limited to no vehicle, or to this one among others."""
    only = base.all(node.refs("Only on"))
    return not node.refs("Only on") or any(other.id == vehicle.id for other in only)


def scopes(base: Base, graph: Graph, symptom: Node) -> tuple[Scope, ...]:
    """What a symptom's page holds with no vehicle chosen, then with each that the symptom applies to."""
    likely = tuple(sorted(graph.causes(symptom.id), key=lambda item: -item.weight))
    tests = graph.tests(symptom.id)
    order = tuple(test.id for test in tests)
    found = [Scope(base, graph, None, likely, tests, order)]
    for vehicle in vehicles(base):
        if applies(base, symptom, vehicle):
            causes = tuple(item for item in likely if applies(base, item.cause, vehicle))
            own = tuple(test for test in tests if applies(base, test, vehicle))
            found.append(Scope(base, graph, vehicle, causes, own, order))
    return tuple(found)


def by_vehicle(found: Iterable[tuple[Node | None, T]]) -> ByVehicle[T]:
    """What holds with none chosen, and what is otherwise; vehicles alike stand together."""
    alike: list[tuple[list[Node], T]] = []
    for vehicle, told in found:
        place = next((place for place in alike if place[1] == told), None)
        if place is None:
            alike.append(([], told))
            place = alike[-1]
        if vehicle and place is not alike[0]:
            place[0].append(vehicle)
    return tuple((tuple(owners), told) for owners, told in alike)


def view(scope: Scope, test: Node, finding: Finding) -> View:
    """A finding as it stands with a vehicle chosen, or none."""
    causes = tuple(item.cause for item in scope.causes)
    kept = survivors(scope.base, finding, [cause.id for cause in causes])
    left = tuple(cause for cause in causes if cause.id in kept)
    cleared = tuple(cause for cause in causes if cause.id not in kept)
    proved = tuple(cause for cause in scope.base.all(finding.proves) if scope.has(cause))
    written = scope.base.target(finding.next) if finding.next else None
    if written and scope.has(written):
        return View(cleared, left, proved, written, "written")
    if finding.done:
        return View(cleared, left, proved, None, "done")
    following, how = _worked_out(scope, test, left or proved)
    return View(cleared, left, proved, following, how, written)


def _worked_out(scope: Scope, test: Node, causes: Sequence[Node]) -> tuple[Node | None, How]:
    """The repair that all causes share, else the test that tells them apart, else the likeliest's repair."""
    if shared := _shared(scope, causes):
        return shared, "repair"
    if found := _apart(scope, scope.later(test), causes):
        return found, "later"
    if found := _apart(scope, scope.earlier(test), causes):
        return found, "earlier"
    likeliest = next((repair for cause in causes for repair in scope.repairs(cause)), None)
    return (likeliest, "likeliest") if likeliest else (None, "none")


def _shared(scope: Scope, causes: Sequence[Node]) -> Node | None:
    if not causes:
        return None
    removed = [{repair.id for repair in scope.repairs(cause)} for cause in causes]
    common = set.intersection(*removed)
    return next((repair for repair in scope.repairs(causes[0]) if repair.id in common), None)


def _apart(scope: Scope, tests: Sequence[Node], causes: Sequence[Node]) -> Node | None:
    """The first test with a finding that some of the causes survive and some don't."""
    ids = [cause.id for cause in causes]
    return next(
        (t for t in tests if any(0 < len(survivors(scope.base, f, ids)) < len(ids) for f in t.findings)),
        None,
    )
