"""The least value of a state, found best first within a budget of states, with what is proved at its end.

Each state carries a bound that only rises. A pass goes down the acts that look best, opens the states at
its ends and raises the bounds behind it; when all states below the best act of the first state are
settled, its bound is its value.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from heapq import heapify, heappop

from kb.isolation.bounds import Bounds
from kb.isolation.states import Act, State, States, bits

BUDGET = 4_000


@dataclass(slots=True)
class Spot:
    """A state met: its bound (weight x seconds), whether that is its value, its best act so far.

    `ready` holds (act, cost, leads) of acts looked into, `waiting` (bound, act) of those not yet, `chosen`
    the leads of the best act, each with its divisor.
    """

    state: State
    weights: list[int]
    bound: int
    settled: bool = False
    opened: bool = False
    best: Act | None = None
    ready: list[tuple[Act, int, list[tuple[Spot, int]]]] = field(default_factory=list)
    waiting: list[tuple[int, Act]] = field(default_factory=list)
    chosen: list[tuple[Spot, int]] = field(default_factory=list)


class Search:
    """Values of states. `opened` counts the states whose acts were looked at; a solve opens at most `budget`."""

    def __init__(self, states: States, budget: int = BUDGET) -> None:
        self.states, self.budget = states, budget
        self.bounds = Bounds(states)
        self.spots: dict[State, Spot] = {}
        self.opened = self.limit = 0

    def spot(self, state: State) -> Spot:
        """The spot of a state."""
        found = self.spots.get(state)
        if found is None:
            weights = self.states.weights(state)
            seconds = self.bounds.seconds(state)
            bound = sum(w * s for w, s in zip(weights, seconds, strict=True))
            found = self.spots[state] = Spot(state, weights, bound)
        return found

    def solve(self, state: State, budget: int | None = None) -> Spot:
        """The spot of a state, settled unless `budget` more states (left out: the search's own) were opened."""
        self.limit = self.opened + (self.budget if budget is None else budget)
        spot = self.spot(state)
        while not spot.settled and self.opened < self.limit:
            self._pass(spot)
        return spot

    def _pass(self, spot: Spot) -> None:
        if spot.settled or self.opened >= self.limit:
            return
        if not spot.opened:
            self._open(spot)
        else:
            for below, _ in spot.chosen:
                self._pass(below)
        self._raise(spot)

    def _open(self, spot: Spot) -> None:
        self.opened += 1
        spot.opened = True
        whole = sum(spot.weights)
        seconds = self.bounds.seconds(spot.state)
        for act in self.states.acts(spot.state):
            spot.waiting.append((self._least(spot, whole, seconds, act), act))
        heapify(spot.waiting)

    def _least(self, spot: Spot, whole: int, seconds: list[int], act: Act) -> int:
        """A bound of an act without looking where it leads."""
        price, kind, number = act
        left, paid = spot.state[0], spot.state[1]
        row = self.states.repairs[number] if kind else self.states.tests[number]
        ends = self.bounds.ends(left, paid | row.needs)
        if not kind:
            return sum(w * max(s, price + e) for w, s, e in zip(spot.weights, seconds, ends, strict=True))
        mends = self.states.repairs[number].mends
        rest = sum(w * e for i, w, e in zip(bits(left), spot.weights, ends, strict=True) if not mends >> i & 1)
        return whole * price + rest

    def _raise(self, spot: Spot) -> None:
        """Choose the best act by bound, then by order; look into acts only as they come to be best."""
        best: tuple[int, Act] | None = None
        for act, cost, leads in spot.ready:
            found = (cost + sum(below.bound // by for below, by in leads), act)
            if best is None or found < best:
                best, spot.chosen = found, leads
        while spot.waiting and (best is None or spot.waiting[0] < best):
            _, act = heappop(spot.waiting)
            cost, leads = self._look(spot, act)
            spot.ready.append((act, cost, leads))
            found = (cost + sum(below.bound // by for below, by in leads), act)
            if best is None or found < best:
                best, spot.chosen = found, leads
        if best is None:
            spot.bound, spot.settled = 0, True
            return
        spot.bound, spot.best = max(spot.bound, best[0]), best[1]
        spot.settled = all(below.settled for below, _ in spot.chosen)

    def _look(self, spot: Spot, act: Act) -> tuple[int, list[tuple[Spot, int]]]:
        leads = self.states.leads(spot.state, act)
        cost = sum(spot.weights) * act[0]
        return cost, [(self.spot(state), by) for state, by in leads if state is not None]
