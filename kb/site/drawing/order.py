"""In which order a circuit's parts stand one below the other: few wires pass by each of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import accumulate

Edge = tuple[str, str]

_PASSES = 8
_UPWARD = 0.5  # what a wire that runs from the lower to the upper part costs


def settled(names: Sequence[str], edges: Sequence[Edge], ranks: Mapping[str, int], ends: tuple[str, str]) -> list[str]:
    """The names in an order in which few edges pass any place; `ends` stay first and last (empty: none do).

    What is made small is the sum of squares of how many edges pass each gap, and how many run against the
    ranks. Each name in turn goes to its best place until none moves. Cost: names x (names + edges) a pass.
    """
    order = sorted(names, key=lambda name: (name != ends[0], name == ends[1], ranks[name], names.index(name)))
    for _ in range(_PASSES):
        before = list(order)
        for name in before:
            if name not in ends:
                order = _moved(order, name, edges, ranks, ends)
        if order == before:
            break
    return order


def _moved(
    order: list[str], name: str, edges: Sequence[Edge], ranks: Mapping[str, int], ends: tuple[str, str]
) -> list[str]:
    rest = [other for other in order if other != name]
    costs = _costs(rest, name, edges, ranks)
    first, last = int(ends[0] in rest), len(rest) - int(ends[1] in rest)
    here = order.index(name)
    best = min(range(first, last + 1), key=lambda place: (costs[place], abs(place - here), place))
    return [*rest[:best], name, *rest[best:]]


def _costs(rest: Sequence[str], name: str, edges: Sequence[Edge], ranks: Mapping[str, int]) -> list[float]:
    """What it costs to put a name before each place of the rest, and behind its last."""
    place = {other: i for i, other in enumerate(rest)}
    passing = _passing(place, edges, name)
    ties = Counter(place[b if a == name else a] for a, b in edges if name in (a, b) and a != b)
    above = [0, *accumulate(ties[i] for i in range(len(rest)))]  # ties before each gap
    total = above[-1]
    upper = [0.0, *accumulate((p + a) ** 2 for p, a in zip(passing, above, strict=True))]
    lower = [0.0, *accumulate((p + total - a) ** 2 for p, a in zip(passing, above, strict=True))]
    wrong = _against(rest, ties, ranks, ranks[name])
    return [upper[i + 1] + lower[-1] - lower[i] + _UPWARD * wrong[i] for i in range(len(rest) + 1)]


def _passing(place: Mapping[str, int], edges: Sequence[Edge], but: str) -> list[int]:
    """How many edges pass before each place, and behind the last (none), one name's left out."""
    starts = [0] * (len(place) + 1)
    for a, b in edges:
        if but not in (a, b) and a != b:
            low, high = sorted((place[a], place[b]))
            starts[low + 1] += 1
            starts[high + 1] -= 1
    return list(accumulate(starts))


def _against(rest: Sequence[str], ties: Mapping[int, int], ranks: Mapping[str, int], rank: int) -> list[int]:
    """How many of a name's edges run upwards with it before each place, and behind the last."""
    higher = [ties[i] if ranks[other] < rank else 0 for i, other in enumerate(rest)]
    deeper = [ties[i] if ranks[other] > rank else 0 for i, other in enumerate(rest)]
    before = [0, *accumulate(deeper)]
    behind = [0, *accumulate(higher)]
    return [before[i] + behind[-1] - behind[i] for i in range(len(rest) + 1)]
