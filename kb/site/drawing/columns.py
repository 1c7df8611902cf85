"""In which columns a row's items stand: near what they hang on, with few crossings, none on another."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from kb.site.drawing.plan import End, Item, Link, Plan

SWEEPS = 24
_PASSING = 3.0  # how much harder a passing wire pulls than a wire's end

Tie = tuple[Item, End, Item, End]  # own item and end, the other's


def settle(plan: Plan) -> int:
    """Set `x` of every item and the order of its pins; returns how many columns the drawing has."""
    ties = _ties(plan.links)
    for row in plan.rows:
        _pack(row, [float(i) for i in range(len(row))])
    best, kept = _cost(plan), _state(plan)
    for sweep in range(SWEEPS):
        rows = plan.rows if sweep % 2 == 0 else plan.rows[::-1]
        for row in rows:
            _settle_row(row, ties, sweep)
        cost = _cost(plan)
        if cost < best:
            best, kept = cost, _state(plan)
    _restore(plan, kept)
    return _normalise(plan)


def _ties(links: Sequence[Link]) -> Mapping[int, list[Tie]]:
    found: dict[int, list[Tie]] = defaultdict(list)
    for link in links:
        found[id(link.first)].append((link.first, link.first_end, link.second, link.second_end))
        found[id(link.second)].append((link.second, link.second_end, link.first, link.first_end))
    return found


def _settle_row(row: list[Item], ties: Mapping[int, list[Tie]], sweep: int) -> None:
    """Order a row by where its items want to stand, and let them stand as near to it as they fit."""
    for item in row:
        if item.part and not item.inline:
            _order_pins(item, ties.get(id(item), []))
    wanted = {id(item): _wanted(item, ties.get(id(item), []), sweep) for item in row}
    row.sort(key=lambda item: wanted[id(item)] + (item.width - 1) / 2)
    _pack(row, [wanted[id(item)] for item in row])


def _wanted(item: Item, ties: Sequence[Tie], sweep: int) -> float:
    """The mean of where the other ends stand; early sweeps look one way only, late ones both."""
    looked = [t for t in ties if t[2].row != item.row]
    if sweep < SWEEPS // 2:
        way = [t for t in looked if (t[2].row < item.row) == (sweep % 2 == 0)]
        looked = way or looked
    pulls = [(o.column(oe) - (item.column(e) - item.x), _PASSING if o.passing else 1.0) for _, e, o, oe in looked]
    total = sum(weight for _, weight in pulls)
    return sum(place * weight for place, weight in pulls) / total if total else float(item.x)


def _order_pins(item: Item, ties: Sequence[Tie]) -> None:
    """Pins in the order of what hangs on them."""
    places: dict[str, list[float]] = defaultdict(list)
    for _, end, other, other_end in ties:
        pin = next(p for p in item.pins if end in p.top or end in p.foot)
        if other is not item:
            places[pin.name].append(other.column(other_end))
    order = {pin.name: i for i, pin in enumerate(item.pins)}
    means = {name: sum(found) / len(found) for name, found in places.items()}
    item.pins.sort(key=lambda pin: (means.get(pin.name, float("inf")), order[pin.name]))
    for pin in item.pins:
        for ends in (pin.top, pin.foot):
            far = {end: other.column(other_end) for _, end, other, other_end in ties}
            ends.sort(key=lambda end, far=far: far.get(end, 0))  # type: ignore[misc]
    item.arrange()


def _pack(row: Sequence[Item], wanted: Sequence[float]) -> None:
    """The places nearest to the wanted ones, in this order and without overlap (pool adjacent violators)."""
    before, pools = 0, []
    for item, place in zip(row, wanted, strict=True):
        weight = _PASSING if item.passing else 1.0
        pools.append([place - before, weight, 1])
        before += item.width
        while len(pools) > 1 and pools[-2][0] >= pools[-1][0]:
            place_b, weight_b, count_b = pools.pop()
            place_a, weight_a, count_a = pools.pop()
            total = weight_a + weight_b
            pools.append([(place_a * weight_a + place_b * weight_b) / total, total, count_a + count_b])
    flat = [round(place) for place, _, count in pools for _ in range(int(count))]
    before = 0
    for item, place in zip(row, flat, strict=True):
        item.x = place + before
        before += item.width


def _cost(plan: Plan) -> float:
    """Sideways ways of all wires, crossings, and the drawing's width."""
    spans: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for link in plan.links:
        a, b = link.first.column(link.first_end), link.second.column(link.second_end)
        spans[link.channel].append((a, b) if link.first_top else (b, a))
    ways = sum(abs(a - b) for found in spans.values() for a, b in found)
    crossings = sum(
        (a[0] - b[0]) * (a[1] - b[1]) < 0 for found in spans.values() for i, a in enumerate(found) for b in found[:i]
    )
    rows = [row for row in plan.rows if row]
    wide = max(i.x + i.width for row in rows for i in row) - min(i.x for row in rows for i in row)
    return ways + 2 * crossings + 3 * wide


State = list[tuple[list[Item], list[tuple[int, list[tuple[str, list[End], list[End]]]]]]]


def _state(plan: Plan) -> State:
    return [
        (list(row), [(i.x, [(p.name, list(p.top), list(p.foot)) for p in i.pins]) for i in row]) for row in plan.rows
    ]


def _restore(plan: Plan, state: State) -> None:
    for number, (row, kept) in enumerate(state):
        plan.rows[number] = row
        for item, (x, pins) in zip(row, kept, strict=True):
            by_name = {pin.name: pin for pin in item.pins}
            for name, top, foot in pins:
                by_name[name].top, by_name[name].foot = top, foot
            item.pins = [by_name[name] for name, _, _ in pins]
            if item.part:
                item.arrange()
            item.x = x


def _normalise(plan: Plan) -> int:
    items = [item for row in plan.rows for item in row]
    least = min((item.x for item in items), default=0)
    for item in items:
        item.x -= least
    return max((item.x + item.width for item in items), default=1)
