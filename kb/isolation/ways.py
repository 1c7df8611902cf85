"""The hunts of a base: one for each symptom, and for each vehicle on which it differs."""

from __future__ import annotations

from kb.graph import Graph, build_graph
from kb.isolation.figures import Hunt
from kb.isolation.matrix import Matrix, build_matrix
from kb.model import Base
from kb.read.base import on_vehicle
from kb.reference import Kind

Kept = dict[tuple[Matrix, tuple[int, ...]], Hunt]


class Hunts:
    """Hunts by symptom and vehicle, each worked out once, when it is first asked for.

    Hunts with the same numbers are one. `kept` are those of an earlier base, by what they are worked out
    from; those of this base are put there too.
    """

    def __init__(self, base: Base, graph: Graph, kept: Kept | None = None) -> None:
        self.base = base
        self._graphs: dict[str | None, Graph] = {None: graph}
        self._found: dict[tuple[str, str | None], Hunt] = {}
        self._kept = {} if kept is None else kept

    def graph(self, vehicle: str | None) -> Graph:
        """The graph of the base limited to a vehicle."""
        if vehicle not in self._graphs:
            assert vehicle is not None
            self._graphs[vehicle] = build_graph(on_vehicle(self.base, vehicle))
        return self._graphs[vehicle]

    def hunt(self, symptom: str, vehicle: str | None = None) -> Hunt:
        """A symptom's hunt, on a vehicle or on none in particular."""
        if (symptom, vehicle) not in self._found:
            graph = self.graph(vehicle)
            matrix = build_matrix(graph, symptom)
            numbers = {test.id: number for number, test in enumerate(matrix.tests)}
            written = graph.base.all(graph.base.nodes[symptom].refs("Order"))
            key = matrix, tuple(numbers[test.id] for test in written if test.id in numbers)
            self._found[symptom, vehicle] = self._kept.setdefault(key, Hunt(*key))
        return self._found[symptom, vehicle]

    def ways(self, symptom: str) -> tuple[tuple[str | None, Hunt], ...]:
        """The hunt with no vehicle chosen, then that of each vehicle (by id) on which it isn't the same."""
        plain = self.hunt(symptom)
        found: list[tuple[str | None, Hunt]] = [(None, plain)]
        for vehicle in () if self.base.vehicle else self.base.of_kind(Kind.VEHICLE):
            if symptom in self.graph(vehicle.id).base.nodes:
                own = self.hunt(symptom, vehicle.id)
                if own.matrix != plain.matrix:
                    found.append((vehicle.id, own))
        return tuple(found)

    def used(self) -> Kept:
        """The hunts that were asked for, by what they are worked out from."""
        return {(hunt.matrix, hunt.order): hunt for hunt in self._found.values()}
