"""On which track each wire runs beside a column of rows, and which wires are too many and are broken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

_PASSES = 6

Reach = tuple[int, int]  # the rows of a wire's ends, the upper first


@dataclass(frozen=True, slots=True)
class Tracks:
    """The track of each wire, 0 nearest to the rows, how many there are, and the wires that have none."""

    track: Mapping[str, int]
    count: int
    broken: frozenset[str]


def tracks(reaches: Mapping[str, Reach], most: int) -> Tracks:
    """Give each wire a track that it has to itself; where more than `most` pass a row, the longest are broken.

    No other choice breaks fewer. Short wires come near to the rows, so that long ones run round them.
    """
    broken = _broken(reaches, most)
    kept = {name: reach for name, reach in reaches.items() if name not in broken}
    found = _nearest(kept)
    if max(found.values(), default=-1) >= most:
        found = _tight(kept)
    _untangle(found, kept)
    return Tracks(found, max(found.values(), default=-1) + 1, broken)


def _broken(reaches: Mapping[str, Reach], most: int) -> frozenset[str]:
    """From the top down: where too many pass, the one that ends lowest goes."""
    running: list[str] = []
    gone: set[str] = set()
    for name in sorted(reaches, key=lambda n: (reaches[n], n)):
        running = [other for other in running if reaches[other][1] >= reaches[name][0]] + [name]
        if len(running) > most:
            longest = max(running, key=lambda n: (reaches[n][1], n))
            running.remove(longest)
            gone.add(longest)
    return frozenset(gone)


def _nearest(reaches: Mapping[str, Reach]) -> dict[str, int]:
    """The shortest first, each as near to the rows as those before it let it."""
    found: dict[str, int] = {}
    for name in sorted(reaches, key=lambda n: (reaches[n][1] - reaches[n][0], reaches[n], n)):
        taken = {found[other] for other in found if _meet(reaches[other], reaches[name])}
        found[name] = next(track for track in range(len(taken) + 1) if track not in taken)
    return found


def _tight(reaches: Mapping[str, Reach]) -> dict[str, int]:
    """From the top down, each on the nearest free track: no more tracks than wires at any row."""
    found: dict[str, int] = {}
    for name in sorted(reaches, key=lambda n: (reaches[n], n)):
        taken = {found[other] for other in found if _meet(reaches[other], reaches[name])}
        found[name] = next(track for track in range(len(taken) + 1) if track not in taken)
    return found


def _untangle(found: dict[str, int], reaches: Mapping[str, Reach]) -> None:
    """Move wires to other free tracks, and whole tracks, as long as fewer cross."""
    count = max(found.values(), default=-1) + 1
    for _ in range(_PASSES):
        before = dict(found)
        for name in reaches:
            others = [other for other in found if other != name and _meet(reaches[other], reaches[name])]
            taken = {found[other] for other in others}
            free = [track for track in range(count) if track not in taken]
            found[name] = min(free, key=lambda t, n=name, o=others: (_crossed(n, t, o, found, reaches), t))  # type: ignore[misc]
        for a in range(count - 1):
            swapped = {n: a + 1 if t == a else a if t == a + 1 else t for n, t in found.items()}
            if _crossings(swapped, reaches) < _crossings(found, reaches):
                found.update(swapped)
        if found == before:
            return


def _crossed(
    name: str, track: int, others: Sequence[str], found: Mapping[str, int], reaches: Mapping[str, Reach]
) -> int:
    """How often a wire on a track crosses others: the outer one's ends run over the inner one."""
    mine = reaches[name]
    return sum(
        _inside(mine, reaches[other]) if found[other] < track else _inside(reaches[other], mine) for other in others
    )


def _crossings(found: Mapping[str, int], reaches: Mapping[str, Reach]) -> int:
    """All of them, each twice."""
    return sum(_crossed(name, found[name], [n for n in found if n != name], found, reaches) for name in found)


def _inside(outer: Reach, inner: Reach) -> int:
    """How many of the one's ends lie within the other's reach."""
    return sum(inner[0] < end < inner[1] for end in outer)


def tangled(reaches: Mapping[str, Reach]) -> int:
    """How many pairs must cross on any tracks: each begins or ends within the other, but neither lies within it."""
    found = sorted(reaches.values())
    return sum(a[0] < b[0] < a[1] < b[1] for i, a in enumerate(found) for b in found[i + 1 :])


def _meet(a: Reach, b: Reach) -> bool:
    return a[0] <= b[1] and b[0] <= a[1]
