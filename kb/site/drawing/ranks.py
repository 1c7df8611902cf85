"""Which row of a drawing each part stands in: from the feed on top down to the ground."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping

from kb.netlist import Circuit, Terminal, Wire

FOOT = ("ground", "battery")


def sided(circuit: Circuit, terminal: Terminal) -> Terminal:
    """A terminal with its side, where its part has sides."""
    part = circuit.parts[terminal.part]
    return Terminal(terminal.part, terminal.pin, terminal.side or (part.sides[0] if part.sides else ""))


def ends(circuit: Circuit, wire: Wire) -> tuple[Terminal, Terminal]:
    """Both terminals of a wire, with their sides."""
    return sided(circuit, wire.start), sided(circuit, wire.end)


def is_feed(circuit: Circuit, terminal: Terminal) -> bool:
    """True for a battery's plus."""
    part = circuit.parts[terminal.part]
    return part.kind == "battery" and terminal.pin == part.pins[0]


def at_foot(circuit: Circuit, terminal: Terminal) -> bool:
    """True for what stands in the last row: grounds, and a battery's minus."""
    return circuit.parts[terminal.part].kind in FOOT and not is_feed(circuit, terminal)


class Ranks:
    """The row of each part but batteries and grounds (0 is the feed's), and the top side of each plug."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.inner = [name for name, part in circuit.parts.items() if part.kind not in FOOT]
        self.distance, self.top_side = self._walk()
        self.rank = self._longest()

    @property
    def last(self) -> int:
        """The row of the grounds."""
        return max(self.rank.values(), default=0) + 1

    def row(self, terminal: Terminal) -> int:
        """The row that a terminal stands in."""
        if is_feed(self.circuit, terminal):
            return 0
        return self.last if at_foot(self.circuit, terminal) else self.rank[terminal.part]

    def _walk(self) -> tuple[dict[str, int], dict[str, str]]:
        """How many parts lie between each part and the feed, and the side by which a plug is reached."""
        near = self._neighbours()
        distance: dict[str, int] = {}
        sides: dict[str, str] = {}
        feeds = [(own, other) for pairs in near.values() for own, other in pairs if is_feed(self.circuit, own)]
        queue = deque((other, 1) for _, other in feeds)
        for name in [None, *self.inner]:  # what no feed reaches starts anew
            if name and name not in distance:
                queue.append((sided(self.circuit, Terminal(name, self.circuit.parts[name].pins[0])), 1))
            while queue:
                reached, far = queue.popleft()
                if reached.part in self.inner and reached.part not in distance:
                    distance[reached.part], sides[reached.part] = far, reached.side
                    queue.extend((other, far + 1) for _, other in near[reached.part])
        return distance, sides

    def _neighbours(self) -> dict[str, list[tuple[Terminal, Terminal]]]:
        """For each part its own terminal and the far one of every wire."""
        near: dict[str, list[tuple[Terminal, Terminal]]] = {name: [] for name in self.circuit.parts}
        for wire in self.circuit.wires.values():
            a, b = ends(self.circuit, wire)
            near[a.part].append((a, b))
            near[b.part].append((b, a))
        return near

    def _longest(self) -> dict[str, int]:
        """The longest way down from the feed to each part; wires that would close a circle don't count."""
        below: dict[str, set[str]] = {name: set() for name in self.inner}
        for upper, lower in self._downward():
            if upper != lower and not _reaches(below, lower, upper):
                below[upper].add(lower)
        rank = dict.fromkeys(self.inner, 1)
        for _ in self.inner:
            changed = False
            for upper, lowers in below.items():
                for lower in lowers:
                    if rank[lower] <= rank[upper]:
                        rank[lower], changed = rank[upper] + 1, True
            if not changed:
                break
        return rank

    def _downward(self) -> Iterator[tuple[str, str]]:
        """Pairs of parts, the upper first: a plug's by its sides, others by their distance from the feed."""
        pairs = [ends(self.circuit, wire) for wire in self.circuit.wires.values()]
        inner = [(a, b) for a, b in pairs if a.part in self.distance and b.part in self.distance]
        yield from (pair for a, b in inner if (pair := self._by_side(a, b)))
        for a, b in inner:
            if not self._by_side(a, b) and self.distance[a.part] != self.distance[b.part]:
                low, high = sorted((a, b), key=lambda t: self.distance[t.part])
                yield low.part, high.part

    def _by_side(self, a: Terminal, b: Terminal) -> tuple[str, str] | None:
        """What the sides of plugs at both ends say, where they agree."""
        words = {self._says(a, b), self._says(b, a)} - {None}
        return words.pop() if len(words) == 1 else None

    def _says(self, plug: Terminal, other: Terminal) -> tuple[str, str] | None:
        part = self.circuit.parts[plug.part]
        if not part.sides:
            return None
        top = plug.side == self.top_side.get(plug.part, part.sides[0])
        return (other.part, plug.part) if top else (plug.part, other.part)


def _reaches(below: Mapping[str, set[str]], start: str, goal: str) -> bool:
    seen, stack = {start}, [start]
    while stack:
        here = stack.pop()
        if here == goal:
            return True
        stack.extend(sorted(below[here] - seen))
        seen |= below[here]
    return False
