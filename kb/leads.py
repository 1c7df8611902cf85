"""Where a test's instrument goes on the vehicle, and what it shows there with nothing wrong, in words."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.circuit.claims import Held
from kb.graph import Graph
from kb.model import Node
from kb.site.drawing.expected import reading_words
from kb.site.wiring import Spot, Where, Wiring


class Leads:
    """The places of a base's tests. A circuit is solved when it is first asked for, and only if it is sound."""

    def __init__(self, graph: Graph) -> None:
        self._asked, self._wiring = Asked(graph.base, graph), Wiring(graph.base)

    def lines(self, test: Node) -> Iterator[str]:
        """A line for each place, with the vehicles on which it is there, and one for what is expected."""
        for where in self._wiring.wheres(test):
            on = ", ".join(vehicle.name for vehicle in where.vehicles)
            yield f"Where{' on ' + on if on else ''}: {_place(where)}"
            for words in dict.fromkeys(self._good(test, where)):
                yield f"  With nothing wrong (computed from the drawing): {words}"

    def _good(self, test: Node, where: Where) -> Iterator[str]:
        for circuit in where.circuits:
            held = self._asked.held(circuit.id)
            if isinstance(held, Held):
                seen = held.seen[0][0]
                for place in held.readings_of(self._asked.base, test.id):
                    if seen.readings and held.circuit.readings[place].position == where.row.position:
                        yield reading_words(seen.readings[place])


def _place(where: Where) -> str:
    place = f"position {where.row.position}, " if where.row.position else ""
    told = f"{place}{where.row.instrument}"
    if where.row.unplugged:
        told += f", with {' and '.join(where.row.unplugged)} unplugged"
    leads = [f"{colour} lead on {_spot(spot)}" for colour, spot in (("red", where.red), ("black", where.black)) if spot]
    if not leads and where.row.red is not None:
        told += f" on {where.kind + ' ' if where.kind else ''}{where.row.red}"
        told += f" ({where.paint.code} {where.paint.words})" if where.paint else ""
    return "; ".join([told, *leads])


def _spot(spot: Spot) -> str:
    paints = " and ".join(f"{p.code} {p.words}" for p in spot.paints)
    more = ", ".join(part for part in (f"cavity {spot.cavity}" if spot.cavity else "", paints) if part)
    return f"{spot.terminal} ({more})" if more else str(spot.terminal)
